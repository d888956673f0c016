//! What has lately been read or written, so that a state is not read from its text again and again.
//! A state that is remembered counts only while its text is the one that is stored, so that it does
//! not matter who wrote it, nor when.
//!
//! Of some it is known without a look at the file that they are what is stored: the writer committed
//! them, or a reader found them there, and no commit of them began since ([`Recent::at_hand`]). The last
//! line of the journal is the writer's own: known until a part is dropped or somebody else writes.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use lockring_domain::job::Job;
use lockring_domain::shop::Shop;
use rusqlite::{Connection, OptionalExtension};

use crate::error::StorageError;
use crate::queries::{self, Head};
use crate::rows;

/// Most bytes of text that are remembered: about a hundred jobs.
pub(crate) const ROOM: usize = 1024 * 1024;

/// States with the texts they stand in; the writer and all readers share one.
#[derive(Default)]
pub(crate) struct Recent(Mutex<States>);

#[derive(Default)]
struct States {
    jobs: BTreeMap<u32, Kept>,
    shop: Option<Known<Shop>>,
    /// Bytes of the jobs' texts.
    bytes: usize,
    /// How often a job was looked for.
    turn: u64,
    /// How many commits began.
    commits: u64,
    is_committing: bool,
    /// The last line of the journal as it stands in the writer's transaction.
    head: Option<Head>,
    /// What was written since the last commit ended.
    jobs_written: BTreeSet<u32>,
    is_shop_written: bool,
}

struct Known<T> {
    text: String,
    state: Arc<T>,
    stored: Stored,
}

/// A job, and when it was last looked for.
struct Kept {
    known: Known<Job>,
    turn: u64,
}

/// What is known of a state without a look at the file.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stored {
    /// It stands in the transaction that the writer has open.
    Written,
    /// It is what is stored.
    Now,
    /// Nothing: it was stored once, or may be.
    Perhaps,
}

/// How many commits there were when a reader began: what it sees is what is stored until the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct AsOf(Option<u64>);

impl AsOf {
    /// Of a transaction that may hold what is not committed.
    pub(crate) const UNKNOWN: Self = Self(None);
}

impl Recent {
    /// The present moment; to be asked before the transaction begins that reads.
    pub(crate) fn now(&self) -> AsOf {
        let states = self.states();
        AsOf((!states.is_committing).then_some(states.commits))
    }

    /// Shop and job when it is known without a look at the file that they are what is stored.
    pub(crate) fn at_hand(&self, number: u32) -> Option<(Arc<Shop>, Arc<Job>)> {
        let mut states = self.states();
        let shop = states.shop.as_ref().filter(|known| known.stored == Stored::Now)?;
        let shop = shop.state.clone();
        states.turn += 1;
        let turn = states.turn;
        let job = states.jobs.get_mut(&number);
        let kept = job.filter(|kept| kept.known.stored == Stored::Now)?;
        kept.turn = turn;
        Some((shop, kept.known.state.clone()))
    }

    /// A job as it is stored; `None` when there is none of this number.
    pub(crate) fn job(
        &self,
        connection: &Connection,
        as_of: AsOf,
        number: u32,
    ) -> Result<Option<Arc<Job>>, StorageError> {
        let found = connection
            .prepare_cached("SELECT state FROM job WHERE number = ?1")?
            .query_row([number], |row| {
                let text = row.get_ref(0)?.as_str()?;
                let known = self.states().known(number, text, as_of);
                Ok(known.ok_or_else(|| text.to_owned()))
            })
            .optional()?;
        match found {
            None => Ok(None),
            Some(Ok(job)) => Ok(Some(job)),
            Some(Err(text)) => {
                let job = Arc::new(rows::job(number, &text)?);
                self.states().learn(job.clone(), text, as_of);
                Ok(Some(job))
            }
        }
    }

    /// A job of a list by the text it is stored as: a list that is longer than there is room for
    /// drives nothing else out.
    pub(crate) fn listed(&self, as_of: AsOf, number: u32, text: &str) -> Result<Arc<Job>, StorageError> {
        if let Some(job) = self.states().known(number, text, as_of) {
            return Ok(job);
        }
        let job = Arc::new(rows::job(number, text)?);
        let mut states = self.states();
        if states.bytes + text.len() <= ROOM {
            states.learn(job.clone(), text.to_owned(), as_of);
        }
        Ok(job)
    }

