//! Where daemon and client meet: the socket's path, derived from the data folder alone, and
//! the check that its folder is private.
//!
//! Both programs call the same functions, so they cannot compute different paths.

use std::ffi::OsString;
use std::fmt::Write as _;
use std::io;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use crate::SOCKET_PATH_MAX;

/// The mark in a data folder that damage was found in its data file while that was served, as the store leaves it.
pub const SUSPECT: &str = "lockring.db-suspect";

/// Permission bits a private folder has: its owner and nobody else.
pub const PRIVATE_MODE: u32 = 0o700;

/// Why a path cannot be used.
#[derive(Debug)]
#[non_exhaustive]
pub enum PathError {
    /// The data folder, or the folder of the socket, cannot be reached or looked at.
    Unreachable {
        /// The path.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// The folder is a symbolic link or no folder at all.
    NoFolder {
        /// The path.
        path: PathBuf,
        /// What stands there instead.
        found: &'static str,
    },
    /// The folder belongs to somebody else.
    Owner {
        /// The path.
        path: PathBuf,
        /// User number of its owner.
        found: u32,
        /// User number of the user who asks.
        expected: u32,
    },
    /// Others than the owner can get at the folder.
    Mode {
        /// The path.
        path: PathBuf,
        /// Its permission bits.
        found: u32,
        /// The bits it must have.
        expected: u32,
    },
    /// Even the short form of the path is too long for a socket.
    TooLong {
        /// The path.
        path: PathBuf,
        /// Its length in bytes.
        found: usize,
        /// The most it may have.
        most: usize,
    },
}

impl PathError {
    /// What to do about it.
    pub fn cure(&self) -> String {
        match self {
            Self::Unreachable { path, error } if error.kind() == io::ErrorKind::NotFound => {
                format!(
                    "create it with `mkdir -m 700 {}`, or name another folder",
                    path.display()
                )
            }
            Self::Unreachable { path, .. } => format!("look at it with `ls -ld {}`", path.display()),
            Self::NoFolder { path, .. } => {
                format!(
                    "move {} out of the way; lockringd makes the folder anew",
                    path.display()
                )
            }
            Self::Owner { path, expected, .. } => {
                format!(
                    "have {} removed or given to user {expected}; it may be somebody else's trap",
                    path.display()
                )
            }
            Self::Mode { path, expected, .. } => {
                format!("close it with `chmod {expected:03o} {}`", path.display())
            }
            Self::TooLong { .. } => "name a data folder with a shorter path".to_owned(),
        }
    }
}

impl std::fmt::Display for PathError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Unreachable { path, error } => write!(f, "{} cannot be reached: {error}", path.display()),
            Self::NoFolder { path, found } => write!(f, "{} is {found}; expected a folder", path.display()),
            Self::Owner {
                path,
                found,
                expected,
            } => {
                write!(
                    f,
                    "{} belongs to user {found}; expected user {expected}",
                    path.display()
                )
            }
            Self::Mode {
                path,
                found,
                expected,
            } => {
                write!(
                    f,
                    "{} has mode {found:03o}; expected {expected:03o}",
                    path.display()
                )
            }
            Self::TooLong { path, found, most } => {
                write!(
                    f,
                    "the socket path {} has {found} bytes; at most {most} are possible",
                    path.display()
                )
            }
        }
    }
}

impl std::error::Error for PathError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Unreachable { error, .. } => Some(error),
            _ => None,
        }
    }
}

/// The canonical path of a data folder, by which daemon and client know it.
///
/// # Errors
/// [`PathError::Unreachable`] when it does not exist or cannot be looked at.
pub fn canonical(data_folder: &Path) -> Result<PathBuf, PathError> {
    data_folder
        .canonicalize()
        .map_err(|error| PathError::Unreachable {
            path: data_folder.to_path_buf(),
            error,
        })
}

