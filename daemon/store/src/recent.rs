//! What has lately been read or written, so that a state is not read from its text again and again.
//! A state that is remembered counts only while its text is the one that is stored, so that it does
//! not matter who wrote it, nor when.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use lockring_domain::job::Job;
use lockring_domain::shop::Shop;
use rusqlite::{Connection, OptionalExtension};

use crate::error::StorageError;
use crate::rows;

/// Most bytes of text that are remembered: some hundred jobs.
pub(crate) const ROOM: usize = 2 * 1024 * 1024;

/// States with the texts they stand in; the writer and all readers share one.
#[derive(Default)]
pub(crate) struct Recent(Mutex<States>);

#[derive(Default)]
struct States {
    jobs: BTreeMap<u32, Known>,
    shop: Option<(String, Arc<Shop>)>,
    /// Bytes of the jobs' texts.
    bytes: usize,
    /// How often a job was looked for.
    turn: u64,
}

struct Known {
    state: String,
    job: Arc<Job>,
    turn: u64,
}

impl Recent {
    /// A job as it is stored; `None` when there is none of this number.
    pub(crate) fn job(&self, connection: &Connection, number: u32) -> Result<Option<Arc<Job>>, StorageError> {
        let found = connection
            .prepare_cached("SELECT state FROM job WHERE number = ?1")?
            .query_row([number], |row| {
                let state = row.get_ref(0)?.as_str()?;
                Ok(self.states().known(number, state).ok_or_else(|| state.to_owned()))
            })
            .optional()?;
        match found {
            None => Ok(None),
            Some(Ok(job)) => Ok(Some(job)),
            Some(Err(state)) => {
                let job = Arc::new(rows::job(number, &state)?);
                self.keep(job.clone(), state);
                Ok(Some(job))
            }
        }
    }

    /// A job of a list by the text it is stored as: a list that is longer than there is room for
    /// drives nothing else out.
    pub(crate) fn listed(&self, number: u32, state: &str) -> Result<Arc<Job>, StorageError> {
        if let Some(job) = self.states().known(number, state) {
            return Ok(job);
        }
        let job = Arc::new(rows::job(number, state)?);
        let mut states = self.states();
        if states.bytes + state.len() <= ROOM {
            states.keep(job.clone(), state.to_owned());
        }
        Ok(job)
    }

    /// As [`Recent::job`], no longer remembered.
    pub(crate) fn take(&self, connection: &Connection, number: u32) -> Result<Option<Job>, StorageError> {
        let job = self.job(connection, number)?;
        self.states().forget(number);
        Ok(job.map(Arc::unwrap_or_clone))
    }

    /// Remembers a job with the text it is stored as.
    pub(crate) fn keep(&self, job: Arc<Job>, state: String) {
        self.states().keep(job, state);
    }

    /// The shop as it is stored; as it begins when nothing was said of it yet.
    pub(crate) fn shop(&self, connection: &Connection) -> Result<Shop, StorageError> {
        let found = connection
            .prepare_cached("SELECT state FROM shop WHERE id = 1")?
            .query_row([], |row| {
                let state = row.get_ref(0)?.as_str()?;
                let states = self.states();
                let known = states.shop.as_ref().filter(|(known, _)| known == state);
                Ok(known.map_or_else(|| Err(state.to_owned()), |(_, shop)| Ok(shop.clone())))
            })
            .optional()?;
        match found {
            None => Ok(Shop::default()),
            Some(Ok(shop)) => Ok(Arc::unwrap_or_clone(shop)),
            Some(Err(state)) => {
                let shop = rows::shop(&state)?;
                self.states().shop = Some((state, Arc::new(shop.clone())));
                Ok(shop)
            }
        }
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
    /// The job that stands in a text, if that is remembered.
    fn known(&mut self, number: u32, state: &str) -> Option<Arc<Job>> {
        let known = self.jobs.get_mut(&number).filter(|known| known.state == state)?;
        self.turn += 1;
        known.turn = self.turn;
        Some(known.job.clone())
    }

    fn keep(&mut self, job: Arc<Job>, state: String) {
        self.forget(job.number);
        while self.bytes + state.len() > ROOM {
            let oldest = self.jobs.iter().min_by_key(|(_, known)| known.turn);
            let Some(number) = oldest.map(|(number, _)| *number) else {
                break;
            };
            self.forget(number);
        }
        self.turn += 1;
        self.bytes += state.len();
        let turn = self.turn;
        self.jobs.insert(job.number, Known { state, job, turn });
    }

    fn forget(&mut self, number: u32) {
        if let Some(known) = self.jobs.remove(&number) {
            self.bytes -= known.state.len();
        }
    }
}