    /// A job as it stands in the writer's transaction: what the writer wrote, or knows to be stored, needs
    /// no look at the file.
    pub(crate) fn written(
        &self,
        connection: &Connection,
        number: u32,
    ) -> Result<Option<Arc<Job>>, StorageError> {
        let as_of = {
            let mut states = self.states();
            let is_written = states.jobs_written.contains(&number);
            if let Some(job) = states.known_to_writer(number, is_written) {
                return Ok(Some(job));
            }
            states.as_of_writer(is_written)
        };
        self.job(connection, as_of, number)
    }

    /// As [`Recent::written`], no longer remembered: the job is about to be written.
    pub(crate) fn take(&self, connection: &Connection, number: u32) -> Result<Option<Job>, StorageError> {
        let job = self.written(connection, number)?;
        let mut states = self.states();
        states.forget(number);
        states.jobs_written.insert(number);
        drop(states);
        Ok(job.map(Arc::unwrap_or_clone))
    }

    /// Remembers a job that was taken with the text it is written as.
    pub(crate) fn keep(&self, job: Arc<Job>, text: String) {
        self.states().keep(job, text, Stored::Written);
    }

    /// The shop as it is stored; as it begins when nothing was said of it yet.
    pub(crate) fn shop(&self, connection: &Connection, as_of: AsOf) -> Result<Arc<Shop>, StorageError> {
        let found = connection
            .prepare_cached("SELECT state FROM shop WHERE id = 1")?
            .query_row([], |row| {
                let text = row.get_ref(0)?.as_str()?;
                let known = self.states().known_shop(text, as_of);
                Ok(known.ok_or_else(|| text.to_owned()))
            })
            .optional()?;
        let text = match found {
            Some(Ok(shop)) => return Ok(shop),
            Some(Err(text)) => text,
            // No state is written as an empty text.
            None => String::new(),
        };
        let shop = if text.is_empty() {
            Arc::default()
        } else {
            Arc::new(rows::shop(&text)?)
        };
        self.states().learn_shop(shop.clone(), text, as_of);
        Ok(shop)
    }

    /// The shop as it stands in the writer's transaction; see [`Recent::written`].
    pub(crate) fn shop_as_written(&self, connection: &Connection) -> Result<Arc<Shop>, StorageError> {
        let as_of = {
            let states = self.states();
            let is_written = states.is_shop_written;
            let known = states.shop.as_ref().filter(|_| !is_written);
            if let Some(shop) = known.filter(|known| known.stored == Stored::Now) {
                return Ok(shop.state.clone());
            }
            states.as_of_writer(is_written)
        };
        self.shop(connection, as_of)
    }

    /// The last line of the journal as it stands in the writer's transaction.
    pub(crate) fn head(&self, connection: &Connection) -> Result<Head, StorageError> {
        if let Some(head) = self.states().head {
            return Ok(head);
        }
        let head = queries::head(connection)?;
        self.head_written(head);
        Ok(head)
    }

    /// The writer added lines to the journal, of which this is the last.
    pub(crate) fn head_written(&self, head: Head) {
        self.states().head = Some(head);
    }

    /// Somebody else wrote to the file: nothing is known without a look at it.
    pub(crate) fn lose_all(&self) {
        let mut states = self.states();
        let states = &mut *states;
        // Nor is what a reader finds who began before.
        states.commits += 1;
        states.head = None;
        states.jobs.values_mut().for_each(|kept| kept.known.lose());
        if let Some(shop) = &mut states.shop {
            shop.lose();
        }
    }

    /// The shop is written anew.
    pub(crate) fn shop_written(&self) {
        let mut states = self.states();
        states.shop = None;
        states.is_shop_written = true;
    }

    /// Some of what was written is not kept.
    pub(crate) fn forget_written(&self) {
        let mut states = self.states();
        states.head = None;
        states.settle(None);
    }

    /// A commit begins: from here on readers may see what is in it.
    pub(crate) fn commit_begins(&self) {
        let mut states = self.states();
        states.commits += 1;
        states.is_committing = true;
        let states = &mut *states;
        for number in &states.jobs_written {
            if let Some(kept) = states.jobs.get_mut(number) {
                kept.known.lose();
            }
        }
        if std::mem::take(&mut states.is_shop_written)
            && let Some(shop) = &mut states.shop
        {
            shop.lose();
        }
    }

    /// It ended, and what was written is stored or not.
    pub(crate) fn commit_ends(&self, is_stored: bool) {
        let mut states = self.states();
        states.settle(is_stored.then_some(Stored::Now));
        states.head = states.head.filter(|_| is_stored);
        states.jobs_written.clear();
        states.is_committing = false;
    }