/// The socket of the daemon that serves a data folder: `run/lockringd.sock` in it, or, where
/// that is longer than [`SOCKET_PATH_MAX`] bytes, `/tmp/lockring-<uid>/<hash>.sock` with the
/// FNV-1a hash of the folder's canonical path in 16 hexadecimal digits.
///
/// # Errors
/// [`PathError::Unreachable`] when the data folder does not exist or cannot be looked at.
pub fn socket_path(data_folder: &Path) -> Result<PathBuf, PathError> {
    let folder = canonical(data_folder)?;
    let usual = folder.join("run").join("lockringd.sock");
    if usual.as_os_str().len() <= SOCKET_PATH_MAX {
        return Ok(usual);
    }
    let uid = rustix::process::getuid().as_raw();
    let hash = fnv1a_64(folder.as_os_str().as_bytes());
    let mut name = String::new();
    write!(name, "{hash:016x}.sock").expect("a String takes everything");
    let short = PathBuf::from(format!("/tmp/lockring-{uid}")).join(name);
    let found = short.as_os_str().len();
    if found > SOCKET_PATH_MAX {
        return Err(PathError::TooLong {
            path: short,
            found,
            most: SOCKET_PATH_MAX,
        });
    }
    Ok(short)
}

/// Checks that a folder is a real folder, belongs to the user and is closed to others.
///
/// # Errors
/// [`PathError`] saying what was found, what is expected and, by [`PathError::cure`], what to do.
pub fn check_private_folder(path: &Path) -> Result<(), PathError> {
    let seen = path.symlink_metadata().map_err(|error| PathError::Unreachable {
        path: path.to_path_buf(),
        error,
    })?;
    if seen.is_symlink() {
        return Err(PathError::NoFolder {
            path: path.to_path_buf(),
            found: "a symbolic link",
        });
    }
    if !seen.is_dir() {
        return Err(PathError::NoFolder {
            path: path.to_path_buf(),
            found: "a file",
        });
    }
    let expected = rustix::process::getuid().as_raw();
    if seen.uid() != expected {
        return Err(PathError::Owner {
            path: path.to_path_buf(),
            found: seen.uid(),
            expected,
        });
    }
    let mode = seen.mode() & 0o7777;
    if mode & 0o777 != PRIVATE_MODE {
        return Err(PathError::Mode {
            path: path.to_path_buf(),
            found: mode,
            expected: PRIVATE_MODE,
        });
    }
    Ok(())
}

