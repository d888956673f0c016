//! The file that `lockring pair` writes, carried to another computer: a key, the certificate
//! that stands for a bench and a person, and what the shop's own must say.

use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::os::unix::fs::{MetadataExt as _, OpenOptionsExt as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::command_error::{CommandError, Exit};

/// The form of the file.
const FORM: u32 = 1;
/// Bits that let anybody but the owner at the file.
const OTHERS: u32 = 0o077;

/// What is carried.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Pass {
    /// The form of the file.
    pub(crate) lockring_pair: u32,
    /// Number of the pair.
    pub(crate) number: u32,
    /// The bench.
    pub(crate) bench: String,
    /// Initials of who works with it.
    pub(crate) person: String,
    /// When it ends, microseconds since 1970-01-01T00:00Z.
    pub(crate) until_us: i64,
    /// Where the shop is reached.
    pub(crate) address: String,
    /// The name the shop's certificate says.
    pub(crate) server_name: String,
    /// The workshop's authority, PEM.
    pub(crate) authority: String,
    /// The bench's certificate, PEM.
    pub(crate) certificate: String,
    /// Its key, PKCS #8, PEM.
    pub(crate) key: String,
}

/// A key is never shown.
impl std::fmt::Debug for Pass {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Pass")
            .field("number", &self.number)
            .field("bench", &self.bench)
            .field("person", &self.person)
            .field("address", &self.address)
            .finish_non_exhaustive()
    }
}

impl Pass {
    /// The form this program writes.
    pub(crate) const FORM: u32 = FORM;

    /// Reads a file that is its owner's alone.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when it cannot be read; [`Exit::Permission`] when others can.
    pub(crate) fn read(path: &Path) -> Result<Self, CommandError> {
        let shown = path.display();
        let wrong = |what: &str, error: &dyn std::error::Error| {
            CommandError::new(Exit::BadInput, format!("{shown} {what}"))
                .caused_by(error)
                .hint("expected the file that `lockring pair BENCH PERSON` wrote at the shop's computer")
        };
        let seen = std::fs::metadata(path).map_err(|error| wrong("cannot be read", &error))?;
        let mode = seen.mode() & 0o777;
        if mode & OTHERS != 0 {
            return Err(CommandError::new(
                Exit::Permission,
                format!("{shown} has mode {mode:03o}: others can read the key in it; expected 600"),
            )
            .hint(format!("close it with `chmod 600 {shown}`"))
            .hint("if somebody else may have read it, have the owner revoke the pair"));
        }
        let text = std::fs::read_to_string(path).map_err(|error| wrong("cannot be read", &error))?;
        let pass: Self =
            serde_json::from_str(&text).map_err(|error| wrong("is no file of a pair", &error))?;
        if pass.lockring_pair != FORM {
            return Err(CommandError::new(
                Exit::VersionMismatch,
                format!(
                    "{shown} has form {}; this program reads form {FORM}",
                    pass.lockring_pair
                ),
            )
            .hint("install the version of lockring that the shop's computer has"));
        }
        Ok(pass)
    }
}

/// A new file for a pass, made before the pass is: nobody is paired for a file that cannot be
/// written. Without [`Place::fill`] it is removed again.
pub(crate) struct Place {
    path: PathBuf,
    file: Option<File>,
}

impl Place {
    /// Makes the file, its owner's alone; nothing is written over.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when it is there already, or cannot be made.
    pub(crate) fn make(path: PathBuf) -> Result<Self, CommandError> {
        let made = OpenOptions::new()
            .write(true)
            .create_new(true)
            .mode(0o600)
            .open(&path);
        let file = made.map_err(|error| {
            CommandError::new(
                Exit::of_io(&error, Exit::BadInput),
                format!("{} cannot be made", path.display()),
            )
            .caused_by(&error)
            .hint("name another file with --out; nothing is written over")
        })?;
        Ok(Self {
            path,
            file: Some(file),
        })
    }

    /// The file's path.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Writes the pass, through to the disk.
    ///
    /// # Errors
    /// [`Exit::Storage`]; the pair is made all the same, and to be revoked.
    pub(crate) fn fill(mut self, pass: &Pass) -> Result<(), CommandError> {
        let Some(mut file) = self.file.take() else {
            return Ok(());
        };
        let written = serde_json::to_string_pretty(pass)
            .map_err(std::io::Error::other)
            .and_then(|text| writeln!(file, "{text}"))
            .and_then(|()| file.sync_all());
        written.map_err(|error| {
            CommandError::new(
                Exit::Storage,
                format!("{} cannot be written; its key is lost", self.path.display()),
            )
            .caused_by(&error)
            .hint(format!("revoke it with `lockring pair --revoke {}`", pass.number))
        })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        // Nothing came of it; a file that stays behind is empty and does no harm.
        if self.file.take().is_some() {
            let _stays_behind = std::fs::remove_file(&self.path);
        }
    }
}

#[cfg(test)]
pub(crate) fn sample() -> Pass {
    Pass {
        lockring_pair: FORM,
        number: 1,
        bench: "bench-2".into(),
        person: "M".into(),
        until_us: 0,
        address: "127.0.0.1:1".into(),
        server_name: "shop-00000000.lockring.invalid".into(),
        authority: String::new(),
        certificate: String::new(),
        key: "secret".into(),
    }
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    #[test]
    fn a_pass_is_written_for_its_owner_alone_and_read_back_and_its_key_is_not_shown() {
        let base = tempfile::tempdir().unwrap();
        let path = base.path().join("bench-2-M.pair");
        let pass = sample();
        Place::make(path.clone()).unwrap().fill(&pass).unwrap();
        assert_eq!(std::fs::metadata(&path).unwrap().mode() & 0o777, 0o600);
        assert_eq!(Pass::read(&path).unwrap(), pass);
        assert!(!format!("{pass:?}").contains("secret"));
        assert_eq!(Place::make(path.clone()).err().unwrap().kind, Exit::BadInput);
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).unwrap();
        let open = Pass::read(&path).unwrap_err();
        assert_eq!(open.kind, Exit::Permission);
        assert!(open.message.contains("640") && open.hints[0].contains("chmod 600"));
    }

    #[test]
    fn a_file_that_nothing_came_of_is_removed_and_another_file_is_not_taken() {
        let base = tempfile::tempdir().unwrap();
        let path = base.path().join("x.pair");
        drop(Place::make(path.clone()).unwrap());
        assert!(!path.exists());
        assert_eq!(Pass::read(&path).unwrap_err().kind, Exit::BadInput);
        Place::make(path.clone()).unwrap().fill(&sample()).unwrap();
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(
            &path,
            text.replace("\"lockring_pair\": 1", "\"lockring_pair\": 2"),
        )
        .unwrap();
        assert_eq!(Pass::read(&path).unwrap_err().kind, Exit::VersionMismatch);
        std::fs::write(&path, "{}").unwrap();
        assert_eq!(Pass::read(&path).unwrap_err().kind, Exit::BadInput);
    }
}
