//! Finding pieces by their marks, their supplier and the days they came, wherever they are.

use std::collections::BTreeSet;

use jiff::Timestamp;
use lockring_domain::fact::Value;
use lockring_domain::part::{PartKind, Slot};
use lockring_domain::stage::Stage;
use lockring_domain::supply::line::Goods;
use lockring_domain::supply::piece::{Fate, Left};
use lockring_domain::supply::recall::{Bearer, Find, Found, Mark, Spot};
use rusqlite::{Connection, Row};

use crate::error::StorageError;

/// Columns of a piece with the job it is on, and the tables they come from.
const PIECE: &str = "p.number, p.job, p.slot, p.kind, p.part_id, p.name, p.serial, p.lot, p.supplier, p.came_us, \
     p.fate, p.left_us, p.why, j.rider, j.stage, j.stage_since_us, j.state -> '$.facts.contact.value', p.serial_key, p.lot_key, \
     j.state ->> '$.rider_removed' IS NOT NULL \
     FROM piece AS p JOIN job AS j ON j.number = p.job";
/// What narrows a search besides a mark.
const NARROWED: &str = "(?1 IS NULL OR p.supplier_key = ?1) AND (?2 IS NULL OR p.part_id = ?2) \
     AND p.came_us >= ?3 AND p.came_us < ?4";
/// Sorts after every letter of a mark.
const LAST: char = '\u{10ffff}';

/// What a search goes by first; ?5 and ?6 are the ends of a span of keys.
pub(crate) const BY: [&str; 4] = [
    "p.serial_key >= ?5 AND p.serial_key <= ?6",
    "p.lot_key >= ?5 AND p.lot_key <= ?6",
    "p.supplier_key = ?1 AND ?5 = ?6",
    "?5 = ?6",
];

/// The keys between two ends, in order, for the first two of [`BY`].
const KEYS: [&str; 2] = [
    "SELECT serial_key FROM piece WHERE serial_key >= ?1 AND serial_key <= ?2 ORDER BY serial_key",
    "SELECT lot_key FROM piece WHERE lot_key >= ?1 AND lot_key <= ?2 ORDER BY lot_key",
];

/// A statement that finds pieces by one of [`BY`].
pub(crate) fn sql(by: &str) -> String {
    format!("SELECT {PIECE} WHERE {by} AND {NARROWED}")
}

/// Every piece on a job that is meant, by job and number.
pub(crate) fn pieces(connection: &Connection, find: &Find) -> Result<Vec<Found>, StorageError> {
    let mut found = Vec::new();
    let mut seen = BTreeSet::new();
    if find.marks.is_empty() {
        let by = if find.supplier.is_some() { BY[2] } else { BY[3] };
        gather(connection, find, by, ("", ""), &mut seen, &mut found)?;
    }
    for mark in &find.marks {
        for (by, keys) in BY[..2].iter().zip(KEYS) {
            for (first, last) in spans(connection, mark, keys)? {
                gather(connection, find, by, (&first, &last), &mut seen, &mut found)?;
            }
        }
    }
    found.sort_by_key(|(place, _)| *place);
    Ok(found.into_iter().map(|(_, piece)| piece).collect())
}

/// The first and last key that can be meant, for each way of typing the mark: with short dashes, and
/// with a long one in each place.
pub(crate) fn spans(
    connection: &Connection,
    mark: &Mark,
    keys: &str,
) -> Result<Vec<(String, String)>, StorageError> {
    let long = mark.begins_long().into_iter().map(beginning);
    Ok(span(connection, mark, keys)?.into_iter().chain(long).collect())
}

/// The first and last key that begin with a text.
fn beginning(begins: String) -> (String, String) {
    let last = format!("{begins}{LAST}");
    (begins, last)
}

/// The first and last key with short dashes that can be meant. For a range they are sought in the index alone,
/// because what its serials begin with may be borne by most pieces of the shop.
fn span(connection: &Connection, mark: &Mark, keys: &str) -> Result<Option<(String, String)>, StorageError> {
    let (begins, is_whole) = mark.begins();
    if is_whole {
        return Ok(Some((begins.to_owned(), begins.to_owned())));
    }
    let (first, last) = beginning(begins.to_owned());
    if matches!(mark, Mark::Prefix(_)) {
        return Ok(Some((first, last)));
    }
    let mut statement = connection.prepare_cached(keys)?;
    let mut rows = statement.query((&first, &last))?;
    let mut ends: Option<(String, String)> = None;
    while let Some(row) = rows.next()? {
        let key: String = row.get(0)?;
        if mark.means(&key) {
            ends = Some(match ends {
                None => (key.clone(), key),
                Some((first, _)) => (first, key),
            });
        }
    }
    Ok(ends)
}

type Place = (u32, i64);

fn gather(
    connection: &Connection,
    find: &Find,
    by: &str,
    (first, last): (&str, &str),
    seen: &mut BTreeSet<Place>,
    found: &mut Vec<(Place, Found)>,
) -> Result<(), StorageError> {
    let mut statement = connection.prepare_cached(&sql(by))?;
    let mut rows = statement.query((
        &find.supplier,
        &find.part,
        find.since.as_microsecond(),
        find.before.as_microsecond(),
        first,
        last,
    ))?;
    while let Some(row) = rows.next()? {
        let place: Place = (row.get(1)?, row.get(0)?);
        let keys: (Option<String>, Option<String>) = (row.get(17)?, row.get(18)?);
        if find.means(keys.0.as_deref(), keys.1.as_deref()) && seen.insert(place) {
            found.push((place, piece(row)?));
        }
    }
    Ok(())
}

fn piece(row: &Row<'_>) -> Result<Found, StorageError> {
    let job: u32 = row.get(1)?;
    let what = format!("a piece of job {job}");
    let bad = |word: &str| StorageError::unreadable(&what, format!("unknown word `{word}`"));
    let time =
        |us: i64| Timestamp::from_microsecond(us).map_err(|error| StorageError::unreadable(&what, error));
    let (slot, kind, stage): (String, String, String) = (row.get(2)?, row.get(3)?, row.get(14)?);
    let fate: Option<String> = row.get(10)?;
    let left = match (fate, row.get::<_, Option<i64>>(11)?) {
        (Some(fate), Some(at)) => Some(Left {
            at: time(at)?,
            fate: Fate::from_word(&fate).ok_or_else(|| bad(&fate))?,
            why: row.get::<_, Option<String>>(12)?.unwrap_or_default(),
        }),
        _ => None,
    };
    let contact: Option<String> = row.get(16)?;
    let contact = contact.map_or(Ok(None), |value| {
        serde_json::from_str::<Value>(&value)
            .map(|value| value.text().map(str::to_owned))
            .map_err(|error| StorageError::unreadable(&what, error))
    })?;
    Ok(Found {
        goods: Goods {
            part: row.get(4)?,
            kind: PartKind::from_word(&kind).ok_or_else(|| bad(&kind))?,
            name: row.get(5)?,
        },
        serial: row.get(6)?,
        lot: row.get(7)?,
        supplier: row.get(8)?,
        came: time(row.get(9)?)?,
        at: Spot::Job(Bearer {
            job,
            slot: Slot::from_word(&slot).ok_or_else(|| bad(&slot))?,
            rider: row.get(13)?,
            is_removed: row.get(19)?,
            contact: contact.unwrap_or_default(),
            stage: Stage::from_word(&stage).ok_or_else(|| bad(&stage))?,
            since: time(row.get(15)?)?,
        }),
        left,
    })
}
