//! The daemon: keeps one data folder and answers for it on one socket.
//!
//! Boot, in this order and readable below in `run`: take the lock (held for life), open
//! and migrate the store, remove debris, bind, ready. Down again: stop accepting, tell
//! health and watchers, drain with a deadline, finish the writer's queue, checkpoint, remove
//! the socket, let the lock go.
//!
//! The runtime has one thread: the store has its own writer thread (a small change of somebody who comes
//! alone is written by the serving thread itself), reads run on threads for blocking work, and what is left, moving small messages, is less than one core for a shop's
//! handful of terminals. (Measured on two cores: one serving thread beside the writer was
//! faster than two.)
//!
//! What is done on a whole shop without serving it, such as restoring it, stands in `moving`.
//!
//! Exit codes stand in one table in `lifecycle::exit`.
#![cfg_attr(test, allow(clippy::unwrap_used))]

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};

use clap::Parser;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_store::Store;
use rustix::fs::Mode;

use crate::lifecycle::exit::{Exit, Fatal, not_closed, not_opened};
use crate::lifecycle::lock::Lock;
use crate::lifecycle::shutdown::Shutdown;
use crate::lifecycle::socket::Socket;
use crate::lifecycle::supervisor::Supervisor;
use crate::lifecycle::{LAST_READS, folder, log, nightly, session};
use crate::network::Network;
use crate::service::{Daemon, Feed, KnownShop, LastStanding};

mod benches;
mod door;
mod lifecycle;
mod moving;
mod network;
mod report;
mod service;
mod standing;
mod tasks;
mod wall;

/// Keeps every conversion job and decides on its gates.
#[derive(Debug, Parser)]
#[command(name = "lockringd", version, after_help = EXIT_CODES)]
struct Args {
    /// The data folder [default: $XDG_DATA_HOME/lockring or ~/.local/share/lockring]
    #[arg(long, value_name = "DIR", env = "LOCKRING_DIR")]
    dir: Option<PathBuf>,
    /// Begin a session of one's own, so as not to end with the terminal
    #[arg(long)]
    session: bool,
    /// What to log on standard error, such as info or lockring_daemon=debug
    #[arg(long, value_name = "FILTER", env = "LOCKRING_LOG", default_value = "info")]
    log: String,
    /// Do this instead of serving
    #[command(subcommand)]
    act: Option<moving::Act>,
}

const EXIT_CODES: &str = "\
Exit codes:
  0  asked to end, and did
  1  anything not named here
  2  the command line cannot be read
  4  another lockringd has the data folder
  5  a folder is not this user's alone
  6  the disk is full or read-only
  7  the data file was written by a newer version
  8  the data file is not ours, or damaged";

/// Runs `lockringd` as its command line says; the exit codes stand in its help.
pub fn main() -> ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            // A closed standard output is nobody to tell.
            let told = error.print().is_ok();
            return if error.use_stderr() || !told {
                Exit::Usage.into()
            } else {
                ExitCode::SUCCESS
            };
        }
    };
    match run(args) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fatal) => {
            say(&fatal);
            fatal.exit.into()
        }
    }
}

/// Says on standard error why the daemon ends.
fn say(fatal: &Fatal) {
    let hint = if fatal.hint.is_empty() {
        String::new()
    } else {
        format!("Hint: {}\n", fatal.hint)
    };
    if write!(std::io::stderr(), "Error: {fatal}\n{hint}").is_err() {
        // Nobody hears standard error; the exit code says the same.
        tracing::error!(%fatal, "could not say why");
    }
}

