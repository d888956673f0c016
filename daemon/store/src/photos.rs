//! Pictures beside the data file, each under its hash. The journal says which belong to it; a
//! picture is on the disk before its entry is written, is never written over, and deleted only when
//! an entry says that it was removed with its rider.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, DirBuilder, File};
use std::io::{ErrorKind, Read, Write};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};

use jiff::civil::Date;
use lockring_domain::entry::Event;
use lockring_domain::photo::{self, MOST_BYTES, Photo};
use rusqlite::Connection;

use crate::error::StorageError;
use crate::folder::{BACKUPS, PHOTOS};
use crate::rows::{JOURNAL, Raw};

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

/// The pictures that a journal names.
struct Named {
    /// Those that are to be there, each once, with the first entry that names it.
    there: Vec<(String, Photo)>,
    /// Those that were removed with a rider and that no other entry keeps, with the day.
    removed: Vec<(String, Photo, Date)>,
}

/// Every picture the journal names. One whose entry was retracted still is part of the history.
fn named(connection: &Connection) -> Result<Named, StorageError> {
    let sql =
        format!("SELECT {JOURNAL} FROM journal WHERE kind IN ('photographed', 'rider-removed') ORDER BY id");
    let mut statement = connection.prepare(&sql)?;
    let (mut photos, mut days) = (Vec::new(), BTreeMap::new());
    for raw in statement.query_map([], Raw::read)? {
        let raw = raw?;
        let place = raw.place();
        // What cannot be read at all is for the walk through the journal to say.
        let Ok(entry) = raw.entry(connection) else {
            continue;
        };
        match entry.event {
            Event::Photographed(photo) => photos.push((place, (entry.job, entry.seq), photo)),
            Event::RiderRemoved(removal) => {
                days.extend(removal.pictures.iter().map(|seq| ((entry.job, *seq), removal.on)));
            }
            _ => {}
        }
    }
    let (gone, kept): (Vec<_>, Vec<_>) = photos.into_iter().partition(|(_, at, _)| days.contains_key(at));
    let mut found = Named {
        there: Vec::new(),
        removed: Vec::new(),
    };
    let mut hashes = BTreeSet::new();
    for (place, _, photo) in kept {
        if hashes.insert(photo.sha256.clone()) {
            found.there.push((place, photo));
        }
    }
    for (place, at, photo) in gone {
        if !hashes.contains(&photo.sha256) {
            found.removed.push((place, photo, days[&at]));
        }
    }
    Ok(found)
}

/// Looks at the pictures of a folder: which of the journal's are missing, are not what was kept or
/// were removed and still are there; and, told apart, which were removed.
pub(crate) fn check(
    connection: &Connection,
    folder: &Path,
) -> Result<(Vec<String>, Vec<String>), StorageError> {
    let named = named(connection)?;
    let path = |photo: &Photo| folder.join(PHOTOS).join(photo.kept_as());
    let mut problems = Vec::new();
    for (place, photo) in &named.there {
        let path = path(photo);
        problems.extend(fault(&path, &photo.sha256).map(|fault| problem(place, photo, &path, &fault)));
    }
    let mut told = Vec::new();
    for (place, photo, day) in &named.removed {
        let path = path(photo);
        if path.try_exists()? {
            let fault = format!("was removed on {day} and still is there");
            problems.push(problem(place, photo, &path, &fault));
        } else {
            told.push(format!(
                "{place}: the picture of photo {} was removed on {day}",
                photo.number
            ));
        }
    }
    Ok((problems, told))
}

/// Deletes the pictures that were removed with a rider, from a data folder and from its backups.
pub(crate) fn delete_removed(connection: &Connection, folder: &Path) -> Result<(), StorageError> {
    for (_, photo, _) in named(connection)?.removed {
        for folder in [folder.to_owned(), folder.join(BACKUPS)] {
            match fs::remove_file(folder.join(PHOTOS).join(photo.kept_as())) {
                Err(error) if error.kind() != ErrorKind::NotFound => return Err(error.into()),
                _ => {}
            }
        }
    }
    Ok(())
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
    for (place, photo) in named(connection)?.there {
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
