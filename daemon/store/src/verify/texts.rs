//! What the walk through the journal sees of private texts.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use lockring_domain::entry::{Entry, Event, Hash};
use lockring_domain::private;
use lockring_domain::removal::{Kind, Removal};
use rusqlite::Connection;

use crate::error::StorageError;
use crate::private::{What, missing, of_entry, sealed};
use crate::rows::{JOURNAL, Raw};

/// What the walk through the journal sees of private texts.
#[derive(Default)]
pub(super) struct Walk {
    /// Rows that belong to an entry.
    seen: i64,
    /// Texts that are gone: place, job, number within the job, kind, day.
    gone: Vec<(String, u32, u64, Kind, Date)>,
    /// Removals by job, each with its place.
    removals: BTreeMap<u32, Vec<(String, Removal)>>,
}

impl Walk {
    /// Compares an entry as it is stored with the rows that keep its texts.
    pub(super) fn see(
        &mut self,
        connection: &Connection,
        place: &str,
        entry: &Entry,
        problems: &mut Vec<String>,
    ) -> Result<(), StorageError> {
        let mut event = entry.event.clone();
        let sealed: Vec<(Kind, Hash)> = private::texts(&mut event)
            .iter()
            .filter_map(|private| Some((private.kind, sealed(private.text)?)))
            .collect();
        if !sealed.is_empty() {
            let rows = match of_entry(connection, entry.id.cast_signed()) {
                Ok(rows) => rows,
                Err(StorageError::Unreadable { what, problem }) => {
                    problems.push(format!("{what}: {problem}"));
                    return Ok(());
                }
                Err(error) => return Err(error),
            };
            for (kind, hash) in sealed {
                let row = rows.iter().find(|row| row.hash == hash);
                self.seen += i64::from(row.is_some());
                match row.map(|row| (row.holds(), &row.what)) {
                    None => problems.push(format!("{place}: {}", missing(kind))),
                    Some((false, _)) => problems.push(format!(
                        "{place}: a text of it ({}) is not as it was kept",
                        kind.word()
                    )),
                    Some((true, What::There { .. })) => {}
                    Some((true, What::Removed(day))) => {
                        self.gone
                            .push((place.to_owned(), entry.job, entry.seq, kind, *day));
                    }
                }
            }
        }
        if let Event::RiderRemoved(removal) = &entry.event {
            let of_job = self.removals.entry(entry.job).or_default();
            of_job.push((place.to_owned(), removal.clone()));
        }
        Ok(())
    }

    /// What is wrong with all of them together, and what was removed, a line each.
    pub(super) fn end(
        self,
        connection: &Connection,
        problems: &mut Vec<String>,
    ) -> Result<Vec<String>, StorageError> {
        for (place, job, seq, kind, day) in &self.gone {
            let of_job = self.removals.get(job).into_iter().flatten();
            if !of_job
                .clone()
                .any(|(_, removal)| removal.takes(*seq, *kind) && removal.on == *day)
            {
                let kind = kind.word();
                problems.push(format!(
                    "{place}: a text of it ({kind}) was removed on {day}, and no entry says so"
                ));
            }
        }
        let all: i64 = connection.query_row("SELECT count(*) FROM private", [], |row| row.get(0))?;
        if all != self.seen {
            problems.push(format!("private texts: {} belong to no entry", all - self.seen));
        }
        let mut told = Vec::new();
        for (job, removals) in &self.removals {
            for (place, removal) in removals {
                let left = still_there(connection, *job, removal)?;
                problems.extend(
                    left.iter()
                        .map(|seq| format!("{place}: what it removed from entry {seq} is there")),
                );
                told.push(format!("job {job}: customer removed on {}", removal.on));
            }
        }
        Ok(told)
    }
}

/// Entries of a job from which a removal took texts that are there.
fn still_there(connection: &Connection, job: u32, removal: &Removal) -> Result<BTreeSet<u64>, StorageError> {
    let sql = format!("SELECT {JOURNAL} FROM journal WHERE job = ?1 ORDER BY seq");
    let mut statement = connection.prepare_cached(&sql)?;
    let mut found = BTreeSet::new();
    for raw in statement.query_map([job], Raw::read)? {
        // What cannot be read is for the walk through the journal to say.
        let Ok(mut entry) = raw?.says() else { continue };
        let rows = of_entry(connection, entry.id.cast_signed())?;
        for private in private::texts(&mut entry.event) {
            let there = sealed(private.text).is_none_or(|hash| {
                rows.iter()
                    .any(|row| row.hash == hash && matches!(row.what, What::There { .. }))
            });
            if there && removal.takes(entry.seq, private.kind) {
                found.insert(entry.seq);
            }
        }
    }
    Ok(found)
}
