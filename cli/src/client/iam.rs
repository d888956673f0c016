//! Who types at a terminal, as `lockring iam` keeps it: one small file for each terminal, in a
//! folder beside the shop's data.

use std::io::ErrorKind;
use std::os::unix::fs::DirBuilderExt as _;
use std::path::PathBuf;

use lockring_proto::paths::PRIVATE_MODE;

use crate::command_error::{CommandError, Exit};
use crate::folder::Folder;

/// The folder, beside the data file.
const TERMINALS: &str = "terminals";

/// Keeps who types at a terminal.
///
/// # Errors
/// [`Exit::Permission`] or [`Exit::Storage`] when it cannot be written.
pub(crate) fn keep(folder: &Folder, terminal: &str, initials: &str) -> Result<(), CommandError> {
    let path = path(folder, terminal);
    let failed = |error: std::io::Error| {
        CommandError::new(
            Exit::of_io(&error, Exit::Permission),
            format!("{} cannot be written", path.display()),
        )
        .caused_by(&error)
        .hint("say who you are with --by or LOCKRING_BY instead")
    };
    let parent = folder.named().join(TERMINALS);
    std::fs::DirBuilder::new()
        .recursive(true)
        .mode(PRIVATE_MODE)
        .create(parent)
        .map_err(failed)?;
    // A reader sees the old initials or the new ones, never half of them.
    let fresh = path.with_extension("new");
    std::fs::write(&fresh, format!("{initials}\n")).map_err(failed)?;
    std::fs::rename(&fresh, &path).map_err(failed)
}

/// Who types at a terminal, if somebody said so. A file that cannot be read says nothing: --by
/// and the user's name remain.
pub(crate) fn kept(folder: &Folder, terminal: &str) -> Option<String> {
    let text = std::fs::read_to_string(path(folder, terminal)).ok()?;
    Some(text.trim().to_owned()).filter(|initials| !initials.is_empty())
}

/// Forgets who types at a terminal; whether somebody had said so.
///
/// # Errors
/// [`Exit::Permission`] or [`Exit::Storage`] when the file cannot be removed.
pub(crate) fn forget(folder: &Folder, terminal: &str) -> Result<bool, CommandError> {
    let path = path(folder, terminal);
    match std::fs::remove_file(&path) {
        Ok(()) => Ok(true),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(false),
        Err(error) => Err(CommandError::new(
            Exit::of_io(&error, Exit::Permission),
            format!("{} cannot be removed", path.display()),
        )
        .caused_by(&error)),
    }
}

/// A file name that only this terminal has: letters and digits stand for themselves, all else
/// is written as its bytes.
fn path(folder: &Folder, terminal: &str) -> PathBuf {
    let mut name = String::new();
    for byte in terminal.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => name.push(char::from(byte)),
            other => name.push_str(&format!("_{other:02x}")),
        }
    }
    folder.named().join(TERMINALS).join(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_terminal_has_its_own_and_forgets_it() {
        let base = tempfile::tempdir().unwrap();
        let folder = Folder::find(Some(base.path())).unwrap();
        assert_eq!(kept(&folder, "bench pts/3"), None);
        keep(&folder, "bench pts/3", "K").unwrap();
        keep(&folder, "bench pts_3", "M").unwrap();
        assert_eq!(kept(&folder, "bench pts/3").as_deref(), Some("K"));
        keep(&folder, "bench pts/3", "Ü").unwrap();
        assert_eq!(kept(&folder, "bench pts/3").as_deref(), Some("Ü"));
        assert!(forget(&folder, "bench pts/3").unwrap());
        assert!(!forget(&folder, "bench pts/3").unwrap());
        assert_eq!(kept(&folder, "bench pts_3").as_deref(), Some("M"));
        assert!(path(&folder, "../../x").starts_with(base.path().join(TERMINALS)));
    }
}
