//! Numbered, forward-only steps from one schema to the next.
//!
//! A step that was released is never edited: a change is a new step at the end of [`STEPS`]
//! together with a test that starts from a file of the schema before it.

use rusqlite::{Connection, TransactionBehavior};

use crate::error::StorageError;
use crate::rebuild;

/// The steps, in order; step n leads from schema n - 1 to schema n.
pub(crate) const STEPS: &[&str] = &[
    include_str!("../migrations/0001_journal_and_projections.sql"),
    include_str!("../migrations/0002_shop.sql"),
    include_str!("../migrations/0003_asked.sql"),
    include_str!("../migrations/0004_supply.sql"),
    include_str!("../migrations/0005_reports.sql"),
    include_str!("../migrations/0006_private.sql"),
    include_str!("../migrations/0007_fewer_tables.sql"),
    include_str!("../migrations/0008_lighter_changes.sql"),
    include_str!("../migrations/0009_last_reading_stands.sql"),
    include_str!("../migrations/0010_what_is_left.sql"),
    include_str!("../migrations/0011_the_worst_reading_stands.sql"),
    include_str!("../migrations/0012_what_a_piece_cost.sql"),
];

/// The newest schema this program reads and the only one it writes.
pub const SCHEMA: u32 = STEPS.len() as u32;

/// Marks the file as ours in the SQLite header: the letters `LKRG`.
pub(crate) const APPLICATION_ID: i32 = 0x4C4B_5247;

/// The program version recorded with each step.
const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// A step that failed.
#[derive(Debug)]
pub(crate) struct Failed {
    /// Number of the step, from 1.
    pub(crate) number: u32,
    /// Why.
    pub(crate) source: StorageError,
}

/// Runs every step the file has not seen, each in a transaction of its own. With the last one,
/// the tables of a file that had jobs before are made again from the journal.
///
/// # Errors
/// The step that failed; the file then has the schema before it, whole.
pub(crate) fn run(connection: &mut Connection, steps: &[&str]) -> Result<(), Failed> {
    let done = user_version(connection).map_err(|source| Failed { number: 1, source })?;
    let last = steps.len();
    for (number, sql) in (1..).zip(steps).filter(|(number, _)| *number > done) {
        // In the last step's own transaction, so that it is done however often it is begun.
        let fold_again = number as usize == last && done > 0;
        step(connection, number, sql, fold_again).map_err(|source| Failed { number, source })?;
    }
    Ok(())
}

fn step(connection: &mut Connection, number: u32, sql: &str, fold_again: bool) -> Result<(), StorageError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    transaction.execute_batch(sql)?;
    if fold_again && transaction.table_exists(None, "journal")? {
        rebuild::all(&transaction)?;
    }
    transaction.execute(
        "INSERT INTO migration (number, program) VALUES (?1, ?2)",
        (number, PROGRAM),
    )?;
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.pragma_update(None, "user_version", number)?;
    let mut dangling = transaction.prepare("PRAGMA foreign_key_check")?;
    if dangling.exists([])? {
        return Err(StorageError::Database {
            detail: "the step leaves rows that point nowhere".into(),
        });
    }
    drop(dangling);
    transaction.commit()?;
    Ok(())
}

/// The schema number of an open file.
pub(crate) fn user_version(connection: &Connection) -> Result<u32, StorageError> {
    Ok(connection.pragma_query_value(None, "user_version", |row| row.get(0))?)
}

/// Program version that brought the file to its present schema.
pub(crate) fn program(connection: &Connection) -> Result<String, StorageError> {
    let sql = "SELECT program FROM migration ORDER BY number DESC LIMIT 1";
    Ok(connection.query_row(sql, [], |row| row.get(0))?)
}
