//! Whether a disk gives a file back at all.
//!
//! SQLite reports a read that fails with an I/O error as damage (`unixRead` in its source: such errors
//! become `SQLITE_IOERR_CORRUPTFS`, and that becomes `SQLITE_CORRUPT` for whoever asked). The cures are
//! not the same: a damaged file is put aside for a backup, a disk with a loose plug is plugged in.

use std::fs::File;
use std::io;
use std::os::unix::fs::FileExt;
use std::path::Path;

use crate::error::StorageError;
use crate::open::beside;

/// Bytes read at a time.
const PIECE: usize = 256 * 1024;

/// An error, with damage that only is a disk which cannot be read made an error of reading. Blocks the
/// thread for as long as reading the file takes, when it is damage.
pub(crate) fn told_apart(error: StorageError, file: &Path) -> StorageError {
    if !matches!(error, StorageError::Damaged { .. }) {
        return error;
    }
    let log = beside(file, "-wal");
    for path in [file, &log] {
        if let Err(failed) = read(path) {
            let detail = format!("{}: {failed}", path.display());
            return StorageError::Io { detail };
        }
    }
    error
}

/// Reads a file from end to end; none is as good as one that can be read.
fn read(path: &Path) -> io::Result<()> {
    let file = match File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        file => file?,
    };
    if !file.metadata()?.is_file() {
        return Ok(());
    }
    let mut piece = vec![0; PIECE];
    let mut at = 0;
    loop {
        match file.read_at(&mut piece, at)? {
            0 => return Ok(()),
            length => at += length as u64,
        }
    }
}
