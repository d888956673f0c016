//! Starting and stopping the daemon from the command line.
//!
//! Liveness is judged by the health call, never by a process number or a file.

use std::fs::{File, OpenOptions};
use std::io::{Read as _, Seek as _, SeekFrom};
use std::os::unix::fs::OpenOptionsExt as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use lockring_proto::ended::Ended;
use lockring_proto::v1::StopRequest;
use lockring_proto::v1::shop_client::ShopClient;
use tokio::time::Instant;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;

use crate::client::{Client, ORDINARY, timed};
use crate::command_error::{CommandError, Exit};
use crate::folder::Folder;

/// How long a daemon may take to be ready.
const READY: Duration = Duration::from_secs(10);
/// How long a daemon may take to drain and end.
const ENDED: Duration = Duration::from_secs(30);
/// How long one health call may take.
const PROBE: Duration = Duration::from_secs(2);
/// Most of the log that an error shows.
const TAIL_LINES: usize = 12;

/// How starting went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Started {
    /// It runs now.
    Now,
    /// It ran already.
    Before,
}

/// Starts the folder's daemon, detached, and waits until it serves.
///
/// # Errors
/// [`Exit::NoDaemon`] with the end of its log when it does not come up; [`Exit::Timeout`];
/// [`Exit::Permission`] when the folder cannot be made or is not private.
pub(crate) async fn start(folder: &Folder) -> Result<Started, CommandError> {
    if serves(folder).await? {
        return Ok(Started::Before);
    }
    let canonical = folder.make()?;
    let log_path = canonical.join("lockringd.log");
    let program = find_program()?;
    let (mut child, log_start) = spawn(&program, &canonical, &log_path)?;
    wait_until_ready(folder, &mut child, &log_path, log_start).await?;
    Ok(Started::Now)
}

/// Asks the folder's daemon to end and waits until its socket refuses. False when none ran.
///
/// # Errors
/// [`Exit::Timeout`] when it does not end; whatever it answered.
pub(crate) async fn stop(folder: &Folder) -> Result<bool, CommandError> {
    let client = match Client::connect_to_any_version(folder).await {
        Err(error) if error.kind == Exit::NoDaemon => return Ok(false),
        client => client?,
    };
    let answer = ShopClient::new(client.open_channel())
        .stop(timed(ORDINARY, StopRequest {}))
        .await;
    drop(client);
    if let Err(status) = answer {
        let error = CommandError::from_status(&status);
        // A daemon that ends before its answer is out is ending all the same.
        if error.kind != Exit::NoDaemon {
            return Err(error);
        }
    }
    let end = Instant::now() + ENDED;
    let mut pause = Duration::from_millis(10);
    while Instant::now() < end {
        match Client::connect_to_any_version(folder).await {
            Err(error) if error.kind == Exit::NoDaemon => return Ok(true),
            // Neither an open door nor one that closes under our hand is the end yet.
            Ok(_) | Err(_) => tokio::time::sleep(pause).await,
        }
        pause = (pause * 2).min(Duration::from_millis(40));
    }
    Err(CommandError::new(
        Exit::Timeout,
        format!("lockringd did not end within {} s", ENDED.as_secs()),
    )
    .hint(format!(
        "look into {}",
        folder.named().join("lockringd.log").display()
    )))
}

/// Whether a daemon serves the folder, by the health call.
///
/// # Errors
/// [`Exit::Permission`] when the socket's folder is not private: that no waiting cures.
async fn serves(folder: &Folder) -> Result<bool, CommandError> {
    let client = match Client::connect_to_any_version(folder).await {
        Ok(client) => client,
        Err(error) if error.kind == Exit::Permission => return Err(error),
        Err(_) => return Ok(false),
    };
    let request = timed(
        PROBE,
        HealthCheckRequest {
            service: String::new(),
        },
    );
    let answer = tokio::time::timeout(PROBE, HealthClient::new(client.open_channel()).check(request)).await;
    Ok(matches!(answer, Ok(Ok(reply)) if reply.get_ref().status() == ServingStatus::Serving))
}

