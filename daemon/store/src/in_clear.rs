//! Entries that were written before private texts were kept apart, and hold them in the payload itself.

use std::collections::BTreeSet;

use lockring_domain::private;
use rusqlite::Connection;

use crate::error::StorageError;
use crate::private::SEALED_SINCE;
use crate::rows::{JOURNAL, Raw};

/// The entries of a job whose private texts stand in the payload itself, as in the first payload
/// version.
pub(crate) fn of_job(connection: &Connection, job: u32) -> Result<BTreeSet<u64>, StorageError> {
    let sql = format!("SELECT {JOURNAL} FROM journal WHERE job = ?1 AND version < ?2 ORDER BY seq");
    let mut statement = connection.prepare_cached(&sql)?;
    let mut found = BTreeSet::new();
    for raw in statement.query_map((job, SEALED_SINCE), Raw::read)? {
        let mut entry = raw?.says()?;
        if !private::texts(&mut entry.event).is_empty() {
            found.insert(entry.seq);
        }
    }
    Ok(found)
}

/// How many entries there are whose private texts stand in the payload itself.
pub(crate) fn count(connection: &Connection) -> Result<u64, StorageError> {
    let sql = format!("SELECT {JOURNAL} FROM journal WHERE version < ?1");
    let mut statement = connection.prepare(&sql)?;
    let mut count = 0;
    for raw in statement.query_map([SEALED_SINCE], Raw::read)? {
        let mut entry = raw?.says()?;
        count += u64::from(!private::texts(&mut entry.event).is_empty());
    }
    Ok(count)
}
