//! Connections to the data file, with what has to be set on each of them.

use std::path::Path;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

use crate::error::StorageError;

/// Statements a connection keeps ready: more than are in use, one for each set of columns that changes
/// together among them.
const STATEMENTS: usize = 96;

/// Room for pages of a connection that reads, KiB: there are several, they come and go, and the system
/// keeps the pages of the file for all of them.
const READER_KIB: u32 = 512;

/// How long a connection waits for another before it gives up.
const PATIENCE: Duration = Duration::from_secs(5);

/// Opens a connection that can only read.
pub(crate) fn reader(path: &Path) -> Result<Connection, StorageError> {
    let connection = Connection::open_with_flags(
        path,
        OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX,
    )?;
    connection.busy_timeout(PATIENCE)?;
    connection.execute_batch(&format!(
        "PRAGMA query_only = ON; PRAGMA trusted_schema = OFF; PRAGMA cache_size = -{READER_KIB};"
    ))?;
    keep_statements(&connection)?;
    Ok(connection)
}

/// Opens the file to write and sets what has to be set on every connection.
pub(crate) fn writer(path: &Path) -> Result<Connection, StorageError> {
    let connection = Connection::open_with_flags(
        path,
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX,
    )?;
    if connection.is_readonly("main")? {
        return Err(StorageError::ReadOnly {
            detail: "the file is open for reading only".into(),
        });
    }
    connection.busy_timeout(PATIENCE)?;
    connection.execute_batch(
        "PRAGMA synchronous = FULL;
         PRAGMA foreign_keys = ON;
         PRAGMA secure_delete = FAST;
         PRAGMA trusted_schema = OFF;",
    )?;
    let mode: String = connection.pragma_update_and_check(None, "journal_mode", "wal", |row| row.get(0))?;
    if mode != "wal" {
        let detail = format!("journal mode is {mode}, expected wal; the folder must lie on a local disk");
        return Err(StorageError::Io { detail });
    }
    keep_statements(&connection)?;
    Ok(connection)
}

/// Keeps what was read of statements, whatever is asked with them: plans do not go by the values
/// given, so that a statement need not be read again for other ones ("The Query Planner Stability
/// Guarantee", SQLite documentation).
fn keep_statements(connection: &Connection) -> Result<(), StorageError> {
    connection.set_prepared_statement_cache_capacity(STATEMENTS);
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    Ok(())
}

/// The text lines a pragma answers with.
pub(crate) fn pragma_lines(connection: &Connection, pragma: &str) -> Result<Vec<String>, StorageError> {
    let mut statement = connection.prepare(&format!("PRAGMA {pragma}"))?;
    let lines = statement
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    Ok(lines)
}
