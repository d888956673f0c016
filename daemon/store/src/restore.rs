//! A data folder made new from a backup: copied, brought up to date, folded, compared.

use std::fs::{self, DirBuilder, File};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use lockring_domain::entry::Hash;
use rusqlite::Connection;

use crate::cleaning::clean;
use crate::error::{OpenError, StorageError};
use crate::heeding::Heeded;
use crate::verify::{Verification, verify};
use crate::{backup, connection, folder, heeding, inspect, migrate, photos, queries, removals, revocations};

/// What a folder that was made new holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moved {
    /// Where it came from.
    pub from: PathBuf,
    /// The file or folder it is in now.
    pub to: PathBuf,
    /// Entries of the journal.
    pub entries: u64,
    /// Jobs.
    pub jobs: u64,
    /// Hash of the last entry, as verifying shows it.
    pub head: Hash,
    /// Pictures that came along.
    pub photos: u64,
    /// Pictures that did not, and why; everything else is there.
    pub problems: Vec<String>,
    /// Riders who were removed after the backup was made, and now from the copy too.
    pub removed: Vec<String>,
    /// Pairs that were revoked after the backup was made, and now in the copy too.
    pub revoked: Vec<String>,
    /// Pairs that open the shop that was made once its authority is brought along, and how to revoke them.
    pub pairs: Vec<String>,
    /// Newer backups of the folder that were not taken, and why.
    pub passed_over: Vec<String>,
}

