//! A daemon killed at any moment loses nothing it has answered for, and does nothing twice.
//!
//! Sixteen clients write while the daemon is killed: in the middle of its work, over a
//! backup, over its own end with its checkpoint, and again over the start that follows. Then
//! the data file is read past the daemon: what was answered is there once, what was not is
//! there whole or not at all, and every request sent again is done once.
//!
//! More rounds with `LOCKRING_KILL_ROUNDS`, another course with `LOCKRING_SEED`.

use std::time::Duration;

use lockring_proto::v1::BackupRequest;
use lockring_proto::v1::shop_client::ShopClient;

use super::clients::{AtWork, Sent, Trial, is_cut_off};
use crate::support::rpc::{block_on, try_connect};
use crate::support::seed::{Seed, whole};

/// Clients that write at a time.
const CLIENTS: u64 = 16;
/// Rounds before a new shop, so that verifying stays short.
const ROUNDS_A_SHOP: u64 = 20;

impl Trial {
    /// Clients write, the daemon is killed, and everything is looked at.
    fn round(&mut self, round: u64, seed: &mut Seed) -> (usize, usize) {
        let (way, pause) = (seed.below(6), Duration::from_micros(2_000 + seed.below(120_000)));
        let sent = self.write_and_kill(round, way, pause, seed);
        if way == 5 {
            for _ in 0..2 {
                self.shop
                    .kill_over_its_start(Duration::from_micros(seed.below(15_000)));
            }
        }
        self.shop.serve();
        self.look_for(&sent);
        self.send_again(&sent);
        let unsure = sent.iter().filter(|request| request.answer.is_none()).count();
        (sent.len() - unsure, unsure)
    }

    fn write_and_kill(&mut self, round: u64, way: u64, pause: Duration, seed: &mut Seed) -> Vec<Sent> {
        let folder = self.shop.folder();
        let end = Duration::from_micros(seed.below(20_000));
        block_on(async {
            let at_work = AtWork::begin(&folder, round, CLIENTS);
            let backup = (way == 3).then(|| tokio::spawn(back_up(folder.clone())));
            // Now and then before anything is answered; usually at some moment after.
            if way != 1 {
                at_work.answered().await;
            }
            tokio::time::sleep(pause).await;
            if way == 4 {
                self.shop.kill_over_its_end(end);
            } else {
                self.shop.kill();
            }
            let sent = at_work.end().await;
            if let Some(backup) = backup {
                backup.await.unwrap();
            }
            sent
        })
    }

    /// Whatever a killed backup left: what bears a backup's name is a shop, and the next
    /// backup clears the rest away.
    fn look_at_backups(&self) {
        let answer = self.shop.json("backup")[0].clone();
        assert!(answer["entries"].as_u64().unwrap() > 0, "{answer}");
        for item in std::fs::read_dir(self.shop.folder().join("backups")).unwrap() {
            let path = item.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            assert!(
                name.starts_with("lockring-") && name.ends_with(".db"),
                "{name} was left behind"
            );
            let file = rusqlite::Connection::open(&path).unwrap();
            let said: String = file
                .query_row("PRAGMA integrity_check", [], |row| row.get(0))
                .unwrap();
            assert_eq!(said, "ok", "{name}");
        }
    }
}

/// Asks for a backup; the daemon may die over it.
async fn back_up(folder: std::path::PathBuf) {
    if let Ok(channel) = try_connect(&folder).await {
        let request = BackupRequest {
            to_folder: String::new(),
        };
        if let Err(status) = ShopClient::new(channel).backup(request).await {
            assert!(is_cut_off(&status), "{status}");
        }
    }
}

#[test]
fn what_was_answered_outlives_a_kill_and_nothing_is_half_there_or_done_twice() {
    let mut seed = Seed::from_environment();
    let rounds = whole("LOCKRING_KILL_ROUNDS", 8);
    let (mut answered, mut unsure) = (0, 0);
    let mut round = 0;
    while round < rounds {
        let mut trial = Trial::begin();
        for _ in 0..ROUNDS_A_SHOP.min(rounds - round) {
            let (more, lost) = trial.round(round, &mut seed);
            answered += more;
            unsure += lost;
            round += 1;
        }
        trial.look_at_backups();
    }
    eprintln!("{rounds} kills, {answered} requests answered, {unsure} cut off");
    assert!(
        answered > 0 && unsure > 0,
        "{answered} answered, {unsure} cut off: the kills prove nothing"
    );
}
