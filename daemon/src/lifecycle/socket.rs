//! The socket: its private folder, what a dead daemon left of it, and the new one.

use std::fs::{self, DirBuilder, Permissions};
use std::io::ErrorKind;
use std::os::unix::fs::{DirBuilderExt, FileTypeExt, PermissionsExt};
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::{Path, PathBuf};

use lockring_proto::paths;

use super::exit::{Exit, Fatal};

/// A bound socket; removed when this is dropped, while the lock is still held.
#[derive(Debug)]
pub(crate) struct Socket {
    path: PathBuf,
    listener: UnixListener,
}

impl Socket {
    /// Binds the socket of a data folder whose lock is held.
    ///
    /// # Errors
    /// [`Exit::NotPrivate`] when its folder is not the user's alone; [`Exit::InUse`] when
    /// somebody answers at it; as [`Fatal::io`].
    pub(crate) fn bind(data_folder: &Path) -> Result<Self, Fatal> {
        let path = paths::socket_path(data_folder)?;
        let run = path.parent().expect("a socket path ends in folder and name");
        make_private(run)?;
        remove_leftover(&path)?;
        let at =
            |error: &std::io::Error| Fatal::io(format!("socket {} cannot be bound", path.display()), error);
        let listener = UnixListener::bind(&path).map_err(|error| at(&error))?;
        fs::set_permissions(&path, Permissions::from_mode(0o600)).map_err(|error| at(&error))?;
        listener.set_nonblocking(true).map_err(|error| at(&error))?;
        Ok(Self { path, listener })
    }

    /// Where it is.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// The listener, for the runtime.
    ///
    /// # Errors
    /// As [`Fatal::io`].
    pub(crate) fn listener(&self) -> Result<tokio::net::UnixListener, Fatal> {
        let failed = |error: std::io::Error| Fatal::io("the socket cannot be listened on", &error);
        let own = self.listener.try_clone().map_err(failed)?;
        tokio::net::UnixListener::from_std(own).map_err(failed)
    }
}

impl Drop for Socket {
    fn drop(&mut self) {
        if let Err(error) = fs::remove_file(&self.path) {
            tracing::warn!(path = %self.path.display(), %error, "the socket could not be removed");
        }
    }
}

fn make_private(run: &Path) -> Result<(), Fatal> {
    match DirBuilder::new().mode(paths::PRIVATE_MODE).create(run) {
        Ok(()) => {}
        Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
        Err(error) => return Err(Fatal::io(format!("{} cannot be made", run.display()), &error)),
    }
    paths::check_private_folder(run)?;
    Ok(())
}

/// Removes a socket that a dead daemon left. Only a refused connection proves it dead:
/// anything else at that path is somebody's and stays.
fn remove_leftover(path: &Path) -> Result<(), Fatal> {
    let shown = path.display();
    match path.symlink_metadata() {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(Fatal::io(format!("{shown} cannot be looked at"), &error)),
        Ok(seen) if !seen.file_type().is_socket() => {
            return Err(Fatal::new(
                Exit::Other,
                format!("{shown} is not a socket; expected one, or nothing"),
            )
            .hint("move it out of the way"));
        }
        Ok(_) => {}
    }
    match UnixStream::connect(path) {
        Err(error) if error.kind() == ErrorKind::ConnectionRefused => {
            tracing::info!(path = %shown, "removing a socket that a dead daemon left");
            fs::remove_file(path).map_err(|error| Fatal::io(format!("{shown} cannot be removed"), &error))
        }
        Err(error) => Err(Fatal::io(format!("{shown} is there and cannot be tried"), &error)),
        Ok(_) => Err(Fatal::new(Exit::InUse, format!("somebody answers at {shown}"))
            .hint("stop that program; lockringd will not take its socket away")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn data() -> tempfile::TempDir {
        tempfile::tempdir().unwrap()
    }

    #[test]
    fn socket_and_folder_are_the_users_alone_and_the_socket_goes_with_its_owner() {
        let data = data();
        let socket = Socket::bind(data.path()).unwrap();
        let path = socket.path().to_path_buf();
        assert_eq!(path, paths::socket_path(data.path()).unwrap());
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        assert_eq!(
            fs::metadata(path.parent().unwrap()).unwrap().permissions().mode() & 0o777,
            0o700
        );
        drop(socket);
        assert!(!path.exists());
    }

    #[test]
    fn a_socket_that_refuses_is_replaced() {
        let data = data();
        let path = paths::socket_path(data.path()).unwrap();
        make_private(path.parent().unwrap()).unwrap();
        // Closing a listener leaves its socket, as a killed daemon does.
        drop(UnixListener::bind(&path).unwrap());
        Socket::bind(data.path()).unwrap();
    }

    #[test]
    fn a_socket_that_answers_stays() {
        let data = data();
        let path = paths::socket_path(data.path()).unwrap();
        make_private(path.parent().unwrap()).unwrap();
        let living = UnixListener::bind(&path).unwrap();
        assert_eq!(Socket::bind(data.path()).unwrap_err().exit, Exit::InUse);
        assert!(path.exists());
        drop(living);
    }

    #[test]
    fn a_file_in_its_place_stays() {
        let data = data();
        let path = paths::socket_path(data.path()).unwrap();
        make_private(path.parent().unwrap()).unwrap();
        fs::write(&path, "mine").unwrap();
        assert!(
            Socket::bind(data.path())
                .unwrap_err()
                .message
                .contains("not a socket")
        );
        assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    }

    #[test]
    fn an_open_run_folder_is_refused() {
        let data = data();
        let run = data.path().join("run");
        fs::create_dir(&run).unwrap();
        fs::set_permissions(&run, Permissions::from_mode(0o755)).unwrap();
        let refused = Socket::bind(data.path()).unwrap_err();
        assert_eq!(refused.exit, Exit::NotPrivate);
        assert!(refused.message.contains("755"), "{}", refused.message);
    }
}
