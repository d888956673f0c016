//! A daemon killed at any moment loses nothing it has answered for, and does nothing twice.
//!
//! Sixteen clients write while the daemon is killed: in the middle of its work, over a
//! backup, over its own end with its checkpoint, and again over the start that follows. Then
//! the data file is read past the daemon: what was answered is there once, what was not is
//! there whole or not at all, and every request sent again is done once.
//!
//! More rounds with `LOCKRING_KILL_ROUNDS`, another course with `LOCKRING_SEED`.

use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::{
    AdvanceRequest, Assignment, BackupRequest, JobReply, NoteRequest, TakeInRequest, VerifyRequest,
};
use tokio::sync::Notify;
use tonic::transport::Channel;
use tonic::{Code, Status};

use crate::support::rpc::{block_on, connect, origin, try_connect};
use crate::support::seed::{Seed, whole};
use crate::support::{PATIENCE, Shop};

/// Clients that write at a time.
const CLIENTS: u64 = 16;
/// Jobs they share.
const SHARED: u64 = 4;
/// Rounds before a new shop, so that verifying stays short.
const ROUNDS_A_SHOP: u64 = 20;

/// A request, and the answer if one came.
#[derive(Debug, Clone)]
struct Sent {
    id: String,
    ask: Ask,
    answer: Option<JobReply>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ask {
    Note {
        job: u32,
    },
    /// Several entries in one transaction.
    TakeIn,
    Advance {
        job: u32,
    },
}

async fn send(channel: &Channel, id: &str, ask: Ask) -> Result<JobReply, Status> {
    let mut jobs = JobsClient::new(channel.clone());
    let reply = match ask {
        Ask::Note { job } => {
            let text = id.to_owned();
            jobs.note(NoteRequest {
                origin: origin(id),
                job,
                text,
            })
            .await
        }
        Ask::TakeIn => jobs.take_in(take_in(id)).await,
        Ask::Advance { job } => {
            jobs.advance(AdvanceRequest {
                origin: origin(id),
                job,
            })
            .await
        }
    };
    reply.map(tonic::Response::into_inner)
}

/// A take-in of several entries: a rider, values, and parts for two slots.
fn take_in(id: &str) -> TakeInRequest {
    let assigned = |field: &str, value: &str| Assignment {
        field: field.into(),
        value: value.into(),
    };
    TakeInRequest {
        origin: origin(id),
        rider: id.into(),
        values: vec![assigned("hill-grade", "8 %"), assigned("rider-mass", "81 kg")],
        build: vec![assigned("motor", "hub-36-250")],
        sheet: None,
    }
}

/// What the clients of a round and their killer tell each other.
#[derive(Default)]
struct AtWork {
    /// Something was answered.
    answered: Notify,
    stop: AtomicBool,
}

/// Writes until the connection breaks.
async fn write_on(folder: &Path, round: u64, client: u64, at_work: &AtWork) -> Vec<Sent> {
    let mut sent = Vec::new();
    let Ok(channel) = try_connect(folder).await else {
        return sent;
    };
    for number in 0.. {
        if at_work.stop.load(Ordering::Relaxed) {
            break;
        }
        let job = u32::try_from(1 + client % SHARED).unwrap();
        let ask = match number % 8 {
            3 => Ask::TakeIn,
            6 => Ask::Advance { job },
            _ => Ask::Note { job },
        };
        let id = format!("r{round}-c{client}-n{number}");
        match send(&channel, &id, ask).await {
            Ok(answer) => {
                at_work.answered.notify_one();
                sent.push(Sent {
                    id,
                    ask,
                    answer: Some(answer),
                });
            }
            Err(status) => {
                assert!(is_cut_off(&status), "{id} {ask:?}: {status}");
                sent.push(Sent {
                    id,
                    ask,
                    answer: None,
                });
                break;
            }
        }
    }
    sent
}

/// Whether an error is one of a daemon that went away, and not a refusal.
fn is_cut_off(status: &Status) -> bool {
    matches!(
        status.code(),
        Code::Unavailable | Code::Unknown | Code::Cancelled | Code::Internal
    )
}

/// What the data file holds, read past the daemon.
#[derive(Debug, Default)]
struct Seen {
    last: i64,
    notes: HashMap<String, u32>,
    taken_in: HashMap<String, Vec<i64>>,
    entries_of: HashMap<i64, u32>,
    tried: HashMap<i64, u32>,
}

impl Seen {
    fn read_on(&mut self, folder: &Path) {
        let flags = rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY;
        let file = rusqlite::Connection::open_with_flags(folder.join("lockring.db"), flags).unwrap();
        // Notes and names stand beside the journal, under the entry's number.
        let sql =
            "SELECT id, job, kind, (SELECT text FROM private WHERE entry = id) FROM journal WHERE id > ?1";
        let mut statement = file.prepare(sql).unwrap();
        let mut rows = statement.query([self.last]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            self.last = row.get(0).unwrap();
            let job: i64 = row.get(1).unwrap();
            let kind: String = row.get(2).unwrap();
            *self.entries_of.entry(job).or_default() += 1;
            match kind.as_str() {
                "noted" => *self.notes.entry(row.get(3).unwrap()).or_default() += 1,
                "taken-in" => self.taken_in.entry(row.get(3).unwrap()).or_default().push(job),
                "gate-tried" => *self.tried.entry(job).or_default() += 1,
                _ => {}
            }
        }
    }

