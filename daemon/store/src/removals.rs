//! The list of riders who were removed, beside the backups: a backup made before still holds them,
//! and restoring it must not bring them back.
//!
//! The list says which job, which entries, when and why, and never what was removed. It is written
//! with every removal and every backup; restoring a backup removes again what the list names.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{ErrorKind, Write as _};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

use jiff::Timestamp;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::private as domain;
use lockring_domain::removal::Removal;
use rusqlite::Connection;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::error::StorageError;
use crate::private::SEALED_SINCE;
use crate::rows::{JOURNAL, Raw, whole_microseconds};
use crate::tx::Tx;
use crate::{queries, sealing};

/// The list's name in a folder of backups.
pub(crate) const LIST: &str = "removed.jsonl";

/// A line of the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    /// The job.
    job: u32,
    /// When it was taken in: tells it from a job of another shop with the same number.
    taken_in: Timestamp,
    /// What was removed.
    removal: Removal,
}

/// Writes the removals of a journal into the list of a folder; those that are in it stay.
pub(crate) fn list(connection: &Connection, folder: &Path) -> Result<(), StorageError> {
    let mut lines: Vec<Line> = read_lines(folder, LIST)?;
    let known = lines.len();
    let sql = format!("SELECT {JOURNAL} FROM journal WHERE kind = 'rider-removed' ORDER BY id");
    let mut statement = connection.prepare(&sql)?;
    for raw in statement.query_map([], Raw::read)? {
        let entry = raw?.says()?;
        if let Event::RiderRemoved(removal) = entry.event
            && let Some(taken_in) = taken_in(connection, entry.job)?
        {
            let line = Line {
                job: entry.job,
                taken_in,
                removal,
            };
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
    }
    if lines.len() > known {
        write_lines(folder, LIST, &lines)?;
    }
    Ok(())
}

/// When a job was taken in; `None` when it was not.
fn taken_in(connection: &Connection, job: u32) -> Result<Option<Timestamp>, StorageError> {
    let first = queries::entries(connection, "WHERE job = ?1 AND job > 0 AND seq = 1", [job])?;
    Ok(first.first().map(|entry| entry.origin.made))
}

/// The lines of a list in a folder of backups; none where there is no list.
pub(crate) fn read_lines<T: DeserializeOwned>(folder: &Path, name: &str) -> Result<Vec<T>, StorageError> {
    let path = folder.join(name);
    let text = match fs::read_to_string(&path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        text => text?,
    };
    let bad = |at: usize, error: serde_json::Error| {
        StorageError::unreadable(format!("{}, line {}", path.display(), at + 1), error)
    };
    let lines = text.lines().enumerate();
    lines
        .map(|(at, line)| serde_json::from_str(line).map_err(|error| bad(at, error)))
        .collect()
}

/// Writes a list whole, under another name until it is on the disk.
pub(crate) fn write_lines<T: Serialize>(folder: &Path, name: &str, lines: &[T]) -> Result<(), StorageError> {
    fs::create_dir_all(folder)?;
    let unfinished = folder.join(format!(".unfinished-{name}"));
    let mut file = File::options()
        .write(true)
        .create(true)
        .truncate(true)
        .mode(0o600)
        .open(&unfinished)?;
    for line in lines {
        let text =
            serde_json::to_string(line).map_err(|error| StorageError::unstorable(name, error.to_string()))?;
        writeln!(file, "{text}")?;
    }
    file.sync_all()?;
    fs::rename(&unfinished, folder.join(name))?;
    File::open(folder)?.sync_all()?;
    Ok(())
}

/// Whether a journal still holds something that the list of a folder names.
pub(crate) fn is_asked(connection: &Connection, folder: &Path) -> Result<bool, StorageError> {
    for line in read_lines::<Line>(folder, LIST)? {
        if is_held(connection, &line)? {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Whether a journal has the job of a line and does not do what the line asks for.
fn is_held(connection: &Connection, line: &Line) -> Result<bool, StorageError> {
    if taken_in(connection, line.job)? != Some(line.taken_in) {
        return Ok(false);
    }
    let removed = "WHERE job = ?1 AND kind = 'rider-removed' ORDER BY seq";
    let done = queries::entries(connection, removed, [line.job])?;
    Ok(!done.iter().any(|entry| does(entry, &line.removal)))
}

/// Removes from a copy what the list of a folder names and the copy still holds; gives what was
/// done, a line each.
pub(crate) fn again(copy: &Connection, folder: &Path, now: Timestamp) -> Result<Vec<String>, StorageError> {
    let mut done = Vec::new();
    for line in read_lines::<Line>(folder, LIST)? {
        if !is_held(copy, &line)? {
            continue;
        }
        let history = queries::history(copy, line.job, 0)?;
        let (job, on) = (line.job, line.removal.on);
        if holds_in_clear(copy, &line)? {
            sealing::seal_history(&Tx::new(copy), &origin(now), now)?;
            done.push(
                "names and words of older entries were put under seal, so that riders can be removed".into(),
            );
        }
        let what = if line.removal.who.is_empty() {
            "words taken out"
        } else {
            "customer removed"
        };
        remove(copy, history, line, now)?;
        done.push(format!(
            "job {job}: {what} on {on}, and removed again from this copy"
        ));
    }
    if !done.is_empty() {
        // Answers to requests may name the rider; nobody will ask for them again.
        copy.execute("DELETE FROM answered", [])?;
    }
    Ok(done)
}

/// Whether an entry does what a removal asks for. One that was made again in a copy names of the
/// entries only those that the copy had; the numbers behind it belong to other entries since.
fn does(entry: &Entry, removal: &Removal) -> bool {
    let Event::RiderRemoved(done) = &entry.event else {
        return false;
    };
    let is_again = entry.origin == origin(entry.origin.made);
    let takes = |done: &BTreeSet<u64>, asked: &BTreeSet<u64>| {
        asked.iter().all(|seq| *seq >= entry.seq || done.contains(seq))
    };
    done == removal
        || is_again
            && (done.on, &done.why, &done.although) == (removal.on, &removal.why, &removal.although)
            && takes(&done.who, &removal.who)
            && takes(&done.words, &removal.words)
            && takes(&done.pictures, &removal.pictures)
}

/// Whether the texts of a removal stand in the payloads themselves.
fn holds_in_clear(copy: &Connection, line: &Line) -> Result<bool, StorageError> {
    let sql = format!("SELECT {JOURNAL} FROM journal WHERE job = ?1 AND version < ?2");
    let mut statement = copy.prepare(&sql)?;
    for raw in statement.query_map((line.job, SEALED_SINCE), Raw::read)? {
        let mut entry = raw?.says()?;
        let seq = entry.seq;
        if domain::texts(&mut entry.event)
            .iter()
            .any(|private| line.removal.takes(seq, private.kind))
        {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The restoring program as the origin of an entry.
pub(crate) fn origin(now: Timestamp) -> Origin {
    Origin {
        by: "lockringd".into(),
        terminal: "restore".into(),
        made: whole_microseconds(now),
    }
}

fn remove(
    copy: &Connection,
    mut history: Vec<Entry>,
    line: Line,
    now: Timestamp,
) -> Result<(), StorageError> {
    let mut removal = line.removal;
    let Some(last) = history.last().cloned() else {
        return Ok(());
    };
    for entries in [&mut removal.who, &mut removal.words, &mut removal.pictures] {
        entries.retain(|seq| *seq <= last.seq);
    }
    domain::redact(&mut history, &removal);
    let origin = origin(now);
    let event = Event::RiderRemoved(removal);
    history.push(Entry {
        seq: last.seq + 1,
        origin: origin.clone(),
        event: event.clone(),
        ..last
    });
    let after = Job::fold(&history)
        .map_err(|error| StorageError::unreadable(format!("the history of job {}", line.job), error))?;
    Tx::new(copy).append(line.job, &origin, now, &[event], &after)?;
    Ok(())
}
