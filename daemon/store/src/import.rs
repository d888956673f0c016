//! Making a shop of open files again: entry for entry, and everything else from those.

use std::fs::{self, File};
use std::io::{BufRead, BufReader};
use std::path::Path;

use lockring_domain::entry::Event;
use lockring_domain::job::Job;
use lockring_domain::shop::SHOP;
use rusqlite::Connection;

use crate::digits::hexadecimal;
use crate::error::StorageError;
use crate::open_files::{CONTENTS, Contents, FIRST_FORMAT, FORMAT, JOURNAL, Line, PRIVATE, PrivateLine};
use crate::projections::PROJECTIONS;
use crate::restore::{MoveError, Moved, empty, moved, new_data_file};
use crate::tx::Tx;
use crate::{migrate, queries, rebuild};

/// Makes a data folder of a shop that was written out as open files. The target must not exist
/// or be empty; it ends with the same entry, so that verifying shows the same hash.
///
/// # Errors
/// [`MoveError`], naming file and line, what was found, what is expected and the cure.
pub fn import(from: &Path, to: &Path) -> Result<Moved, MoveError> {
    let contents = contents(&from.join(CONTENTS))?;
    let lines = from.join(JOURNAL);
    let lines = BufReader::new(File::open(&lines).map_err(|error| unfit(&lines, error))?);
    empty(to)?;
    let found = new_data_file(to, |unfinished| {
        let mut connection = Connection::open(unfinished)?;
        migrate::run(&mut connection, migrate::STEPS).map_err(|failed| failed.source)?;
        let transaction = connection.transaction()?;
        entries(&transaction, lines, &from.join(JOURNAL))?;
        let head = queries::head(&transaction)?;
        let found = (head.id.cast_unsigned(), hexadecimal(&head.hash));
        if found != (contents.entries, contents.head.clone()) {
            return Err(MoveError::unfit(
                format!(
                    "{} holds {} entries and ends with {}; {CONTENTS} says {} and {}",
                    from.join(JOURNAL).display(),
                    found.0,
                    found.1,
                    contents.entries,
                    contents.head
                ),
                CURE,
            ));
        }
        if contents.format > FIRST_FORMAT {
            private_texts(&transaction, &from.join(PRIVATE))?;
        }
        rebuild(&transaction)?;
        transaction.commit()?;
        connection.close().map_err(|(_, error)| error)?;
        Ok(())
    })?;
    moved(from.to_owned(), from, to, &found)
}

const CURE: &str = "take the files as `lockring export` wrote them, all of one export";

fn unfit(path: &Path, problem: impl std::fmt::Display) -> MoveError {
    MoveError::unfit(format!("{}: {problem}", path.display()), CURE)
}

fn contents(path: &Path) -> Result<Contents, MoveError> {
    let text = fs::read_to_string(path).map_err(|error| unfit(path, error))?;
    let contents: Contents = serde_json::from_str(&text).map_err(|error| unfit(path, error))?;
    if !(FIRST_FORMAT..=FORMAT).contains(&contents.format) {
        let program = &contents.program;
        return Err(MoveError::unfit(
            format!(
                "{} has format {}; this program reads formats {FIRST_FORMAT} to {FORMAT}",
                path.display(),
                contents.format
            ),
            format!("use lockring {program} or newer"),
        ));
    }
    Ok(contents)
}

/// Stores every line as an entry. The journal itself asks for numbers without gaps.
fn entries(connection: &Connection, lines: impl BufRead, path: &Path) -> Result<(), MoveError> {
    let mut previous = queries::NO_ENTRY.hash;
    for (number, line) in (1..).zip(lines.lines()) {
        let bad = |problem: String| unfit(path, format!("line {number}: {problem}"));
        let line = line.map_err(|error| bad(error.to_string()))?;
        let line: Line = serde_json::from_str(&line).map_err(|error| bad(error.to_string()))?;
        let raw = line.raw().map_err(bad)?;
        if raw.previous != previous {
            return Err(bad(format!("{} does not follow the line before it", raw.place())));
        }
        raw.clone().says().map_err(|error| bad(error.to_string()))?;
        previous = raw.hash;
        raw.store(connection)
            .map_err(|error| bad(format!("{}: {error}", raw.place())))?;
    }
    Ok(())
}

/// Stores every line of private texts beside its entry.
fn private_texts(connection: &Connection, path: &Path) -> Result<(), MoveError> {
    let lines = BufReader::new(File::open(path).map_err(|error| unfit(path, error))?);
    for (number, line) in (1..).zip(lines.lines()) {
        let bad = |problem: String| unfit(path, format!("line {number}: {problem}"));
        let line = line.map_err(|error| bad(error.to_string()))?;
        let line: PrivateLine = serde_json::from_str(&line).map_err(|error| bad(error.to_string()))?;
        let kept = line.kept().map_err(bad)?;
        kept.store(connection).map_err(|error| bad(error.to_string()))?;
    }
    Ok(())
}

/// Writes every table that follows from the journal, into tables that are empty.
fn rebuild(connection: &Connection) -> Result<(), StorageError> {
    let tx = Tx::new(connection);
    let whole = queries::history(connection, SHOP, 0)?;
    for entry in &whole {
        if let Event::Catalogued { parts } = &entry.event {
            tx.keep_parts(parts, crate::rows::whole(entry.id)?)?;
        }
    }
    rebuild::shop(connection, &whole)?;
    let mut numbers = connection.prepare("SELECT DISTINCT job FROM journal WHERE job > 0 ORDER BY job")?;
    for number in numbers.query_map([], |row| row.get::<_, u32>(0))? {
        let number = number?;
        let job = Job::fold(&queries::history(connection, number, 0)?)
            .map_err(|error| StorageError::unreadable(format!("the history of job {number}"), error))?;
        for table in &PROJECTIONS {
            tx.project(table, &[], &table.rows(&job)?)?;
        }
    }
    Ok(())
}