/// Why a folder was not made. Nothing unfinished is left, and the source is as it was.
#[derive(Debug, thiserror::Error)]
pub enum MoveError {
    /// The source cannot be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// Source or target cannot be read or written.
    #[error(transparent)]
    Storage(#[from] StorageError),
    /// The source, or what was made of it, does not hold what it should.
    #[error("{what} is not sound, and nothing was made of it: {}", problems.join("; "))]
    Unsound {
        /// What was verified.
        what: String,
        /// What verifying found.
        problems: Vec<String>,
        /// What to do about it.
        cure: &'static str,
    },
    /// The source holds something else than expected, or the target is not free.
    #[error("{problem}")]
    Unfit {
        /// What was found and what is expected.
        problem: String,
        /// What to do about it.
        cure: String,
    },
}

impl MoveError {
    pub(crate) fn unfit(problem: impl Into<String>, cure: impl Into<String>) -> Self {
        Self::Unfit {
            problem: problem.into(),
            cure: cure.into(),
        }
    }
}

impl From<rusqlite::Error> for MoveError {
    fn from(error: rusqlite::Error) -> Self {
        Self::Storage(error.into())
    }
}

impl From<std::io::Error> for MoveError {
    fn from(error: std::io::Error) -> Self {
        Self::Storage(error.into())
    }
}

/// Makes a data folder from a backup, or from the newest backup of a folder. The target must
/// not exist or be empty. The copy gets its name only when its pages are sound, its journal
/// folds into its tables, and it ends with the same entry as the source.
///
/// # Errors
/// [`MoveError`], naming what was found, what is expected and the cure.
pub fn restore(from: &Path, to_folder: &Path) -> Result<Moved, MoveError> {
    let (source, passed_over) = source(from)?;
    inspect::backup(&source)?;
    empty(to_folder)?;
    let (mut removed, mut revoked) = (Vec::new(), Vec::new());
    let found = new_data_file(to_folder, |unfinished| {
        let from = connection::reader(&source)?;
        let expected = (queries::head(&from)?, queries::count_entries(&from)?);
        let mut copy = Connection::open(unfinished)?;
        backup::copy(&from, &mut copy)?;
        let mode: String = copy.pragma_update_and_check(None, "journal_mode", "delete", |row| row.get(0))?;
        if mode != "delete" {
            let detail = format!("the copy's journal mode is {mode}, expected delete");
            return Err(StorageError::Io { detail }.into());
        }
        migrate::run(&mut copy, migrate::STEPS).map_err(|failed| failed.source)?;
        let copied = (queries::head(&copy)?, queries::count_entries(&copy)?);
        if copied != expected {
            let detail = format!("{} of {} entries came over", copied.1, expected.1);
            return Err(StorageError::Io { detail }.into());
        }
        let (lists, now) = (folder::of(&source), Timestamp::now());
        removed = removals::again(&copy, &lists, now)?;
        revoked = revocations::again(&copy, &lists, now)?;
        if !removed.is_empty() {
            clean(&copy)?;
        }
        copy.close().map_err(|(_, error)| error)?;
        Ok(())
    })?;
    let pictures = folder::of(&source);
    let mut moved = moved(source, &pictures, to_folder, &found)?;
    moved.removed = removed;
    moved.revoked = revoked;
    moved.passed_over = passed_over;
    Ok(moved)
}

/// Removes from a new folder the riders that the list in another folder of backups names, such as
/// that of the shop in use, and revokes the pairs that its other list names: what was restored or
/// imported may be older than the lists.
///
/// # Errors
/// [`MoveError`] when a list or the new data file cannot be read or written.
pub fn heed(mut moved: Moved, backups: &Path) -> Result<Moved, MoveError> {
    let now = Timestamp::now();
    let mut copy = Connection::open(&moved.to)?;
    let Heeded { removed, revoked } = heeding::heed(&mut copy, backups, now)?;
    if removed.is_empty() && revoked.is_empty() {
        return Ok(moved);
    }
    if !removed.is_empty() {
        clean(&copy)?;
    }
    let standing = revocations::standing(&copy, now)?;
    copy.close().map_err(|(_, error)| error)?;
    let found = prove(&moved.to)?;
    (moved.entries, moved.head) = (found.entries, found.head);
    moved.removed.extend(removed);
    moved.revoked.extend(revoked);
    moved.pairs = standing;
    Ok(moved)
}

/// Brings the pictures after a new data file, and says what came of it all.
pub(crate) fn moved(
    from: PathBuf,
    pictures: &Path,
    to_folder: &Path,
    found: &Verification,
) -> Result<Moved, MoveError> {
    let to = folder::data_file(to_folder);
    let copy = connection::reader(&to)?;
    let (photos, problems) = photos::bring(&copy, pictures, to_folder)?;
    Ok(Moved {
        from,
        to,
        entries: found.entries,
        jobs: found.jobs,
        head: found.head,
        photos,
        problems,
        removed: Vec::new(),
        revoked: Vec::new(),
        pairs: revocations::standing(&copy, Timestamp::now())?,
        passed_over: Vec::new(),
    })
}

/// The backup meant: the file itself, or the newest of a folder; and which newer ones were passed over, a line each.
fn source(from: &Path) -> Result<(PathBuf, Vec<String>), MoveError> {
    let seen = fs::metadata(from).map_err(|error| {
        MoveError::unfit(
            format!("{} cannot be looked at: {error}", from.display()),
            "name a backup, or a folder of backups",
        )
    })?;
    if !seen.is_dir() {
        return Ok((from.to_owned(), Vec::new()));
    }
    // One that is dated later than now was made by a wrong clock, unless there is no other.
    let now = Timestamp::now();
    let (newest, ahead) = match backup::last_by(from, now)? {
        None => (backup::last(from)?, Vec::new()),
        found => (found, backup::ahead(from, now)?),
    };
    let newest = newest.ok_or_else(|| {
        MoveError::unfit(
            format!("{} holds no backup", from.display()),
            "name a file such as lockring-20260310T010000.000000Z.db",
        )
    })?;
    let passed_over = ahead.iter().map(|path| {
        format!(
            "passed over, because it is dated later than now: {}; where the clock was right then, name it: \
             `lockring restore BACKUP --to DIR`",
            path.display()
        )
    });
    Ok((newest.path, passed_over.collect()))
}

/// Makes sure that a folder is there, empty and this user's alone.
pub(crate) fn empty(folder: &Path) -> Result<(), MoveError> {
    match fs::read_dir(folder) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            DirBuilder::new().recursive(true).mode(0o700).create(folder)?;
            Ok(())
        }
        Err(error) => Err(error.into()),
        Ok(mut items) => match items.next() {
            None => Ok(()),
            Some(item) => Err(MoveError::unfit(
                format!(
                    "{} is not empty ({} is there); expected a new or an empty folder",
                    folder.display(),
                    item?.file_name().display()
                ),
                "name another folder: nothing is ever written over",
            )),
        },
    }
}

/// Makes a data file under another name, proves it, and only then gives it its name.
pub(crate) fn new_data_file(
    folder: &Path,
    make: impl FnOnce(&Path) -> Result<(), MoveError>,
) -> Result<Verification, MoveError> {
    let unfinished = folder::unfinished(folder);
    let made = File::options()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(&unfinished)
        .map_err(MoveError::from)
        .and_then(|_| make(&unfinished))
        .and_then(|()| prove(&unfinished));
    match made {
        Ok(found) => {
            File::open(&unfinished)?.sync_all()?;
            fs::rename(&unfinished, folder::data_file(folder))?;
            File::open(folder)?.sync_all()?;
            Ok(found)
        }
        Err(error) => {
            folder::remove_with_journals(&unfinished)?;
            Err(error)
        }
    }
}

fn prove(file: &Path) -> Result<Verification, MoveError> {
    let found = verify(&connection::reader(file)?)?;
    if found.problems.is_empty() {
        return Ok(found);
    }
    let problems = found.problems;
    Err(MoveError::Unsound {
        what: "the copy".to_owned(),
        problems,
        cure: "name an older backup or another export; this one is as it was",
    })
}