    /// The jobs that are remembered, and the bytes of their texts.
    #[cfg(test)]
    pub(crate) fn remembered(&self) -> (Vec<u32>, usize) {
        let states = self.states();
        (states.jobs.keys().copied().collect(), states.bytes)
    }

    fn states(&self) -> MutexGuard<'_, States> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl States {
    /// A job that stands in the writer's transaction as it is remembered. One that was written there may
    /// have been forgotten, and read by others as it was before.
    fn known_to_writer(&mut self, number: u32, is_written: bool) -> Option<Arc<Job>> {
        self.turn += 1;
        let right = if is_written { Stored::Written } else { Stored::Now };
        let kept = self.jobs.get_mut(&number);
        let kept = kept.filter(|kept| kept.known.stored == right)?;
        kept.turn = self.turn;
        Some(kept.known.state.clone())
    }

    /// What the writer finds in its transaction is what is stored, unless it wrote that itself.
    fn as_of_writer(&self, is_written: bool) -> AsOf {
        if is_written {
            AsOf::UNKNOWN
        } else {
            AsOf(Some(self.commits))
        }
    }

    /// What is known of something that a reader finds in the file.
    fn found(&self, as_of: AsOf) -> Stored {
        if as_of.0 == Some(self.commits) {
            Stored::Now
        } else {
            Stored::Perhaps
        }
    }

    /// The job that stands in a text, if that is remembered.
    fn known(&mut self, number: u32, text: &str, as_of: AsOf) -> Option<Arc<Job>> {
        let found = self.found(as_of);
        self.turn += 1;
        let kept = self
            .jobs
            .get_mut(&number)
            .filter(|kept| kept.known.text == text)?;
        kept.turn = self.turn;
        Some(kept.known.read(found))
    }

    /// The shop that stands in a text, if that is remembered.
    fn known_shop(&mut self, text: &str, as_of: AsOf) -> Option<Arc<Shop>> {
        let found = self.found(as_of);
        let known = self.shop.as_mut().filter(|known| known.text == text)?;
        Some(known.read(found))
    }

    /// Remembers the shop as it was read, unless something newer is known of it.
    fn learn_shop(&mut self, state: Arc<Shop>, text: String, as_of: AsOf) {
        let stored = self.found(as_of);
        if self.shop.as_ref().is_none_or(|known| known.may_go(stored)) {
            self.shop = Some(Known { text, state, stored });
        }
    }

    /// Remembers a job that was read, unless something newer is known of it.
    fn learn(&mut self, job: Arc<Job>, text: String, as_of: AsOf) {
        let found = self.found(as_of);
        let kept = self.jobs.get(&job.number);
        if kept.is_none_or(|kept| kept.known.may_go(found)) {
            self.keep(job, text, found);
        }
    }

    fn keep(&mut self, state: Arc<Job>, text: String, stored: Stored) {
        let number = state.number;
        self.forget(number);
        while self.bytes + text.len() > ROOM {
            let oldest = self.jobs.iter().min_by_key(|(_, kept)| kept.turn);
            let Some(number) = oldest.map(|(number, _)| *number) else {
                break;
            };
            self.forget(number);
        }
        self.turn += 1;
        self.bytes += text.len();
        let (turn, known) = (self.turn, Known { text, state, stored });
        self.jobs.insert(number, Kept { known, turn });
    }

    /// Says of the jobs that stand in the open transaction what became of them; forgets them when they
    /// may not be kept.
    fn settle(&mut self, stored: Option<Stored>) {
        let written = std::mem::take(&mut self.jobs_written);
        for number in &written {
            let job = self.jobs.get_mut(number);
            let Some(kept) = job.filter(|kept| kept.known.stored == Stored::Written) else {
                continue;
            };
            match stored {
                Some(stored) => kept.known.stored = stored,
                None => self.forget(*number),
            }
        }
        self.jobs_written = written;
    }

    fn forget(&mut self, number: u32) {
        if let Some(kept) = self.jobs.remove(&number) {
            self.bytes -= kept.known.text.len();
        }
    }
}

impl<T> Known<T> {
    /// The state, and what a reader found of it.
    fn read(&mut self, found: Stored) -> Arc<T> {
        if self.stored == Stored::Perhaps {
            self.stored = found;
        }
        self.state.clone()
    }

    /// Whether something else that was read may take its place.
    fn may_go(&self, found: Stored) -> bool {
        match self.stored {
            Stored::Written => false,
            Stored::Now => found == Stored::Now,
            Stored::Perhaps => true,
        }
    }

    /// It is no longer known to be what is stored.
    fn lose(&mut self) {
        if self.stored == Stored::Now {
            self.stored = Stored::Perhaps;
        }
    }
}
