//! Private texts: kept beside the journal, so that they can be taken out of a history that is
//! never changed.
//!
//! An entry's payload holds, in a private text's place, the SHA-256 of a salt of 32 random bytes
//! and the text. The row of the table `private` holds both. Removing deletes both and leaves the
//! day: the chain of hashes goes over the payload and holds, and without the salt nobody can try
//! out which text the hash was made of. Which texts are private is the domain's to say.

use std::collections::BTreeMap;

use jiff::civil::Date;
use lockring_domain::entry::{Entry, Event, Hash};
use lockring_domain::private::{self, SEAL};
use lockring_domain::removal::{Kind, Removal};
use rusqlite::{Connection, Row, params};
use sha2::{Digest, Sha256};

use crate::digits::{hash as read_hash, hexadecimal};
use crate::error::StorageError;

/// The first payload version whose private texts are kept here.
pub(crate) const SEALED_SINCE: u32 = 2;

type Salt = [u8; 32];

/// A row as it is stored: entry, hash, salt, text, day.
type Columns = (i64, Hash, Option<Salt>, Option<String>, Option<String>);

/// A row of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Kept {
    pub(crate) entry: i64,
    pub(crate) hash: Hash,
    /// Salt and text, or the day on which they were removed.
    pub(crate) what: What,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum What {
    There { salt: Salt, text: String },
    Removed(Date),
}

impl Kept {
    fn read(row: &Row<'_>) -> rusqlite::Result<Columns> {
        Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?))
    }

    fn of(row: Columns) -> Result<Self, StorageError> {
        let (entry, hash, salt, text, removed) = row;
        let bad =
            |problem: String| StorageError::unreadable(format!("a private text of entry {entry}"), problem);
        let what = match (salt, text, removed) {
            (Some(salt), Some(text), None) => What::There { salt, text },
            (None, None, Some(day)) => What::Removed(
                day.parse()
                    .map_err(|error| bad(format!("the day it was removed, `{day}`: {error}")))?,
            ),
            _ => return Err(bad("it is neither there nor removed".into())),
        };
        Ok(Self { entry, hash, what })
    }

    pub(crate) fn store(&self, connection: &Connection) -> Result<(), StorageError> {
        let sql = "INSERT INTO private (entry, hash, salt, text, removed) VALUES (?1, ?2, ?3, ?4, ?5)";
        let (salt, text, removed) = match &self.what {
            What::There { salt, text } => (Some(salt), Some(text), None),
            What::Removed(day) => (None, None, Some(day.to_string())),
        };
        connection
            .prepare_cached(sql)?
            .execute(params![self.entry, self.hash, salt, text, removed])?;
        Ok(())
    }

    /// Whether the hash is that of salt and text; a text that was removed cannot say.
    pub(crate) fn holds(&self) -> bool {
        match &self.what {
            What::There { salt, text } => commitment(salt, text) == self.hash,
            What::Removed(_) => true,
        }
    }
}

/// All rows, in order.
pub(crate) fn all(connection: &Connection) -> Result<Vec<Kept>, StorageError> {
    rows(connection, "ORDER BY entry, hash", [])
}

fn rows(
    connection: &Connection,
    rest: &str,
    given: impl rusqlite::Params,
) -> Result<Vec<Kept>, StorageError> {
    let sql = format!("SELECT entry, hash, salt, text, removed FROM private {rest}");
    let mut statement = connection.prepare_cached(&sql)?;
    let found = statement.query_map(given, Kept::read)?;
    found.map(|row| Kept::of(row?)).collect()
}

pub(crate) fn of_entry(connection: &Connection, entry: i64) -> Result<Vec<Kept>, StorageError> {
    rows(connection, "WHERE entry = ?1", [entry])
}

/// Those of an entry that is known by its number within the job.
pub(crate) fn of_job_entry(connection: &Connection, job: u32, seq: u64) -> Result<Vec<Kept>, StorageError> {
    let of = "WHERE entry = (SELECT id FROM journal WHERE job = ?1 AND seq = ?2)";
    rows(connection, of, (job, seq.cast_signed()))
}

