//! What one caller may do inside the writer's transaction.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::job::Job;
use lockring_domain::labour::Running;
use lockring_domain::origin::Origin;
use lockring_domain::part::Part;
use lockring_domain::shop::Shop;
use lockring_domain::stage::Stage;
use lockring_domain::supply::piece::Holder;
use lockring_domain::supply::recall::{Find, Found};
use lockring_domain::supply::shelf::Stock;
use rusqlite::Connection;

use crate::error::StorageError;
use crate::recent::Recent;
use crate::{found, in_clear, private, queries, stock, supply, veil};

mod shelf;
mod write;

/// One caller's part of a transaction: it sees everything stored so far, and either all it
/// writes is kept or nothing.
pub struct Tx<'c> {
    pub(crate) connection: &'c Connection,
    /// The first write that failed; the caller's whole part is then dropped, even when the
    /// caller makes nothing of the error.
    pub(crate) failed: Option<StorageError>,
    /// Whether the file is to be cleaned of what was removed, after the commit.
    pub(crate) clean: bool,
    /// Private texts that an answer may hold, by their entries: what the caller saw or wrote.
    pub(crate) seen: RefCell<veil::Seen>,
    /// What was lately read or written.
    pub(crate) recent: Arc<Recent>,
}

impl<'c> Tx<'c> {
    pub(crate) fn new(connection: &'c Connection) -> Self {
        Self::remembering(connection, Arc::default())
    }

    /// As [`Tx::new`], knowing what was lately read or written through the same connection.
    pub(crate) fn remembering(connection: &'c Connection, recent: Arc<Recent>) -> Self {
        Self {
            connection,
            failed: None,
            clean: false,
            seen: RefCell::default(),
            recent,
        }
    }