/// Finds `lockringd`: beside this program, else on PATH.
///
/// # Errors
/// [`Exit::NoDaemon`] when it is at neither place.
pub(crate) fn find_program() -> Result<PathBuf, CommandError> {
    let beside = std::env::current_exe()
        .ok()
        .and_then(|own| own.parent().map(|bin| bin.join("lockringd")));
    let on_path = std::env::var_os("PATH").unwrap_or_default();
    let on_path = std::env::split_paths(&on_path).map(|bin| bin.join("lockringd"));
    beside
        .into_iter()
        .chain(on_path)
        .find(|path| path.is_file())
        .ok_or_else(|| {
            CommandError::new(
                Exit::NoDaemon,
                "the program lockringd is neither beside lockring nor on PATH",
            )
            .hint("both are installed together; install again, or add the folder of lockringd to PATH")
        })
}

/// Spawns the daemon in a session of its own, its output at the end of the log. Gives the
/// length the log had before.
fn spawn(program: &Path, folder: &Path, log_path: &Path) -> Result<(Child, u64), CommandError> {
    let failed = |what: String, error: &std::io::Error| {
        CommandError::new(Exit::of_io(error, Exit::NoDaemon), what).caused_by(error)
    };
    let open = || -> std::io::Result<(File, File, u64)> {
        let log = OpenOptions::new()
            .create(true)
            .append(true)
            .mode(0o600)
            .open(log_path)?;
        let length = log.metadata()?.len();
        Ok((log.try_clone()?, log, length))
    };
    let (out, err, length) = open().map_err(|error| {
        failed(format!("the log {} cannot be opened", log_path.display()), &error)
            .hint("the data folder must be yours to write; name another with `--dir DIR` or LOCKRING_DIR")
    })?;
    let child = Command::new(program)
        .arg("--dir")
        .arg(folder)
        .arg("--session")
        .envs(lockring_proto::pools())
        .current_dir("/")
        .stdin(Stdio::null())
        .stdout(out)
        .stderr(err)
        .spawn()
        .map_err(|error| failed(format!("{} cannot be started", program.display()), &error))?;
    Ok((child, length))
}

/// Probes with growing pauses until the daemon serves, ends, or takes too long.
async fn wait_until_ready(
    folder: &Folder,
    child: &mut Child,
    log_path: &Path,
    log_start: u64,
) -> Result<(), CommandError> {
    let end = Instant::now() + READY;
    let mut pause = Duration::from_millis(5);
    let mut another_has_it = false;
    loop {
        if serves(folder).await? {
            return Ok(());
        }
        let ended = child.try_wait().map_err(|error| {
            CommandError::new(Exit::Unexpected, "lockringd cannot be waited for").caused_by(&error)
        })?;
        // Another start may have won the race: then ours has ended, and that one will serve.
        another_has_it |= ended
            .and_then(|status| status.code())
            .and_then(Ended::of)
            .is_some_and(|ended| ended == Ended::InUse);
        if let Some(status) = ended
            && (!another_has_it || Instant::now() >= end)
        {
            let kind = status.code().map_or(Exit::NoDaemon, kind_of);
            let message = format!("lockringd ended at once ({status})");
            return Err(with_tail(CommandError::new(kind, message), log_path, log_start));
        }
        if Instant::now() >= end {
            let message = format!(
                "lockringd (process {}) was not ready within {} s",
                child.id(),
                READY.as_secs()
            );
            return Err(with_tail(
                CommandError::new(Exit::Timeout, message),
                log_path,
                log_start,
            ));
        }
        tokio::time::sleep(pause).await;
        pause = (pause * 2).min(Duration::from_millis(200));
    }
}

