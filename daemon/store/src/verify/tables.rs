//! Comparing what is stored with what the journal folds into.

use std::collections::{BTreeMap, BTreeSet};

use lockring_domain::job::Job;
use lockring_domain::part::Part;
use lockring_domain::shop::{SHOP, Shop};
use rusqlite::Connection;
use rusqlite::types::Value;

use crate::error::StorageError;
use crate::projections::{PROJECTIONS, Table};
use crate::{queries, rows};

/// Folds one job and compares it with its rows.
pub(super) fn check_job(
    connection: &Connection,
    number: u32,
    problems: &mut Vec<String>,
) -> Result<(), StorageError> {
    let folded = match queries::history(connection, number, 0) {
        Ok(entries) => match Job::fold(&entries) {
            Ok(job) => job,
            Err(error) => {
                problems.push(format!("job {number}: its entries do not fold: {error}"));
                return Ok(());
            }
        },
        Err(error @ StorageError::Unreadable { .. }) => {
            problems.push(format!("job {number}: it cannot be folded: {error}"));
            return Ok(());
        }
        Err(error) => return Err(error),
    };
    for table in &PROJECTIONS {
        let stored = table.stored(connection, number)?;
        compare(table, number, &table.rows(&folded)?, &stored, problems);
    }
    Ok(())
}

fn compare(
    table: &Table,
    number: u32,
    folded: &[Vec<Value>],
    stored: &[Vec<Value>],
    problems: &mut Vec<String>,
) {
    let same_key = |one: &[Value], other: &[Value]| one[..table.key] == other[..table.key];
    for row in folded {
        let name = row_name(table, row);
        match stored.iter().find(|other| same_key(row, other)) {
            None => problems.push(format!("job {number}: {name} is missing; its history has it")),
            Some(other) => {
                let columns: Vec<String> = differing(table, number, row, other);
                if !columns.is_empty() {
                    let columns = columns.join(", ");
                    problems.push(format!(
                        "job {number}: {name} differs from its history in {columns}"
                    ));
                }
            }
        }
    }
    for row in stored
        .iter()
        .filter(|row| !folded.iter().any(|other| same_key(row, other)))
    {
        problems.push(format!(
            "job {number}: {} is not in its history",
            row_name(table, row)
        ));
    }
}

/// The row in words: its table and the key within the job.
fn row_name(table: &Table, row: &[Value]) -> String {
    match row[..table.key].get(1) {
        None => format!("the row of table {}", table.name),
        Some(Value::Integer(key)) => format!("row {key} of table {}", table.name),
        Some(key) => format!("row {key:?} of table {}", table.name),
    }
}

/// Columns in which two rows differ. The state is compared as a job, not as text: another
/// version of the program may write the same job in other words.
fn differing(table: &Table, number: u32, folded: &[Value], stored: &[Value]) -> Vec<String> {
    let mut found = Vec::new();
    for (at, column) in table
        .columns
        .iter()
        .enumerate()
        .filter(|(at, _)| folded[*at] != stored[*at])
    {
        match (*column, &folded[at], &stored[at]) {
            ("state", Value::Text(folded), Value::Text(stored)) => match rows::job(number, stored) {
                Ok(job) if rows::job(number, folded).is_ok_and(|folded| folded == job) => {}
                Ok(_) => found.push(format!("state ({})", differing_fields(folded, stored).join(", "))),
                Err(error) => found.push(format!("state ({error})")),
            },
            _ => found.push((*column).to_owned()),
        }
    }
    found
}

fn differing_fields(folded: &str, stored: &str) -> Vec<String> {
    let fields =
        |text: &str| serde_json::from_str::<BTreeMap<String, serde_json::Value>>(text).unwrap_or_default();
    let (folded, stored) = (fields(folded), fields(stored));
    folded
        .iter()
        .filter(|(name, value)| stored.get(*name) != Some(*value))
        .map(|(name, _)| name.clone())
        .collect()
}

/// Folds what was said of the shop and compares it with what is kept.
pub(super) fn check_shop(connection: &Connection, problems: &mut Vec<String>) -> Result<(), StorageError> {
    let read = queries::history(connection, SHOP, 0)
        .and_then(|entries| Ok((Shop::fold(&entries), queries::shop(connection)?)));
    match read {
        Ok((folded, stored)) if folded == stored => {}
        Ok(_) => problems.push("the shop: what is kept of it differs from its history".into()),
        Err(error @ StorageError::Unreadable { .. }) => problems.push(format!("the shop: {error}")),
        Err(error) => return Err(error),
    }
    Ok(())
}

/// Jobs that have a row but no history. Rows of other tables hang on a job's row, which the
/// reference check covers.
pub(super) fn check_strangers(
    connection: &Connection,
    jobs: &BTreeSet<u32>,
    problems: &mut Vec<String>,
) -> Result<(), StorageError> {
    let mut statement = connection.prepare("SELECT number FROM job ORDER BY number")?;
    for number in statement.query_map([], |row| row.get::<_, u32>(0))? {
        let number = number?;
        if !jobs.contains(&number) {
            problems.push(format!("job {number}: it has a row but no entry"));
        }
    }
    Ok(())
}

/// Compares the catalogue with what the journal says of it.
pub(super) fn check_parts(
    connection: &Connection,
    expected: &BTreeMap<String, (i64, Part)>,
    problems: &mut Vec<String>,
) -> Result<(), StorageError> {
    let mut statement = connection.prepare("SELECT id, kind, attributes, entry FROM part ORDER BY id")?;
    let mut rows = statement.query([])?;
    let mut seen = BTreeSet::new();
    while let Some(row) = rows.next()? {
        let (id, kind, attributes): (String, String, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let entry: i64 = row.get(3)?;
        seen.insert(id.clone());
        match (expected.get(&id), rows::part(id.clone(), &kind, &attributes)) {
            (_, Err(error)) => problems.push(error.to_string()),
            (None, _) => problems.push(format!("part `{id}`: no entry put it into the catalogue")),
            (Some((from, part)), Ok(stored)) if *part != stored || *from != entry => {
                problems.push(format!("part `{id}`: it differs from entry {from}"));
            }
            _ => {}
        }
    }
    for (id, (from, _)) in expected.iter().filter(|(id, _)| !seen.contains(*id)) {
        problems.push(format!(
            "part `{id}`: it is missing; entry {from} put it into the catalogue"
        ));
    }
    Ok(())
}
