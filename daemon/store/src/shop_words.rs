//! What people wrote of the shop as a whole: where a rider's name may stand outside their jobs.

use lockring_domain::entry::Entry;
use rusqlite::Connection;

use crate::error::StorageError;
use crate::queries;
use crate::reader::Reader;
use crate::tx::Tx;

/// Entries of no job, without those that hold no words of anybody: whole catalogues, and what the daemon
/// notes each day.
fn entries(connection: &Connection) -> Result<Vec<Entry>, StorageError> {
    let rest = "WHERE job = 0 AND kind NOT IN ('catalogued', 'evening-written', 'swept') ORDER BY seq";
    queries::entries(connection, rest, [])
}

impl Reader<'_> {
    /// The entries of no job in which people wrote words, oldest first.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn shop_words(&self) -> Result<Vec<Entry>, StorageError> {
        entries(self.connection)
    }
}

impl Tx<'_> {
    /// As [`Reader::shop_words`], inside the writer's transaction.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn shop_words(&self) -> Result<Vec<Entry>, StorageError> {
        let entries = entries(self.connection)?;
        self.seen.borrow_mut().entries(&entries);
        Ok(entries)
    }
}
