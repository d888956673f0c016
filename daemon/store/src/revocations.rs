//! The list of pairs that were revoked, beside the backups: a backup made before knows them as
//! pairs that open the shop, and restoring it must not let a lost bench in again.
//!
//! It is written with every revoking and every backup; restoring a backup revokes again what the
//! list names, and tells which pairs stand in what was restored.

use std::path::Path;

use jiff::Timestamp;
use lockring_domain::entry::Event;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::shop::pair::Pair;
use lockring_domain::shop::{SHOP, Shop};
use rusqlite::Connection;
use serde::{Deserialize, Serialize};

use crate::error::StorageError;
use crate::queries;
use crate::removals::{origin, read_lines, write_lines};
use crate::tx::Tx;

/// The list's name in a folder of backups.
pub(crate) const LIST: &str = "revoked.jsonl";

/// A line of the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    /// SHA-256 of the certificate: no other shop has a pair with it.
    fingerprint: String,
    /// Who revoked it.
    by: String,
    /// When.
    at: Timestamp,
    /// Why; may be empty.
    why: String,
}

/// Writes the revoked pairs of a shop into the list of a folder; those that are in it stay.
pub(crate) fn list(shop: &Shop, folder: &Path) -> Result<(), StorageError> {
    let mut lines: Vec<Line> = read_lines(folder, LIST)?;
    let known = lines.len();
    for pair in shop.pairs.values() {
        let Some(said) = &pair.revoked else { continue };
        if lines.iter().all(|line| line.fingerprint != pair.fingerprint) {
            lines.push(Line {
                fingerprint: pair.fingerprint.clone(),
                by: said.by.clone(),
                at: said.at,
                why: said.why.clone(),
            });
        }
    }
    if lines.len() > known {
        write_lines(folder, LIST, &lines)?;
    }
    Ok(())
}

/// Whether a shop lets in a pair that the list of a folder names.
pub(crate) fn is_asked(connection: &Connection, folder: &Path) -> Result<bool, StorageError> {
    let lines: Vec<Line> = read_lines(folder, LIST)?;
    if lines.is_empty() {
        return Ok(false);
    }
    let shop = queries::shop(connection)?;
    Ok(lines.iter().any(|line| let_in(&shop, line).is_some()))
}

/// The pair of a line, when a shop lets it in.
fn let_in<'a>(shop: &'a Shop, line: &Line) -> Option<(u32, &'a Pair)> {
    let mut pairs = shop.pairs.iter();
    let found = pairs.find(|(_, pair)| pair.fingerprint == line.fingerprint && pair.revoked.is_none());
    found.map(|(&number, pair)| (number, pair))
}

/// Revokes in a copy what the list of a folder names and the copy lets in; gives what was done,
/// a line each.
pub(crate) fn again(copy: &Connection, folder: &Path, now: Timestamp) -> Result<Vec<String>, StorageError> {
    let mut done = Vec::new();
    for line in read_lines::<Line>(folder, LIST)? {
        let shop = queries::shop(copy)?;
        let Some((number, pair)) = let_in(&shop, &line) else {
            continue;
        };
        let day = line.at.strftime("%Y-%m-%d");
        let why = format!("revoked by {} on {day}, after the backup: {}", line.by, line.why);
        done.push(format!(
            "{}: revoked on {day}, and revoked again in this copy",
            named(number, pair)
        ));
        let event = ShopEvent::PairRevoked {
            number,
            why: why.trim_end_matches([':', ' ']).to_owned(),
        };
        let (origin, seq) = (origin(now), queries::last_seq(copy, SHOP)? + 1);
        let mut after = shop.clone();
        after.take(seq, &origin, &event);
        Tx::new(copy).append_shop(&origin, now, &[Event::Shop(event)], &after)?;
    }
    Ok(done)
}

/// The pairs that open the shop in a copy once its authority is there, a line each. The authority's key is in no backup
/// and in no open files: without it no bench is known.
pub(crate) fn standing(copy: &Connection, now: Timestamp) -> Result<Vec<String>, StorageError> {
    let shop = queries::shop(copy)?;
    let open = shop
        .pairs
        .iter()
        .filter(|(_, pair)| shop.guest(&pair.fingerprint, now).is_ok());
    Ok(open
        .map(|(&number, pair)| {
            let until = pair.until.strftime("%Y-%m-%d");
            format!(
                "{}: until {until}, but opens nothing here without the folder `access` of the old data folder, which is in \
                 no copy: bring that along, or pair the bench anew and end this one with `lockring pair --revoke {number}`",
                named(number, pair)
            )
        })
        .collect())
}

fn named(number: u32, pair: &Pair) -> String {
    format!("pair {number} ({} of {})", pair.bench, pair.person)
}
