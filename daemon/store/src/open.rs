//! Opening the data file: created whole or not at all, and never written to before it is
//! known to be ours, readable and undamaged. The log beside it may be written again as it is before.

use std::fs::{self, File};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

use jiff::Timestamp;
use rusqlite::{Connection, OpenFlags};

use crate::cleaning::clean;
use crate::error::{OpenError, StorageError};
use crate::folder::{BACKUPS, beside, data_file, length, remove_with_journals, unfinished};
use crate::inspect::{storage, trouble};
use crate::look::{self, Sizes, When};
use crate::{connection, heeding, inspect, leftover, migrate, private};

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
    let backups = folder.join(BACKUPS);
    let (mut when, mut is_asked, mut is_old) = (When::Done, false, false);
    if path.try_exists().map_err(|error| storage(&path, error))? {
        let head = inspect::head(&path)?;
        inspect::ours(&path, &head)?;
        inspect::own_log(&path, &head)?;
        roll_back(&path)?;
        let (schema, reading) = inspect::begin(&path)?;
        is_asked = schema == migrate::SCHEMA && lists_ask(&reading, &backups);
        let is_suspect = look::is_suspect(&path);
        // The switch to a write-ahead log writes into the file itself.
        let is_changed_now = !inspect::has_log(&head)
            || schema < migrate::SCHEMA
            || is_asked
            || private::is_uncleaned(&reading).map_err(|error| trouble(&path, error))?;
        let length = length(&path);
        if is_suspect || is_changed_now || length <= sizes.at_once {
            inspect::look_through(&reading, &path)?;
        } else if length <= sizes.before_changes {
            when = When::BeforeChanges;
        } else {
            when = When::Meanwhile;
        }
        if is_suspect {
            look::clear(&path).map_err(|error| storage(&path, error))?;
        }
        drop(reading);
        is_old = schema < migrate::SCHEMA;
        let log = beside(&path, "-wal");
        leftover::make_durable(&log).map_err(|error| storage(&log, error))?;
    } else {
        create(folder).map_err(failed)?;
    }
    let mut connection = connection::writer(&path).map_err(failed)?;
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
    if is_asked || is_old && lists_ask(&connection, &backups) {
        let heeded = heeding::heed(&mut connection, &backups, Timestamp::now()).map_err(failed)?;
        for told in heeded.removed.iter().chain(&heeded.revoked) {
            tracing::warn!(told, "the data file is older than the lists beside its backups");
        }
    }
    if private::is_uncleaned(&connection).map_err(failed)?
        && let Err(error) = clean(&connection)
    {
        tracing::error!(%error, "the file still holds what was removed; it is cleaned tonight");
    }
    Ok(Opened {
        connection,
        look: when,
    })
}

/// Whether the lists beside the backups name something the file still holds: then an older state was put in
/// its place. A list that cannot be read stops no shop; no backup is made either before it can.
fn lists_ask(connection: &Connection, backups: &Path) -> bool {
    heeding::is_asked(connection, backups).unwrap_or_else(|error| {
        tracing::error!(%error, "nobody knows whether the file holds what was removed or revoked since");
        false
    })
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
