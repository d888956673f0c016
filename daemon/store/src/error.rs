//! What can go wrong with the data file, each with its cure.

use std::path::PathBuf;

use lockring_domain::refusal::Refusal;
use rusqlite::ErrorCode;
use rusqlite::ffi::SQLITE_IOERR_SHMSIZE;

/// Why a read, a write, a check or a backup was not done. Nothing of a write was stored.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StorageError {
    /// No room on the disk.
    #[error("the disk is full: {detail}")]
    Full {
        /// What the database or system said.
        detail: String,
    },
    /// The file or folder cannot be written.
    #[error("the data file cannot be written: {detail}")]
    ReadOnly {
        /// What the database or system said.
        detail: String,
    },
    /// The disk or file system failed.
    #[error("reading or writing the disk failed: {detail}")]
    Io {
        /// What the database or system said.
        detail: String,
    },
    /// The disk failed at the last step, and what was written could not be taken back either.
    #[error(
        "the disk failed while this was made durable, and nobody knows yet whether it is stored: {detail}"
    )]
    Unsure {
        /// What the database or system said.
        detail: String,
    },
    /// Another program holds the data file.
    #[error("another program holds the data file: {detail}")]
    Busy {
        /// What the database said.
        detail: String,
    },
    /// The file is damaged.
    #[error("the data file is damaged: {detail}")]
    Damaged {
        /// What the database said.
        detail: String,
    },
    /// A stored row does not say what this program expects.
    #[error("{what} cannot be read: {problem}")]
    Unreadable {
        /// The row, such as `entry 12 (job 3, entry 4)`.
        what: String,
        /// What is wrong with it.
        problem: String,
    },
    /// What was to be stored is not what the journal may hold.
    #[error("{what} cannot be stored: {problem}")]
    Unstorable {
        /// What was to be stored.
        what: String,
        /// What was given and what is expected.
        problem: String,
    },
    /// A copy was made but does not hold what it should.
    #[error("the backup was made but is not sound, and was thrown away: {}", problems.join("; "))]
    Unsound {
        /// What verifying the copy found.
        problems: Vec<String>,
    },
    /// The code that was to decide what to store broke down.
    #[error("the request broke down inside the program: {message}")]
    Panicked {
        /// What it said as it broke down.
        message: String,
    },
    /// More wait to be stored than may.
    #[error("{waiting} changes wait to be stored already, as many as may")]
    Crowded {
        /// How many wait.
        waiting: usize,
    },
    /// The file is written anew without what was removed with a rider.
    #[error("the data file is being written anew without a rider who was removed")]
    Cleaning,
    /// The store is closed or its writer has ended.
    #[error("the store is closed")]
    Closed,
    /// Any other complaint of the database.
    #[error("the database refused: {detail}")]
    Database {
        /// What the database said.
        detail: String,
    },
}

impl StorageError {
    /// What to do about it, in one sentence.
    pub const fn cure(&self) -> &'static str {
        match self {
            Self::Full { .. } => "make room on the disk that holds the data folder and try again",
            Self::ReadOnly { .. } => {
                "give the daemon's user the right to write the data folder and try again"
            }
            Self::Io { .. } => {
                "look at the disk and the system log; copy the data folder elsewhere before going on"
            }
            Self::Unsure { .. } => {
                "look at the disk and the system log; end the daemon and start it again, and look with `lockring history` before typing it once more"
            }
            Self::Busy { .. } => "end the other program that has the data file open and try again",
            Self::Damaged { .. } => {
                "stop the daemon, leave the file as it is, and make a new folder of the newest backup with `lockring restore --to NEW-FOLDER`"
            }
            Self::Unreadable { .. } => {
                "run `lockring verify`; a newer program may be needed to read this file"
            }
            Self::Unstorable { .. } | Self::Panicked { .. } => {
                "this is a fault in the program: report it with the message"
            }
            Self::Unsound { .. } => "run `lockring verify` and keep the older backups",
            Self::Crowded { .. } => "try again in a moment; nothing of this one was stored",
            Self::Cleaning => "try again in half a minute; nothing of this one was stored",
            Self::Closed => "start the daemon again",
            Self::Database { .. } => "run `lockring verify` and report the message",
        }
    }

    /// The same, with what it is about unless it names that.
    #[must_use]
    pub(crate) fn named(mut self, what: &str) -> Self {
        if let Self::Full { detail }
        | Self::ReadOnly { detail }
        | Self::Io { detail }
        | Self::Unsure { detail }
        | Self::Busy { detail }
        | Self::Damaged { detail } = &mut self
            && !detail.contains(what)
        {
            *detail = format!("{what}: {detail}");
        }
        self
    }

    pub(crate) fn unstorable(what: impl Into<String>, problem: impl Into<String>) -> Self {
        Self::Unstorable {
            what: what.into(),
            problem: problem.into(),
        }
    }

    pub(crate) fn unreadable(what: impl Into<String>, problem: impl ToString) -> Self {
        Self::Unreadable {
            what: what.into(),
            problem: problem.to_string(),
        }
    }
}

