//! The writer's queue in every order of its threads that a model checker tries: what was answered
//! is durable, once, and everybody is answered, however callers, failures and the end fall together.
//!
//! The lines are those of `src/queue.rs`; what they wait and lock with is the checker's, and the file
//! is a ledger whose every step may fail. Some hundred orders in the suite, more with
//! `LOCKRING_ORDERS`; an order that fails is printed and comes again with
//! `shuttle::replay`.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use shuttle::rand::Rng as _;
use shuttle::sync::Mutex;
use tokio::sync::oneshot;

#[path = "../src/queue.rs"]
mod queue;

mod sync {
    use shuttle::rand::Rng as _;

    pub(crate) use shuttle::sync::mpsc::{Receiver, Sender, channel};
    pub(crate) use shuttle::sync::{Mutex, MutexGuard, PoisonError};

    /// Soon, so that it happens with few works.
    pub(crate) const ALONE: u32 = 1;
    pub(crate) const RESTLESS: u32 = 2;

    /// Some disks are quick.
    pub(crate) fn quickly<T>(work: impl FnOnce() -> T) -> (T, bool) {
        (work(), shuttle::rand::thread_rng().gen_ratio(3, 4))
    }

    /// The model has no clock: who comes shortly is there after others had a turn.
    pub(crate) fn shortly<T>(queue: &Receiver<T>) -> Option<T> {
        shuttle::thread::yield_now();
        queue.try_recv().ok()
    }
}

use queue::{Answer, Done, Ledger, Pen, Place, Queue};

/// So many callers write so many works each, through a queue with room for fewer.
const CALLERS: u32 = 4;
const WORKS: u32 = 3;
const ROOM: usize = 3;
/// Most works in a batch.
const MOST: usize = 2;
/// A step of the ledger fails once in so many.
const FAILS: u32 = 8;

/// How many works callers did on their own threads, in all orders.
static BY_THEMSELVES: AtomicU32 = AtomicU32::new(0);

/// Why something was not written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lost {
    /// The file failed.
    Failed,
    /// The work was refused.
    Refused,
}

type Reply = Result<u32, Lost>;

/// A work: its number, whether it is refused, and who waits for it.
struct Work {
    number: u32,
    is_refused: bool,
    reply: oneshot::Sender<Reply>,
    place: Place,
}

/// What is on the disk, and what the open transaction would add.
#[derive(Default)]
struct Disk {
    durable: Vec<u32>,
    open: Option<Vec<u32>>,
    /// Where the caller's part begins.
    part: usize,
    commits: u32,
    /// Works that callers did on their own threads.
    alone: u32,
    largest: usize,
    /// Works that ran, as often as they did.
    ran: Vec<u32>,
    /// Works whose callers were answered.
    told: usize,
    /// Works that the ledger was handed.
    taken: usize,
}

/// How a ledger goes wrong, to see that the checks would tell.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fault {
    None,
    /// A commit is called done and was not.
    Lies,
    /// A caller's part that was to be dropped stays.
    KeepsRefused,
}

struct Model {
    disk: Arc<Mutex<Disk>>,
    fault: Fault,
}

fn fails() -> bool {
    shuttle::rand::thread_rng().gen_ratio(1, FAILS)
}

impl Ledger for Model {
    type Error = Lost;
    type Work = Work;

    fn begin(&self) -> Result<(), Lost> {
        let mut disk = self.disk.lock().unwrap();
        // The transaction may be open and the caller's part not begun.
        let is_late = fails();
        if !is_late && fails() {
            // Some failures roll back what was open, by themselves.
            if fails() {
                disk.open = None;
            }
            return Err(Lost::Failed);
        }
        disk.part = disk.open.get_or_insert_default().len();
        if is_late { Err(Lost::Failed) } else { Ok(()) }
    }

    fn run(&self, work: Work, begun: Result<(), Lost>) -> Done<Lost> {
        let Work {
            number,
            is_refused,
            reply,
            place,
        } = work;
        self.disk.lock().unwrap().taken += 1;
        if begun.is_ok() {
            let mut disk = self.disk.lock().unwrap();
            disk.ran.push(number);
            // What is refused may have written something before.
            disk.open.as_mut().unwrap().push(number);
        }
        let result = begun.and(if is_refused {
            Err(Lost::Refused)
        } else {
            Ok(number)
        });
        let disk = self.disk.clone();
        let answer: Answer<Lost> = Box::new(move |lost| {
            disk.lock().unwrap().told += 1;
            let told = match (result, lost) {
                (Ok(_), Some(lost)) => Err(lost),
                (result, _) => result,
            };
            let _gone = reply.send(told);
            drop(place);
        });
        Done {
            keep: result.is_ok(),
            clean: false,
            answer,
        }
    }

    fn settle(&self, keep: bool) -> Result<(), Lost> {
        let mut disk = self.disk.lock().unwrap();
        if fails() {
            // Some failures roll the whole transaction back by themselves, others do not.
            if fails() {
                disk.open = None;
            }
            return Err(Lost::Failed);
        }
        let part = disk.part;
        if !keep && self.fault != Fault::KeepsRefused {
            match part {
                0 => disk.open = None,
                part => disk.open.as_mut().unwrap().truncate(part),
            }
        }
        Ok(())
    }

    fn is_open(&self) -> bool {
        self.disk.lock().unwrap().open.is_some()
    }

    fn commit(&self) -> Result<bool, Lost> {
        let mut disk = self.disk.lock().unwrap();
        if fails() {
            return Err(Lost::Failed);
        }
        let open = disk.open.take().unwrap();
        disk.commits += 1;
        disk.largest = disk.largest.max(open.len());
        if self.fault == Fault::Lies && fails() {
            return Ok(true);
        }
        let has_any = !open.is_empty();
        disk.durable.extend(open);
        Ok(has_any)
    }

