//! The shelf's items and order lines, read from rows that follow from the stock's entries
//! (`tx/shelf.rs` writes them).

use std::collections::BTreeMap;

use lockring_domain::shop::SHOP;
use lockring_domain::supply::item::{Item, Whither};
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::mark_key;
use lockring_domain::supply::piece::{Fate, Left};
use lockring_domain::supply::recall::{Find, Found, Spot};
use lockring_domain::supply::shelf::Stock;
use rusqlite::Connection;
use serde::de::DeserializeOwned;

use crate::error::StorageError;
use crate::found::spans;
use crate::queries;

/// What lies on the shelf now, the lines it was ordered with, and the lines that are not
/// settled: all that an entry can change.
pub(crate) fn present(connection: &Connection) -> Result<Stock, StorageError> {
    let lines = "WHERE settled = 0
         OR number IN (SELECT json_extract(state, '$.line') FROM shelf_item WHERE count > 0)";
    load(connection, "WHERE count > 0", lines)
}

/// Everything that ever lay there and every line.
pub(crate) fn whole(connection: &Connection) -> Result<Stock, StorageError> {
    load(connection, "", "")
}

fn load(connection: &Connection, items: &str, lines: &str) -> Result<Stock, StorageError> {
    let last = |table: &str| -> Result<u64, StorageError> {
        let sql = format!("SELECT coalesce(max(number), 0) FROM {table}");
        let last: i64 = connection.prepare_cached(&sql)?.query_row([], |row| row.get(0))?;
        Ok(last.cast_unsigned())
    };
    let items: Vec<Item> = states(connection, &format!("SELECT state FROM shelf_item {items}"))?;
    let lines: Vec<OrderLine> = states(connection, &format!("SELECT state FROM shelf_line {lines}"))?;
    Ok(Stock {
        items: items.into_iter().map(|item| (item.number, item)).collect(),
        lines: lines.into_iter().map(|line| (line.number, line)).collect(),
        last_item: last("shelf_item")?,
        last_line: last("shelf_line")?,
    })
}

fn states<T: DeserializeOwned>(connection: &Connection, sql: &str) -> Result<Vec<T>, StorageError> {
    let mut statement = connection.prepare_cached(sql)?;
    let mut rows = statement.query([])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let state: String = row.get(0)?;
        let read = serde_json::from_str(&state);
        found.push(read.map_err(|error| StorageError::unreadable("a row of the shelf", error))?);
    }
    Ok(found)
}

/// Folds every entry of the stock and compares with the rows.
pub(crate) fn check(connection: &Connection, problems: &mut Vec<String>) -> Result<(), StorageError> {
    let read = queries::history(connection, SHOP, 0)
        .and_then(|entries| Ok((Stock::fold(&entries), whole(connection)?)));
    let (folded, stored) = match read {
        Ok(pair) => pair,
        Err(error @ StorageError::Unreadable { .. }) => {
            problems.push(format!("the shelf: {error}"));
            return Ok(());
        }
        Err(error) => return Err(error),
    };
    let items = folded.items.keys().chain(stored.items.keys());
    let mut differing: Vec<String> = items
        .filter(|number| folded.items.get(number) != stored.items.get(number))
        .map(|number| format!("item {number}"))
        .collect();
    let lines = folded.lines.keys().chain(stored.lines.keys());
    differing.extend(
        lines
            .filter(|number| folded.lines.get(number) != stored.lines.get(number))
            .map(|number| format!("line {number}")),
    );
    differing.sort();
    differing.dedup();
    problems.extend(
        differing
            .into_iter()
            .map(|what| format!("the shelf: {what} differs from its history")),
    );
    Ok(())
}

/// What a search goes by first; ?5 and ?6 are the ends of a span of keys.
const BY: [&str; 4] = [
    "serial_key >= ?5 AND serial_key <= ?6",
    "lot_key >= ?5 AND lot_key <= ?6",
    "supplier_key = ?3 AND ?5 = ?6",
    "?5 = ?6",
];

/// The keys between two ends, in order, for the first two of [`BY`].
const KEYS: [&str; 2] = [
    "SELECT serial_key FROM shelf_item WHERE serial_key >= ?1 AND serial_key <= ?2 ORDER BY serial_key",
    "SELECT lot_key FROM shelf_item WHERE lot_key >= ?1 AND lot_key <= ?2 ORDER BY lot_key",
];

/// What is meant and lies on the shelf, or went from it back to the supplier or missing, by number.
pub(crate) fn found(connection: &Connection, find: &Find) -> Result<Vec<Found>, StorageError> {
    let mut items = BTreeMap::new();
    if find.marks.is_empty() {
        let by = if find.supplier.is_some() { BY[2] } else { BY[3] };
        gather(connection, find, by, ("", ""), &mut items)?;
    }
    for mark in &find.marks {
        for (by, keys) in BY[..2].iter().zip(KEYS) {
            for (first, last) in spans(connection, mark, keys)? {
                gather(connection, find, by, (&first, &last), &mut items)?;
            }
        }
    }
    Ok(items.values().flat_map(spots).collect())
}

fn gather(
    connection: &Connection,
    find: &Find,
    by: &str,
    (first, last): (&str, &str),
    items: &mut BTreeMap<u64, Item>,
) -> Result<(), StorageError> {
    let sql = format!(
        "SELECT state FROM shelf_item WHERE {by} AND came_us >= ?1 AND came_us < ?2
         AND (?3 IS NULL OR supplier_key = ?3) AND (?4 IS NULL OR part_id = ?4)"
    );
    let mut statement = connection.prepare_cached(&sql)?;
    let mut rows = statement.query((
        find.since.as_microsecond(),
        find.before.as_microsecond(),
        &find.supplier,
        &find.part,
        first,
        last,
    ))?;
    while let Some(row) = rows.next()? {
        let state: String = row.get(0)?;
        let item: Item = serde_json::from_str(&state)
            .map_err(|error| StorageError::unreadable("an item of the shelf", error))?;
        let keys = [&item.serial, &item.lot].map(|mark| mark.as_deref().map(mark_key));
        if find.means(keys[0].as_deref(), keys[1].as_deref()) {
            items.insert(item.number, item);
        }
    }
    Ok(())
}

/// Where an item is: on the shelf what is left of it, and what left it other than for a job,
/// whose own piece says the rest.
fn spots(item: &Item) -> Vec<Found> {
    let found = |count: u32, left: Option<Left>| Found {
        goods: item.goods.clone(),
        serial: item.serial.clone(),
        lot: item.lot.clone(),
        supplier: item.supplier.clone(),
        came: item.came,
        at: Spot::Shelf {
            item: item.number,
            count,
        },
        left,
    };
    let there = (item.count > 0).then(|| found(item.count, None));
    let gone = item.gone.iter().map(|gone| {
        let (fate, why) = match gone.to {
            Whither::Job(job) => (Fate::PutBack, format!("taken for job {job}")),
            Whither::Supplier => (Fate::Returned, gone.why.clone()),
            Whither::Counted => (Fate::Swapped, format!("not there when counted: {}", gone.why)),
        };
        let left = Left {
            at: gone.at,
            fate,
            why,
        };
        found(gone.count, Some(left))
    });
    there.into_iter().chain(gone).collect()
}
