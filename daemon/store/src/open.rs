//! Opening the data file: created whole or not at all, and never written to before it is
//! known to be ours, readable and undamaged. The log beside it may be written again as it is before.

use std::fs::{self, File};
use std::io::Read;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, OptionalExtension as _};

use crate::error::{OpenError, StorageError};
use crate::folder::{beside, data_file, length, remove_with_journals, unfinished};
use crate::look::{self, Sizes, When};
use crate::{leftover, migrate, private, readable};

/// The first job whose state cannot be read.
const NO_JSON: &str = "SELECT number FROM job WHERE NOT json_valid(state) LIMIT 1";

/// Statements a connection keeps ready: more than are in use, one for each set of columns that changes
/// together among them.
const STATEMENTS: usize = 96;

/// Room for pages of a connection that reads, KiB: there are several, they come and go, and the system
/// keeps the pages of the file for all of them.
const READER_KIB: u32 = 512;

/// How long a connection waits for another before it gives up.
const PATIENCE: Duration = Duration::from_secs(5);

/// Length of the header of an SQLite file, bytes ("Database File Format", "The Database
/// Header", SQLite documentation; magic at offset 0, application id at offset 68).
const HEADER: usize = 100;

/// The data file, open for the one writer.
pub(crate) struct Opened {
    pub(crate) connection: Connection,
    /// When every page is looked at.
    pub(crate) look: When,
}

/// Opens the data file for the one writer, making or migrating it where needed. What writes to the
/// file before it is served (a new schema, bytes that are to be gone) waits for the look.
pub(crate) fn writer(folder: &Path, sizes: Sizes) -> Result<Opened, OpenError> {
    let path = data_file(folder);
    let failed = |error: StorageError| storage(&path, error);
    let mut when = When::Done;
    if path.try_exists().map_err(|error| storage(&path, error))? {
        let head = head(&path)?;
        ours(&path, &head)?;
        roll_back(&path)?;
        let (schema, reading) = begin_to_inspect(&path)?;
        let is_suspect = look::is_suspect(&path);
        // The switch to a write-ahead log writes into the file itself (byte 18: "Database Header",
        // SQLite documentation); a backup that was copied into place has none.
        let has_log = head.get(18) == Some(&2);
        let is_changed_now = !has_log
            || schema < migrate::SCHEMA
            || private::is_uncleaned(&reading).map_err(|error| trouble(&path, error))?;
        let length = length(&path);
        if is_suspect || is_changed_now || length <= sizes.at_once {
            look_through(&reading, &path)?;
        } else if length <= sizes.before_changes {
            when = When::BeforeChanges;
        } else {
            when = When::Meanwhile;
        }
        if is_suspect {
            look::clear(&path).map_err(|error| storage(&path, error))?;
        }
        drop(reading);
        let log = beside(&path, "-wal");
        leftover::make_durable(&log).map_err(|error| storage(&log, error))?;
    } else {
        create(folder).map_err(failed)?;
    }
    let mut connection = connect(&path).map_err(failed)?;
    migrate::run(&mut connection, migrate::STEPS).map_err(|failed| OpenError::Migration {
        path: path.clone(),
        number: failed.number,
        source: failed.source,
    })?;
    // The writer takes the log into the file itself, once everybody was answered and the file is known
    // to be good. What undoes one caller's part of a batch needs no file.
    connection
        .execute_batch("PRAGMA wal_autocheckpoint = 0; PRAGMA temp_store = MEMORY")
        .map_err(|error| storage(&path, error))?;
    if private::is_uncleaned(&connection).map_err(failed)?
        && let Err(error) = private::clean(&connection)
    {
        tracing::error!(%error, "the file still holds what was removed; it is cleaned tonight");
    }
    Ok(Opened {
        connection,
        look: when,
    })
}

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

fn storage(path: &Path, error: impl Into<StorageError>) -> OpenError {
    OpenError::Storage {
        path: path.to_owned(),
        source: error.into(),
    }
}

/// Makes a new data file under another name and renames it, so that a crash leaves either
/// no data file or a whole one.
fn create(folder: &Path) -> Result<(), StorageError> {
    let unfinished = unfinished(folder);
    remove_with_journals(&unfinished)?;
    File::options()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(&unfinished)?;
    let mut connection = Connection::open_with_flags(
        &unfinished,
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX,
    )?;
    migrate::run(&mut connection, migrate::STEPS).map_err(|failed| failed.source)?;
    connection.close().map_err(|(_, error)| error)?;
    File::open(&unfinished)?.sync_all()?;
    fs::rename(&unfinished, data_file(folder))?;
    File::open(folder)?.sync_all()?;
    Ok(())
}

/// The header of a file as plain bytes, or what there is of it.
fn head(path: &Path) -> Result<Vec<u8>, OpenError> {
    let mut head = Vec::with_capacity(HEADER);
    let file = File::open(path).map_err(|error| storage(path, error))?;
    file.take(HEADER as u64)
        .read_to_end(&mut head)
        .map_err(|error| storage(path, error))?;
    Ok(head)
}

