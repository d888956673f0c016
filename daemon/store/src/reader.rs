//! Readers: a small pool of connections that can only read, one transaction a call.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::entry::{self, Entry, Hash};
use lockring_domain::job::Job;
use lockring_domain::labour::Running;
use lockring_domain::part::{Part, PartKind};
use lockring_domain::shop::{SHOP, Shop};
use lockring_domain::stage::Stage;
use lockring_domain::supply::piece::Holder;
use lockring_domain::supply::recall::{Find, Found};
use lockring_domain::supply::shelf::Stock;
use rusqlite::{Connection, OptionalExtension as _, Params};

use crate::error::StorageError;
use crate::recent::{AsOf, Recent};
use crate::{connection, found, in_clear, private, queries, rows, stock, supply};

/// Most idle connections kept; more are opened while more callers read at once.
const IDLE: usize = 4;

/// Connections that can only read.
pub(crate) struct Pool {
    path: PathBuf,
    /// `None` once the store is closed.
    idle: Mutex<Option<Vec<Connection>>>,
    recent: Arc<Recent>,
}

impl Pool {
    /// Readers of a data file that know what has lately been read or written.
    pub(crate) fn new(path: &Path, recent: Arc<Recent>) -> Self {
        Self {
            path: path.to_owned(),
            idle: Mutex::new(Some(Vec::new())),
            recent,
        }
    }

    /// Runs a closure on one committed state of the data file.
    pub(crate) fn read<T>(
        &self,
        work: impl FnOnce(&Reader<'_>) -> Result<T, StorageError>,
    ) -> Result<T, StorageError> {
        let idle = self.lock().as_mut().ok_or(StorageError::Closed)?.pop();
        let connection = idle.map_or_else(|| connection::reader(&self.path), Ok)?;
        let as_of = self.recent.now();
        let transaction = connection.unchecked_transaction()?;
        let result = work(&Reader {
            connection: &transaction,
            recent: &self.recent,
            as_of,
        })?;
        transaction.commit()?;
        if let Some(idle) = self.lock().as_mut().filter(|idle| idle.len() < IDLE) {
            idle.push(connection);
        }
        Ok(result)
    }

    /// Shop and job when both are known without a look at the file; never waits for a disk.
    pub(crate) fn at_hand(&self, number: u32) -> Option<(Arc<Shop>, Arc<Job>)> {
        self.recent.at_hand(number)
    }

    /// Closes the idle connections; those at work close as they finish.
    pub(crate) fn close(&self) {
        *self.lock() = None;
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Option<Vec<Connection>>> {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Which jobs a list is to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JobFilter {
    /// Those not yet handed over, returned or cancelled.
    Open,
    /// All.
    All,
}

/// How much the data file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counts {
    /// Entries of the journal.
    pub entries: u64,
    /// Jobs not yet over.
    pub jobs_open: u64,
    /// Jobs that are over.
    pub jobs_over: u64,
    /// Parts of the catalogue.
    pub parts: u64,
    /// Hash of the last entry; zeros when there is none.
    pub head_hash: Hash,
}

/// A job as it was at a moment, with the entries that made it so, retracted ones left out.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// The job.
    pub job: Job,
    /// Its entries, oldest first.
    pub entries: Vec<Entry>,
}

/// One committed state of the data file.
pub struct Reader<'c> {
    pub(crate) connection: &'c Connection,
    pub(crate) recent: &'c Recent,
    pub(crate) as_of: AsOf,
}

impl Reader<'_> {
    /// A job as it stands; `None` when there is none of this number.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read; the same for all methods below.
    pub fn job(&self, number: u32) -> Result<Option<Arc<Job>>, StorageError> {
        self.recent.job(self.connection, self.as_of, number)
    }

