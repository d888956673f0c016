//! The lock that keeps a data folder to one daemon.
//!
//! It belongs to the open file, so the system lets it go however the daemon ends; the file
//! stays where it is. Nobody judges by the file's being there, nor by any text in it.

use std::fs::{File, OpenOptions, TryLockError};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

use super::exit::{Exit, Fatal};

/// Name of the lock file in the data folder.
const NAME: &str = "lockringd.lock";

/// The data folder is ours for as long as this lives.
#[derive(Debug)]
pub(crate) struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock of a data folder.
    ///
    /// # Errors
    /// [`Exit::InUse`] when another daemon holds it; as [`Fatal::io`] when the file cannot be
    /// opened or locked.
    pub(crate) fn take(folder: &Path) -> Result<Self, Fatal> {
        let path = folder.join(NAME);
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .mode(0o600)
            .open(&path)
            .map_err(|error| Fatal::io(format!("{} cannot be opened", path.display()), &error))?;
        match file.try_lock() {
            Ok(()) => Ok(Self { _file: file }),
            Err(TryLockError::WouldBlock) => Err(Fatal::new(
                Exit::InUse,
                format!("another lockringd serves {}", folder.display()),
            )
            .hint(format!(
                "stop it first with `lockring --dir {} daemon stop`",
                folder.display()
            ))),
            Err(TryLockError::Error(error)) => {
                Err(Fatal::io(format!("{} cannot be locked", path.display()), &error))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_daemon_is_refused_and_told_how_to_stop_the_first() {
        let folder = tempfile::tempdir().unwrap();
        let first = Lock::take(folder.path()).unwrap();
        let second = Lock::take(folder.path()).unwrap_err();
        assert_eq!(second.exit, Exit::InUse);
        assert!(
            second.message.contains(&folder.path().display().to_string()),
            "{}",
            second.message
        );
        assert!(second.hint.contains("daemon stop"), "{}", second.hint);
        drop(first);
        Lock::take(folder.path()).unwrap();
    }

    #[test]
    fn a_lock_file_left_behind_locks_nobody_out() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join(NAME), "4711").unwrap();
        Lock::take(folder.path()).unwrap();
    }
}
