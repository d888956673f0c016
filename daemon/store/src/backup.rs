//! Backups: a copy through SQLite's own interface, proved before it gets its name.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use crate::connection;
use crate::error::StorageError;
use crate::folder;
use crate::photos;
use crate::queries;
use crate::readable;
use crate::removals;
use crate::retention;
use crate::revocations;
use crate::verify::verify;

/// Name pattern of a backup: UTC, so that names sort by time.
const NAME: &str = "lockring-%Y%m%dT%H%M%S%.6fZ.db";

/// Beginning of the name of a backup that is not finished.
const UNFINISHED: &str = ".unfinished-";

/// Times the copy is tried again when another connection is in its way, and the wait between.
const TRIES: u32 = 50;
const WAIT: Duration = Duration::from_millis(100);

/// A backup that was made and proved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackupDone {
    /// The file.
    pub path: PathBuf,
    /// Its length, bytes.
    pub bytes: u64,
    /// Entries in it.
    pub entries: u64,
    /// Pictures in the folder `photos` beside it.
    pub photos: u64,
    /// Pictures that could not be copied, and why; a lost one stops no backup.
    pub problems: Vec<String>,
}

/// The newest backup of a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastBackup {
    /// The file.
    pub path: PathBuf,
    /// When it was made, as its name says.
    pub at: Timestamp,
    /// Its length, bytes.
    pub bytes: u64,
}

/// One backup at a time: two would clear away each other's unfinished copy.
static ONE: Mutex<()> = Mutex::new(());

/// Keeps every backup waiting, for whoever else writes into their folder.
pub(crate) fn alone() -> MutexGuard<'static, ()> {
    ONE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Copies the data file to a temporary name, proves the copy by opening it, checking its
/// pages and folding its journal, and only then gives it its name. The pictures its journal names
/// are copied into one folder beside it, which all backups of the folder share.
pub(crate) fn backup(source: &Path, folder: &Path, now: Timestamp) -> Result<BackupDone, StorageError> {
    let _alone = alone();
    fs::create_dir_all(folder)?;
    clear_unfinished(folder)?;
    let name = name(now);
    let path = folder.join(&name);
    if path.try_exists()? {
        return Err(StorageError::Io {
            detail: format!("{} exists already", path.display()),
        });
    }
    let unfinished = folder.join(format!("{UNFINISHED}{name}"));
    let made = copy_and_prove(source, &unfinished).and_then(|entries| {
        let copy = connection::reader(&unfinished)?;
        removals::list(&copy, folder)?;
        revocations::list(&queries::shop(&copy)?, folder)?;
        let (photos, problems) = photos::bring(&copy, &folder::of(source), folder)?;
        let file = File::open(&unfinished)?;
        file.sync_all()?;
        fs::rename(&unfinished, &path)?;
        Ok(BackupDone {
            path: path.clone(),
            bytes: file.metadata()?.len(),
            entries,
            photos,
            problems,
        })
    });
    match made {
        Ok(_) => File::open(folder)?.sync_all()?,
        Err(_) => {
            if let Err(error) = folder::remove_with_journals(&unfinished) {
                tracing::warn!(path = %unfinished.display(), %error, "an unfinished backup stays");
            }
        }
    }
    made
}

/// The newest finished backup of a folder; `None` when there is none.
pub(crate) fn last(folder: &Path) -> Result<Option<LastBackup>, StorageError> {
    Ok(all(folder)?.into_iter().max_by_key(|backup| backup.at))
}

/// The newest finished backup of a folder that is not dated later than `now`; `None` when there is none.
pub(crate) fn last_by(folder: &Path, now: Timestamp) -> Result<Option<LastBackup>, StorageError> {
    let made = all(folder)?.into_iter().filter(|backup| backup.at <= now);
    Ok(made.max_by_key(|backup| backup.at))
}

/// The backups of a folder that are dated later than `now`, oldest first.
pub(crate) fn ahead(folder: &Path, now: Timestamp) -> Result<Vec<PathBuf>, StorageError> {
    let mut there = all(folder)?;
    there.sort_by_key(|backup| backup.at);
    let ahead = there.into_iter().filter(|backup| backup.at > now);
    Ok(ahead.map(|backup| backup.path).collect())
}

