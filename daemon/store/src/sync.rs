//! What the queue waits and locks with. The test `queue_model` puts a model checker's in its place.

pub(crate) use std::sync::mpsc::{Receiver, Sender, channel};
pub(crate) use std::sync::{Mutex, PoisonError};
