//! Verifying: the journal is read from its first line, folded again, and compared with
//! every table that was written from it.

use std::collections::{BTreeMap, BTreeSet};

use lockring_domain::entry::{Event, Hash};
use lockring_domain::part::Part;
use rusqlite::{Connection, Row};

use crate::error::StorageError;
use crate::rows::{JOURNAL, Raw};
use crate::{answers, connection, migrate, private, queries, stock};

mod tables;
mod texts;

/// What verifying found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Entries read.
    pub entries: u64,
    /// Jobs folded.
    pub jobs: u64,
    /// Hash of the last entry; zeros when there is none. Written down elsewhere, it also
    /// shows a history that was replaced as a whole.
    pub head: Hash,
    /// What is wrong, a line each, naming the entry or job; empty when all is well.
    pub problems: Vec<String>,
    /// What was removed with its rider, a line each; nothing is wrong with that.
    pub removed: Vec<String>,
}

/// Verifies one committed state of a data file.
///
/// # Errors
/// [`StorageError`] when the database cannot be read at all; whatever can be read and is
/// wrong is a problem, not an error.
pub(crate) fn verify(connection: &Connection) -> Result<Verification, StorageError> {
    let mut problems = Vec::new();
    if !check_file(connection, &mut problems)? {
        return Ok(Verification {
            entries: 0,
            jobs: 0,
            head: queries::NO_ENTRY.hash,
            problems,
            removed: Vec::new(),
        });
    }
    let journal = walk_journal(connection, &mut problems)?;
    for number in &journal.jobs {
        tables::check_job(connection, *number, &mut problems)?;
    }
    tables::check_shop(connection, &mut problems)?;
    stock::check(connection, &mut problems)?;
    tables::check_strangers(connection, &journal.jobs, &mut problems)?;
    tables::check_parts(connection, &journal.parts, &mut problems)?;
    answers::check(connection, &mut problems)?;
    let removed = journal.private.end(connection, &mut problems)?;
    Ok(Verification {
        entries: journal.entries,
        jobs: journal.jobs.len() as u64,
        head: journal.head,
        problems,
        removed,
    })
}

/// The file itself: pages, references, and the schema as its migrations make it. Returns
/// whether every table is there to be read.
fn check_file(connection: &Connection, problems: &mut Vec<String>) -> Result<bool, StorageError> {
    let said = connection::pragma_lines(connection, "integrity_check")?;
    problems.extend(
        said.into_iter()
            .filter(|line| line != "ok")
            .map(|line| format!("database: {line}")),
    );
    let mut dangling = connection.prepare("PRAGMA foreign_key_check")?;
    let mut rows = dangling.query([])?;
    while let Some(row) = rows.next()? {
        let (table, parent): (String, String) = (row.get(0)?, row.get(2)?);
        problems.push(format!(
            "database: a row of table {table} points to a missing row of {parent}"
        ));
    }
    let found = schema(connection)?;
    let mut fresh = Connection::open_in_memory()?;
    migrate::run(&mut fresh, migrate::STEPS).map_err(|failed| failed.source)?;
    let expected = schema(&fresh)?;
    let mut has_tables = true;
    for (name, made) in &expected {
        let kind = &made.0;
        match found.get(name) {
            None => {
                has_tables &= kind != "table";
                problems.push(format!("database: {kind} {name} is missing"));
            }
            Some(other) if other != made => {
                problems.push(format!("database: {kind} {name} is not as it was made"))
            }
            Some(_) => {}
        }
    }
    for (name, (kind, _)) in found.iter().filter(|(name, _)| !expected.contains_key(*name)) {
        problems.push(format!("database: {kind} {name} does not belong here"));
    }
    Ok(has_tables)
}

/// Tables, indexes and triggers by name.
fn schema(connection: &Connection) -> Result<BTreeMap<String, (String, String)>, StorageError> {
    let sql = "SELECT name, type, sql FROM sqlite_schema WHERE sql IS NOT NULL";
    let mut statement = connection.prepare(sql)?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, (row.get(1)?, row.get(2)?))))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// What the walk through the journal gathers.
