//! Rows of the journal and the catalogue, and the way between them and the domain's types.

use jiff::Timestamp;
use lockring_domain::entry::{Entry, Event, Hash, PAYLOAD_VERSION, link};
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::part::{Part, PartKind};
use lockring_domain::shop::Shop;
use rusqlite::{Connection, Row, params};

use crate::error::StorageError;
use crate::private;

/// The columns of the journal in the order [`Raw::read`] takes them.
pub(crate) const JOURNAL: &str =
    "id, job, seq, made_us, stored_us, by_whom, terminal, kind, version, payload, previous, hash";

/// A row of the journal exactly as it is stored.
#[derive(Debug, Clone)]
pub(crate) struct Raw {
    pub(crate) id: i64,
    pub(crate) job: u32,
    pub(crate) seq: i64,
    pub(crate) made_us: i64,
    pub(crate) stored_us: i64,
    pub(crate) by: String,
    pub(crate) terminal: String,
    pub(crate) kind: String,
    pub(crate) version: u32,
    pub(crate) payload: String,
    pub(crate) previous: Hash,
    pub(crate) hash: Hash,
}

impl Raw {
    pub(crate) fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get(0)?,
            job: row.get(1)?,
            seq: row.get(2)?,
            made_us: row.get(3)?,
            stored_us: row.get(4)?,
            by: row.get(5)?,
            terminal: row.get(6)?,
            kind: row.get(7)?,
            version: row.get(8)?,
            payload: row.get(9)?,
            previous: row.get(10)?,
            hash: row.get(11)?,
        })
    }

    /// Stores the row as it is.
    pub(crate) fn store(&self, connection: &Connection) -> Result<(), StorageError> {
        let sql = format!(
            "INSERT INTO journal ({JOURNAL}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)"
        );
        connection.prepare_cached(&sql)?.execute(params![
            self.id,
            self.job,
            self.seq,
            self.made_us,
            self.stored_us,
            self.by,
            self.terminal,
            self.kind,
            self.version,
            self.payload,
            self.previous,
            self.hash
        ])?;
        Ok(())
    }

    /// The row's place in words, for messages.
    pub(crate) fn place(&self) -> String {
        format!("entry {} (job {}, entry {})", self.id, self.job, self.seq)
    }

    /// The hash that the stored columns lead to.
    pub(crate) fn link(&self) -> Hash {
        link(
            &self.previous,
            self.id.cast_unsigned(),
            self.job,
            self.seq.cast_unsigned(),
            self.made_us,
            self.stored_us,
            &self.by,
            &self.terminal,
            &self.kind,
            self.version,
            &self.payload,
        )
    }

    /// What the row says, private texts in their places.
    ///
    /// # Errors
    /// As for [`Raw::says`]; [`StorageError::Unreadable`] for a private text that is lost.
    pub(crate) fn entry(self, connection: &Connection) -> Result<Entry, StorageError> {
        let is_sealed = self.version >= private::SEALED_SINCE;
        let mut entry = self.says()?;
        if is_sealed {
            private::open(connection, &mut entry)?;
        }
        Ok(entry)
    }

    /// What the row itself says: seals stand where private texts were.
    ///
    /// # Errors
    /// [`StorageError::Unreadable`] for a payload version or kind this program does not know,
    /// or a payload that is not of its kind.
    pub(crate) fn says(self) -> Result<Entry, StorageError> {
        let bad = |problem: String| StorageError::unreadable(self.place(), problem);
        if self.version > PAYLOAD_VERSION {
            return Err(bad(format!(
                "its payload has version {}; this program reads 1 to {PAYLOAD_VERSION}",
                self.version
            )));
        }
        let event: Event = serde_json::from_str(&self.payload).map_err(|error| {
            bad(format!(
                "kind `{}`, payload version {}: {error}",
                self.kind, self.version
            ))
        })?;
        if event.kind() != self.kind {
            return Err(bad(format!(
                "its kind is `{}` but its payload says `{}`",
                self.kind,
                event.kind()
            )));
        }
        self.saying(event)
    }

    /// The entry of the row, of which it is known what it says.
    ///
    /// # Errors
    /// [`StorageError::Unreadable`] for a time beyond all calendars.
    pub(crate) fn saying(self, event: Event) -> Result<Entry, StorageError> {
        let bad = |problem: String| StorageError::unreadable(self.place(), problem);
        let made = time(self.made_us).map_err(&bad)?;
        let stored = time(self.stored_us).map_err(&bad)?;
        Ok(Entry {
            id: self.id.cast_unsigned(),
            job: self.job,
            seq: self.seq.cast_unsigned(),
            origin: Origin {
                by: self.by,
                terminal: self.terminal,
                made,
            },
            stored,
            event,
            previous: self.previous,
            hash: self.hash,
        })
    }
}

/// A time cut to whole microseconds, as the journal keeps it: what an [`Origin`] must carry.
///
/// [`Origin`]: lockring_domain::origin::Origin
pub fn whole_microseconds(at: Timestamp) -> Timestamp {
    Timestamp::from_microsecond(at.as_microsecond())
        .expect("a time cut to microseconds lies within the range of times")
}

pub(crate) fn time(us: i64) -> Result<Timestamp, String> {
    Timestamp::from_microsecond(us).map_err(|error| format!("time {us} us: {error}"))
}

/// Text of an event as it is stored.
///
/// # Errors
/// [`StorageError::Unstorable`] when it would not read back as it was, such as a number that
/// is not finite.
pub(crate) fn payload(event: &Event) -> Result<String, StorageError> {
    let bad = |problem: String| StorageError::unstorable(format!("an entry `{}`", event.kind()), problem);
    let text = serde_json::to_string(event).map_err(|error| bad(error.to_string()))?;
    match serde_json::from_str::<Event>(&text) {
        Ok(back) if back == *event => Ok(text),
        Ok(_) => Err(bad("it does not read back as it was given".into())),
        Err(error) => Err(bad(format!(
            "it does not read back (are all numbers finite?): {error}"
        ))),
    }
}

/// A count as SQLite keeps it.
pub(crate) fn whole(count: u64) -> Result<i64, StorageError> {
    i64::try_from(count).map_err(|_| {
        StorageError::unstorable(
            format!("the number {count}"),
            format!("expected at most {}", i64::MAX),
        )
    })
}

/// Reads a job from the text of its state.
pub(crate) fn job(number: u32, state: &str) -> Result<Job, StorageError> {
    serde_json::from_str(state)
        .map_err(|error| StorageError::unreadable(format!("the state of job {number}"), error))
}

/// Reads the shop from the text of its state.
pub(crate) fn shop(state: &str) -> Result<Shop, StorageError> {
    serde_json::from_str(state).map_err(|error| StorageError::unreadable("the state of the shop", error))
}

/// The attributes of a part as they are stored.
pub(crate) fn attributes(part: &Part) -> Result<String, StorageError> {
    serde_json::to_string(&part.attributes)
        .map_err(|error| StorageError::unstorable(format!("part `{}`", part.id), error.to_string()))
}

/// Reads a part from its row.
pub(crate) fn part(id: String, kind: &str, attributes: &str) -> Result<Part, StorageError> {
    let bad = |problem: String| StorageError::unreadable(format!("part `{id}`"), problem);
    let kind_read = PartKind::from_word(kind).ok_or_else(|| bad(format!("unknown kind `{kind}`")))?;
    let attributes = serde_json::from_str(attributes).map_err(|error| bad(error.to_string()))?;
    Ok(Part {
        id,
        kind: kind_read,
        attributes,
    })
}
