//! Looking at an existing data file without writing to it: whether it is ours, of a schema this program
//! reads, whole and undamaged.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use rusqlite::{Connection, OptionalExtension as _};

use crate::error::{OpenError, StorageError};
use crate::folder::{beside, length};
use crate::{connection, migrate, readable};

/// The first job whose state cannot be read.
const NO_JSON: &str = "SELECT number FROM job WHERE NOT json_valid(state) LIMIT 1";

/// Length of the header of an SQLite file, bytes ("Database File Format", "The Database
/// Header", SQLite documentation; magic at offset 0, application id at offset 68).
const HEADER: usize = 100;

/// What to do about a damaged data file.
const RESTORE: &str =
    "leave it as it is, and make a new folder of the newest backup with `lockring restore --to NEW-FOLDER`";

/// What to do about a damaged backup.
const ANOTHER: &str = "leave it as it is, and name an older one: `lockring restore BACKUP --to NEW-FOLDER`";

/// Looks at a backup as at any file of ours; the cure of a damaged one is another.
pub(crate) fn backup(path: &Path) -> Result<(), OpenError> {
    file(path).map_err(|error| match error {
        OpenError::Damaged { path, problem, .. } => OpenError::Damaged {
            path,
            problem,
            cure: ANOTHER,
        },
        other => other,
    })
}

/// Looks at an existing file without writing: first its header as plain bytes, then, once it
/// is known to be ours, every page through a connection that can only read.
pub(crate) fn file(path: &Path) -> Result<(), OpenError> {
    let (_, connection) = begin(path)?;
    look_through(&connection, path)
}

/// As `file`, as far as it takes no longer for a large file; the schema it has, and the
/// connection that looked.
pub(crate) fn begin(path: &Path) -> Result<(u32, Connection), OpenError> {
    let head = head(path)?;
    ours(path, &head)?;
    own_log(path, &head)?;
    whole(path, &head).map_err(|problem| damaged(path, problem))?;
    let connection = connection::reader(path).map_err(|error| trouble(path, error))?;
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
    let said = connection::pragma_lines(connection, "quick_check").map_err(|error| trouble(path, error))?;
    if said != ["ok"] {
        // One row may tell many things, a line each, under a line that names the database.
        let mut told = said
            .iter()
            .flat_map(|row| row.lines())
            .filter(|line| !line.starts_with("***"));
        let first = told.next().unwrap_or("damage without a name");
        let detail = match told.count() {
            0 => first.to_owned(),
            more => format!("{first}; and {more} more"),
        };
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

/// The header of a file as plain bytes, or what there is of it.
pub(crate) fn head(path: &Path) -> Result<Vec<u8>, OpenError> {
    let mut head = Vec::with_capacity(HEADER);
    let file = File::open(path).map_err(|error| storage(path, error))?;
    file.take(HEADER as u64)
        .read_to_end(&mut head)
        .map_err(|error| storage(path, error))?;
    Ok(head)
}

/// Whether a header is that of a file of ours.
pub(crate) fn ours(path: &Path, head: &[u8]) -> Result<(), OpenError> {
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

/// Whether a file keeps a write-ahead log, or did when it was last written (2 in byte 18; 1 in a backup,
/// which is one file; "Database Header", SQLite documentation).
pub(crate) fn has_log(head: &[u8]) -> bool {
    head.get(18) == Some(&2)
}

/// Whether the log that lies beside a file is its own. One beside a file that keeps none was left by
/// the file that was there before, and SQLite would put its pages among those of this one.
pub(crate) fn own_log(path: &Path, head: &[u8]) -> Result<(), OpenError> {
    if head.get(18) != Some(&1) || length(&beside(path, "-wal")) == 0 {
        return Ok(());
    }
    Err(OpenError::OtherLog {
        path: path.to_owned(),
    })
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

fn damaged(path: &Path, problem: String) -> OpenError {
    OpenError::Damaged {
        path: path.to_owned(),
        problem,
        cure: RESTORE,
    }
}

pub(crate) fn storage(path: &Path, error: impl Into<StorageError>) -> OpenError {
    OpenError::Storage {
        path: path.to_owned(),
        source: error.into(),
    }
}

/// An error of looking at a file: damage is told apart.
pub(crate) fn trouble(path: &Path, error: StorageError) -> OpenError {
    match readable::told_apart(error, path) {
        StorageError::Damaged { detail } => damaged(path, detail),
        source => storage(path, source),
    }
}
