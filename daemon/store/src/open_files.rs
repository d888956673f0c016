//! A whole shop as open files, readable without this program: the journal, a line an entry,
//! and a page that says what is in it and how its chain of hashes is made.
//!
//! What an entry says is kept letter for letter, because its hash is over the letters; the
//! rest of a line is put into words that a person can read.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use crate::digits::{hash, hexadecimal};
use crate::private::{Kept, What};
use crate::rows::{self, Raw};

/// The files of an exported shop.
pub(crate) const JOURNAL: &str = "journal.jsonl";
pub(crate) const PRIVATE: &str = "private.jsonl";
pub(crate) const CONTENTS: &str = "shop.json";
pub(crate) const READ_ME: &str = "READ-ME.txt";

/// The format that is written.
pub(crate) const FORMAT: u32 = 2;
/// The first format, which is read too: private texts stood in the entries themselves.
pub(crate) const FIRST_FORMAT: u32 = 1;

/// What the page for people says.
pub(crate) const READ_ME_TEXT: &str = "\
The whole history of a workshop, written by lockring as open files.

journal.jsonl  one entry a line, oldest first, as JSON. `id` counts all entries, `seq` those of a
               job; job 0 is the shop as a whole. `made` is when it was done and `stored` when
               it was written down, both UTC. `says` is the entry itself, in SI units (metres,
               kilograms, seconds, volts ...) and money in minor units.
private.jsonl  what tells who a rider is, and free words: in their place an entry says `sealed:` and
               a hash, which is the SHA-256 of the 32 bytes of `salt` and the UTF-8 bytes of `text`.
               What was removed with its rider has only the day. Keep this file from others.
photos         the pictures that entries name, each under its SHA-256.
shop.json      how many entries and jobs there are, and the hash of the last entry.

Each `hash` is the SHA-256 of: the 32 bytes of the hash before (zeros before the first); then
id, job, seq, made, stored and version as 16-byte big-endian whole numbers, times in
microseconds since 1970-01-01T00:00Z; then by, terminal, kind and the text of `says`, each as
its length in bytes (8 bytes, big-endian) and its UTF-8 bytes.

`lockring import FOLDER --to NEW-FOLDER` makes a shop of it again.
";

/// What `shop.json` says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Contents {
    pub(crate) format: u32,
    /// Version of the program that wrote it.
    pub(crate) program: String,
    pub(crate) entries: u64,
    pub(crate) jobs: u64,
    /// Hash of the last entry.
    pub(crate) head: String,
}

/// A line of the journal.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Line {
    id: i64,
    job: u32,
    seq: i64,
    made: Timestamp,
    stored: Timestamp,
    by: String,
    terminal: String,
    kind: String,
    version: u32,
    says: Box<RawValue>,
    previous: String,
    hash: String,
}

impl Line {
    /// The line for a row.
    ///
    /// # Errors
    /// What in it cannot be written, in words.
    pub(crate) fn of(raw: Raw) -> Result<Self, String> {
        if raw.payload.contains(['\n', '\r']) {
            return Err("what it says is broken into lines".into());
        }
        Ok(Self {
            id: raw.id,
            job: raw.job,
            seq: raw.seq,
            made: rows::time(raw.made_us)?,
            stored: rows::time(raw.stored_us)?,
            by: raw.by,
            terminal: raw.terminal,
            kind: raw.kind,
            version: raw.version,
            says: RawValue::from_string(raw.payload).map_err(|error| error.to_string())?,
            previous: hexadecimal(&raw.previous),
            hash: hexadecimal(&raw.hash),
        })
    }

    /// The row for a line, its hash checked.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub(crate) fn raw(self) -> Result<Raw, String> {
        let raw = Raw {
            id: self.id,
            job: self.job,
            seq: self.seq,
            made_us: self.made.as_microsecond(),
            stored_us: self.stored.as_microsecond(),
            by: self.by,
            terminal: self.terminal,
            kind: self.kind,
            version: self.version,
            payload: self.says.get().to_owned(),
            previous: hash(&self.previous)?,
            hash: hash(&self.hash)?,
        };
        if raw.link() != raw.hash {
            return Err(format!("{}: its hash does not match what it says", raw.place()));
        }
        Ok(raw)
    }
}

/// A line of the private texts.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PrivateLine {
    entry: i64,
    hash: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    salt: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    text: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    removed: Option<Date>,
}

impl PrivateLine {
    /// The line for a row.
    pub(crate) fn of(kept: Kept) -> Self {
        let (salt, text, removed) = match kept.what {
            What::There { salt, text } => (Some(hexadecimal(&salt)), Some(text), None),
            What::Removed(day) => (None, None, Some(day)),
        };
        Self {
            entry: kept.entry,
            hash: hexadecimal(&kept.hash),
            salt,
            text,
            removed,
        }
    }

    /// The row for a line, its hash checked.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub(crate) fn kept(self) -> Result<Kept, String> {
        let what = match (self.salt, self.text, self.removed) {
            (Some(salt), Some(text), None) => What::There {
                salt: hash(&salt)?,
                text,
            },
            (None, None, Some(day)) => What::Removed(day),
            _ => return Err("expected salt and text, or the day they were removed".into()),
        };
        let kept = Kept {
            entry: self.entry,
            hash: hash(&self.hash)?,
            what,
        };
        if !kept.holds() {
            return Err(format!(
                "entry {}: its hash is not that of salt and text",
                kept.entry
            ));
        }
        Ok(kept)
    }
}
