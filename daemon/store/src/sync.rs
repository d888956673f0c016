//! What the queue waits and locks with. The test `queue_model` puts a model checker's in its place.

use std::time::Duration;

pub(crate) use std::sync::mpsc::{Receiver, Sender, channel};
pub(crate) use std::sync::{Mutex, PoisonError};

/// How long a batch waits for one more caller: much less than a disk takes to make it durable.
const SHORTLY: Duration = Duration::from_micros(200);

/// What comes shortly.
pub(crate) fn shortly<T>(queue: &Receiver<T>) -> Option<T> {
    queue.recv_timeout(SHORTLY).ok()
}
