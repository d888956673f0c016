//! Cleaning the file of what was removed with a rider: after the commit, at a start, at night.

use std::path::Path;

use rusqlite::Connection;

use crate::error::StorageError;
use crate::folder::{self, BACKUPS};
use crate::{photos, removals};

/// Cleans the file and its log of what was removed: every page is written anew from what is left,
/// and the log is emptied. Outside any transaction; takes as long as reading and writing the
/// whole file.
///
/// # Errors
/// [`StorageError`], such as a full disk or a reader that stays; it is to be tried again then.
pub(crate) fn clean(connection: &Connection) -> Result<(), StorageError> {
    if let Some(file) = connection.path() {
        let folder = folder::of(Path::new(file));
        photos::delete_removed(connection, &folder)?;
        removals::list(connection, &folder.join(BACKUPS))?;
    }
    make_anew(connection)?;
    empty_log(connection)?;
    connection.execute("DELETE FROM uncleaned", [])?;
    empty_log(connection)
}

/// Writes all that is in the file anew; what stands beside it meanwhile is as large, and no matter for
/// the memory.
fn make_anew(connection: &Connection) -> Result<(), StorageError> {
    connection.execute_batch("PRAGMA temp_store = FILE")?;
    let made = connection.execute_batch("VACUUM");
    let set_back = connection.execute_batch("PRAGMA temp_store = MEMORY");
    // What went wrong first is what is told.
    made?;
    Ok(set_back?)
}

fn empty_log(connection: &Connection) -> Result<(), StorageError> {
    let is_busy: bool = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if is_busy {
        let detail = "a reader keeps the write-ahead log from being emptied".into();
        return Err(StorageError::Busy { detail });
    }
    Ok(())
}
