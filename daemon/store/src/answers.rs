//! Answers already given, so that a repeated request gets the first one again.

use jiff::Timestamp;
use lockring_domain::entry::Hash;
use lockring_domain::refusal::{Reason, Refusal};
use memchr::memmem;
use rusqlite::{Connection, OptionalExtension};
use sha2::{Digest, Sha256};

use crate::error::{StorageError, WriteError};
use crate::tx::Tx;
use crate::veil;

/// A request as it is told from others: the id the client chose, and what it asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Request {
    id: String,
    asked: Hash,
}

impl Request {
    /// A request by its id and everything it asks, in any form that is the same for a retry
    /// and another for anything else.
    pub fn new(id: impl Into<String>, asked: &str) -> Self {
        Self {
            id: id.into(),
            asked: Sha256::digest(asked).into(),
        }
    }
}

impl Tx<'_> {
    /// The answer a request was given before; `None` when it is new.
    ///
    /// # Errors
    /// [`WriteError::Refused`] when its id was used for something else;
    /// [`WriteError::Storage`] when the database cannot be read.
    pub fn answer(&self, request: &Request) -> Result<Option<Vec<u8>>, WriteError> {
        let sql = "SELECT answer, asked, places FROM answered WHERE request_id = ?1";
        let mut statement = self.connection.prepare_cached(sql).map_err(StorageError::from)?;
        let kept: Option<(Vec<u8>, Option<Hash>, Option<String>)> = statement
            .query_row([&request.id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
            .optional()
            .map_err(StorageError::from)?;
        match kept {
            // Answers of the first schemas do not say what was asked.
            Some((answer, asked, places)) if asked.is_none_or(|asked| asked == request.asked) => {
                Ok(Some(veil::lift(self.connection, answer, places.as_deref())?))
            }
            Some(_) => Err(reused(&request.id).into()),
            None => Ok(None),
        }
    }

    /// Keeps the answer to a request, with the time of the newest entry, in the same
    /// transaction as what it answers.
    ///
    /// # Errors
    /// [`StorageError`] when it cannot be stored, or the request has an answer already.
    pub fn remember(&mut self, request: &Request, answer: &[u8]) -> Result<(), StorageError> {
        let result = self.try_remember(request, answer);
        self.note(result)
    }

    fn try_remember(&self, request: &Request, answer: &[u8]) -> Result<(), StorageError> {
        let at_us = self.recent.head(self.connection)?.stored_us.max(0);
        let (answer, places) = veil::draw(self.connection, &self.seen.borrow(), answer)?;
        let seal = seal(&request.id, &request.asked, &answer, places.as_deref(), at_us);
        let sql = "INSERT INTO answered (request_id, answer, at_us, asked, seal, places) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
        self.connection.prepare_cached(sql)?.execute((
            &request.id,
            answer,
            at_us,
            request.asked,
            seal,
            places,
        ))?;
        Ok(())
    }

    /// Puts something else in the place of every kept answer that holds one of these texts, or that a
    /// removed one stood in; returns how many. What was asked under their ids is forgotten with them: its hash could be tried
    /// out. A retry is still told from a new change by its id.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be written.
    pub fn redact_answers(
        &mut self,
        texts: &[String],
        instead: impl Fn(&[u8]) -> Vec<u8>,
    ) -> Result<usize, StorageError> {
        let result = self.try_redact_answers(texts, instead);
        self.note(result)
    }

    fn try_redact_answers(
        &self,
        texts: &[String],
        instead: impl Fn(&[u8]) -> Vec<u8>,
    ) -> Result<usize, StorageError> {
        let mut statement = self
            .connection
            .prepare("SELECT request_id, answer, places FROM answered")?;
        let mut found = Vec::new();
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let (id, answer): (String, Vec<u8>) = (row.get(0)?, row.get(1)?);
            let places: Option<String> = row.get(2)?;
            if texts.iter().any(|text| holds(&answer, text.as_bytes()))
                || veil::hides_removed(self.connection, places.as_deref())?
            {
                found.push((id, instead(&answer)));
            }
        }
        let sql =
            "UPDATE answered SET answer = ?2, asked = NULL, seal = NULL, places = NULL WHERE request_id = ?1";
        for (id, answer) in &found {
            self.connection.prepare_cached(sql)?.execute((id, answer))?;
        }
        Ok(found.len())
    }

    /// Forgets answers kept with a time before `before`; returns how many.
    ///
    /// # Errors
    /// [`StorageError`] when the database cannot be written.
    pub fn forget_answers(&mut self, before: Timestamp) -> Result<usize, StorageError> {
        let sql = "DELETE FROM answered WHERE at_us < ?1";
        let result = self
            .connection
            .execute(sql, [before.as_microsecond()])
            .map_err(StorageError::from);
        self.note(result)
    }
}

fn holds(bytes: &[u8], text: &[u8]) -> bool {
    !text.is_empty() && memmem::find(bytes, text).is_some()
}

fn reused(id: &str) -> Refusal {
    let message = format!("request id `{id}` was used before for something else");
    Refusal::new(Reason::RequestIdReused, message)
        .with("request_id", id)
        .hint("give every change an id of its own, such as a random UUID; only a retry of the same change carries the same")
}

/// SHA-256 over the columns, each of changing length with its length before it.
fn seal(id: &str, asked: &Hash, answer: &[u8], places: Option<&str>, at_us: i64) -> Hash {
    let mut image = Sha256::new();
    for bytes in [id.as_bytes(), asked, answer] {
        image.update((bytes.len() as u64).to_be_bytes());
        image.update(bytes);
    }
    image.update(at_us.to_be_bytes());
    // Without places it is what it was before there were any.
    image.update(places.unwrap_or_default());
    image.finalize().into()
}

/// Answers that are not as they were kept.
pub(crate) fn check(connection: &Connection, problems: &mut Vec<String>) -> Result<(), StorageError> {
    let sql = "SELECT request_id, answer, at_us, asked, seal, places FROM answered ORDER BY request_id";
    let mut statement = connection.prepare(sql)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (id, answer, at_us): (String, Vec<u8>, i64) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let kept: (Option<Hash>, Option<Hash>) = (row.get(3)?, row.get(4)?);
        let places: Option<String> = row.get(5)?;
        let sound = match kept {
            (None, None) => true,
            (Some(asked), Some(kept)) => seal(&id, &asked, &answer, places.as_deref(), at_us) == kept,
            _ => false,
        };
        if !sound {
            problems.push(format!("the answer to request `{id}` is not as it was kept"));
        }
    }
    Ok(())
}