    /// The shop as it stands.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn shop(&self) -> Result<Arc<Shop>, StorageError> {
        self.recent.shop(self.connection, self.as_of)
    }

    /// The number of the last entry of a job, or of none for job 0; 0 before the first.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn last_seq(&self, job: u32) -> Result<u64, StorageError> {
        queries::last_seq(self.connection, job)
    }

    /// Open jobs by stage.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn open_by_stage(&self) -> Result<BTreeMap<Stage, u32>, StorageError> {
        queries::open_by_stage(self.connection)
    }

    /// The shop by the entries made before a moment and stored up to the one with id `upto`.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn shop_known(&self, made_before: Timestamp, upto: u64) -> Result<Arc<Shop>, StorageError> {
        if self.is_as_it_stands(made_before, upto)? {
            return self.shop();
        }
        Ok(Arc::new(Shop::fold(&self.of_no_job_known(made_before, upto)?)))
    }

    /// The shelf by the entries made before a moment and stored up to the one with id `upto`.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn stock_known(&self, made_before: Timestamp, upto: u64) -> Result<Stock, StorageError> {
        if self.is_as_it_stands(made_before, upto)? {
            return self.whole_stock();
        }
        Ok(Stock::fold(&self.of_no_job_known(made_before, upto)?))
    }

    /// Whether what is known of shop and shelf by a moment and an entry is all there is by now.
    fn is_as_it_stands(&self, made_before: Timestamp, upto: u64) -> Result<bool, StorageError> {
        let sql = "SELECT NOT EXISTS (SELECT 1 FROM journal WHERE made_us >= ?1 AND +job = ?3)
             AND NOT EXISTS (SELECT 1 FROM journal WHERE id > ?2 AND +job = ?3)";
        let given = (made_before.as_microsecond(), at_most(upto), SHOP);
        let mut statement = self.connection.prepare_cached(sql)?;
        Ok(statement.query_row(given, |row| row.get(0))?)
    }

    fn of_no_job_known(&self, made_before: Timestamp, upto: u64) -> Result<Vec<Entry>, StorageError> {
        let rest = "WHERE job = ?1 AND made_us < ?2 AND id <= ?3 ORDER BY seq";
        let given = (SHOP, made_before.as_microsecond(), at_most(upto));
        queries::entries(self.connection, rest, given)
    }

    /// When the first entry of the journal was stored; `None` for an empty journal.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn begun(&self) -> Result<Option<Timestamp>, StorageError> {
        Ok(self.journal(0, 1)?.first().map(|entry| entry.stored))
    }

    /// When the last entry that another than `but` made before a moment was made; `None` when none was.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn last_made_before(&self, moment: Timestamp, but: &str) -> Result<Option<Timestamp>, StorageError> {
        let sql =
            "SELECT made_us FROM journal WHERE made_us < ?1 AND by_whom <> ?2 ORDER BY made_us DESC LIMIT 1";
        let mut statement = self.connection.prepare_cached(sql)?;
        let given = (moment.as_microsecond(), but);
        let made: Option<i64> = statement.query_row(given, |row| row.get(0)).optional()?;
        made.map(entry_time).transpose()
    }

    /// The entries made after a moment, in the order in which they were stored: job, 0 for the shop, number in it,
    /// and when they were made.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn made_after(&self, moment: Timestamp) -> Result<Vec<(u32, u64, Timestamp)>, StorageError> {
        let sql = "SELECT id, job, seq, made_us FROM journal WHERE made_us > ?1";
        let mut statement = self.connection.prepare_cached(sql)?;
        let read = statement.query_map([moment.as_microsecond()], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
        })?;
        let mut found: Vec<(i64, u32, i64, i64)> = read.collect::<Result<_, _>>()?;
        found.sort_unstable();
        let told = found.into_iter();
        told.map(|(_, job, seq, made)| Ok((job, seq.cast_unsigned(), entry_time(made)?)))
            .collect()
    }

    /// What the end-of-day report of a day tells: what was made before a moment and stored up
    /// to an entry. `None` when none was written, or only by a clock that was ahead: of `by`, or of the clock
    /// of an entry that follows and was made before the day had closed. What it wrote of days that had not come
    /// tells nothing of them. With [`Timestamp::MAX`] the last that was written counts, whatever the clock.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn evening(&self, day: Date, by: Timestamp) -> Result<Option<(Timestamp, u64)>, StorageError> {
        let found = queries::evening(self.connection, queries::EVENING_OF, day, by)?;
        Ok(found.map(|evening| (evening.as_of, evening.upto)))
    }

    /// As [`Reader::evening`], of the last day before this one whose report was written.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn evening_before(&self, day: Date, by: Timestamp) -> Result<Option<(Timestamp, u64)>, StorageError> {
        let found = queries::evening(self.connection, queries::LAST_EVENING, day, by)?;
        Ok(found.map(|evening| (evening.as_of, evening.upto)))
    }

    /// The last day whose end-of-day report counts, as for [`Reader::evening`].
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn last_evening(&self, by: Timestamp) -> Result<Option<Date>, StorageError> {
        queries::last_evening(self.connection, by)
    }

    /// The day of the last sweep that was made by a moment, as the clock said then.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn last_swept(&self, by: Timestamp) -> Result<Option<Date>, StorageError> {
        queries::last_swept(self.connection, by)
    }

    /// The entries of a job after the one numbered `after_seq`, oldest first; job 0 asks for
    /// those of the shop as a whole.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn entries(&self, job: u32, after_seq: u64) -> Result<Vec<Entry>, StorageError> {
        queries::history(self.connection, job, after_seq)
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

    /// The entries of a job whose private texts stand in the journal itself, because they were
    /// written before such texts were kept apart.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn in_clear(&self, job: u32) -> Result<BTreeSet<u64>, StorageError> {
        in_clear::of_job(self.connection, job)
    }

    /// How many entries hold private texts in the journal itself. Reads every entry that was written
    /// before such texts were kept apart.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn entries_in_clear(&self) -> Result<u64, StorageError> {
        in_clear::count(self.connection)
    }

    /// Whether the file may still hold bytes of what was removed.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn is_uncleaned(&self) -> Result<bool, StorageError> {
        private::is_uncleaned(self.connection)
    }

    /// At most `limit` entries of the whole journal after the one with id `after_id`.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn journal(&self, after_id: u64, limit: u32) -> Result<Vec<Entry>, StorageError> {
        let given = (rows::whole(after_id)?, limit);
        queries::entries(self.connection, "WHERE id > ?1 ORDER BY id LIMIT ?2", given)
    }

    /// At most `limit` jobs with numbers above `after_number`, by number.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn jobs(
        &self,
        filter: JobFilter,
        after_number: u32,
        limit: u32,
    ) -> Result<Vec<Arc<Job>>, StorageError> {
        self.list(jobs_sql(filter), (after_number, limit))
    }

    /// Jobs by a statement that finds their numbers and states.
    fn list(&self, sql: &str, given: impl Params) -> Result<Vec<Arc<Job>>, StorageError> {
        let mut statement = self.connection.prepare_cached(sql)?;
        let mut rows = statement.query(given)?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            let state = row.get_ref(1)?.as_str().map_err(rusqlite::Error::from)?;
            found.push(self.recent.listed(self.as_of, row.get(0)?, state)?);
        }
        Ok(found)
    }

    /// Every piece on a job, or on the shelf, that is meant.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn find_pieces(&self, find: &Find) -> Result<Vec<Found>, StorageError> {
        let mut found = found::pieces(self.connection, find)?;
        found.extend(stock::found(self.connection, find)?);
        Ok(found)
    }

    /// The shelf as it is now and the order lines that fill it.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn stock(&self) -> Result<Stock, StorageError> {
        stock::present(self.connection)
    }

    /// Every order line for the shelf, settled or not.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn whole_stock(&self) -> Result<Stock, StorageError> {
        stock::whole(self.connection)
    }

    /// Jobs for which something was ordered, by number; on demand only those of which something
    /// may still be awaited or owed.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn jobs_with_orders(&self, unsettled: bool) -> Result<Vec<Arc<Job>>, StorageError> {
        self.list(supply::jobs_sql(unsettled), ())
    }

    /// Bicycles with their riders on which a part was swapped since, by number.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn jobs_swapped(&self) -> Result<Vec<Arc<Job>>, StorageError> {
        self.list(&supply::swapped_sql(), ())
    }

    /// Jobs by the entries made before a moment and stored up to the one with id `upto`, by
    /// number: those of which something was outstanding at that moment. An entry made in time but
    /// stored late counts; one made later does not, whatever stands after it.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read or a history does not begin with
    /// the taking in.
    pub fn jobs_known(&self, made_before: Timestamp, upto: u64) -> Result<Vec<Job>, StorageError> {
        let histories = self.histories_known(made_before, upto, made_before)?;
        let jobs = histories.into_iter().map(|history| history.job);
        Ok(jobs.filter(Job::is_outstanding).collect())
    }

    /// As [`Reader::jobs_known`], with the entries that count, and also those jobs of which an
    /// entry was made at `since` or later or a part was swapped after handover. Other jobs over and done with before that are not read, so
    /// that it takes no longer the more there are of them.
    ///
    /// # Errors
    /// As [`Reader::jobs_known`].
    pub fn histories_known(
        &self,
        made_before: Timestamp,
        upto: u64,
        since: Timestamp,
    ) -> Result<Vec<History>, StorageError> {
        // A job that has changed since, or was told of later than that, may have been outstanding
        // then; any other one was if it is now. A plus keeps the database from going by the job,
        // of which there are many, instead of by the moment.
        let outstanding = "SELECT number FROM job WHERE outstanding = 1";
        let changed = "SELECT job FROM journal WHERE made_us >= ?1 AND +job > 0";
        let told = "SELECT job FROM journal WHERE id > ?1 AND +job > 0";
        let mut numbers = BTreeSet::new();
        self.numbers(outstanding, (), &mut numbers)?;
        self.numbers(supply::SWAPPED, (), &mut numbers)?;
        self.numbers(changed, [since.as_microsecond()], &mut numbers)?;
        self.numbers(told, [at_most(upto)], &mut numbers)?;
        let histories = numbers
            .into_iter()
            .map(|job| self.history_known(job, made_before, upto));
        histories.filter_map(Result::transpose).collect()
    }

    /// Jobs that ended without a handover after an invoice, by number: something may be owed for them still.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn invoiced_and_given_up(&self) -> Result<BTreeSet<u32>, StorageError> {
        let sql = "SELECT number FROM job WHERE is_over = 1 AND stage IN ('returned', 'cancelled') \
                   AND json_array_length(state, '$.account.invoices') > 0";
        let mut numbers = BTreeSet::new();
        self.numbers(sql, (), &mut numbers)?;
        Ok(numbers)
    }

    /// Adds the numbers of jobs that a statement finds.
    fn numbers(&self, sql: &str, given: impl Params, to: &mut BTreeSet<u32>) -> Result<(), StorageError> {
        let mut statement = self.connection.prepare_cached(sql)?;
        for number in statement.query_map(given, |row| row.get(0))? {
            to.insert(number?);
        }
        Ok(())
    }

    /// As [`Reader::histories_known`], of all jobs there are, each handed to `look` in turn.
    ///
    /// # Errors
    /// As [`Reader::jobs_known`].
    pub fn every_history_known(
        &self,
        made_before: Timestamp,
        upto: u64,
        mut look: impl FnMut(History),
    ) -> Result<(), StorageError> {
        let mut statement = self
            .connection
            .prepare_cached("SELECT number FROM job ORDER BY number")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            if let Some(history) = self.history_known(row.get(0)?, made_before, upto)? {
                look(history);
            }
        }
        Ok(())
    }

    /// One job of [`Reader::histories_known`], whether something is outstanding of it or not; `None` when it was not
    /// there yet.
    ///
    /// # Errors
    /// As [`Reader::jobs_known`].
    pub fn history_known(
        &self,
        job: u32,
        made_before: Timestamp,
        upto: u64,
    ) -> Result<Option<History>, StorageError> {
        let rest = "WHERE job = ?1 AND made_us < ?2 AND id <= ?3 ORDER BY seq";
        let given = (job, made_before.as_microsecond(), at_most(upto));
        let mut entries = queries::entries(self.connection, rest, given)?;
        if entries.first().is_none_or(|first| first.seq != 1) {
            return Ok(None);
        }
        let job = fold_with_gaps(&entries)?;
        let retracted = entry::retracted(&entries);
        entries.retain(|entry| !retracted.contains(&entry.seq));
        Ok(Some(History { job, entries }))
    }

    /// A job as [`Reader::jobs_known`] has it; `None` when it was not there yet.
    ///
    /// # Errors
    /// As [`Reader::jobs_known`].
    pub fn job_as_of(&self, number: u32, made_before: Timestamp) -> Result<Option<Job>, StorageError> {
        let rest = "WHERE job = ?1 AND job > 0 AND made_us < ?2 ORDER BY seq";
        let given = (number, made_before.as_microsecond());
        let entries = queries::entries(self.connection, rest, given)?;
        let begun = entries.first().is_some_and(|first| first.seq == 1);
        begun.then(|| fold_with_gaps(&entries)).transpose()
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

    /// A part of the catalogue by id.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn part(&self, id: &str) -> Result<Option<Part>, StorageError> {
        queries::part(self.connection, id)
    }

    /// At most `limit` parts, of one kind or of all, with ids after `after_id`, by id.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn parts(
        &self,
        kind: Option<PartKind>,
        after_id: &str,
        limit: u32,
    ) -> Result<Vec<Part>, StorageError> {
        match kind {
            Some(kind) => {
                let rest = "WHERE kind = ?1 AND id > ?2 ORDER BY id LIMIT ?3";
                queries::parts(self.connection, rest, (kind.word(), after_id, limit))
            }
            None => queries::parts(
                self.connection,
                "WHERE id > ?1 ORDER BY id LIMIT ?2",
                (after_id, limit),
            ),
        }
    }

    /// How much there is.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn counts(&self) -> Result<Counts, StorageError> {
        let number = |sql: &str| -> Result<u64, StorageError> {
            let number: i64 = self
                .connection
                .prepare_cached(sql)?
                .query_row([], |row| row.get(0))?;
            Ok(number.cast_unsigned())
        };
        // Entries and jobs are numbered without gaps: the last number is their count, however
        // many there are.
        let head = queries::head(self.connection)?;
        let jobs_open = number(COUNT_OPEN)?;
        Ok(Counts {
            entries: head.id.cast_unsigned(),
            jobs_open,
            jobs_over: number(LAST_JOB)?.saturating_sub(jobs_open),
            parts: number("SELECT count(*) FROM part")?,
            head_hash: head.hash,
        })
    }
}

