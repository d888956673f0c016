//! The queue before the one writer: who gets in, what makes a batch, and when callers are answered.
//!
//! Nothing here knows of SQLite. A [`Ledger`] begins, keeps and commits, so that a model checker can
//! play the same lines in thousands of orders (`tests/queue_model.rs`).

use std::sync::Arc;

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use crate::sync::{
    ALONE, Mutex, MutexGuard, PoisonError, RESTLESS, Receiver, Sender, channel, quickly, shortly,
};

/// Sends a caller's answer; given the error when the work was lost with its batch.
pub(crate) type Answer<E> = Box<dyn FnOnce(Option<E>) + Send>;

/// What running a caller's work led to.
pub(crate) struct Done<E> {
    /// Whether to keep what it wrote.
    pub(crate) keep: bool,
    /// Whether the file is to be cleaned of what it removed.
    pub(crate) clean: bool,
    pub(crate) answer: Answer<E>,
}

/// Where work is written down, a transaction at a time.
pub(crate) trait Ledger {
    /// Why something is not written down.
    type Error: Clone;
    /// The work of one caller.
    type Work;

    /// Begins a transaction unless one is open, and the caller's part of it.
    ///
    /// # Errors
    /// When there is none to write in; one that was open may be lost with it.
    fn begin(&self) -> Result<(), Self::Error>;
    /// Runs the work inside the caller's part, or tells it why there is none.
    fn run(&self, work: Self::Work, begun: Result<(), Self::Error>) -> Done<Self::Error>;
    /// Keeps or drops the caller's part; a transaction whose first part is dropped is at its end.
    ///
    /// # Errors
    /// When the whole transaction is lost.
    fn settle(&self, keep: bool) -> Result<(), Self::Error>;
    /// Whether a transaction is open.
    fn is_open(&self) -> bool;
    /// Makes the transaction durable; whether there was anything in it.
    fn commit(&self) -> Result<bool, Self::Error>;
    /// Drops the transaction with the work of so many callers, if it is still open.
    fn abandon(&self, error: &Self::Error, callers: usize);
    /// Cleans the file of what was removed for good.
    fn clean(&self);
    /// Does what can wait until everybody was answered.
    fn rest(&self);
}

/// A caller's place in the queue, until both the caller and its work let go of it.
#[derive(Clone)]
pub(crate) struct Place {
    _permit: Arc<OwnedSemaphorePermit>,
}

/// Takes work in until it is closed.
pub(crate) struct Queue<W> {
    /// Room for callers: who finds none is sent away.
    room: Arc<Semaphore>,
    /// For so many.
    size: usize,
    /// `None` once closed.
    sender: Mutex<Option<Sender<W>>>,
}

impl<W> Queue<W> {
    /// A queue with room for so many callers at once, and the end from which the writer takes.
    pub(crate) fn new(room: usize) -> (Self, Receiver<W>) {
        let (sender, receiver) = channel();
        let queue = Self {
            room: Arc::new(Semaphore::new(room)),
            size: room,
            sender: Mutex::new(Some(sender)),
        };
        (queue, receiver)
    }

    /// A place in the queue; `None` when all are taken.
    pub(crate) fn place(&self) -> Option<Place> {
        let permit = self.room.clone().try_acquire_owned().ok()?;
        Some(Place {
            _permit: Arc::new(permit),
        })
    }

    /// How many have a place.
    pub(crate) fn callers(&self) -> usize {
        self.size - self.room.available_permits()
    }

    /// Hands work to the writer; `false` once the queue is closed, and then it is never run.
    pub(crate) fn push(&self, work: W) -> bool {
        let sender = self.sender.lock().unwrap_or_else(PoisonError::into_inner);
        sender.as_ref().is_some_and(|sender| sender.send(work).is_ok())
    }

    /// Whether it takes no more work.
    #[cfg(test)]
    #[allow(dead_code, reason = "the queue's model does without")]
    pub(crate) fn is_closed(&self) -> bool {
        let sender = self.sender.lock().unwrap_or_else(PoisonError::into_inner);
        sender.is_none()
    }

    /// Takes no more work; what is in the queue is still done.
    pub(crate) fn close(&self) {
        self.sender.lock().unwrap_or_else(PoisonError::into_inner).take();
    }
}

/// The one pen there is: whoever holds it writes in the ledger. Mostly the writer's thread, with a batch;
/// also a caller who comes alone, on its own thread, which spares both of them being woken. When whoever
/// holds it breaks down, nobody writes any more: what lies open in the ledger is nobody's.
pub(crate) struct Pen<L>(Mutex<Held<L>>);

struct Held<L> {
    /// `None` once it was put away.
    ledger: Option<L>,
    /// So many batches in a row were of one caller and durable at once.
    alone: u32,
    /// So many callers wrote on their own threads since the queue was last served.
    restless: u32,
}

impl<L: Ledger> Pen<L> {
    /// Of a ledger that nobody has written in.
    pub(crate) const fn new(ledger: L) -> Self {
        Self(Mutex::new(Held {
            ledger: Some(ledger),
            alone: 0,
            restless: 0,
        }))
    }

