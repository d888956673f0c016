//! What lies where in a data folder, and beside a file of it.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Name of the data file in the data folder.
const FILE: &str = "lockring.db";

/// Name under which a new data file is made before it takes its place.
const UNFINISHED: &str = "lockring.db.new";

/// The folder inside the data folder where backups are looked for.
pub const BACKUPS: &str = "backups";

/// The folder of pictures, beside the data file, inside a folder of backups, and among open
/// files.
pub const PHOTOS: &str = "photos";

/// The data file of a folder.
pub(crate) fn data_file(folder: &Path) -> PathBuf {
    folder.join(FILE)
}

/// The name a data file of a folder has before it is finished.
pub(crate) fn unfinished(folder: &Path) -> PathBuf {
    folder.join(UNFINISHED)
}

/// The folder a file lies in.
pub(crate) fn of(file: &Path) -> PathBuf {
    file.parent().map_or_else(PathBuf::new, Path::to_owned)
}

/// The name of a file that stands beside another.
pub(crate) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

/// The length of a file; 0 when there is none.
pub(crate) fn length(path: &Path) -> u64 {
    fs::metadata(path).map_or(0, |seen| seen.len())
}

/// Removes a file and what SQLite may have left beside it.
pub(crate) fn remove_with_journals(path: &Path) -> io::Result<()> {
    for ending in ["", "-journal", "-wal", "-shm"] {
        let name = beside(path, ending);
        match fs::remove_file(&name) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    Ok(())
}
