//! Who types at a terminal, as `lockring iam` keeps it: one small file for each terminal, in a
//! folder beside the shop's data. The next window that opens may get the name of one that was closed,
//! so the file says which session at the terminal it is about.

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
pub(crate) fn keep(
    folder: &Folder,
    terminal: &str,
    session: &str,
    initials: &str,
) -> Result<(), CommandError> {
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
    std::fs::write(&fresh, format!("{initials}\n{session}\n")).map_err(failed)?;
    std::fs::rename(&fresh, &path).map_err(failed)
}

/// Who types at a terminal, if somebody said so in this session. A file that cannot be read says nothing: --by
/// and the user's name remain.
pub(crate) fn kept(folder: &Folder, terminal: &str, session: impl FnOnce() -> String) -> Option<String> {
    let text = std::fs::read_to_string(path(folder, terminal)).ok()?;
    let mut lines = text.lines().map(str::trim);
    let initials = lines.next().filter(|initials| !initials.is_empty())?;
    (lines.next().unwrap_or_default() == session()).then(|| initials.to_owned())
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
        let who = |terminal: &str| kept(&folder, terminal, || "boot 7".to_owned());
        let say = |terminal: &str, initials: &str| keep(&folder, terminal, "boot 7", initials).unwrap();
        assert_eq!(who("bench pts/3"), None);
        say("bench pts/3", "K");
        say("bench pts_3", "M");
        assert_eq!(who("bench pts/3").as_deref(), Some("K"));
        say("bench pts/3", "Ü");
        assert_eq!(who("bench pts/3").as_deref(), Some("Ü"));
        // Another window of the same name knows nothing of it.
        assert_eq!(kept(&folder, "bench pts/3", || "boot 8".to_owned()), None);
        assert!(forget(&folder, "bench pts/3").unwrap());
        assert!(!forget(&folder, "bench pts/3").unwrap());
        assert_eq!(who("bench pts_3").as_deref(), Some("M"));
        assert!(path(&folder, "../../x").starts_with(base.path().join(TERMINALS)));
    }
}
