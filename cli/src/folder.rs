//! The data folder: which one is meant, by what name both programs know it.

use std::os::unix::fs::DirBuilderExt as _;
use std::path::{Path, PathBuf};

use lockring_proto::paths::{self, PRIVATE_MODE, PathError};

use crate::command_error::{CommandError, Exit};

/// The data folder a command is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Folder {
    named: PathBuf,
}

impl Folder {
    /// The folder given with `--dir` or `LOCKRING_DIR`, else the user's usual one.
    ///
    /// # Errors
    /// [`Exit::Usage`] when none was given and the user has no home either.
    pub(crate) fn find(given: Option<&Path>) -> Result<Self, CommandError> {
        if let Some(given) = given {
            return Ok(Self {
                named: given.to_path_buf(),
            });
        }
        paths::usual(std::env::var_os("XDG_DATA_HOME"), std::env::var_os("HOME"))
            .map(|named| Self { named })
            .ok_or_else(|| {
                CommandError::new(
                    Exit::Usage,
                    "no data folder is named, and neither XDG_DATA_HOME nor HOME is set",
                )
                .hint("name one with `--dir DIR` or LOCKRING_DIR")
            })
    }

    /// The folder as it was named.
    pub(crate) fn named(&self) -> &Path {
        &self.named
    }

    /// The folder's canonical path; `None` when it does not exist.
    ///
    /// # Errors
    /// [`Exit::Permission`] when it cannot be looked at.
    pub(crate) fn canonical(&self) -> Result<Option<PathBuf>, CommandError> {
        match paths::canonical(&self.named) {
            Ok(path) => Ok(Some(path)),
            Err(PathError::Unreachable { error, .. }) if error.kind() == std::io::ErrorKind::NotFound => {
                Ok(None)
            }
            Err(error) => Err(error.into()),
        }
    }

    /// Makes the folder, closed to others, where it does not exist; gives its canonical path.
    ///
    /// # Errors
    /// [`Exit::Permission`] when it cannot be made or looked at, [`Exit::Storage`] on a full or
    /// read-only disk.
    pub(crate) fn make(&self) -> Result<PathBuf, CommandError> {
        if let Some(path) = self.canonical()? {
            return Ok(path);
        }
        std::fs::DirBuilder::new()
            .recursive(true)
            .mode(PRIVATE_MODE)
            .create(&self.named)
            .map_err(|error| {
                CommandError::new(
                    Exit::of_io(&error, Exit::Permission),
                    format!("the data folder {} cannot be made", self.named.display()),
                )
                .caused_by(&error)
                .hint("name another with `--dir DIR` or LOCKRING_DIR")
            })?;
        Ok(paths::canonical(&self.named)?)
    }
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    #[test]
    fn a_missing_folder_is_told_from_a_made_one() {
        let base = tempfile::tempdir().unwrap();
        let named = base.path().join("shop").join("data");
        let folder = Folder::find(Some(&named)).unwrap();
        assert_eq!(folder.canonical().unwrap(), None);
        let made = folder.make().unwrap();
        assert_eq!(made, named.canonicalize().unwrap());
        assert_eq!(folder.canonical().unwrap(), Some(made.clone()));
        assert_eq!(made.metadata().unwrap().permissions().mode() & 0o777, 0o700);
        assert_eq!(folder.make().unwrap(), made);
    }
}
