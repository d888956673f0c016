//! Power cuts under writing clients: what was synced is on the disk, what was not may be there, be
//! missing or be torn (`support/disk.rs` plays it). What was answered is there once afterwards, what
//! was not is there whole or not at all, and every request sent again is done once.
//!
//! More rounds with `LOCKRING_POWER_ROUNDS`, another course with `LOCKRING_SEED`.

use std::time::Duration;

use super::clients::{AtWork, Sent, Trial};
use crate::support::disk::Disk;
use crate::support::rpc::block_on;
use crate::support::seed::{Seed, whole};

/// Clients that write at a time.
const CLIENTS: u64 = 8;
/// Rounds before a new shop, so that verifying stays short.
const ROUNDS_A_SHOP: u64 = 20;

/// A shop whose daemon runs on a disk of ours.
fn trial_on(disk: &Disk) -> Trial {
    let mut trial = Trial::begin();
    trial.shop.stop();
    trial.shop.set_environment(disk.recording());
    trial
}

impl Trial {
    /// Clients write for a while, and the daemon is killed.
    fn write_and_kill_after(&mut self, round: u64, pause: Duration) -> Vec<Sent> {
        block_on(async {
            let at_work = AtWork::begin(&self.shop.folder(), round, CLIENTS);
            at_work.answered().await;
            tokio::time::sleep(pause).await;
            self.shop.kill();
            at_work.end().await
        })
    }
}

#[test]
fn what_was_answered_outlives_a_power_cut() {
    let mut seed = Seed::from_environment();
    let rounds = whole("LOCKRING_POWER_ROUNDS", 6);
    let (mut answered, mut unsure) = (0, 0);
    let mut round = 0;
    while round < rounds {
        let disk = Disk::new();
        let mut trial = trial_on(&disk);
        for _ in 0..ROUNDS_A_SHOP.min(rounds - round) {
            let synced = disk.begin_record(&trial.shop.folder());
            trial.shop.serve();
            let pause = Duration::from_micros(1_000 + seed.below(150_000));
            let sent = trial.write_and_kill_after(round, pause);
            disk.cut_power(synced, &trial.shop.folder(), &mut seed);
            trial.shop.serve();
            trial.look_for(&sent);
            trial.send_again(&sent);
            trial.shop.kill();
            let cut_off = sent.iter().filter(|request| request.answer.is_none()).count();
            answered += sent.len() - cut_off;
            unsure += cut_off;
            round += 1;
        }
    }
    eprintln!("{rounds} power cuts, {answered} requests answered, {unsure} cut off");
    assert!(
        answered > 0 && unsure > 0,
        "{answered} answered, {unsure} cut off: the cuts prove nothing"
    );
}

/// A sync that failed once leaves pages that everybody reads and that are on no disk (A. Rebello and
/// others, "Can Applications Recover from fsync Failures?", USENIX ATC 2020). A daemon that starts
/// afterwards must not build on them.
#[test]
fn a_sync_that_failed_before_a_kill_loses_nothing_that_is_answered_after_it() {
    let mut seed = Seed::from_environment();
    let disk = Disk::new();
    let mut trial = trial_on(&disk);
    for round in 0..whole("LOCKRING_POWER_ROUNDS", 3) {
        let synced = disk.begin_record(&trial.shop.folder());
        trial.shop.serve();
        let mut sent = block_on(async {
            let at_work = AtWork::begin(&trial.shop.folder(), 2 * round, CLIENTS);
            at_work.answered().await;
            disk.does("sync any fail");
            at_work.failed().await;
            trial.shop.kill();
            at_work.end().await
        });
        disk.does("");
        trial.shop.serve();
        sent.extend(trial.write_and_kill_after(2 * round + 1, Duration::from_millis(20)));
        disk.cut_power(synced, &trial.shop.folder(), &mut seed);
        trial.shop.serve();
        trial.look_for(&sent);
        trial.send_again(&sent);
        trial.shop.kill();
    }
}