/// FNV-1a, 64 bit: offset basis 0xcbf29ce484222325, prime 0x100000001b3 (Fowler, Noll, Vo,
/// Eastlake, "The FNV Non-Cryptographic Hash Algorithm"). It only has to tell folders of one
/// user apart; the handshake compares the full paths.
fn fnv1a_64(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// `lockring` in the data home of the XDG Base Directory Specification 0.8 (2021): a relative
/// `XDG_DATA_HOME` does not count, and without it the data home is `~/.local/share`.
pub fn usual(data_home: Option<OsString>, home: Option<OsString>) -> Option<PathBuf> {
    let data_home = data_home.map(PathBuf::from).filter(|path| path.is_absolute());
    let home = home.filter(|home| !home.is_empty()).map(PathBuf::from);
    data_home
        .or_else(|| home.map(|home| home.join(".local/share")))
        .map(|data| data.join("lockring"))
}

#[cfg(test)]
mod tests {
    use std::fs::{self, Permissions};
    use std::os::unix::fs::{PermissionsExt, symlink};

    use super::*;

    /// Test vectors of FNV-1a 64 for "", "a" and "foobar": Eastlake, Fowler, Hansen, Noll,
    /// "The FNV Non-Cryptographic Hash Algorithm", appendix of test vectors (from memory).
    #[test]
    fn the_hash_is_fnv_1a() {
        assert_eq!(fnv1a_64(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv1a_64(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fnv1a_64(b"foobar"), 0x8594_4171_f739_67e8);
    }

    #[test]
    fn a_short_path_lies_in_the_data_folder_whichever_way_it_is_named() {
        let base = tempfile::tempdir().unwrap();
        let data = base.path().join("shop");
        fs::create_dir(&data).unwrap();
        symlink(&data, base.path().join("link")).unwrap();
        let direct = socket_path(&data).unwrap();
        assert_eq!(direct, data.canonicalize().unwrap().join("run/lockringd.sock"));
        assert_eq!(socket_path(&base.path().join("link")).unwrap(), direct);
        assert_eq!(
            socket_path(&data.join(".").join("..").join("shop")).unwrap(),
            direct
        );
    }

    #[test]
    fn a_long_path_gets_a_short_socket_that_differs_by_folder() {
        let base = tempfile::tempdir().unwrap();
        let deep = base.path().join("a".repeat(90)).join("b".repeat(90));
        let other = base.path().join("a".repeat(90)).join("c".repeat(90));
        fs::create_dir_all(&deep).unwrap();
        fs::create_dir_all(&other).unwrap();
        let short = socket_path(&deep).unwrap();
        assert!(short.as_os_str().len() <= SOCKET_PATH_MAX, "{}", short.display());
        let uid = rustix::process::getuid().as_raw();
        assert_eq!(
            short.parent().unwrap(),
            Path::new(&format!("/tmp/lockring-{uid}"))
        );
        assert_eq!(short.file_name().unwrap().len(), "0123456789abcdef.sock".len());
        assert_ne!(short, socket_path(&other).unwrap());
    }

    #[test]
    fn the_change_to_the_short_form_is_at_the_limit() {
        let base = tempfile::tempdir().unwrap();
        let root = base.path().canonicalize().unwrap();
        let rest = root.as_os_str().len() + "/".len() + "/run/lockringd.sock".len();
        let fits = root.join("d".repeat(SOCKET_PATH_MAX - rest));
        let too_long = root.join("e".repeat(SOCKET_PATH_MAX - rest + 1));
        fs::create_dir(&fits).unwrap();
        fs::create_dir(&too_long).unwrap();
        let at_limit = socket_path(&fits).unwrap();
        assert!(at_limit.starts_with(&fits));
        assert_eq!(at_limit.as_os_str().len(), SOCKET_PATH_MAX);
        assert!(!socket_path(&too_long).unwrap().starts_with(&too_long));
    }

    #[test]
    fn a_missing_folder_is_named() {
        let base = tempfile::tempdir().unwrap();
        let error = socket_path(&base.path().join("nowhere")).unwrap_err();
        assert!(matches!(error, PathError::Unreachable { .. }), "{error:?}");
        assert!(error.to_string().contains("nowhere"), "{error}");
        assert!(error.cure().contains("mkdir -m 700"), "{}", error.cure());
    }

    #[test]
    fn a_private_folder_is_taken_and_everything_else_refused() {
        let base = tempfile::tempdir().unwrap();
        let run = base.path().join("run");
        fs::create_dir(&run).unwrap();
        fs::set_permissions(&run, Permissions::from_mode(0o700)).unwrap();
        check_private_folder(&run).unwrap();

        fs::set_permissions(&run, Permissions::from_mode(0o750)).unwrap();
        let open = check_private_folder(&run).unwrap_err();
        assert!(open.to_string().ends_with("has mode 750; expected 700"), "{open}");
        assert!(open.cure().contains("chmod 700"), "{}", open.cure());

        fs::set_permissions(&run, Permissions::from_mode(0o700)).unwrap();
        symlink(&run, base.path().join("link")).unwrap();
        let link = check_private_folder(&base.path().join("link")).unwrap_err();
        assert!(link.to_string().contains("is a symbolic link"), "{link}");

        fs::write(base.path().join("file"), "").unwrap();
        let file = check_private_folder(&base.path().join("file")).unwrap_err();
        assert!(
            file.to_string().contains("is a file; expected a folder"),
            "{file}"
        );
    }

    /// XDG Base Directory Specification 0.8, "Environment variables" and "Basics".
    #[test]
    fn the_usual_folder_is_in_the_data_home() {
        let some = |text: &str| Some(OsString::from(text));
        assert_eq!(
            usual(some("/data"), some("/home/i")),
            Some(PathBuf::from("/data/lockring"))
        );
        assert_eq!(
            usual(None, some("/home/i")),
            Some(PathBuf::from("/home/i/.local/share/lockring"))
        );
        assert_eq!(
            usual(some(""), some("/home/i")),
            Some(PathBuf::from("/home/i/.local/share/lockring"))
        );
        assert_eq!(
            usual(some("data"), some("/home/i")),
            Some(PathBuf::from("/home/i/.local/share/lockring"))
        );
        assert_eq!(usual(None, some("")), None);
    }
}
