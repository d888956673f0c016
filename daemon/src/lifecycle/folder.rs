//! The data folder: found, made when missing, and refused unless it is the user's own.

use std::fs::{self, DirBuilder};
use std::os::unix::fs::{DirBuilderExt, MetadataExt};
use std::path::{Path, PathBuf};

use lockring_proto::paths::{self, PRIVATE_MODE};

use super::exit::{Exit, Fatal};

/// Permission bits that let the group or anybody write.
const OTHERS_WRITE: u32 = 0o022;
/// Permission bits of the group and of anybody.
const OTHERS: u32 = 0o077;
/// The system's administrator, who may stand behind a link.
const ROOT: u32 = 0;

/// The folder people mean: the one named, else `$XDG_DATA_HOME/lockring`, else
/// `~/.local/share/lockring`.
///
/// # Errors
/// [`Exit::Usage`] when none is named and the environment names no home.
pub(crate) fn named(dir: Option<PathBuf>) -> Result<PathBuf, Fatal> {
    dir.or_else(|| paths::usual(std::env::var_os("XDG_DATA_HOME"), std::env::var_os("HOME")))
        .ok_or_else(|| {
            Fatal::new(
                Exit::Usage,
                "no data folder is named, and neither XDG_DATA_HOME nor HOME is set",
            )
            .hint("name one with --dir DIR or LOCKRING_DIR")
        })
}

/// Makes the folder where it is missing, checks that it is the user's own, and gives its
/// canonical path.
///
/// # Errors
/// [`Exit::NotPrivate`] naming owner or mode found and expected; as [`Fatal::io`].
pub(crate) fn open(named: &Path) -> Result<PathBuf, Fatal> {
    let me = rustix::process::getuid().as_raw();
    let shown = named.display();
    match named.symlink_metadata() {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => make(named)?,
        Err(error) => {
            return Err(Fatal::io(
                format!("data folder {shown} cannot be looked at"),
                &error,
            ));
        }
        // A link that somebody else set could lead our data wherever they please.
        Ok(link) if link.is_symlink() && ![me, ROOT].contains(&link.uid()) => {
            let message = format!(
                "data folder {shown} is a link set by user {}; expected user {me}",
                link.uid()
            );
            return Err(Fatal::new(Exit::NotPrivate, message).hint("name the folder itself with --dir"));
        }
        Ok(_) => {}
    }
    let folder = named
        .canonicalize()
        .map_err(|error| Fatal::io(format!("data folder {shown} cannot be reached"), &error))?;
    check(&folder, me)?;
    check_files(&folder)?;
    Ok(folder)
}

/// Checks that nobody else can read a data file in a folder that others may look into.
fn check_files(folder: &Path) -> Result<(), Fatal> {
    let shown = folder.display();
    let failed =
        |error: &std::io::Error| Fatal::io(format!("data folder {shown} cannot be looked into"), error);
    let open = fs::metadata(folder).map_err(|error| failed(&error))?.mode() & 0o777;
    if open & OTHERS == 0 {
        return Ok(());
    }
    for item in fs::read_dir(folder).map_err(|error| failed(&error))? {
        let item = item.map_err(|error| failed(&error))?;
        if !item.file_name().to_string_lossy().starts_with("lockring.db") {
            continue;
        }
        let mode = item.metadata().map_err(|error| failed(&error))?.mode() & 0o777;
        if mode & OTHERS != 0 {
            let message = format!(
                "{} has mode {mode:03o} in a folder of mode {open:03o}; expected that nobody else can read it",
                item.path().display()
            );
            return Err(
                Fatal::new(Exit::NotPrivate, message).hint(format!("close it with `chmod 700 {shown}`"))
            );
        }
    }
    Ok(())
}

fn make(named: &Path) -> Result<(), Fatal> {
    DirBuilder::new()
        .recursive(true)
        .mode(PRIVATE_MODE)
        .create(named)
        .map_err(|error| {
            let fatal = Fatal::io(format!("data folder {} cannot be made", named.display()), &error);
            if fatal.hint.is_empty() {
                fatal.hint("name another with --dir DIR or LOCKRING_DIR")
            } else {
                fatal
            }
        })
}

