//! Pictures beside the data file, each under its hash. The journal says which belong to it; a
//! picture is on the disk before its entry is written, is never written over and never deleted.

use std::fs::{self, DirBuilder, File};
use std::io::{ErrorKind, Read, Write};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use lockring_domain::entry::Event;
use lockring_domain::photo::{self, MOST_BYTES, Photo};
use rusqlite::Connection;

use crate::error::StorageError;
use crate::rows::{JOURNAL, Raw};

/// The folder of pictures, beside the data file, inside a folder of backups, and among open
/// files.
pub const PHOTOS: &str = "photos";

/// Beginning of the name of a picture that is not wholly written.
const UNFINISHED: &str = ".unfinished-";

/// Two benches may keep one picture at the same moment: each writes under a name of its own.
static NEXT: AtomicU64 = AtomicU64::new(1);

/// Writes a picture under its name into the folder of pictures beside the data file, through to
/// the disk. One that is there already, and is what it should be, stays as it is.
pub(crate) fn keep(folder: &Path, name: &str, sha256: &str, content: &[u8]) -> Result<(), StorageError> {
    let folder = folder.join(PHOTOS);
    let path = folder.join(name);
    if fault(&path, sha256).is_none() {
        return Ok(());
    }
    if !folder.try_exists()? {
        DirBuilder::new().recursive(true).mode(0o700).create(&folder)?;
        if let Some(parent) = folder.parent() {
            File::open(parent)?.sync_all()?;
        }
    }
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let unfinished = folder.join(format!("{UNFINISHED}{}-{number}", std::process::id()));
    let written = write(&unfinished, content).and_then(|()| fs::rename(&unfinished, &path));
    if let Err(error) = written {
        match fs::remove_file(&unfinished) {
            Err(other) if other.kind() != ErrorKind::NotFound => {
                tracing::warn!(path = %unfinished.display(), error = %other, "debris stays");
            }
            _ => {}
        }
        return Err(error.into());
    }
    File::open(&folder)?.sync_all()?;
    Ok(())
}

/// Whether a picture is there and whole.
pub(crate) fn is_kept(folder: &Path, name: &str, sha256: &str) -> bool {
    fault(&folder.join(PHOTOS).join(name), sha256).is_none()
}

fn write(path: &Path, content: &[u8]) -> std::io::Result<()> {
    let mut file = File::options()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(path)?;
    file.write_all(content)?;
    file.sync_all()
}

/// Removes what a crash left half written. Nobody else has the folder: its lock is held.
pub(crate) fn clear_unfinished(folder: &Path) -> std::io::Result<()> {
    let items = match fs::read_dir(folder.join(PHOTOS)) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        items => items?,
    };
    for item in items {
        let item = item?;
        if item.file_name().to_string_lossy().starts_with(UNFINISHED) {
            fs::remove_file(item.path())?;
        }
    }
    Ok(())
}

/// Reads a picture back.
///
/// # Errors
/// [`StorageError::Unsound`] when it is gone or not what was kept.
pub(crate) fn read(folder: &Path, photo: &Photo) -> Result<Vec<u8>, StorageError> {
    let path = folder.join(PHOTOS).join(photo.kept_as());
    whole(&path, &photo.sha256).map_err(|fault| StorageError::Unsound {
        problems: vec![format!("{} {fault}", path.display())],
    })
}

/// Every picture the journal names, each once, with the first entry that does. One whose entry
/// was retracted still is part of the history.
pub(crate) fn named(connection: &Connection) -> Result<Vec<(String, Photo)>, StorageError> {
    let sql = format!("SELECT {JOURNAL} FROM journal WHERE kind = 'photographed' ORDER BY id");
    let mut statement = connection.prepare(&sql)?;
    let mut found: Vec<(String, Photo)> = Vec::new();
    for raw in statement.query_map([], Raw::read)? {
        let raw = raw?;
        let place = raw.place();
        // What cannot be read at all is for the walk through the journal to say.
        let Ok(entry) = raw.entry() else { continue };
        if let Event::Photographed(photo) = entry.event
            && !found.iter().any(|(_, other)| other.sha256 == photo.sha256)
        {
            found.push((place, photo));
        }
    }
    Ok(found)
}

/// Says which pictures of the journal are missing from a folder, or are not what was kept.
pub(crate) fn check(connection: &Connection, folder: &Path) -> Result<Vec<String>, StorageError> {
    let problems = named(connection)?.into_iter().filter_map(|(place, photo)| {
        let path = folder.join(PHOTOS).join(photo.kept_as());
        fault(&path, &photo.sha256).map(|fault| problem(&place, &photo, &path, &fault))
    });
    Ok(problems.collect())
}

/// Brings the pictures that a journal names from one folder into another; those that are there
/// stay. Gives how many are in the other one then, and what is wrong with the rest: a lost
/// picture must not keep a history from being copied.
pub(crate) fn bring(
    connection: &Connection,
    from: &Path,
    to: &Path,
) -> Result<(u64, Vec<String>), StorageError> {
    let (mut there, mut problems) = (0, Vec::new());
    for (place, photo) in named(connection)? {
        let path = from.join(PHOTOS).join(photo.kept_as());
        let kept = to.join(PHOTOS).join(photo.kept_as());
        if fault(&kept, &photo.sha256).is_some() {
            match whole(&path, &photo.sha256) {
                Ok(content) => keep(to, &photo.kept_as(), &photo.sha256, &content)?,
                Err(fault) => {
                    problems.push(problem(&place, &photo, &path, &fault));
                    continue;
                }
            }
        }
        there += 1;
    }
    Ok((there, problems))
}

fn problem(place: &str, photo: &Photo, path: &Path, fault: &str) -> String {
    format!(
        "{place}: photo {} ({}): {} {fault}",
        photo.number,
        photo.caption,
        path.display()
    )
}

/// What is wrong with a picture's file; `None` when it is what was kept.
fn fault(path: &Path, sha256: &str) -> Option<String> {
    whole(path, sha256).err()
}

/// A picture's file, when it is what was kept.
fn whole(path: &Path, sha256: &str) -> Result<Vec<u8>, String> {
    let read = || -> std::io::Result<Vec<u8>> {
        let mut content = Vec::new();
        // One byte more than any picture has: a file that grew is not read to its end.
        let most = MOST_BYTES as u64 + 1;
        File::open(path)?.take(most).read_to_end(&mut content)?;
        Ok(content)
    };
    match read() {
        Err(error) if error.kind() == ErrorKind::NotFound => Err("is missing".into()),
        Err(error) => Err(format!("cannot be read: {error}")),
        Ok(content) if photo::sha256(&content) != sha256 => Err("is not what was kept".into()),
        Ok(content) => Ok(content),
    }
}

/// The folder a file lies in.
pub(crate) fn beside(file: &Path) -> PathBuf {
    file.parent().map_or_else(PathBuf::new, Path::to_owned)
}