/// An entry's number as the database has it; the largest stands for all beyond.
fn at_most(id: u64) -> i64 {
    i64::try_from(id).unwrap_or(i64::MAX)
}

/// The statements behind [`Reader::counts`].
pub(crate) const COUNT_OPEN: &str = "SELECT count(*) FROM job WHERE is_over = 0";
pub(crate) const LAST_JOB: &str = "SELECT coalesce(max(number), 0) FROM job";

/// The statement behind [`Reader::jobs`].
pub(crate) const fn jobs_sql(filter: JobFilter) -> &'static str {
    match filter {
        JobFilter::Open => {
            "SELECT number, state FROM job WHERE is_over = 0 AND number > ?1 ORDER BY number LIMIT ?2"
        }
        JobFilter::All => "SELECT number, state FROM job WHERE number > ?1 ORDER BY number LIMIT ?2",
    }
}

/// Folds a history from which entries made too late were left out: [`Job::fold`] rightly
/// refuses gaps, which here are meant.
fn fold_with_gaps(entries: &[Entry]) -> Result<Job, StorageError> {
    let number = entries.first().map_or(0, |entry| entry.job);
    let wrong = |error| StorageError::unreadable(format!("the history of job {number}"), error);
    let first = entries
        .first()
        .ok_or_else(|| wrong(lockring_domain::job::FoldError::Empty(number)))?;
    let retracted = entry::retracted(entries);
    let mut job = Job::begin(first).map_err(wrong)?;
    for entry in &entries[1..] {
        job.revision = entry.seq;
        job.touched = entry.origin.made;
        if !retracted.contains(&entry.seq) {
            job.take(entry.seq, &entry.origin, &entry.event);
        }
    }
    Ok(job)
}

/// When an entry was made, from its microseconds.
fn entry_time(us: i64) -> Result<Timestamp, StorageError> {
    rows::time(us).map_err(|problem| StorageError::unreadable("when an entry was made", problem))
}
