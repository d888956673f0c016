//! Answers kept for a retry hold no private texts: their bytes are blanked out, and put back from the
//! table of private texts when the answer is given again.
//!
//! A blank is as long as the text, so that the message around it stays readable once a text was
//! removed.

use std::collections::{BTreeMap, BTreeSet};

use lockring_domain::entry::{Entry, Hash};
use lockring_domain::fact::Value;
use lockring_domain::job::Job;
use lockring_domain::private;
use memchr::memmem;
use rusqlite::Connection;

use crate::digits::{hash, hexadecimal};
use crate::error::StorageError;
use crate::private::{What, of_entry, of_job_entry};

/// What stands in a text's place.
const BLANK: u8 = b'-';

/// A shorter text would be found inside the message's own numbers.
const SHORTEST: usize = 3;

/// Texts that an answer may hold, by the entries they stand in: job, and number within the job.
#[derive(Debug, Default)]
pub(crate) struct Seen(BTreeMap<(u32, u64), BTreeSet<String>>);

impl Seen {
    /// Who the rider of a job is.
    pub(crate) fn job(&mut self, job: &Job) {
        self.text(job.number, 1, &job.rider);
        for fact in private::CODES.iter().filter_map(|code| job.facts.get(*code)) {
            if let Value::Text(text) = &fact.value {
                self.text(job.number, fact.seq, text);
            }
        }
    }

    /// All that entries say about a person.
    pub(crate) fn entries(&mut self, entries: &[Entry]) {
        for entry in entries {
            for private in private::texts(&mut entry.event.clone()) {
                self.text(entry.job, entry.seq, private.text);
            }
        }
    }

    fn text(&mut self, job: u32, seq: u64, text: &str) {
        let texts = self.0.entry((job, seq)).or_default();
        if !texts.contains(text) {
            texts.insert(text.to_owned());
        }
    }

    /// The entries whose texts an answer holds. Which places they stand at is the table's to say.
    fn held_by(&self, answer: &[u8]) -> impl Iterator<Item = (u32, u64)> {
        let holds = |text: &String| text.len() >= SHORTEST && memmem::find(answer, text.as_bytes()).is_some();
        let held = self.0.iter().filter(move |(_, texts)| texts.iter().any(holds));
        held.map(|(entry, _)| *entry)
    }
}

/// Where a text stood: offset, entry, hash in hexadecimal.
type Place = (usize, i64, String);

/// An answer with its private texts blanked out, and where they stood; `None` for nowhere.
pub(crate) fn draw(
    connection: &Connection,
    seen: &Seen,
    answer: &[u8],
) -> Result<(Vec<u8>, Option<String>), StorageError> {
    let mut texts: Vec<(i64, Hash, String)> = Vec::new();
    for (job, seq) in seen.held_by(answer) {
        for kept in of_job_entry(connection, job, seq)? {
            match kept.what {
                What::There { text, .. } if text.len() >= SHORTEST => {
                    texts.push((kept.entry, kept.hash, text));
                }
                _ => {}
            }
        }
    }
    // The longest first: a name may be part of another text.
    texts.sort_by_key(|(_, _, text)| std::cmp::Reverse(text.len()));
    let (mut answer, mut places) = (answer.to_vec(), Vec::<Place>::new());
    for (entry, hash, text) in &texts {
        let found: Vec<usize> = memmem::find_iter(&answer, text).collect();
        for at in found {
            answer[at..at + text.len()].fill(BLANK);
            places.push((at, *entry, hexadecimal(hash)));
        }
    }
    if places.is_empty() {
        return Ok((answer, None));
    }
    let places = serde_json::to_string(&places)
        .map_err(|error| StorageError::unstorable("an answer", error.to_string()))?;
    Ok((answer, Some(places)))
}

fn read(places: Option<&str>) -> Result<Vec<(usize, i64, Hash)>, StorageError> {
    let bad = |problem: String| StorageError::unreadable("an answer that was kept", problem);
    let places: Vec<Place> =
        serde_json::from_str(places.unwrap_or("[]")).map_err(|error| bad(error.to_string()))?;
    let read = |(at, entry, text): Place| Ok((at, entry, hash(&text).map_err(bad)?));
    places.into_iter().map(read).collect()
}

/// The answer as it was given, as far as its texts are there.
pub(crate) fn lift(
    connection: &Connection,
    mut answer: Vec<u8>,
    places: Option<&str>,
) -> Result<Vec<u8>, StorageError> {
    for (at, entry, hash) in read(places)? {
        let mut kept = of_entry(connection, entry)?.into_iter();
        let kept = kept.find(|kept| kept.hash == hash).map(|kept| kept.what);
        if let Some(What::There { text, .. }) = kept
            && let Some(blank) = answer.get_mut(at..at + text.len())
        {
            blank.copy_from_slice(text.as_bytes());
        }
    }
    Ok(answer)
}

/// Whether a text that was removed stood in an answer.
pub(crate) fn hides_removed(connection: &Connection, places: Option<&str>) -> Result<bool, StorageError> {
    for (_, entry, hash) in read(places)? {
        let kept = of_entry(connection, entry)?;
        let is_gone = |kept: &What| matches!(kept, What::Removed(_));
        if kept.iter().any(|kept| kept.hash == hash && is_gone(&kept.what)) {
            return Ok(true);
        }
    }
    Ok(false)
}
