//! What the queue waits and locks with. The test `queue_model` puts a model checker's in its place.

use std::time::{Duration, Instant};

pub(crate) use std::sync::mpsc::{Receiver, Sender, channel};
pub(crate) use std::sync::{Mutex, MutexGuard, PoisonError};

/// So many callers come one by one, to a quick disk, before the next may write on its own thread.
pub(crate) const ALONE: u32 = 8;

/// So many do, before one goes through the queue again, behind which the ledger rests.
pub(crate) const RESTLESS: u32 = 32;

/// How long a batch waits for one more caller: much less than a disk takes to make it durable.
const SHORTLY: Duration = Duration::from_micros(200);

/// What a quick disk takes at most to make a batch durable: several times what one with flash memory
/// takes, a fraction of a turn of one with platters. In tests every disk is quick.
const QUICK: Duration = Duration::from_millis(if cfg!(test) { 60_000 } else { 2 });

/// What work led to, and whether it took no longer than a quick disk does.
pub(crate) fn quickly<T>(work: impl FnOnce() -> T) -> (T, bool) {
    let begun = Instant::now();
    let done = work();
    (done, begun.elapsed() <= QUICK)
}

/// What comes shortly.
pub(crate) fn shortly<T>(queue: &Receiver<T>) -> Option<T> {
    queue.recv_timeout(SHORTLY).ok()
}