    /// How often a request is there; `None` where the file cannot tell.
    fn times(&self, sent: &Sent, entries_of_take_in: u32) -> Option<u32> {
        match sent.ask {
            Ask::Note { .. } => Some(self.notes.get(&sent.id).copied().unwrap_or(0)),
            Ask::TakeIn => {
                let jobs = self.taken_in.get(&sent.id).map_or(&[][..], Vec::as_slice);
                for job in jobs {
                    assert_eq!(
                        self.entries_of[job], entries_of_take_in,
                        "job {job} of {} was taken in by half",
                        sent.id
                    );
                }
                Some(u32::try_from(jobs.len()).unwrap())
            }
            Ask::Advance { .. } => None,
        }
    }
}

/// A shop with what is known of it.
struct Trial {
    shop: Shop,
    seen: Seen,
    entries_of_take_in: u32,
    /// Advances done for good, by job.
    advanced: HashMap<i64, u32>,
}

impl Trial {
    fn begin() -> Self {
        let shop = Shop::with_demo_jobs();
        shop.line("take-in Zoe").ok();
        let sample = block_on(async { send(&connect(&shop).await, "sample", Ask::TakeIn).await }).unwrap();
        let entries_of_take_in = u32::try_from(sample.revision).unwrap();
        assert!(
            entries_of_take_in > 2,
            "a take-in of {entries_of_take_in} entries cannot be halved"
        );
        Self {
            shop,
            seen: Seen::default(),
            entries_of_take_in,
            advanced: HashMap::new(),
        }
    }

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
        self.seen.read_on(&self.shop.folder());
        for request in &sent {
            let times = self.seen.times(request, self.entries_of_take_in);
            let expected = u32::from(request.answer.is_some());
            assert!(
                times.is_none_or(|times| times == expected || (expected == 0 && times == 1)),
                "{request:?} is there {times:?} times"
            );
        }
        self.send_again(&sent);
        let unsure = sent.iter().filter(|request| request.answer.is_none()).count();
        (sent.len() - unsure, unsure)
    }

    fn write_and_kill(&mut self, round: u64, way: u64, pause: Duration, seed: &mut Seed) -> Vec<Sent> {
        let at_work = Arc::new(AtWork::default());
        let folder = self.shop.folder();
        let end = Duration::from_micros(seed.below(20_000));
        block_on(async {
            let writers: Vec<_> = (0..CLIENTS)
                .map(|client| {
                    let (folder, at_work) = (folder.clone(), at_work.clone());
                    tokio::spawn(async move { write_on(&folder, round, client, &at_work).await })
                })
                .collect();
            let backup = (way == 3).then(|| tokio::spawn(back_up(folder.clone())));
            // Now and then before anything is answered; usually at some moment after.
            if way != 1 {
                tokio::time::timeout(PATIENCE, at_work.answered.notified())
                    .await
                    .expect("an answer in time");
            }
            tokio::time::sleep(pause).await;
            if way == 4 {
                self.shop.kill_over_its_end(end);
            } else {
                self.shop.kill();
            }
            at_work.stop.store(true, Ordering::Relaxed);
            let mut sent = Vec::new();
            for writer in writers {
                sent.extend(writer.await.unwrap());
            }
            if let Some(backup) = backup {
                backup.await.unwrap();
            }
            sent
        })
    }

    /// Sends everything once more under the same ids; then each must be there once.
    fn send_again(&mut self, sent: &[Sent]) {
        block_on(async {
            let channel = connect(&self.shop).await;
            for request in sent {
                let again = send(&channel, &request.id, request.ask)
                    .await
                    .unwrap_or_else(|status| panic!("{request:?}: {status}"));
                match (&request.answer, self.seen.times(request, self.entries_of_take_in)) {
                    (Some(first), _) => {
                        assert!(again.repeated, "{} was done again", request.id);
                        let first = JobReply {
                            repeated: true,
                            ..first.clone()
                        };
                        assert_eq!(again, first, "the first answer comes again");
                    }
                    (None, Some(times)) => {
                        assert_eq!(again.repeated, times == 1, "{}: entry without answer", request.id);
                    }
                    (None, None) => {}
                }
                if let Ask::Advance { job } = request.ask {
                    *self.advanced.entry(job.into()).or_default() += 1;
                }
            }
            let found = ShopClient::new(channel)
                .verify(VerifyRequest {})
                .await
                .unwrap()
                .into_inner();
            assert!(found.sound, "{:?}", found.problems);
        });
        self.seen.read_on(&self.shop.folder());
        for request in sent {
            let times = self.seen.times(request, self.entries_of_take_in);
            assert!(
                times.is_none_or(|times| times == 1),
                "{} is there {times:?} times",
                request.id
            );
        }
        assert_eq!(
            self.seen.tried, self.advanced,
            "a gate was tried once for each request"
        );
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