/// Whether a header is that of a file of ours.
fn ours(path: &Path, head: &[u8]) -> Result<(), OpenError> {
    let not_ours = |found: String| OpenError::NotOurs {
        path: path.to_owned(),
        found,
    };
    if head.is_empty() {
        let problem = "it is empty; a new one is only made where there is none";
        return Err(damaged(path, problem.into()));
    }
    if !head.starts_with(b"SQLite format 3\0") {
        return Err(not_ours("it does not begin as an SQLite file does".into()));
    }
    let Some(id) = head
        .get(68..72)
        .and_then(|bytes| bytes.try_into().ok())
        .map(i32::from_be_bytes)
    else {
        return Err(damaged(path, short(head.len())));
    };
    if id != migrate::APPLICATION_ID {
        return Err(not_ours(format!(
            "application id {id:#010x}, expected {:#010x}",
            migrate::APPLICATION_ID
        )));
    }
    Ok(())
}

/// Undoes a change that was cut off before the file kept a write-ahead log, as when a kill
/// falls on the first start with a restored file: a rollback journal stands beside it then,
/// and nobody can read the file before it is undone.
fn roll_back(path: &Path) -> Result<(), OpenError> {
    if length(&beside(path, "-journal")) == 0 {
        return Ok(());
    }
    tracing::warn!(path = %path.display(), "a change was cut off; undoing it");
    let undone = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE)
        .and_then(|connection| connection.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(())));
    undone.map_err(|error| trouble(path, error.into()))
}

/// Looks at an existing file without writing: first its header as plain bytes, then, once it
/// is known to be ours, every page through a connection that can only read.
pub(crate) fn inspect(path: &Path) -> Result<(), OpenError> {
    let (_, connection) = begin_to_inspect(path)?;
    look_through(&connection, path)
}

/// As [`inspect`], as far as it takes no longer for a large file; the schema it has, and the
/// connection that looked.
fn begin_to_inspect(path: &Path) -> Result<(u32, Connection), OpenError> {
    let head = head(path)?;
    ours(path, &head)?;
    whole(path, &head).map_err(|problem| damaged(path, problem))?;
    let connection = reader(path).map_err(|error| trouble(path, error))?;
    let found = migrate::user_version(&connection).map_err(|error| trouble(path, error))?;
    if found > migrate::SCHEMA {
        let program = migrate::program(&connection).map_err(|error| trouble(path, error))?;
        return Err(OpenError::Newer {
            path: path.to_owned(),
            found,
            known: migrate::SCHEMA,
            program,
        });
    }
    Ok((found, connection))
}

/// Looks at every page of an existing file of ours.
pub(crate) fn look_through(connection: &Connection, path: &Path) -> Result<(), OpenError> {
    let said = pragma_lines(connection, "quick_check").map_err(|error| trouble(path, error))?;
    if said != ["ok"] {
        let first: Vec<String> = said.into_iter().take(3).collect();
        let detail = first.join("; ");
        return Err(trouble(path, StorageError::Damaged { detail }));
    }
    // No constraint asks this, because it would be asked with every change.
    let unread = connection
        .query_row(NO_JSON, [], |row| row.get::<_, u32>(0))
        .optional()
        .map_err(|error| trouble(path, error.into()))?;
    match unread {
        None => Ok(()),
        Some(number) => Err(damaged(path, format!("the state of job {number} is no JSON"))),
    }
}

fn damaged(path: &Path, problem: String) -> OpenError {
    OpenError::Damaged {
        path: path.to_owned(),
        problem,
    }
}

/// An error of looking at a file: damage is told apart.
fn trouble(path: &Path, error: StorageError) -> OpenError {
    match readable::told_apart(error, path) {
        StorageError::Damaged { detail } => damaged(path, detail),
        source => storage(path, source),
    }
}

fn short(bytes: usize) -> String {
    format!("it ends after {bytes} bytes; its header alone has {HEADER}")
}

/// Whether a file is as long as its header says; else what is wrong. SQLite itself rounds a page
/// that is cut short up to a whole one. (Page size at offset 16, pages at 28; "The Database
/// Header", SQLite documentation.) While a write-ahead log stands beside it, the file may be
/// in the middle of taking the log in, and the log has the last word.
fn whole(path: &Path, head: &[u8]) -> Result<(), String> {
    let (Some(size), Some(pages)) = (head.get(16..18), head.get(28..32)) else {
        return Err(short(head.len()));
    };
    let size = match size {
        [0, 1] => 65_536,
        size => size.iter().fold(0, |sum, byte| sum << 8 | u64::from(*byte)),
    };
    let expected = size * pages.iter().fold(0, |sum, byte| sum << 8 | u64::from(*byte));
    let found = length(path);
    if found < expected && length(&beside(path, "-wal")) == 0 {
        return Err(format!("it ends after {found} bytes; its header says {expected}"));
    }
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

/// Opens the file to write and sets what has to be set on every connection.
fn connect(path: &Path) -> Result<Connection, StorageError> {
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