    /// Serves the queue until it is closed and empty, in batches of at most so many callers: who is
    /// there, and who comes shortly while there are fewer than last time, for whoever was answered
    /// together mostly comes again together. Callers who come alone do not wait for others, but for the
    /// first of them. Gives the ledger at the end; `None` when whoever wrote in it broke down.
    pub(crate) fn serve(&self, queue: &Receiver<L::Work>, most: usize) -> Option<L> {
        let mut last = 1;
        while let Ok(first) = queue.recv() {
            let mut held = self.0.lock().ok()?;
            let ledger = held.ledger.as_ref()?;
            let (mut first, mut callers) = (Some(first), 0);
            let works = std::iter::from_fn(|| {
                let there = first.take().or_else(|| queue.try_recv().ok());
                let next = there.or_else(|| (callers < last).then(|| shortly(queue)).flatten());
                callers += usize::from(next.is_some());
                next
            });
            let written = batch(ledger, works.take(most));
            if let Written::Quickly | Written::Slowly = written {
                ledger.rest();
            }
            held.alone = after(held.alone, callers, written);
            held.restless = 0;
            last = callers;
        }
        self.0.lock().ok()?.ledger.take()
    }

    /// The pen, for a caller who comes alone: while callers come one by one and the disk is quick.
    fn for_one(&self) -> Option<MutexGuard<'_, Held<L>>> {
        let held = self.0.try_lock().ok()?;
        (held.alone >= ALONE && held.restless < RESTLESS).then_some(held)
    }

    /// Whether a caller who comes alone may write on its own thread.
    pub(crate) fn is_for_one(&self) -> bool {
        self.for_one().is_some()
    }

    /// Whether somebody writes.
    #[cfg(test)]
    #[allow(dead_code, reason = "the queue's model does without")]
    pub(crate) fn is_held(&self) -> bool {
        self.0.try_lock().is_err()
    }

    /// Does the work of a caller who comes alone, on its own thread; given back when it has to wait
    /// its turn in the queue.
    pub(crate) fn alone(&self, work: L::Work) -> Result<(), L::Work> {
        let Some(mut held) = self.for_one() else {
            return Err(work);
        };
        let Some(ledger) = &held.ledger else {
            return Err(work);
        };
        // Whoever else asks waits for the whole of it, not for the disk alone.
        let (written, is_quick) = quickly(|| batch(ledger, std::iter::once(work)));
        let written = if is_quick { written } else { Written::Slowly };
        held.alone = after(held.alone, 1, written);
        held.restless += 1;
        Ok(())
    }
}

/// How many batches in a row were of one caller and durable at once, with one more. One with nothing in it
/// says nothing of the disk.
fn after(alone: u32, callers: usize, written: Written) -> u32 {
    match (callers, written) {
        (1, Written::Quickly) => alone.saturating_add(1),
        (1, Written::Nothing) => alone,
        _ => 0,
    }
}

/// What became of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Written {
    Nothing,
    Quickly,
    Slowly,
    Lost,
}

/// Writes a batch in one transaction, and answers everybody in it after the commit.
fn batch<L: Ledger>(ledger: &L, works: impl Iterator<Item = L::Work>) -> Written {
    // Of those whose parts stand in the open transaction: none while there is none.
    let mut answers: Vec<Answer<L::Error>> = Vec::new();
    let mut clean = false;
    for work in works {
        if let Err(error) = ledger.begin() {
            if !ledger.is_open() && !answers.is_empty() {
                abandon(ledger, &error, &mut answers);
            }
            (ledger.run(work, Err(error)).answer)(None);
            continue;
        }
        let done = ledger.run(work, Ok(()));
        match ledger.settle(done.keep) {
            // It was the first, and nothing is left of it.
            Ok(()) if !ledger.is_open() => (done.answer)(None),
            Ok(()) => {
                answers.push(done.answer);
                clean |= done.keep && done.clean;
            }
            Err(error) => {
                answers.push(done.answer);
                abandon(ledger, &error, &mut answers);
            }
        }
    }
    if !ledger.is_open() {
        return Written::Nothing;
    }
    match quickly(|| ledger.commit()) {
        (Ok(has_any), is_quick) => {
            if clean {
                ledger.clean();
            }
            answers.into_iter().for_each(|answer| answer(None));
            match (has_any, is_quick) {
                (false, _) => Written::Nothing,
                (true, true) => Written::Quickly,
                (true, false) => Written::Slowly,
            }
        }
        (Err(error), _) => {
            abandon(ledger, &error, &mut answers);
            Written::Lost
        }
    }
}

/// Drops the whole batch and tells everybody in it.
fn abandon<L: Ledger>(ledger: &L, error: &L::Error, answers: &mut Vec<Answer<L::Error>>) {
    ledger.abandon(error, answers.len());
    for answer in answers.drain(..) {
        answer(Some(error.clone()));
    }
}
