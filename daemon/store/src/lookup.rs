//! Lists across jobs: open blocks, overdue parts, and the bicycles a serial or lot is on.

use jiff::civil::Date;
use lockring_domain::block::{Block, Family, Whose};
use lockring_domain::part::Slot;
use lockring_domain::stage::Stage;
use rusqlite::{Params, Row};

use crate::error::StorageError;
use crate::reader::Reader;

/// An open block with the job it stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenBlock {
    /// The job.
    pub job: u32,
    /// The block.
    pub block: Block,
}

/// A line of a job's build as recalls and overdue lists need it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BuildLine {
    /// The job.
    pub job: u32,
    /// The slot.
    pub slot: Slot,
    /// Id of the part.
    pub part_id: String,
    /// Supplier, once it is ordered.
    pub supplier: Option<String>,
    /// Promised day of arrival.
    pub due: Option<Date>,
    /// Whether it arrived.
    pub received: bool,
    /// Serial number.
    pub serial: Option<String>,
    /// Lot mark.
    pub lot: Option<String>,
}

pub(crate) const BLOCKS_BY_WHOSE: &str = "SELECT job, number, family, gate, check_id, about, whose, chase, \
     clears_when, opened_us, by_whom FROM block WHERE whose = ?1 ORDER BY job, number";
pub(crate) const LINES_OF_LOT: &str = "SELECT job, slot, part_id, supplier, due, received, serial, lot \
     FROM build_line WHERE lot = ?1 ORDER BY job, slot";
pub(crate) const LINES_WITH_SERIAL: &str = "SELECT job, slot, part_id, supplier, due, received, serial, lot \
     FROM build_line WHERE serial = ?1 ORDER BY job, slot";
pub(crate) const LINES_OVERDUE: &str = "SELECT job, slot, part_id, supplier, due, received, serial, lot \
     FROM build_line JOIN job ON job.number = build_line.job AND job.is_over = 0 \
     WHERE received = 0 AND due < ?1 ORDER BY due, job, slot";

impl Reader<'_> {
    /// Open blocks that wait for one side, by job and number.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read; the same for all methods below.
    pub fn blocks(&self, whose: Whose) -> Result<Vec<OpenBlock>, StorageError> {
        let mut statement = self.connection.prepare_cached(BLOCKS_BY_WHOSE)?;
        let mut rows = statement.query([whose.word()])?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            found.push(open_block(row)?);
        }
        Ok(found)
    }

    /// Every build line of a lot, for recalls.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn lines_of_lot(&self, lot: &str) -> Result<Vec<BuildLine>, StorageError> {
        self.lines(LINES_OF_LOT, [lot])
    }

    /// Every build line with a serial number.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn lines_with_serial(&self, serial: &str) -> Result<Vec<BuildLine>, StorageError> {
        self.lines(LINES_WITH_SERIAL, [serial])
    }

    /// Build lines of open jobs that were promised for a day before `today` and have not
    /// arrived, the longest overdue first.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn lines_overdue(&self, today: Date) -> Result<Vec<BuildLine>, StorageError> {
        self.lines(LINES_OVERDUE, [today.to_string()])
    }

    fn lines(&self, sql: &str, given: impl Params) -> Result<Vec<BuildLine>, StorageError> {
        let mut statement = self.connection.prepare_cached(sql)?;
        let mut rows = statement.query(given)?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            found.push(build_line(row)?);
        }
        Ok(found)
    }
}

fn open_block(row: &Row<'_>) -> Result<OpenBlock, StorageError> {
    let (job, number): (u32, u32) = (row.get(0)?, row.get(1)?);
    let what = format!("block {number} of job {job}");
    let block = Block {
        number,
        family: word(&what, &row.get::<_, String>(2)?, Family::from_word)?,
        gate: word(&what, &row.get::<_, String>(3)?, Stage::from_word)?,
        check: row.get(4)?,
        about: row.get(5)?,
        whose: word(&what, &row.get::<_, String>(6)?, Whose::from_word)?,
        chase: day(&what, row.get(7)?)?,
        clears_when: row.get(8)?,
        opened: jiff::Timestamp::from_microsecond(row.get(9)?)
            .map_err(|error| StorageError::unreadable(&what, error))?,
        by: row.get(10)?,
        // The table does not name the order line; the job does.
        line: None,
    };
    Ok(OpenBlock { job, block })
}

fn build_line(row: &Row<'_>) -> Result<BuildLine, StorageError> {
    let job: u32 = row.get(0)?;
    let what = format!("a build line of job {job}");
    Ok(BuildLine {
        job,
        slot: word(&what, &row.get::<_, String>(1)?, Slot::from_word)?,
        part_id: row.get(2)?,
        supplier: row.get(3)?,
        due: day(&what, row.get(4)?)?,
        received: row.get(5)?,
        serial: row.get(6)?,
        lot: row.get(7)?,
    })
}

fn word<T>(what: &str, word: &str, read: fn(&str) -> Option<T>) -> Result<T, StorageError> {
    read(word).ok_or_else(|| StorageError::unreadable(what, format!("unknown word `{word}`")))
}

fn day(what: &str, text: Option<String>) -> Result<Option<Date>, StorageError> {
    text.map(|text| {
        text.parse()
            .map_err(|error: jiff::Error| StorageError::unreadable(what, error))
    })
    .transpose()
}