/// The finished backups of a folder.
fn all(folder: &Path) -> Result<Vec<LastBackup>, StorageError> {
    let mut found = Vec::new();
    if !folder.try_exists()? {
        return Ok(found);
    }
    for item in fs::read_dir(folder)? {
        let item = item?;
        if let Some(at) = item.file_name().to_str().and_then(time) {
            found.push(LastBackup {
                path: item.path(),
                at,
                bytes: item.metadata()?.len(),
            });
        }
    }
    Ok(found)
}

/// The backups of a folder that hold texts of a job's rider, oldest first: the job is in them and
/// its rider was not removed; a removal of words alone leaves the rider there. One that cannot be
/// read counts, because nobody knows.
pub(crate) fn with_rider(folder: &Path, job: u32, taken_in: Timestamp) -> Result<Vec<PathBuf>, StorageError> {
    let mut there = all(folder)?;
    there.sort_by_key(|backup| backup.at);
    let holds = |path: &Path| -> Result<bool, StorageError> {
        let copy = connection::reader(path)?;
        let sql = "SELECT 1 FROM journal WHERE job = ?1 AND seq = 1 AND made_us = ?2";
        let is_there = copy.prepare(sql)?.exists((job, taken_in.as_microsecond()))?;
        let sql = "SELECT 1 FROM journal WHERE job = ?1 AND kind = 'rider-removed' \
             AND json_array_length(payload, '$.who') > 0";
        Ok(is_there && !copy.prepare(sql)?.exists([job])?)
    };
    let holding = there.into_iter().map(|backup| backup.path);
    Ok(holding.filter(|path| holds(path).unwrap_or(true)).collect())
}

/// Removes the backups of a folder that [`retention`] lets go, oldest first; returns them.
pub(crate) fn prune(folder: &Path, now: Timestamp) -> Result<Vec<PathBuf>, StorageError> {
    let _alone = alone();
    let mut there = all(folder)?;
    there.sort_by_key(|backup| backup.at);
    let made: Vec<Timestamp> = there.iter().map(|backup| backup.at).collect();
    let superfluous = retention::superfluous(&made, now);
    let mut gone = Vec::new();
    for backup in there
        .into_iter()
        .filter(|backup| superfluous.contains(&backup.at))
    {
        fs::remove_file(&backup.path)?;
        gone.push(backup.path);
    }
    Ok(gone)
}

fn name(now: Timestamp) -> String {
    now.strftime(NAME).to_string()
}

fn time(name: &str) -> Option<Timestamp> {
    let read = DateTime::strptime(NAME, name).ok()?;
    TimeZone::UTC.to_timestamp(read).ok()
}

fn clear_unfinished(folder: &Path) -> Result<(), StorageError> {
    for item in fs::read_dir(folder)? {
        let item = item?;
        if item
            .file_name()
            .to_str()
            .is_some_and(|name| name.starts_with(UNFINISHED))
        {
            fs::remove_file(item.path())?;
        }
    }
    Ok(())
}

fn copy_and_prove(source: &Path, target: &Path) -> Result<u64, StorageError> {
    let from = connection::reader(source).map_err(|error| error.of(source))?;
    let mut to = Connection::open(target)?;
    let both = || format!("copying {} to {}", source.display(), target.display());
    copy(&from, &mut to).map_err(|error| readable::told_apart(error, source).named(&both()))?;
    // A backup is one file: no write-ahead log may stand beside it.
    let mode: String = to.pragma_update_and_check(None, "journal_mode", "delete", |row| row.get(0))?;
    if mode != "delete" {
        return Err(StorageError::Io {
            detail: format!("the copy's journal mode is {mode}, expected delete"),
        });
    }
    to.close().map_err(|(_, error)| error)?;
    let copy = connection::reader(target)?;
    let found = verify(&copy)?;
    if !found.problems.is_empty() {
        return Err(StorageError::Unsound {
            problems: found.problems,
        });
    }
    Ok(found.entries)
}

/// All pages in one step, so that the copy is one committed state.
pub(crate) fn copy(from: &Connection, to: &mut Connection) -> Result<(), StorageError> {
    let backup = Backup::new(from, to)?;
    for _ in 0..TRIES {
        match backup.step(-1)? {
            StepResult::Done => return Ok(()),
            _ => std::thread::sleep(WAIT),
        }
    }
    Err(StorageError::Busy {
        detail: format!("the copy was not done after {TRIES} tries"),
    })
}