fn check(folder: &Path, me: u32) -> Result<(), Fatal> {
    let shown = folder.display();
    let seen =
        fs::metadata(folder).map_err(|error| Fatal::io(format!("{shown} cannot be looked at"), &error))?;
    if !seen.is_dir() {
        return Err(Fatal::new(
            Exit::Other,
            format!("{shown} is a file; expected the data folder"),
        )
        .hint("name a folder with --dir"));
    }
    if seen.uid() != me {
        let message = format!(
            "data folder {shown} belongs to user {}; expected user {me}",
            seen.uid()
        );
        return Err(
            Fatal::new(Exit::NotPrivate, message).hint("run lockringd as that user, or name another folder")
        );
    }
    let mode = seen.mode() & 0o777;
    if mode & OTHERS_WRITE != 0 {
        let message =
            format!("data folder {shown} has mode {mode:03o}: others can write; expected {PRIVATE_MODE:03o}");
        return Err(Fatal::new(Exit::NotPrivate, message).hint(format!("close it with `chmod 700 {shown}`")));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::fs::Permissions;
    use std::os::unix::fs::{PermissionsExt, symlink};

    use super::*;

    #[test]
    fn a_missing_folder_is_made_private_with_its_parents() {
        let base = tempfile::tempdir().unwrap();
        let made = open(&base.path().join("a/b")).unwrap();
        assert_eq!(fs::metadata(&made).unwrap().mode() & 0o777, 0o700);
        assert!(made.is_absolute());
    }

    #[test]
    fn a_folder_that_others_can_write_is_refused_with_its_mode() {
        let base = tempfile::tempdir().unwrap();
        let data = base.path().join("data");
        fs::create_dir(&data).unwrap();
        for mode in [0o770, 0o702, 0o777] {
            fs::set_permissions(&data, Permissions::from_mode(mode)).unwrap();
            let refused = open(&data).unwrap_err();
            assert_eq!(refused.exit, Exit::NotPrivate);
            assert!(
                refused.message.contains(&format!("mode {mode:03o}")),
                "{}",
                refused.message
            );
            assert!(refused.hint.contains("chmod 700"));
        }
        // Others may read a folder that was made by hand; they cannot read the files in it.
        fs::set_permissions(&data, Permissions::from_mode(0o755)).unwrap();
        assert!(open(&data).is_ok());
        let file = data.join("lockring.db");
        fs::write(&file, "").unwrap();
        fs::set_permissions(&file, Permissions::from_mode(0o600)).unwrap();
        assert!(open(&data).is_ok());
        // As a copy leaves it.
        fs::set_permissions(&file, Permissions::from_mode(0o644)).unwrap();
        let refused = open(&data).unwrap_err();
        assert_eq!(refused.exit, Exit::NotPrivate);
        assert!(
            refused.message.contains("lockring.db has mode 644"),
            "{}",
            refused.message
        );
        fs::set_permissions(&data, Permissions::from_mode(0o700)).unwrap();
        assert!(open(&data).is_ok());
    }

    #[test]
    fn a_link_of_ones_own_leads_to_the_folder_and_a_file_is_refused() {
        let base = tempfile::tempdir().unwrap();
        let data = base.path().join("data");
        fs::create_dir(&data).unwrap();
        fs::set_permissions(&data, Permissions::from_mode(0o700)).unwrap();
        symlink(&data, base.path().join("link")).unwrap();
        assert_eq!(
            open(&base.path().join("link")).unwrap(),
            data.canonicalize().unwrap()
        );
        fs::write(base.path().join("file"), "").unwrap();
        assert!(
            open(&base.path().join("file"))
                .unwrap_err()
                .message
                .contains("is a file")
        );
    }

    #[test]
    fn somebody_elses_folder_is_refused() {
        // Every folder belongs to somebody else for a user number nobody has.
        let data = tempfile::tempdir().unwrap();
        fs::set_permissions(data.path(), Permissions::from_mode(0o700)).unwrap();
        let refused = check(data.path(), u32::MAX - 1).unwrap_err();
        assert_eq!(refused.exit, Exit::NotPrivate);
        assert!(refused.message.contains("belongs to user"), "{}", refused.message);
    }
}
