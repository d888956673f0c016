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

use std::process::ExitCode;

/// The exit codes of `lockringd`; the table stands above.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Exit {
    /// Anything not named below.
    Other = 1,
    /// The command line cannot be read.
    Usage = 2,
    /// Another lockringd has the data folder.
    InUse = 4,
    /// A folder is not this user's alone.
    NotPrivate = 5,
    /// The disk is full or read-only.
    NoRoom = 6,
    /// The data file was written by a newer version.
    Newer = 7,
    /// The data file is not ours, or damaged.
    Damaged = 8,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

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

    /// A file or folder the system would not let us work with: no room is told apart.
    pub(crate) fn io(what: impl std::fmt::Display, error: &std::io::Error) -> Self {
        use std::io::ErrorKind::{PermissionDenied, QuotaExceeded, ReadOnlyFilesystem, StorageFull};
        let exit = match error.kind() {
            StorageFull | QuotaExceeded | ReadOnlyFilesystem => Exit::NoRoom,
            PermissionDenied => Exit::NotPrivate,
            _ => Exit::Other,
        };
        Self::new(exit, format!("{what}: {error}"))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_or_read_only_disk_has_its_own_code() {
        let full = std::io::Error::from(std::io::ErrorKind::StorageFull);
        assert_eq!(Fatal::io("x", &full).exit, Exit::NoRoom);
        let read_only = std::io::Error::from(std::io::ErrorKind::ReadOnlyFilesystem);
        assert_eq!(Fatal::io("x", &read_only).exit, Exit::NoRoom);
        let odd = std::io::Error::other("odd");
        assert_eq!(Fatal::io("x", &odd).exit, Exit::Other);
    }
}