#[derive(Default)]
struct Walked {
    entries: u64,
    head: Hash,
    /// Every job that has an entry.
    jobs: BTreeSet<u32>,
    /// The catalogue as the journal has it, with the entry that last wrote each part.
    parts: BTreeMap<String, (i64, Part)>,
    /// What stands beside the entries.
    private: texts::Walk,
}

/// Reads every entry in order: numbers without gaps, times that do not run backwards, the
/// chain of hashes, and payloads that say what their kind says.
fn walk_journal(connection: &Connection, problems: &mut Vec<String>) -> Result<Walked, StorageError> {
    let mut walked = Walked::default();
    let mut last = queries::NO_ENTRY;
    let mut seqs: BTreeMap<u32, i64> = BTreeMap::new();
    let mut statement = connection.prepare(&format!("SELECT {JOURNAL} FROM journal ORDER BY id"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        walked.entries += 1;
        let Some(raw) = read_raw(row, last.id, problems) else {
            continue;
        };
        let place = raw.place();
        if raw.id != last.id + 1 {
            problems.push(missing(last.id + 1, raw.id - 1, &place));
        }
        let seq = seqs.entry(raw.job).or_default();
        if raw.seq > *seq + 1 {
            problems.push(format!(
                "{place}: entry {} of job {} is missing before it",
                *seq + 1,
                raw.job
            ));
        } else if raw.seq <= *seq {
            problems.push(format!("{place}: it stands after entry {seq} of its job"));
        }
        *seq = raw.seq.max(*seq);
        if raw.stored_us < last.stored_us {
            problems.push(format!("{place}: it is stored earlier than the entry before it"));
        }
        if raw.previous != last.hash {
            problems.push(format!(
                "{place}: it was not made to follow the entry that stands before it"
            ));
        }
        if raw.link() != raw.hash {
            problems.push(format!("{place}: its hash does not match what it says"));
        }
        last = queries::Head {
            id: raw.id,
            stored_us: raw.stored_us,
            hash: raw.hash,
        };
        gather(connection, raw, &mut walked, problems)?;
    }
    walked.head = last.hash;
    Ok(walked)
}

fn read_raw(row: &Row<'_>, after: i64, problems: &mut Vec<String>) -> Option<Raw> {
    match Raw::read(row) {
        Ok(raw) => Some(raw),
        Err(error) => {
            problems.push(format!("the entry after entry {after} cannot be read: {error}"));
            None
        }
    }
}

fn missing(first: i64, last: i64, place: &str) -> String {
    if first == last {
        format!("entry {first} is missing before {place}")
    } else {
        format!("entries {first} to {last} are missing before {place}")
    }
}

fn gather(
    connection: &Connection,
    raw: Raw,
    walked: &mut Walked,
    problems: &mut Vec<String>,
) -> Result<(), StorageError> {
    let (id, job, place) = (raw.id, raw.job, raw.place());
    let is_sealed = raw.version >= private::SEALED_SINCE;
    if job > 0 {
        walked.jobs.insert(job);
    }
    match raw.says() {
        Ok(entry) => {
            if is_sealed {
                walked.private.see(connection, &place, &entry, problems)?;
            }
            gather_entry(id, job, &place, entry.event, walked, problems);
        }
        Err(error) => problems.push(error.to_string()),
    }
    Ok(())
}

fn gather_entry(
    id: i64,
    job: u32,
    place: &str,
    event: Event,
    walked: &mut Walked,
    problems: &mut Vec<String>,
) {
    match (job, event) {
        (0, Event::Catalogued { parts }) => {
            walked
                .parts
                .extend(parts.into_iter().map(|part| (part.id.clone(), (id, part))));
        }
        (0, Event::Shop(_) | Event::Stock(_) | Event::Retracted { .. }) => {}
        (0, event) => problems.push(format!("{place}: `{}` is not an entry of the shop", event.kind())),
        (_, event) if event.is_of_the_shop() => {
            problems.push(format!("{place}: `{}` is not an entry of a job", event.kind()));
        }
        _ => {}
    }
}
