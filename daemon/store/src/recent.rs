//! What the writer has lately read or written, so that a state is not read from its text at every
//! change. A state that is remembered counts only while its text is the one that is stored.

use std::collections::BTreeMap;

use lockring_domain::job::Job;
use lockring_domain::shop::Shop;
use rusqlite::{Connection, OptionalExtension};

use crate::error::StorageError;
use crate::rows;

/// Most bytes of text that are remembered: some hundred jobs.
const ROOM: usize = 2 * 1024 * 1024;

/// States with the texts they stand in.
#[derive(Default)]
pub(crate) struct Recent {
    jobs: BTreeMap<u32, Known>,
    shop: Option<(String, Shop)>,
    /// Bytes of the jobs' texts.
    bytes: usize,
    /// How often a job was looked for.
    turn: u64,
}

struct Known {
    state: String,
    job: Job,
    turn: u64,
}

impl Recent {
    /// A job as it is stored; `None` when there is none of this number.
    pub(crate) fn job(&mut self, connection: &Connection, number: u32) -> Result<Option<&Job>, StorageError> {
        let read = connection
            .prepare_cached("SELECT state FROM job WHERE number = ?1")?
            .query_row([number], |row| {
                let state = row.get_ref(0)?.as_str()?;
                let is_known = self.jobs.get(&number).is_some_and(|known| known.state == state);
                Ok((!is_known).then(|| state.to_owned()))
            })
            .optional()?;
        match read {
            None => return Ok(None),
            Some(None) => {}
            Some(Some(state)) => {
                let job = rows::job(number, &state)?;
                self.keep(job, state);
            }
        }
        self.turn += 1;
        let turn = self.turn;
        Ok(self.jobs.get_mut(&number).map(|known| {
            known.turn = turn;
            &known.job
        }))
    }

    /// The same, no longer remembered.
    pub(crate) fn take(&mut self, connection: &Connection, number: u32) -> Result<Option<Job>, StorageError> {
        self.job(connection, number)?;
        Ok(self.forget(number))
    }

    /// Remembers a job with the text it is stored as.
    pub(crate) fn keep(&mut self, job: Job, state: String) {
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

    fn forget(&mut self, number: u32) -> Option<Job> {
        let known = self.jobs.remove(&number)?;
        self.bytes -= known.state.len();
        Some(known.job)
    }

    /// The shop as it is stored; as it begins when nothing was said of it yet.
    pub(crate) fn shop(&mut self, connection: &Connection) -> Result<Shop, StorageError> {
        let read = connection
            .prepare_cached("SELECT state FROM shop WHERE id = 1")?
            .query_row([], |row| {
                let state = row.get_ref(0)?.as_str()?;
                let known = self.shop.as_ref().filter(|(known, _)| known == state);
                Ok(known.map_or_else(|| Err(state.to_owned()), |(_, shop)| Ok(shop.clone())))
            })
            .optional()?;
        match read {
            None => Ok(Shop::default()),
            Some(Ok(shop)) => Ok(shop),
            Some(Err(state)) => {
                let shop = rows::shop(&state)?;
                self.shop = Some((state, shop.clone()));
                Ok(shop)
            }
        }
    }
}
