//! Making the tables that follow from a job's state again from its history: after a step to a
//! new schema they may hold more than the program before knew to write.

use lockring_domain::job::Job;
use rusqlite::Connection;

use crate::error::StorageError;
use crate::projections::PROJECTIONS;
use crate::queries;
use crate::tx::Tx;
use crate::verify::stored_rows;

/// Folds every job again and writes its rows. A job whose history does not fold keeps the rows
/// it has: verifying names it, and the others can be worked on.
pub(crate) fn jobs(connection: &Connection) -> Result<(), StorageError> {
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
                    let old = stored_rows(connection, table, number)?;
                    Tx::new(connection).project(table, &old, &(table.rows)(&job)?)?;
                }
            }
            Err(error) => tracing::warn!(number, error, "a job does not fold: its rows stay as they are"),
        }
    }
    Ok(())
}