impl From<rusqlite::Error> for StorageError {
    fn from(error: rusqlite::Error) -> Self {
        let detail = error.to_string();
        // The index of the log gets its room when the file is opened: none is a full disk, too.
        if error.sqlite_extended_error_code() == Some(SQLITE_IOERR_SHMSIZE) {
            return Self::Full { detail };
        }
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::Full { detail },
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => Self::ReadOnly { detail },
            Some(ErrorCode::SystemIoFailure | ErrorCode::CannotOpen) => Self::Io { detail },
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Busy { detail },
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => Self::Damaged { detail },
            _ => Self::Database { detail },
        }
    }
}

impl From<std::io::Error> for StorageError {
    fn from(error: std::io::Error) -> Self {
        let detail = error.to_string();
        match error.kind() {
            std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded => Self::Full { detail },
            std::io::ErrorKind::PermissionDenied | std::io::ErrorKind::ReadOnlyFilesystem => {
                Self::ReadOnly { detail }
            }
            _ => Self::Io { detail },
        }
    }
}

/// Why a write was not done. Nothing of it was stored, unless it is [`StorageError::Unsure`].
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WriteError {
    /// The workshop's rules refuse it.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// It could not be stored.
    #[error(transparent)]
    Storage(#[from] StorageError),
}

/// Why the data file was not opened. An existing file is as it was, unless a
/// [`Self::Storage`] says otherwise.
#[derive(Debug, Clone, thiserror::Error)]
pub enum OpenError {
    /// A newer program wrote it.
    #[error(
        "{} has schema {found}; this program reads schema 1 to {known}: use lockring {program} or newer",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its schema.
        found: u32,
        /// The newest schema this program reads.
        known: u32,
        /// The program version that made this schema.
        program: String,
    },
    /// Something else lies under this name.
    #[error(
        "{} is not a data file of lockring ({found}); move it away, or name another data folder with --dir",
        path.display()
    )]
    NotOurs {
        /// The file.
        path: PathBuf,
        /// What it is instead.
        found: String,
    },
    /// The file is damaged.
    #[error("{} is damaged ({problem}); {cure}", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The first things found wrong.
        problem: String,
        /// What to do about it.
        cure: &'static str,
    },
    /// A backup was put in the place of a data file whose log still lies there: read together they
    /// are neither.
    #[error(
        "{0} is a backup, and beside it lies the log of the data file that was there before; move \
         {0}-wal out of the folder, and make a new folder of the backup with \
         `lockring restore {0} --to NEW-FOLDER`",
        path.display()
    )]
    OtherLog {
        /// The file.
        path: PathBuf,
    },
    /// A step to a newer schema failed; the file keeps its old schema.
    #[error(
        "{} stays at schema {} because step {number} failed: {source}; {}",
        path.display(), number - 1, source.cure()
    )]
    Migration {
        /// The file.
        path: PathBuf,
        /// The step, from 1.
        number: u32,
        /// Why.
        source: StorageError,
    },
    /// The disk, the file system or the database refused.
    #[error("{} cannot be opened: {source}; {}", path.display(), source.cure())]
    Storage {
        /// The file.
        path: PathBuf,
        /// Why.
        source: StorageError,
    },
}
