//! Writing a shop out as open files.

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

use rusqlite::Connection;

use crate::digits::hexadecimal;
use crate::error::StorageError;
use crate::open_files::{
    CONTENTS, Contents, FORMAT, JOURNAL, Line, PRIVATE, PrivateLine, READ_ME, READ_ME_TEXT,
};
use crate::restore::{MoveError, Moved, empty};
use crate::rows::{self, Raw};
use crate::verify::{Verification, verify};
use crate::{connection, folder, inspect, migrate, photos, private};

/// Writes the shop of a data folder out as open files into a new or empty folder. One
/// committed state is written, whether a daemon serves the folder or not; it must verify.
///
/// # Errors
/// [`MoveError`], naming what was found, what is expected and the cure.
pub fn export(folder: &Path, to: &Path) -> Result<Moved, MoveError> {
    let source = folder::data_file(folder);
    inspect::file(&source)?;
    let connection = connection::reader(&source)?;
    let found = migrate::user_version(&connection)?;
    if found != migrate::SCHEMA {
        return Err(MoveError::unfit(
            format!(
                "{} has schema {found}; expected {}",
                source.display(),
                migrate::SCHEMA
            ),
            "serve the folder once with this version, which brings it up to date",
        ));
    }
    let state = connection.unchecked_transaction()?;
    let found = verify(&state)?;
    if !found.problems.is_empty() {
        let problems = found.problems;
        return Err(MoveError::Unsound {
            what: source.display().to_string(),
            problems,
            cure: "make a new folder of the newest backup with `lockring restore --to NEW-FOLDER`, and export that",
        });
    }
    empty(to)?;
    let (photos, problems) = photos::bring(&state, folder, to)?;
    write(&state, to, &found)?;
    File::open(to)?.sync_all()?;
    Ok(Moved {
        from: source,
        to: to.to_owned(),
        entries: found.entries,
        jobs: found.jobs,
        head: found.head,
        photos,
        problems,
        removed: Vec::new(),
        revoked: Vec::new(),
        pairs: Vec::new(),
        passed_over: Vec::new(),
    })
}

/// The contents come last: a folder without them is not finished.
fn write(connection: &Connection, to: &Path, found: &Verification) -> Result<(), MoveError> {
    whole_file(&to.join(JOURNAL), |file| journal(connection, file))?;
    whole_file(&to.join(PRIVATE), |file| private_texts(connection, file))?;
    whole_file(&to.join(READ_ME), |file| {
        Ok(file.write_all(READ_ME_TEXT.as_bytes())?)
    })?;
    let contents = Contents {
        format: FORMAT,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        entries: found.entries,
        jobs: found.jobs,
        head: hexadecimal(&found.head),
    };
    let text = serde_json::to_string_pretty(&contents).map_err(|error| unwritten(CONTENTS, &error))?;
    whole_file(&to.join(CONTENTS), |file| Ok(writeln!(file, "{text}")?))
}

fn journal(connection: &Connection, file: &mut impl Write) -> Result<(), MoveError> {
    let sql = format!("SELECT {} FROM journal ORDER BY id", rows::JOURNAL);
    let mut statement = connection.prepare(&sql)?;
    for raw in statement.query_map([], Raw::read)? {
        let raw = raw?;
        let place = raw.place();
        let line = Line::of(raw).map_err(|problem| unwritten(&place, &problem))?;
        let text = serde_json::to_string(&line).map_err(|error| unwritten(&place, &error))?;
        writeln!(file, "{text}")?;
    }
    Ok(())
}

fn private_texts(connection: &Connection, file: &mut impl Write) -> Result<(), MoveError> {
    for kept in private::all(connection)? {
        let line = PrivateLine::of(kept);
        let text = serde_json::to_string(&line).map_err(|error| unwritten(PRIVATE, &error))?;
        writeln!(file, "{text}")?;
    }
    Ok(())
}

fn unwritten(what: &str, problem: &impl ToString) -> MoveError {
    StorageError::unreadable(what, problem.to_string()).into()
}

/// Writes a file that is its owner's alone and is on the disk before it is called done.
fn whole_file(
    path: &Path,
    write: impl FnOnce(&mut BufWriter<File>) -> Result<(), MoveError>,
) -> Result<(), MoveError> {
    let mut unfinished = path.as_os_str().to_owned();
    unfinished.push(".unfinished");
    let file = File::options()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(&unfinished)?;
    let mut file = BufWriter::new(file);
    write(&mut file)?;
    file.flush()?;
    file.get_ref().sync_all()?;
    fs::rename(&unfinished, path)?;
    Ok(())
}
