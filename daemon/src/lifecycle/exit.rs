//! Why the daemon does not start or ends in trouble, and the exit code each reason has.
//!
//! | code | name | meaning |
//! |---|---|---|
//! | 0 | stopped | it was asked to end and did |
//! | 1 | other | anything not named below |
//! | 2 | usage | the command line cannot be read |
//! | 4 | in use | another lockringd has the data folder |
//! | 5 | not private | the data folder or the socket's folder is not this user's alone |
//! | 6 | no room | the disk is full or read-only |
//! | 7 | newer | the data file was written by a newer version |
//! | 8 | damaged | the data file is not ours, or damaged |

use lockring_store::{OpenError, StorageError};

pub(crate) use lockring_proto::ended::Ended as Exit;

/// Why the daemon does not start, or ends in trouble.
#[derive(Debug, thiserror::Error)]
#[error("{message}")]
pub(crate) struct Fatal {
    /// Exit code.
    pub(crate) exit: Exit,
    /// What is wrong, with what was found and expected.
    pub(crate) message: String,
    /// What to do about it; empty when the message says it.
    pub(crate) hint: String,
}

impl Fatal {
    /// A reason with its message.
    pub(crate) fn new(exit: Exit, message: impl Into<String>) -> Self {
        Self {
            exit,
            message: message.into(),
            hint: String::new(),
        }
    }

    /// Adds what to do about it.
    #[must_use]
    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// A file or folder the system would not let us work with: no room is told apart, and
    /// what the system's reason usually asks for is the hint.
    pub(crate) fn io(what: impl std::fmt::Display, error: &std::io::Error) -> Self {
        use std::io::ErrorKind::{PermissionDenied, QuotaExceeded, ReadOnlyFilesystem, StorageFull};
        let (exit, hint) = match error.kind() {
            StorageFull | QuotaExceeded => (Exit::NoRoom, "make room on that disk, and start again"),
            ReadOnlyFilesystem => (
                Exit::NoRoom,
                "make the disk writable, or name a folder on another with --dir",
            ),
            PermissionDenied => (
                Exit::NotPrivate,
                "run lockringd as the user the folder belongs to, or name another with --dir",
            ),
            _ => (Exit::Other, ""),
        };
        Self::new(exit, format!("{what}: {error}")).hint(hint)
    }
}

impl From<lockring_proto::paths::PathError> for Fatal {
    fn from(error: lockring_proto::paths::PathError) -> Self {
        use lockring_proto::paths::PathError;
        let exit = match error {
            PathError::NoFolder { .. } | PathError::Owner { .. } | PathError::Mode { .. } => Exit::NotPrivate,
            _ => Exit::Other,
        };
        Self::new(exit, error.to_string()).hint(error.cure())
    }
}

/// Why the store could not be opened, with its exit code. Its message names the cure.
pub(crate) fn not_opened(error: OpenError) -> Fatal {
    let exit = match &error {
        OpenError::Newer { .. } => Exit::Newer,
        OpenError::NotOurs { .. } | OpenError::Damaged { .. } | OpenError::OtherLog { .. } => Exit::Damaged,
        OpenError::Migration { source, .. } | OpenError::Storage { source, .. } => exit_of(source),
    };
    Fatal::new(exit, error.to_string())
}

/// Why the store could not be read at the beginning or closed at the end.
pub(crate) fn not_closed(error: &StorageError) -> Fatal {
    Fatal::new(exit_of(error), error.to_string()).hint(error.cure())
}

const fn exit_of(error: &StorageError) -> Exit {
    match error {
        StorageError::Full { .. } | StorageError::ReadOnly { .. } => Exit::NoRoom,
        StorageError::Damaged { .. } | StorageError::Unreadable { .. } => Exit::Damaged,
        StorageError::Busy { .. } => Exit::InUse,
        _ => Exit::Other,
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;

    #[test]
    fn a_full_or_read_only_disk_has_its_own_code() {
        let full = std::io::Error::from(std::io::ErrorKind::StorageFull);
        assert_eq!(Fatal::io("x", &full).exit, Exit::NoRoom);
        let read_only = std::io::Error::from(std::io::ErrorKind::ReadOnlyFilesystem);
        assert_eq!(Fatal::io("x", &read_only).exit, Exit::NoRoom);
        assert!(Fatal::io("x", &read_only).hint.contains("--dir"));
        let odd = std::io::Error::other("odd");
        assert_eq!(Fatal::io("x", &odd).exit, Exit::Other);
    }

    #[test]
    fn what_is_wrong_with_the_data_file_has_its_exit_code() {
        let path = PathBuf::from("/d/lockring.db");
        let newer = OpenError::Newer {
            path: path.clone(),
            found: 9,
            known: 1,
            program: "0.9.0".into(),
        };
        assert_eq!(not_opened(newer).exit, Exit::Newer);
        let full = StorageError::Full { detail: "x".into() };
        assert_eq!(
            not_opened(OpenError::Storage {
                path: path.clone(),
                source: full
            })
            .exit,
            Exit::NoRoom
        );
        assert_eq!(
            not_opened(OpenError::NotOurs {
                path,
                found: "text".into()
            })
            .exit,
            Exit::Damaged
        );
    }
}