/// Boots, serves, and shuts down.
fn run(args: Args) -> Result<(), Fatal> {
    if args.session {
        session::begin()?;
    }
    // Files and socket are the user's alone from their first moment.
    rustix::process::umask(Mode::RWXG | Mode::RWXO);
    log::begin(&args.log)?;
    if let Some(act) = args.act {
        return act.run(args.dir);
    }
    let started = Timestamp::now();

    let folder = folder::open(&folder::named(args.dir)?)?;
    let lock = Lock::take(&folder)?;
    let store = Arc::new(Store::open(&folder).map_err(not_opened)?);
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|error| Fatal::io("the runtime cannot begin", &error))?;
    // Binding removes what a dead daemon left of its socket; backups clear their own debris.
    let socket = Socket::bind(&folder)?;
    let served = runtime.block_on(serve(&store, &folder, &socket, started));

    // Reads that still run are waited for, but not for ever.
    runtime.shutdown_timeout(LAST_READS);
    let closed = store.close().map_err(|error| not_closed(&error));
    drop(socket);
    drop(lock);
    tracing::info!("ended");
    served.and(closed)
}

/// Serves until asked to end.
async fn serve(store: &Arc<Store>, folder: &Path, socket: &Socket, started: Timestamp) -> Result<(), Fatal> {
    let counts = store
        .read(|reader| reader.counts())
        .map_err(|error| not_closed(&error))?;
    let shutdown = Shutdown::new();
    shutdown.ask_on_signals()?;
    let zone = zone();
    let daemon = Arc::new(Daemon {
        store: store.clone(),
        last_standing: LastStanding::default(),
        known_shop: KnownShop::default(),
        network: Network::of(folder),
        zone: zone.clone(),
        feed: Feed::after(counts.entries),
        shutdown: shutdown.clone(),
        folder: folder.to_path_buf(),
        socket: socket.path().to_path_buf(),
        started,
    });
    let mut components = Supervisor::new(shutdown.clone());
    let backed_up = store.clone();
    components.begin("nightly backup", move || {
        nightly::keep(backed_up.clone(), zone.clone())
    });
    let working = daemon.clone();
    components.begin("the shop's day", move || {
        tasks::keep(working.clone(), tasks::system_clock())
    });
    let shown = daemon.clone();
    components.begin("the page for the wall", move || wall::keep(shown.clone()));
    let reached = daemon.clone();
    components.begin("other benches", move || benches::keep(reached.clone()));
    let damage = look_through(store.clone(), shutdown.clone());
    let listener = socket.listener()?;
    tracing::info!(
        folder = %folder.display(),
        socket = %socket.path().display(),
        entries = counts.entries,
        schema = store.schema(),
        "ready"
    );
    let served = service::serve(daemon, listener).await;
    // A server that failed by itself ends the rest as well.
    shutdown.ask();
    components.ended().await;
    // A look that still goes on when the daemon is asked to end begins anew with the next start.
    let found = damage.try_recv().unwrap_or(Ok(()));
    found.and(served)
}

/// Looks through a data file that was too large for it before it was served, and asks the daemon to
/// end when it is damaged. What is wrong is told by the receiver.
fn look_through(store: Arc<Store>, shutdown: Shutdown) -> Receiver<Result<(), Fatal>> {
    let (tell, told) = channel();
    tokio::task::spawn_blocking(move || {
        let found = store.look_through().map_err(not_opened);
        if shutdown.is_asked() {
            // Broken off by the end, or told too late to matter: the next start looks again.
            return;
        }
        let is_damaged = found.is_err();
        if let Err(fatal) = &found {
            tracing::error!(%fatal, "the data file is not served any longer");
        }
        // Told before the end is asked for: whoever ends asks what was told.
        if tell.send(found).is_err() {
            tracing::debug!("the daemon ended before its data file was looked through");
        }
        if is_damaged {
            shutdown.ask();
        }
    });
    told
}

/// The system's time zone, in which the shop's days begin and end; UTC, and a word in the
/// log, when the system does not say.
fn zone() -> TimeZone {
    lockring_proto::zone::of_machine().unwrap_or_else(|error| {
        tracing::warn!(%error, "the system's time zone is not known: days begin and end by UTC");
        TimeZone::UTC
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_as_documented() {
        let args = Args::try_parse_from(["lockringd", "--dir", "/d", "--session", "--log", "debug"]).unwrap();
        assert_eq!((args.dir.as_deref(), args.session), (Some(Path::new("/d")), true));
        assert_eq!(args.log, "debug");
        assert!(Args::try_parse_from(["lockringd", "--port", "1"]).is_err());
    }
}