/// SHA-256 of the salt and the text; the salt's length never changes, so that no two pairs share
/// an image.
fn commitment(salt: &Salt, text: &str) -> Hash {
    Sha256::new()
        .chain_update(salt)
        .chain_update(text)
        .finalize()
        .into()
}

/// An event with its private texts put under seal, and the rows that keep them.
pub(crate) fn seal(event: &Event, entry: i64) -> Result<(Event, Vec<Kept>), StorageError> {
    let mut sealed = event.clone();
    let mut kept = Vec::new();
    for private in private::texts(&mut sealed) {
        let mut salt: Salt = [0; 32];
        getrandom::fill(&mut salt).map_err(|error| StorageError::Io {
            detail: format!("the system gives no random bytes: {error}"),
        })?;
        let text = std::mem::take(private.text);
        let hash = commitment(&salt, &text);
        *private.text = format!("{SEAL}{}", hexadecimal(&hash));
        let what = What::There { salt, text };
        kept.push(Kept { entry, hash, what });
    }
    Ok((sealed, kept))
}

/// The hash under a seal; `None` for a text that is not under one.
pub(crate) fn sealed(text: &str) -> Option<Hash> {
    text.strip_prefix(SEAL).and_then(|hash| read_hash(hash).ok())
}

/// Puts the texts back into an entry as it was stored, or the words that they were removed.
///
/// # Errors
/// [`StorageError::Unreadable`] when a text is neither there nor removed.
pub(crate) fn open(connection: &Connection, entry: &mut Entry) -> Result<(), StorageError> {
    let id = entry.id.cast_signed();
    let mut kept: Option<BTreeMap<Hash, What>> = None;
    for private in private::texts(&mut entry.event) {
        let Some(hash) = sealed(private.text) else {
            continue;
        };
        if kept.is_none() {
            let rows = of_entry(connection, id)?;
            kept = Some(rows.into_iter().map(|row| (row.hash, row.what)).collect());
        }
        *private.text = match kept.as_mut().and_then(|kept| kept.remove(&hash)) {
            Some(What::There { text, .. }) => text,
            Some(What::Removed(day)) => private.kind.removed(day),
            None => {
                let place = format!("entry {id} (job {}, entry {})", entry.job, entry.seq);
                return Err(StorageError::unreadable(place, missing(private.kind)));
            }
        };
    }
    Ok(())
}

pub(crate) fn missing(kind: Kind) -> String {
    format!(
        "a text of it ({}) is lost, and no entry says that it was removed",
        kind.word()
    )
}

/// Removes the texts that a removal names from entries as they are stored, and marks the file
/// as not yet cleaned of them.
///
/// # Errors
/// [`StorageError::Unstorable`] when one of them stands in the payload itself, as in entries of
/// the first payload version.
pub(crate) fn remove(
    connection: &Connection,
    stored: &[(u32, Entry)],
    removal: &Removal,
) -> Result<(), StorageError> {
    let sql = "UPDATE private SET salt = NULL, text = NULL, removed = ?3 \
               WHERE entry = ?1 AND hash = ?2 AND removed IS NULL";
    let mut statement = connection.prepare_cached(sql)?;
    for (version, entry) in stored {
        let mut event = entry.event.clone();
        for private in private::texts(&mut event) {
            if !removal.takes(entry.seq, private.kind) {
                continue;
            }
            let hash = Some(&*private.text).filter(|_| *version >= SEALED_SINCE);
            let Some(hash) = hash.and_then(|text| sealed(text)) else {
                return Err(StorageError::unstorable(
                    format!("a removal from job {}", entry.job),
                    format!(
                        "entry {} was written before private texts were kept apart",
                        entry.seq
                    ),
                ));
            };
            statement.execute(params![entry.id.cast_signed(), hash, removal.on.to_string()])?;
        }
    }
    connection.execute("INSERT OR IGNORE INTO uncleaned (id) VALUES (1)", [])?;
    Ok(())
}

/// Whether texts were removed whose bytes may still lie in the file.
pub(crate) fn is_uncleaned(connection: &Connection) -> Result<bool, StorageError> {
    Ok(connection.prepare_cached("SELECT 1 FROM uncleaned")?.exists([])?)
}
