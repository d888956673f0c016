//! Whether a disk gives a file back at all.
//!
//! SQLite reports a read that fails with an I/O error as damage (`unixRead` in its source: such errors
//! become `SQLITE_IOERR_CORRUPTFS`, and that becomes `SQLITE_CORRUPT` for whoever asked). The cures are
//! not the same: a damaged file is put aside for a backup, a disk with a loose plug is plugged in.

use std::collections::BTreeMap;
use std::fs::File;
use std::io;
use std::os::unix::fs::{FileExt, MetadataExt};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use crate::error::StorageError;
use crate::folder::beside;

/// Bytes read at a time.
const PIECE: usize = 256 * 1024;

/// How long a look holds: whoever asks meanwhile is told the same.
const HOLDS: Duration = Duration::from_secs(60);

/// What was found of a data file.
struct Looked {
    /// Kept open for good: closing any descriptor of a file gives up every lock that this process has
    /// on it, SQLite's among them ("How To Corrupt An SQLite Database File", 2.2, SQLite documentation).
    data: File,
    /// When it was looked at, and what the system said when it did not give the file or its log back.
    found: Option<(Instant, Option<String>)>,
}

static LOOKED: Mutex<BTreeMap<PathBuf, Looked>> = Mutex::new(BTreeMap::new());

/// An error, with damage that only is a disk which cannot be read made an error of reading. Blocks the
/// thread for as long as reading the file takes, when it is damage and nobody looked lately.
pub(crate) fn told_apart(error: StorageError, file: &Path) -> StorageError {
    if !matches!(error, StorageError::Damaged { .. }) {
        return error;
    }
    let mut looked = LOOKED.lock().unwrap_or_else(PoisonError::into_inner);
    match look(&mut looked, file) {
        Ok(None) => error,
        Ok(Some(detail)) => StorageError::Io { detail },
        Err(failed) => StorageError::Io {
            detail: format!("{}: {failed}", file.display()),
        },
    }
}

impl StorageError {
    /// The same, with the file it is about where the database does not name it, and a disk that cannot
    /// be read told apart from a file that is damaged: SQLite calls both damage. Blocks the thread, for
    /// as long as reading the file takes, when it calls something so.
    #[must_use]
    pub(crate) fn of(self, file: &Path) -> Self {
        told_apart(self, file).named(&file.display().to_string())
    }
}

fn look(known: &mut BTreeMap<PathBuf, Looked>, file: &Path) -> io::Result<Option<String>> {
    let metadata = match file.metadata() {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        metadata => metadata?,
    };
    if !metadata.is_file() {
        return Ok(None);
    }
    let is_same = |looked: &Looked| {
        let ours = looked.data.metadata();
        ours.is_ok_and(|ours| (ours.dev(), ours.ino()) == (metadata.dev(), metadata.ino()))
    };
    if !known.get(file).is_some_and(is_same) {
        let looked = Looked {
            data: File::open(file)?,
            found: None,
        };
        // Another file lay here before; its descriptor is not closed either.
        std::mem::forget(known.insert(file.to_owned(), looked));
    }
    let Some(looked) = known.get_mut(file) else {
        return Ok(None);
    };
    if let Some((at, trouble)) = &looked.found
        && at.elapsed() < HOLDS
    {
        return Ok(trouble.clone());
    }
    let log = beside(file, "-wal");
    let of_log = || match File::open(&log) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        log => read(&log?),
    };
    let said = |path: &Path, error: io::Error| format!("{}: {error}", path.display());
    let trouble = read(&looked.data)
        .map_err(|error| said(file, error))
        .and_then(|()| of_log().map_err(|error| said(&log, error)))
        .err();
    looked.found = Some((Instant::now(), trouble.clone()));
    Ok(trouble)
}

/// Reads a file from end to end.
fn read(file: &File) -> io::Result<()> {
    let mut piece = vec![0; PIECE];
    let mut at = 0;
    loop {
        match file.read_at(&mut piece, at) {
            Ok(0) => return Ok(()),
            Ok(length) => at += length as u64,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}
