//! The data folder: which one is meant, by what name both programs know it.

use std::ffi::{OsStr, OsString};
use std::os::unix::fs::DirBuilderExt as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use lockring_proto::paths::{self, PRIVATE_MODE, PathError};

use crate::client::pass::Pass;
use crate::command_error::{CommandError, Exit};

/// Where a shop on another computer has what is kept here for it: queue, terminals.
const AWAY: &str = "away";

/// The data folder a command is about, or the way to a shop on another computer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Folder {
    named: PathBuf,
    via: Option<Arc<Via>>,
}

/// The way to a shop on another computer.
#[derive(Debug, PartialEq, Eq)]
struct Via {
    /// The file of the pair.
    file: OsString,
    pass: Pass,
    /// The folder as it was named here.
    base: PathBuf,
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
                via: None,
            });
        }
        paths::usual(std::env::var_os("XDG_DATA_HOME"), std::env::var_os("HOME"))
            .map(|named| Self { named, via: None })
            .ok_or_else(|| {
                CommandError::new(
                    Exit::Usage,
                    "no data folder is named, and neither XDG_DATA_HOME nor HOME is set",
                )
                .hint("name one with `--dir DIR` or LOCKRING_DIR")
            })
    }

    /// The way to another shop by the file of a pair; an empty name is none. What is kept here for
    /// that shop gets a folder of its own.
    ///
    /// # Errors
    /// As [`Pass::read`].
    pub(crate) fn via(self, file: &OsStr) -> Result<Self, CommandError> {
        if file.is_empty() {
            return Ok(self);
        }
        let pass = Pass::read(Path::new(file))?;
        // A name made of letters, digits, hyphens and dots, as the shop's authority makes it.
        let fits = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '.';
        if !pass.server_name.chars().all(fits) || pass.server_name.starts_with('.') {
            return Err(CommandError::new(
                Exit::BadInput,
                format!("`{}` is no name of a shop", pass.server_name),
            ));
        }
        let named = self.named.join(AWAY).join(&pass.server_name);
        let via = Via {
            file: file.to_owned(),
            pass,
            base: self.named,
        };
        Ok(Self {
            named,
            via: Some(Arc::new(via)),
        })
    }

    /// What opens a shop on another computer; `None` for one on this.
    pub(crate) fn pass(&self) -> Option<&Pass> {
        self.via.as_ref().map(|via| &via.pass)
    }

    /// The words by which another line means the same shop, whatever the environment says.
    pub(crate) fn words(&self) -> [OsString; 3] {
        self.words_by(None)
    }

    /// As [`Folder::words`], by the file of another pair of that shop where one is given.
    pub(crate) fn words_by(&self, file: Option<&OsStr>) -> [OsString; 3] {
        let (base, mut via) = (
            self.via.as_ref().map_or(&self.named, |via| &via.base),
            OsString::from("--via="),
        );
        if let Some(own) = &self.via {
            via.push(file.unwrap_or(&own.file));
        }
        ["--dir".into(), base.into(), via]
    }

    /// The file of the pair as a path from the root; `None` without one, or where the path is no UTF-8 text.
    pub(crate) fn pass_file(&self) -> Option<String> {
        let file = std::path::absolute(&self.via.as_ref()?.file).ok()?;
        file.into_os_string().into_string().ok()
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