    fn abandon(&self, _: &Lost, _: usize) {
        self.disk.lock().unwrap().open = None;
    }

    fn clean(&self) {}

    fn rest(&self) {
        let disk = self.disk.lock().unwrap();
        assert_eq!(disk.told, disk.taken, "somebody waits for what could wait");
    }
}

/// What a caller was told of each work.
type Told = Vec<(u32, Option<Reply>)>;

fn call(queue: &Queue<Work>, pen: &Pen<Model>, disk: &Mutex<Disk>, caller: u32) -> Told {
    let mut told = Vec::new();
    for turn in 0..WORKS {
        let number = 100 * caller + turn;
        let Some(place) = queue.place() else {
            told.push((number, None));
            continue;
        };
        let is_refused = shuttle::rand::thread_rng().gen_ratio(1, 4);
        let (reply, answer) = oneshot::channel();
        let work = Work {
            number,
            is_refused,
            reply,
            place: place.clone(),
        };
        // As the store does it with little works.
        let mut work = Some(work);
        if pen.is_for_one() && queue.callers() == 1 {
            work = work.and_then(|work| pen.alone(work).err());
            disk.lock().unwrap().alone += u32::from(work.is_none());
        }
        if work.is_some_and(|work| !queue.push(work)) {
            told.push((number, None));
            continue;
        }
        if turn == 1 && shuttle::rand::thread_rng().gen_ratio(1, 4) {
            // A caller who no longer waits: the work may be done or not.
            drop((answer, place));
            continue;
        }
        let reply = shuttle::future::block_on(answer).expect("who got in is answered");
        let is_durable = disk.lock().unwrap().durable.contains(&number);
        assert_eq!(
            reply.is_ok(),
            is_durable,
            "{number} was told {reply:?} and is durable: {is_durable}"
        );
        assert_eq!(
            reply == Err(Lost::Refused),
            is_refused && reply != Err(Lost::Failed)
        );
        told.push((number, Some(reply)));
        drop(place);
    }
    told
}

/// One order: callers, the writer, and somebody who ends it all at some moment.
fn play(fault: Fault) {
    let disk = Arc::new(Mutex::new(Disk::default()));
    let (queue, works) = Queue::new(ROOM);
    let queue = Arc::new(queue);
    let ledger = Model {
        disk: disk.clone(),
        fault,
    };
    let pen = Arc::new(Pen::new(ledger));
    let held = pen.clone();
    let writer = shuttle::thread::spawn(move || held.serve(&works, MOST).is_some());
    let callers: Vec<_> = (1..=CALLERS)
        .map(|caller| {
            let (queue, pen, disk) = (queue.clone(), pen.clone(), disk.clone());
            shuttle::thread::spawn(move || call(&queue, &pen, &disk, caller))
        })
        .collect();
    let ending = queue.clone();
    let end = shuttle::thread::spawn(move || {
        // Early or late.
        let turns = shuttle::rand::thread_rng().gen_range(0..80);
        (0..turns).for_each(|_| shuttle::thread::yield_now());
        ending.close();
    });
    let told: Vec<Told> = callers.into_iter().map(|caller| caller.join().unwrap()).collect();
    end.join().unwrap();
    assert!(writer.join().unwrap(), "the ledger was put away twice");

    let disk = disk.lock().unwrap();
    BY_THEMSELVES.fetch_add(disk.alone, Ordering::Relaxed);
    assert!(disk.open.is_none(), "a transaction was left open");
    assert!(disk.largest <= MOST, "{} in a batch", disk.largest);
    for list in [&disk.durable, &disk.ran] {
        let once: BTreeSet<u32> = list.iter().copied().collect();
        assert_eq!(once.len(), list.len(), "something was done twice: {list:?}");
    }
    for told in told {
        for (number, reply) in &told {
            let is_durable = disk.durable.contains(number);
            match reply {
                // Sent away at the door, or after the end: it never ran.
                None => assert!(!disk.ran.contains(number), "{number} ran"),
                Some(reply) => assert_eq!(reply.is_ok(), is_durable, "{number}: {reply:?}"),
            }
        }
    }
    // One caller's works are done in the order in which they were handed over.
    for caller in 1..=CALLERS {
        let own = disk.ran.iter().filter(|number| **number / 100 == caller);
        assert!(own.is_sorted(), "{:?}", disk.ran);
    }
    assert!(!queue.push(Work {
        number: 0,
        is_refused: false,
        reply: oneshot::channel().0,
        place: queue.place().unwrap(),
    }));
}

fn orders() -> usize {
    let given = std::env::var("LOCKRING_ORDERS").ok();
    given.map_or(400, |text| {
        text.parse().expect("LOCKRING_ORDERS must be a whole number")
    })
}

#[test]
fn what_is_answered_is_durable_once_and_everybody_is_answered_in_any_order() {
    shuttle::check_random(|| play(Fault::None), orders());
    // Orders with few changes of thread, which chance seldom finds.
    shuttle::check_pct(|| play(Fault::None), orders(), 3);
    let alone = BY_THEMSELVES.load(Ordering::Relaxed) as usize;
    assert!(
        alone > orders() / 8,
        "only {alone} works were done by their callers"
    );
}

#[test]
#[should_panic(expected = "is durable: false")]
fn a_commit_that_lies_would_be_found() {
    shuttle::check_random(|| play(Fault::Lies), 2000);
}

#[test]
#[should_panic(expected = "is durable: true")]
fn a_refused_work_that_stays_would_be_found() {
    shuttle::check_random(|| play(Fault::KeepsRefused), 2000);
}
