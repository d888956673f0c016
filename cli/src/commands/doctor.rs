//! `lockring doctor`: a diagnosis that can be pasted into a letter.

use std::path::Path;

use jiff::{SignedDuration, Timestamp};
use lockring_proto::v1::{StatusReply, StatusRequest};
use lockring_proto::paths::{self, SUSPECT};
use lockring_proto::{PROTOCOL, SOCKET_PATH_MAX};
use serde::Serialize;

use crate::client::pass::Pass;
use crate::client::start::find_program;
use crate::client::{Client, ORDINARY};
use crate::command_error::{CommandError, Exit};
use crate::commands::of_shop;
use crate::commands::pair::{self, SOON};
use crate::desk::Desk;
use crate::output::times;
use crate::queue::Queue;

/// A backup older than this is named.
const BACKUP_AGE: SignedDuration = SignedDuration::from_hours(48);
/// Microseconds of a day.
const DAY_US: i64 = 86_400_000_000;
/// Less room than this on the disk is named, bytes.
const ROOM: u64 = 1 << 30;

/// Say how this installation is: versions, paths, socket, schema, disk, clock, last backup
///
/// Nothing of a job and no name is in it. Lines that need looking at begin with `!`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring doctor\n  \
    lockring doctor --json")]
pub(crate) struct Doctor {}

/// One line of the diagnosis.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
struct Line {
    /// What was looked at.
    what: &'static str,
    /// What was found.
    found: String,
    /// What is wrong with it; empty when nothing is.
    trouble: String,
}

fn line(what: &'static str, found: impl Into<String>) -> Line {
    Line {
        what,
        found: found.into(),
        trouble: String::new(),
    }
}

fn trouble(what: &'static str, found: impl Into<String>, trouble: impl Into<String>) -> Line {
    Line {
        trouble: trouble.into(),
        ..line(what, found)
    }
}

impl Doctor {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let mut lines = vec![
            line("lockring", format!("{} (protocol {PROTOCOL})", env!("CARGO_PKG_VERSION"))),
            program(),
            system(),
        ];
        match desk.folder.pass() {
            Some(pass) => lines.push(via(pass, desk)),
            None => lines.extend(folder(desk)),
        }
        lines.extend(daemon(desk).await);
        lines.extend(pairs(desk).await);
        lines.push(clock(desk));
        lines.push(waiting(desk));
        lines.push(terminal(desk));
        for one in &lines {
            if desk.out.look.json {
                desk.out.json(one)?;
                continue;
            }
            let mark = if one.trouble.is_empty() { "+" } else { "!" };
            let said = if one.trouble.is_empty() { one.found.clone() } else { format!("{} — {}", one.found, one.trouble) };
            desk.out.wrapped(&format!("{mark} {}: ", one.what), "    ", &without_home(&said))?;
        }
        Ok(Exit::Ok)
    }
}

fn program() -> Line {
    let path = match find_program() {
        Ok(path) => path,
        Err(error) => return trouble("lockringd", "not found", error.message),
    };
    let shown = path.display();
    match std::process::Command::new(&path).arg("--version").output() {
        Ok(output) if output.status.success() => {
            let version = String::from_utf8_lossy(&output.stdout).trim().to_owned();
            let ours = version.split_whitespace().nth(1) == Some(env!("CARGO_PKG_VERSION"));
            let found = format!("{version} at {shown}");
            if ours { line("lockringd", found) } else { trouble("lockringd", found, "another version than lockring") }
        }
        Ok(output) => trouble("lockringd", shown.to_string(), format!("ended with {}", output.status)),
        Err(error) => trouble("lockringd", shown.to_string(), error.to_string()),
    }
}

fn system() -> Line {
    let system = rustix::system::uname();
    let word = |text: &std::ffi::CStr| text.to_string_lossy().into_owned();
    line("system", format!("{} {} {}", word(system.sysname()), word(system.release()), word(system.machine())))
}

/// Folder, socket path and room.
fn folder(desk: &Desk<'_>) -> Vec<Line> {
    let named = desk.folder.named();
    let path = match desk.folder.canonical() {
        Ok(Some(path)) => path,
        Ok(None) => {
            let shown = named.display().to_string();
            return vec![trouble("data folder", shown, "does not exist yet: `lockring daemon start` makes it")];
        }
        Err(error) => return vec![trouble("data folder", named.display().to_string(), error.message)],
    };
    let shown = path.display().to_string();
    let data = match paths::check_private_folder(&path) {
        Ok(()) => line("data folder", shown),
        Err(error) => trouble("data folder", shown, error.to_string()),
    };
    let socket = match paths::socket_path(&path) {
        Ok(socket) => {
            let length = socket.as_os_str().len();
            line("socket", format!("{} ({length} of {SOCKET_PATH_MAX} bytes)", socket.display()))
        }
        Err(error) => trouble("socket", "no path", error.to_string()),
    };
    let mut lines = vec![data, socket, room(&path)];
    if path.join(SUSPECT).exists() {
        let cure = "`lockring daemon start` says what; `lockring restore --to NEW-FOLDER` makes a new folder of the newest backup";
        lines.push(trouble("data file", "damage was found in it", cure));
    }
    lines
}

