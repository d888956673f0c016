//! The queue before the one writer: who gets in, what makes a batch, and when callers are answered.
//!
//! Nothing here knows of SQLite. A [`Ledger`] begins, keeps and commits, so that a model checker can
//! play the same lines in thousands of orders (`tests/queue_model.rs`).

use tokio::sync::{Semaphore, SemaphorePermit};

use crate::sync::{
    ALONE, Mutex, MutexGuard, PoisonError, RESTLESS, Receiver, Sender, TryLockError, channel, quickly,
    shortly,
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
    /// Makes the transaction durable.
    fn commit(&self) -> Result<(), Self::Error>;
    /// Drops the transaction with the work of so many callers, if it is still open.
    fn abandon(&self, error: &Self::Error, callers: usize);
    /// Cleans the file of what was removed for good.
    fn clean(&self);
    /// Does what can wait until everybody was answered.
    fn rest(&self);
}

/// Takes work in until it is closed.
pub(crate) struct Queue<W> {
    /// Room for callers: who finds none is sent away.
    room: Semaphore,
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
            room: Semaphore::new(room),
            size: room,
            sender: Mutex::new(Some(sender)),
        };
        (queue, receiver)
    }

    /// A place in the queue, until it is dropped; `None` when all are taken.
    pub(crate) fn place(&self) -> Option<SemaphorePermit<'_>> {
        self.room.try_acquire().ok()
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

    /// Takes no more work; what is in the queue is still done.
    pub(crate) fn close(&self) {
        self.sender.lock().unwrap_or_else(PoisonError::into_inner).take();
    }
}

/// The one pen there is: whoever holds it writes in the ledger. Mostly the writer's thread, with a batch;
/// also a caller who comes alone, on its own thread, which spares both of them being woken.
pub(crate) struct Pen<L>(Mutex<Held<L>>);

struct Held<L> {
    /// `None` once it was put away.
    ledger: Option<L>,
    /// So many batches in a row were of one caller and durable at once.
    alone: u32,
    /// So many callers wrote on their own threads since the ledger rested.
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
    /// first of them. The ledger is put away at the end, for whoever takes it from here.
    pub(crate) fn serve(&self, queue: &Receiver<L::Work>, most: usize) -> Option<L> {
        let mut last = 1;
        while let Ok(first) = queue.recv() {
            let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            let Some(ledger) = &held.ledger else { break };
            let (mut first, mut callers) = (Some(first), 0);
            let works = std::iter::from_fn(|| {
                let there = first.take().or_else(|| queue.try_recv().ok());
                let next = there.or_else(|| (callers < last).then(|| shortly(queue)).flatten());
                callers += usize::from(next.is_some());
                next
            });
            let committed = batch(ledger, works.take(most));
            if committed != Committed::Not {
                ledger.rest();
            }
            held.alone = after(held.alone, callers, committed);
            held.restless = 0;
            last = callers;
        }
        self.0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .ledger
            .take()
    }

    /// The pen, for a caller who comes alone: while callers come one by one and the disk is quick.
    fn for_one(&self) -> Option<MutexGuard<'_, Held<L>>> {
        let held = match self.0.try_lock() {
            Ok(held) => held,
            Err(TryLockError::Poisoned(held)) => held.into_inner(),
            Err(TryLockError::WouldBlock) => return None,
        };
        (held.alone >= ALONE && held.restless < RESTLESS).then_some(held)
    }

    /// Whether a caller who comes alone may write on its own thread.
    pub(crate) fn is_for_one(&self) -> bool {
        self.for_one().is_some()
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
        let committed = batch(ledger, std::iter::once(work));
        held.alone = after(held.alone, 1, committed);
        held.restless += 1;
        Ok(())
    }
}

/// How many batches in a row were of one caller and durable at once, with one more.
fn after(alone: u32, callers: usize, committed: Committed) -> u32 {
    match (callers, committed) {
        (1, Committed::Quickly) => alone.saturating_add(1),
        _ => 0,
    }
}

/// What became of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Committed {
    Not,
    Quickly,
    Slowly,
}

/// Writes a batch in one transaction, and answers everybody in it after the commit.
fn batch<L: Ledger>(ledger: &L, works: impl Iterator<Item = L::Work>) -> Committed {
    let mut answers: Vec<Answer<L::Error>> = Vec::new();
    let mut clean = false;
    for work in works {
        if let Err(error) = ledger.begin() {
            (ledger.run(work, Err(error)).answer)(None);
            continue;
        }
        let done = ledger.run(work, Ok(()));
        let kept = ledger.settle(done.keep);
        answers.push(done.answer);
        clean |= done.keep && done.clean;
        if let Err(error) = kept {
            abandon(ledger, &error, &mut answers);
        }
    }
    if !ledger.is_open() {
        answers.into_iter().for_each(|answer| answer(None));
        return Committed::Not;
    }
    match quickly(|| ledger.commit()) {
        (Ok(()), is_quick) => {
            if clean {
                ledger.clean();
            }
            answers.into_iter().for_each(|answer| answer(None));
            if is_quick {
                Committed::Quickly
            } else {
                Committed::Slowly
            }
        }
        (Err(error), _) => {
            abandon(ledger, &error, &mut answers);
            Committed::Not
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
