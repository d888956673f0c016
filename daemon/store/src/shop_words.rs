//! What people wrote of the shop as a whole or of other jobs: where a rider's name may stand outside their own.

use std::collections::BTreeSet;

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

/// Entries of jobs of which a private text is one that `holds` says, each once. Those that an old version wrote into the
/// journal itself are not looked into.
fn holding(connection: &Connection, holds: &dyn Fn(&str) -> bool) -> Result<Vec<Entry>, StorageError> {
    let mut texts = connection.prepare_cached("SELECT entry, text FROM private WHERE text IS NOT NULL")?;
    let mut rows = texts.query([])?;
    let mut found = BTreeSet::new();
    while let Some(row) = rows.next()? {
        if holds(&row.get::<_, String>(1)?) {
            found.insert(row.get::<_, i64>(0)?);
        }
    }
    let mut entries = Vec::with_capacity(found.len());
    for id in found {
        entries.extend(queries::entries(connection, "WHERE id = ?1 AND job > 0", [id])?);
    }
    Ok(entries)
}

impl Reader<'_> {
    /// The entries of no job in which people wrote words, oldest first.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn shop_words(&self) -> Result<Vec<Entry>, StorageError> {
        entries(self.connection)
    }

    /// Entries of jobs with a private text that `holds` says, oldest first, each once; without those that an old version
    /// wrote into the journal itself.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn words_holding(&self, holds: &dyn Fn(&str) -> bool) -> Result<Vec<Entry>, StorageError> {
        holding(self.connection, holds)
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

    /// As [`Reader::words_holding`], inside the writer's transaction.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be read.
    pub fn words_holding(&self, holds: &dyn Fn(&str) -> bool) -> Result<Vec<Entry>, StorageError> {
        let entries = holding(self.connection, holds)?;
        self.seen.borrow_mut().entries(&entries);
        Ok(entries)
    }
}