/// The exit code here for the exit code of a daemon that did not come up.
fn kind_of(code: i32) -> Exit {
    match Ended::of(code) {
        Some(Ended::NotPrivate) => Exit::Permission,
        Some(Ended::NoRoom | Ended::Newer | Ended::Damaged) => Exit::Storage,
        Some(Ended::Other | Ended::Usage | Ended::InUse) | None => Exit::NoDaemon,
    }
}

/// Adds what the daemon logged since a place in its log.
fn with_tail(mut error: CommandError, log_path: &Path, from: u64) -> CommandError {
    match tail(log_path, from) {
        Ok(lines) if lines.is_empty() => error.causes.push("it logged nothing".to_owned()),
        // What the daemon said at its end has causes and hints of its own.
        Ok(lines) => {
            for line in lines {
                match line.strip_prefix("Hint: ") {
                    Some(hint) => error.hints.push(hint.to_owned()),
                    None => error
                        .causes
                        .push(line.strip_prefix("Error: ").unwrap_or(&line).to_owned()),
                }
            }
        }
        Err(reading) => error = error.caused_by(&reading),
    }
    error.hint(format!("the whole log is {}", log_path.display()))
}

/// The last lines of a log, from a place on.
fn tail(path: &Path, from: u64) -> std::io::Result<Vec<String>> {
    let mut log = File::open(path)?;
    log.seek(SeekFrom::Start(from))?;
    let mut bytes = Vec::new();
    log.read_to_end(&mut bytes)?;
    let text = String::from_utf8_lossy(&bytes);
    let lines: Vec<String> = text
        .lines()
        .filter(|line| !line.trim().is_empty())
        .map(str::to_owned)
        .collect();
    Ok(lines[lines.len().saturating_sub(TAIL_LINES)..].to_vec())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tail_begins_where_this_start_began() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log");
        std::fs::write(&path, "old line\nnew line\n\nlast line\n").unwrap();
        assert_eq!(tail(&path, 9).unwrap(), ["new line", "last line"]);
        let many: String = (0..50).map(|n| format!("line {n}\n")).collect();
        std::fs::write(&path, many).unwrap();
        let lines = tail(&path, 0).unwrap();
        assert_eq!((lines.len(), lines[0].as_str()), (TAIL_LINES, "line 38"));
    }

    #[test]
    fn what_a_daemon_says_at_its_end_is_told_as_ones_own() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log");
        std::fs::write(&path, "Error: the disk is full\nHint: make room\n").unwrap();
        let error = with_tail(CommandError::new(kind_of(6), "ended"), &path, 0);
        assert_eq!(error.kind, Exit::Storage);
        assert_eq!((error.causes.len(), error.hints.len()), (1, 2));
        assert!(
            error
                .text(false)
                .contains("Caused by: the disk is full\nHint: make room\n")
        );
        assert_eq!(
            (kind_of(5), kind_of(8), kind_of(4)),
            (Exit::Permission, Exit::Storage, Exit::NoDaemon)
        );
    }

    /// A program that is no daemon stands in for one that fails: `false` ends with 1 at once.
    #[tokio::test]
    async fn a_daemon_that_ends_at_once_is_reported_with_its_status() {
        let data = tempfile::tempdir().unwrap();
        let log = data.path().join("lockringd.log");
        let (mut child, from) = spawn(Path::new("/bin/false"), data.path(), &log).unwrap();
        let folder = Folder::find(Some(data.path())).unwrap();
        let error = wait_until_ready(&folder, &mut child, &log, from)
            .await
            .unwrap_err();
        assert_eq!(error.kind, Exit::NoDaemon);
        assert!(error.message.contains("exit status: 1"), "{}", error.message);
        assert_eq!(error.causes, ["it logged nothing"]);
    }

    #[tokio::test]
    async fn stopping_where_none_runs_is_no_error() {
        let data = tempfile::tempdir().unwrap();
        assert!(!stop(&Folder::find(Some(data.path())).unwrap()).await.unwrap());
    }
}