fn room(path: &Path) -> Line {
    match rustix::fs::statvfs(path) {
        Ok(disk) => {
            let free = disk.f_bavail.saturating_mul(disk.f_frsize);
            let found = format!("{} MB free", free / 1_000_000);
            if free < ROOM { trouble("disk", found, "little room is left") } else { line("disk", found) }
        }
        Err(error) => trouble("disk", "not known", error.to_string()),
    }
}

/// What the daemon says of itself; one of another version is asked too.
async fn daemon(desk: &Desk<'_>) -> Vec<Line> {
    let client = match Client::connect(&desk.folder).await {
        Ok(client) => client,
        Err(error) => return vec![trouble("daemon", "does not answer", error.message)],
    };
    match client.call(ORDINARY, StatusRequest {}, of_shop!(status)).await {
        Ok(status) => described(desk, &status),
        Err(error) => vec![trouble("daemon", "answers with an error", error.message)],
    }
}

fn described(desk: &Desk<'_>, status: &StatusReply) -> Vec<Line> {
    let zone = &desk.out.look.zone;
    let since = times::moment(status.started_us, zone);
    let version = format!("{}, schema {}, process {}, since {since}", status.program_version, status.schema, status.pid);
    let (open, over) = (status.jobs_open, status.jobs_over);
    let holds = format!("{} entries, {open} under way, {over} over, {} parts", status.entries, status.parts);
    let backup = match status.last_backup_us {
        None => trouble("last backup", "never", "make one with `lockring backup`"),
        Some(us) => {
            let shown = times::moment(us, zone);
            let age = Timestamp::from_microsecond(us).map(|at| Timestamp::now().duration_since(at));
            match age {
                Ok(age) if age <= BACKUP_AGE => line("last backup", shown),
                _ => trouble("last backup", shown, "older than two days"),
            }
        }
    };
    let mut lines = vec![line("daemon", version), line("data file", holds), backup];
    lines.extend(status.troubles.iter().map(|told| trouble("by itself", "not as it should be", told)));
    lines
}

/// The way to a shop on another computer. No name is in it.
fn via(pass: &Pass, desk: &Desk<'_>) -> Line {
    let until = times::moment(pass.until_us, &desk.out.look.zone);
    let found = format!("{} with pair {}, until {until}", pass.address, pass.number);
    let left = pass.until_us - Timestamp::now().as_microsecond();
    if left < i64::from(SOON) * DAY_US {
        trouble("via", found, "ends soon, or has: the owner makes another file with `lockring pair`")
    } else {
        line("via", found)
    }
}

/// Pairs of other benches, and those among them that somebody should look at.
async fn pairs(desk: &Desk<'_>) -> Option<Line> {
    // Why the daemon does not answer was said in its own line.
    let told = pair::list(desk).await.ok()?;
    let counting: Vec<_> = told.pairs.iter().filter(|one| one.revoked.is_none()).collect();
    let wanting = counting.iter().filter(|one| pair::standing(one, &desk.out).1).count();
    if told.address.is_empty() && counting.is_empty() {
        return Some(line("other benches", "none"));
    }
    let place = if told.address.is_empty() { "no bench-address" } else { told.address.as_str() };
    let found = format!("{}, {} not revoked", place, times::count_of(counting.len() as u64, "pair", "pairs"));
    Some(match wanting {
        _ if !told.trouble.is_empty() => trouble("other benches", found, told.trouble),
        0 => line("other benches", found),
        _ => trouble("other benches", found, format!("{wanting} ended or end soon: `lockring pair` shows them")),
    })
}

fn clock(desk: &Desk<'_>) -> Line {
    let now = Timestamp::now();
    let zone = desk.place.zone.iana_name().unwrap_or("a zone without a name");
    line("clock", format!("{} UTC, zone {zone}", now.strftime("%Y-%m-%d %H:%M:%S")))
}

fn waiting(desk: &Desk<'_>) -> Line {
    match Queue::of(&desk.folder).and_then(|queue| queue.kept()) {
        Ok(kept) if kept.is_empty() => line("queue", "nothing waits"),
        Ok(kept) => {
            let refused = kept.iter().filter(|one| one.refused.is_some()).count();
            let found = format!("{} wait, {refused} refused", kept.len() - refused);
            trouble("queue", found, "`lockring send --list` shows them")
        }
        Err(error) => trouble("queue", "cannot be read", error.message),
    }
}

fn terminal(desk: &Desk<'_>) -> Line {
    let named = |name: &str| std::env::var(name).unwrap_or_else(|_| "not set".to_owned());
    let colour = if desk.out.look.colour { "colour" } else { "no colour" };
    let width = desk.out.look.width;
    line("terminal", format!("{} at {width} columns, {colour}, locale {}", named("TERM"), named("LANG")))
}

/// A text with the home folder's path left out: it names its owner.
fn without_home(text: &str) -> String {
    match std::env::var("HOME") {
        Ok(home) if home.len() > 1 => text.replace(&home, "~"),
        _ => text.to_owned(),
    }
}