    /// A job as it stands; `None` when there is none of this number.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn job(&self, number: u32) -> Result<Option<Job>, StorageError> {
        let job = self
            .recent
            .written(self.connection, number)?
            .map(Arc::unwrap_or_clone);
        if let Some(job) = &job {
            self.seen.borrow_mut().job(job);
        }
        Ok(job)
    }

    /// The shop as it stands.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn shop(&self) -> Result<Arc<Shop>, StorageError> {
        self.recent.shop_as_written(self.connection)
    }

    /// As [`crate::Reader::last_evening`].
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn last_evening(&self, by: Timestamp) -> Result<Option<Date>, StorageError> {
        queries::last_evening(self.connection, by)
    }

    /// As [`crate::Reader::last_swept`].
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn last_swept(&self, by: Timestamp) -> Result<Option<Date>, StorageError> {
        queries::last_swept(self.connection, by)
    }

    /// The number of the last entry of a job, or of none for job 0; 0 before the first.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn last_seq(&self, job: u32) -> Result<u64, StorageError> {
        queries::last_seq(self.connection, job)
    }

    /// The entries of a job, oldest first; 0 asks for those of the shop as a whole.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn entries(&self, job: u32) -> Result<Vec<Entry>, StorageError> {
        let entries = queries::history(self.connection, job, 0)?;
        self.seen.borrow_mut().entries(&entries);
        Ok(entries)
    }

    /// Open jobs by stage.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn open_by_stage(&self) -> Result<BTreeMap<Stage, u32>, StorageError> {
        queries::open_by_stage(self.connection)
    }

    /// The number the next job gets: one more than the last, from 1.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn next_job_number(&self) -> Result<u32, StorageError> {
        let sql = "SELECT coalesce(max(number), 0) + 1 FROM job";
        Ok(self
            .connection
            .prepare_cached(sql)?
            .query_row([], |row| row.get(0))?)
    }

    /// Where pieces with a serial number are now, by the key of the number.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn holders(&self, serial_key: &str) -> Result<Vec<Holder>, StorageError> {
        supply::holders(self.connection, serial_key)
    }

    /// The clocks that run for somebody, by job.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn clocks(&self, who: &str) -> Result<Vec<Running>, StorageError> {
        supply::clocks(self.connection, who)
    }

    /// Jobs of riders of a name, by number; capitals of plain letters do not count.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn jobs_of_rider(&self, name: &str) -> Result<Vec<Job>, StorageError> {
        queries::jobs_of_rider(self.connection, name)
    }

    /// Jobs of bicycles whose frame bears a number, by number of the job; spaces and capitals do not count.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn jobs_of_frame(&self, frame: &str) -> Result<Vec<Job>, StorageError> {
        queries::jobs_of_frame(self.connection, frame)
    }

    /// The entries of a job whose private texts stand in the journal itself.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn in_clear(&self, job: u32) -> Result<BTreeSet<u64>, StorageError> {
        in_clear::of_job(self.connection, job)
    }

    /// Every piece on a job that is meant.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn find_pieces(&self, find: &Find) -> Result<Vec<Found>, StorageError> {
        found::pieces(self.connection, find)
    }

    /// A part of the catalogue by id.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn part(&self, id: &str) -> Result<Option<Part>, StorageError> {
        queries::part(self.connection, id)
    }

    /// The ids of all parts of the catalogue, sorted.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn part_ids(&self) -> Result<Vec<String>, StorageError> {
        let mut statement = self
            .connection
            .prepare_cached("SELECT id FROM part ORDER BY id")?;
        let ids = statement
            .query_map([], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        Ok(ids)
    }

    /// Appends events to a job's history and writes the tables that follow from `after`.
    ///
    /// `stored` never runs backwards in the journal: an earlier time than the last entry's
    /// becomes that one's. `origin.made` must be a whole microsecond (see
    /// [`crate::whole_microseconds`]), because that is what is stored.
    ///
    /// # Errors
    /// [`StorageError::Unstorable`] when there is no event, an event is not one of a job,
    /// `origin.made` is finer than a microsecond, a number is not finite, or `after` is not
    /// what the entries fold into; other [`StorageError`]s when the database refuses.
    pub fn append(
        &mut self,
        job: u32,
        origin: &Origin,
        stored: Timestamp,
        events: &[Event],
        after: &Job,
    ) -> Result<Vec<Entry>, StorageError> {
        let result = self.try_append(job, origin, stored, events, after);
        self.clean |= events.iter().any(|event| matches!(event, Event::RiderRemoved(_)));
        self.note(result)
    }

    /// Has the file cleaned after the commit when it still holds what was removed.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn clean_if_needed(&mut self) -> Result<(), StorageError> {
        self.clean |= private::is_uncleaned(self.connection)?;
        Ok(())
    }

    /// Appends events to the history of the shop as a whole and keeps the shop they lead to.
    ///
    /// # Errors
    /// As for [`Tx::append`], with the shop in place of the job.
    pub fn append_shop(
        &mut self,
        origin: &Origin,
        stored: Timestamp,
        events: &[Event],
        after: &Shop,
    ) -> Result<Vec<Entry>, StorageError> {
        let result = self.try_append_shop(origin, stored, events, after);
        self.note(result)
    }

    /// The shelf as it is now and the order lines that fill it.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn stock(&self) -> Result<Stock, StorageError> {
        stock::present(self.connection)
    }

    /// Appends events of the shelf and writes the rows they change. `after` begins at
    /// [`Tx::stock`].
    ///
    /// # Errors
    /// As for [`Tx::append`], with the stock in place of the job.
    pub fn append_stock(
        &mut self,
        origin: &Origin,
        stored: Timestamp,
        events: &[Event],
        after: &Stock,
    ) -> Result<Vec<Entry>, StorageError> {
        let result = self.try_append_stock(origin, stored, events, after);
        self.note(result)
    }

    /// Puts parts into the catalogue, replacing those of the same id: one entry of the shop
    /// as a whole (job 0), and the parts' rows.
    ///
    /// # Errors
    /// [`StorageError::Unstorable`] when there is no part, `origin.made` is finer than a
    /// microsecond or a number is not finite; other [`StorageError`]s when the database
    /// refuses.
    pub fn catalogue(
        &mut self,
        origin: &Origin,
        stored: Timestamp,
        parts: &[Part],
    ) -> Result<Vec<Entry>, StorageError> {
        let result = self.try_catalogue(origin, stored, parts);
        self.note(result)
    }

    pub(crate) fn note<T>(&mut self, result: Result<T, StorageError>) -> Result<T, StorageError> {
        if let Err(error) = &result {
            self.failed.get_or_insert_with(|| error.clone());
        }
        result
    }
}
