//! Putting private texts under seal in a journal that was begun before they were kept apart.
//!
//! This is the one act that changes stored entries, and it is done at most once to any of them: the
//! payloads of old entries get seals in place of private texts, every hash from there on is made
//! anew, and an entry tells both last hashes. It is done only to a chain that holds, or it would
//! hide that somebody tampered with it.

use jiff::Timestamp;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::origin::Origin;
use lockring_domain::shop::Shop;
use lockring_domain::shop::event::ShopEvent;
use rusqlite::{Connection, params};

use crate::digits::hexadecimal;
use crate::error::StorageError;
use crate::private::{self, SEALED_SINCE};
use crate::queries;
use crate::rows::{self, JOURNAL, Raw};
use crate::tx::Tx;

/// The trigger that keeps entries as they are.
const GUARD: &str = "journal_is_never_changed";
/// Entries read at a time.
const AT_ONCE: u32 = 500;

impl Tx<'_> {
    /// Puts the private texts of old entries under seal and appends the entry that tells of it;
    /// gives that entry, or none when there was nothing to seal. The file is cleaned after the
    /// commit.
    ///
    /// # Errors
    /// [`StorageError::Unsound`] when the chain does not hold as it stands: then nothing is
    /// changed; other [`StorageError`]s when the database refuses.
    pub fn seal_history(&mut self, origin: &Origin, now: Timestamp) -> Result<Vec<Entry>, StorageError> {
        let result = seal_history(self, origin, now);
        self.clean |= result.as_ref().is_ok_and(|told| !told.is_empty());
        self.note(result)
    }
}

pub(crate) fn seal_history(tx: &Tx<'_>, origin: &Origin, now: Timestamp) -> Result<Vec<Entry>, StorageError> {
    let connection = tx.connection;
    let before = queries::head(connection)?;
    let sealed = without_guard(connection, || reseal(connection))?;
    if sealed == 0 {
        return Ok(Vec::new());
    }
    connection.execute("INSERT OR IGNORE INTO uncleaned (id) VALUES (1)", [])?;
    let sealed_head = queries::head(connection)?;
    tx.recent.head_written(sealed_head);
    let told = ShopEvent::HistorySealed {
        entries: sealed,
        upto: before.id.cast_unsigned(),
        before: hexadecimal(&before.hash),
        after: hexadecimal(&sealed_head.hash),
    };
    let entries = tx.shop_journal(origin, now, &[Event::Shop(told)])?;
    let shop: Shop = queries::shop(connection)?.after(&entries);
    tx.keep_shop(&shop)?;
    Ok(entries)
}

/// Runs something with the trigger out of the way that keeps entries as they are, and puts it back
/// to the letter. All of it is in the caller's transaction.
fn without_guard<T>(
    connection: &Connection,
    work: impl FnOnce() -> Result<T, StorageError>,
) -> Result<T, StorageError> {
    let sql = "SELECT sql FROM sqlite_schema WHERE type = 'trigger' AND name = ?1";
    let guard: String = connection.query_row(sql, [GUARD], |row| row.get(0))?;
    connection.execute_batch(&format!("DROP TRIGGER {GUARD}"))?;
    let done = work()?;
    connection.execute_batch(&guard)?;
    Ok(done)
}

/// Walks the chain from its first entry; gives how many entries were put under seal.
fn reseal(connection: &Connection) -> Result<u64, StorageError> {
    let sql = format!("SELECT {JOURNAL} FROM journal WHERE id > ?1 ORDER BY id LIMIT {AT_ONCE}");
    let (mut old, mut new) = (queries::NO_ENTRY, queries::NO_ENTRY.hash);
    let mut sealed = 0;
    loop {
        let raws: Vec<Raw> = connection
            .prepare_cached(&sql)?
            .query_map([old.id], Raw::read)?
            .collect::<Result<_, _>>()?;
        if raws.is_empty() {
            return Ok(sealed);
        }
        for raw in raws {
            if raw.id != old.id + 1 || raw.previous != old.hash || raw.link() != raw.hash {
                let problem = format!(
                    "{}: the chain of hashes does not hold here; nothing was sealed",
                    raw.place()
                );
                return Err(StorageError::Unsound {
                    problems: vec![problem],
                });
            }
            (old.id, old.hash) = (raw.id, raw.hash);
            let mut next = raw.clone();
            sealed += u64::from(put_under_seal(connection, &mut next)?);
            next.previous = new;
            next.hash = next.link();
            new = next.hash;
            if next.hash != raw.hash {
                replace(connection, &next)?;
            }
        }
    }
}

/// Puts an old entry's private texts under seal; whether it has any.
fn put_under_seal(connection: &Connection, raw: &mut Raw) -> Result<bool, StorageError> {
    if raw.version >= SEALED_SINCE {
        return Ok(false);
    }
    let entry = raw.clone().says()?;
    let (event, kept) = private::seal(&entry.event, raw.id)?;
    if kept.is_empty() {
        return Ok(false);
    }
    raw.payload = rows::payload(&event)?;
    raw.version = SEALED_SINCE;
    for text in kept {
        text.store(connection)?;
    }
    Ok(true)
}

fn replace(connection: &Connection, raw: &Raw) -> Result<(), StorageError> {
    let sql = "UPDATE journal SET version = ?2, payload = ?3, previous = ?4, hash = ?5 WHERE id = ?1";
    connection.prepare_cached(sql)?.execute(params![
        raw.id,
        raw.version,
        raw.payload,
        raw.previous,
        raw.hash
    ])?;
    Ok(())
}
