//! Making the tables that follow from the journal again from it: after a step to a new schema
//! they may hold more than the program before knew to write.

use lockring_domain::entry::Entry;
use lockring_domain::job::Job;
use lockring_domain::shop::{SHOP, Shop};
use lockring_domain::supply::shelf::Stock;
use rusqlite::Connection;

use crate::error::StorageError;
use crate::projections::PROJECTIONS;
use crate::queries;
use crate::tx::Tx;

/// Everything that follows from the journal, but for the catalogue, which its entries write.
pub(crate) fn all(connection: &Connection) -> Result<(), StorageError> {
    match queries::history(connection, SHOP, 0) {
        Ok(entries) => shop(connection, &entries)?,
        Err(error @ StorageError::Unreadable { .. }) => {
            tracing::warn!(%error, "the shop does not fold: its rows stay as they are");
        }
        Err(error) => return Err(error),
    }
    jobs(connection)
}

/// Writes the shop and its shelf as the entries of no job fold.
pub(crate) fn shop(connection: &Connection, entries: &[Entry]) -> Result<(), StorageError> {
    let tx = Tx::new(connection);
    let shop = Shop::fold(entries);
    if shop != Shop::default() {
        tx.keep_shop(&shop)?;
    }
    tx.keep_stock(&Stock::fold(entries))
}

/// Folds every job again and writes its rows. A job whose history does not fold keeps the rows
/// it has: verifying names it, and the others can be worked on.
fn jobs(connection: &Connection) -> Result<(), StorageError> {
    let mut statement = connection.prepare("SELECT DISTINCT job FROM journal WHERE job > 0 ORDER BY job")?;
    let numbers: Vec<u32> = statement
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for number in numbers {
        let job = match queries::history(connection, number, 0) {
            Ok(entries) => Job::fold(&entries).map_err(|error| error.to_string()),
            Err(error @ StorageError::Unreadable { .. }) => Err(error.to_string()),
            Err(error) => return Err(error),
        };
        match job {
            Ok(job) => {
                for table in &PROJECTIONS {
                    let old = table.stored(connection, number)?;
                    Tx::new(connection).project(table, &old, &table.rows(&job)?)?;
                }
            }
            Err(error) => tracing::warn!(number, error, "a job does not fold: its rows stay as they are"),
        }
    }
    Ok(())
}
