//! Clients that write while something happens to the daemon or its disk, and what must be true of
//! their requests afterwards: what was answered is there once, what was not is there whole or not at
//! all, and every request sent again is done once.
#![cfg_attr(
    not(target_env = "gnu"),
    allow(dead_code, reason = "disk.c knows the GNU C library alone")
)]

use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::{AdvanceRequest, Assignment, JobReply, NoteRequest, TakeInRequest, VerifyRequest};
use tokio::sync::Notify;
use tokio::task::JoinSet;
use tonic::transport::Channel;
use tonic::{Code, Status};
use tonic_types::StatusExt as _;

use crate::support::rpc::{block_on, connect, origin, try_connect};
use crate::support::{PATIENCE, Shop};

/// Jobs they share.
const SHARED: u64 = 4;

/// A request, and the answer if one came.
#[derive(Debug, Clone)]
pub(super) struct Sent {
    id: String,
    ask: Ask,
    pub(super) answer: Option<JobReply>,
    /// The daemon said that nothing of it was stored.
    pub(super) is_turned_away: bool,
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
                not_the_last: false,
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

/// Clients at work, and what they and whoever makes trouble for them tell each other.
pub(super) struct AtWork {
    shared: Arc<Shared>,
    clients: JoinSet<Vec<Sent>>,
}

#[derive(Default)]
struct Shared {
    /// Something was answered.
    answered: Notify,
    /// Something was not stored.
    failed: Notify,
    stop: AtomicBool,
}

impl AtWork {
    /// So many clients begin to write.
    pub(super) fn begin(folder: &Path, round: u64, clients: u64) -> Self {
        let shared = Arc::new(Shared::default());
        let mut at_work = JoinSet::new();
        for client in 0..clients {
            let (folder, shared) = (folder.to_owned(), shared.clone());
            at_work.spawn(async move { write_on(&folder, round, client, &shared).await });
        }
        Self {
            shared,
            clients: at_work,
        }
    }

    /// Waits for an answer.
    pub(super) async fn answered(&self) {
        let answer = self.shared.answered.notified();
        tokio::time::timeout(PATIENCE, answer)
            .await
            .expect("an answer in time");
    }

    /// Waits for a change that was not stored.
    pub(super) async fn failed(&self) {
        let failure = self.shared.failed.notified();
        tokio::time::timeout(PATIENCE, failure)
            .await
            .expect("a failure in time");
    }

    /// Ends the clients; all that they asked for.
    pub(super) async fn end(self) -> Vec<Sent> {
        self.shared.stop.store(true, Ordering::Relaxed);
        self.clients.join_all().await.into_iter().flatten().collect()
    }
}

/// Writes until it is to stop or the connection breaks.
async fn write_on(folder: &Path, round: u64, client: u64, shared: &Shared) -> Vec<Sent> {
    let mut sent = Vec::new();
    let Ok(channel) = try_connect(folder).await else {
        return sent;
    };
    for number in 0.. {
        if shared.stop.load(Ordering::Relaxed) {
            break;
        }
        let job = u32::try_from(1 + client % SHARED).unwrap();
        let ask = match number % 8 {
            3 => Ask::TakeIn,
            6 => Ask::Advance { job },
            _ => Ask::Note { job },
        };
        let id = format!("r{round}-c{client}-n{number}");
        let said = send(&channel, &id, ask).await;
        let reason = said.as_ref().err().and_then(reason);
        match &said {
            Ok(_) => shared.answered.notify_one(),
            Err(_) if reason.is_some() => shared.failed.notify_one(),
            Err(status) => assert!(is_cut_off(status), "{id} {ask:?}: {status}"),
        }
        let is_over = said.is_err() && reason.is_none();
        sent.push(Sent {
            id,
            ask,
            answer: said.ok(),
            is_turned_away: reason == Some("STORAGE"),
        });
        if is_over {
            break;
        }
    }
    sent
}

/// Why a change was not stored, where that lies with the disk.
fn reason(status: &Status) -> Option<&'static str> {
    let reason = status.get_details_error_info()?.reason;
    ["STORAGE", "UNSURE"].into_iter().find(|known| *known == reason)
}

/// Whether an error is one of a daemon that went away, and not a refusal.
pub(super) fn is_cut_off(status: &Status) -> bool {
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
pub(super) struct Trial {
    pub(super) shop: Shop,
    seen: Seen,
    entries_of_take_in: u32,
    /// Advances done for good, by job.
    advanced: HashMap<i64, u32>,
}

impl Trial {
    pub(super) fn begin() -> Self {
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

    /// Looks for every request in the data file, after the daemon was started again.
    pub(super) fn look_for(&mut self, sent: &[Sent]) {
        self.seen.read_on(&self.shop.folder());
        for request in sent {
            let times = self.seen.times(request, self.entries_of_take_in);
            let expected = match (&request.answer, request.is_turned_away) {
                (Some(_), _) => 1..=1,
                (None, true) => 0..=0,
                (None, false) => 0..=1,
            };
            assert!(
                times.is_none_or(|times| expected.contains(&times)),
                "{request:?} is there {times:?} times"
            );
        }
    }

    /// Sends everything once more under the same ids; then each must be there once.
    pub(super) fn send_again(&mut self, sent: &[Sent]) {
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
}
