//! Writing entries and what follows from them.

use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::entry::{Entry, Event, PAYLOAD_VERSION};
use lockring_domain::job::{FoldError, Job};
use lockring_domain::origin::Origin;
use lockring_domain::part::Part;
use lockring_domain::removal::Removal;
use lockring_domain::shop::{SHOP, Shop};
use rusqlite::params_from_iter;
use rusqlite::types::Value;

use super::Tx;
use crate::error::StorageError;
use crate::private;
use crate::projections::{PROJECTIONS, Table};
use crate::queries;
use crate::rows::{self, JOURNAL, Raw};

impl Tx<'_> {
    pub(super) fn try_append(
        &self,
        job: u32,
        origin: &Origin,
        stored: Timestamp,
        events: &[Event],
        after: &Job,
    ) -> Result<Vec<Entry>, StorageError> {
        let what = || format!("a change of job {job}");
        if job == 0 || after.number != job {
            return Err(StorageError::unstorable(
                what(),
                format!("it comes with the state of job {}", after.number),
            ));
        }
        if events.is_empty() {
            return Err(StorageError::unstorable(
                what(),
                "it has no event; expected at least one",
            ));
        }
        if let Some(event) = events.iter().find(|event| event.is_of_the_shop()) {
            let told = format!("`{}` is an entry of the shop, not of a job", event.kind());
            return Err(StorageError::unstorable(what(), told));
        }
        let before = self.recent.take(self.connection, job)?;
        if let Some(before) = &before {
            self.seen.borrow_mut().job(before);
        }
        let last = before.as_ref().map_or(0, |before| before.revision);
        let entries = self.journal(job, last, origin, stored, events)?;
        for event in events {
            if let Event::RiderRemoved(removal) = event {
                self.remove_private(job, removal)?;
            }
        }
        let mut changes = Vec::with_capacity(PROJECTIONS.len());
        for table in &PROJECTIONS {
            let (old, new) = match &before {
                Some(before) => table.changed(before, after)?,
                None => (Vec::new(), table.rows(after)?),
            };
            changes.push((table, old, new));
        }
        let folded = self.fold_on(before, &entries)?;
        if folded != *after {
            let told = "the state given with it is not what its entries fold into";
            return Err(StorageError::unstorable(what(), told));
        }
        for (table, old, new) in &changes {
            self.project(table, old, new)?;
        }
        if let Some(state) = changes.into_iter().find_map(|(table, _, new)| table.state(new)) {
            self.recent.keep(Arc::new(folded), state);
        }
        Ok(entries)
    }

    pub(super) fn try_append_shop(
        &self,
        origin: &Origin,
        stored: Timestamp,
        events: &[Event],
        after: &Shop,
    ) -> Result<Vec<Entry>, StorageError> {
        let bad = |told: String| StorageError::unstorable("a change of the shop", told);
        if events.is_empty() {
            return Err(bad("it has no event; expected at least one".into()));
        }
        if let Some(event) = events
            .iter()
            .find(|event| !matches!(event, Event::Shop(_) | Event::Retracted { .. }))
        {
            return Err(bad(format!(
                "`{}` is no entry that changes the shop",
                event.kind()
            )));
        }
        let before = self.shop()?;
        let entries = self.shop_journal(origin, stored, events)?;
        let folded = if events.iter().all(|event| matches!(event, Event::Shop(_))) {
            Arc::unwrap_or_clone(before).after(&entries)
        } else {
            Shop::fold(&self.entries(SHOP)?)
        };
        if folded != *after {
            return Err(bad(
                "the state given with it is not what its entries fold into".into()
            ));
        }
        self.keep_shop(after)?;
        Ok(entries)
    }

    /// Writes the shop as its entries fold.
    pub(crate) fn keep_shop(&self, shop: &Shop) -> Result<(), StorageError> {
        let state = serde_json::to_string(shop)
            .map_err(|error| StorageError::unstorable("a change of the shop", error.to_string()))?;
        let sql = "INSERT INTO shop (id, revision, state) VALUES (1, ?1, ?2)
                   ON CONFLICT (id) DO UPDATE SET revision = excluded.revision, state = excluded.state";
        self.connection
            .prepare_cached(sql)?
            .execute((rows::whole(shop.revision)?, state))?;
        self.recent.shop_written();
        Ok(())
    }

    pub(super) fn try_catalogue(
        &self,
        origin: &Origin,
        stored: Timestamp,
        parts: &[Part],
    ) -> Result<Vec<Entry>, StorageError> {
        if parts.is_empty() {
            return Err(StorageError::unstorable(
                "a catalogue",
                "it has no part; expected at least one",
            ));
        }
        let entries = self.shop_journal(
            origin,
            stored,
            &[Event::Catalogued {
                parts: parts.to_vec(),
            }],
        )?;
        self.keep_parts(parts, self.recent.head(self.connection)?.id)?;
        Ok(entries)
    }

    /// Writes the rows of parts that an entry put into the catalogue.
    pub(crate) fn keep_parts(&self, parts: &[Part], entry: i64) -> Result<(), StorageError> {
        let mut write = self.connection.prepare_cached(
            "INSERT INTO part (id, kind, attributes, entry) VALUES (?1, ?2, ?3, ?4)
             ON CONFLICT (id) DO UPDATE
             SET kind = excluded.kind, attributes = excluded.attributes, entry = excluded.entry",
        )?;
        for part in parts {
            write.execute((&part.id, part.kind.word(), rows::attributes(part)?, entry))?;
        }
        Ok(())
    }

    /// Writes journal rows of no job.
    pub(crate) fn shop_journal(
        &self,
        origin: &Origin,
        stored: Timestamp,
        events: &[Event],
    ) -> Result<Vec<Entry>, StorageError> {
        self.journal(SHOP, self.last_seq(SHOP)?, origin, stored, events)
    }

    /// Writes journal rows behind the last one of a job, each linked to the one before it.
    fn journal(
        &self,
        job: u32,
        last_seq: u64,
        origin: &Origin,
        stored: Timestamp,
        events: &[Event],
    ) -> Result<Vec<Entry>, StorageError> {
        if rows::whole_microseconds(origin.made) != origin.made {
            let problem = format!("it was made at {}; expected a whole microsecond", origin.made);
            return Err(StorageError::unstorable(
                format!("an entry of job {job}"),
                problem,
            ));
        }
        let mut head = self.recent.head(self.connection)?;
        let mut entries = Vec::with_capacity(events.len());
        for (seq, event) in (rows::whole(last_seq)? + 1..).zip(events) {
            // What does not read back is found before anything of it is sealed.
            let payload = rows::payload(event)?;
            let (sealed, private) = private::seal(event, head.id + 1)?;
            let payload = if private.is_empty() {
                payload
            } else {
                rows::payload(&sealed)?
            };
            let mut raw = Raw {
                id: head.id + 1,
                job,
                seq,
                made_us: origin.made.as_microsecond(),
                stored_us: stored.as_microsecond().max(head.stored_us),
                by: origin.by.clone(),
                terminal: origin.terminal.clone(),
                kind: event.kind().to_owned(),
                version: PAYLOAD_VERSION,
                payload,
                previous: head.hash,
                hash: [0; 32],
            };
            raw.hash = raw.link();
            raw.store(self.connection)?;
            head = queries::Head {
                id: raw.id,
                stored_us: raw.stored_us,
                hash: raw.hash,
            };
            let is_sealed = !private.is_empty();
            for text in private {
                text.store(self.connection)?;
            }
            entries.push(if is_sealed {
                raw.entry(self.connection)?
            } else {
                raw.saying(event.clone())?
            });
        }
        self.recent.head_written(head);
        self.seen.borrow_mut().entries(&entries);
        Ok(entries)
    }

    /// Takes out of a job's entries what a removal names; the file is cleaned of it after the
    /// commit.
    fn remove_private(&self, job: u32, removal: &Removal) -> Result<(), StorageError> {
        let sql = format!("SELECT {JOURNAL} FROM journal WHERE job = ?1 ORDER BY seq");
        let mut statement = self.connection.prepare_cached(&sql)?;
        let mut stored = Vec::new();
        for raw in statement.query_map([job], Raw::read)? {
            let raw = raw?;
            stored.push((raw.version, raw.says()?));
        }
        private::remove(self.connection, &stored, removal)
    }

    /// The job that new entries lead to; one that reaches back takes a new fold of the whole history.
    fn fold_on(&self, before: Option<Job>, entries: &[Entry]) -> Result<Job, StorageError> {
        let number = entries.first().map_or(0, |entry| entry.job);
        let wrong = |error: FoldError| {
            StorageError::unstorable(format!("a change of job {number}"), error.to_string())
        };
        if entries.iter().any(|entry| entry.event.reaches_back()) {
            return Job::fold(&self.entries(number)?).map_err(wrong);
        }
        let Some(before) = before else {
            return Job::fold(entries).map_err(wrong);
        };
        let folded = entries.iter().try_fold(before, |job, entry| job.after(entry));
        Ok(folded.expect("only what reaches back has no job after it, and there is none here"))
    }

    /// Brings a table from a job's old rows to its new ones, writing only what differs.
    pub(crate) fn project(
        &self,
        table: &Table,
        old: &[Vec<Value>],
        new: &[Vec<Value>],
    ) -> Result<(), StorageError> {
        if old.is_empty() && new.is_empty() {
            return Ok(());
        }
        let gone = old
            .iter()
            .filter(|row| !new.iter().any(|other| other[..table.key] == row[..table.key]));
        for row in gone {
            let mut statement = self.connection.prepare_cached(&table.delete())?;
            statement.execute(params_from_iter(&row[..table.key]))?;
        }
        for row in new.iter().filter(|row| !old.contains(row)) {
            let before = old.iter().find(|other| other[..table.key] == row[..table.key]);
            let is_there = match before {
                Some(before) => self.change(table, before, row)?,
                None => false,
            };
            if !is_there {
                self.connection
                    .prepare_cached(&table.insert())?
                    .execute(params_from_iter(row))?;
            }
        }
        Ok(())
    }

    /// Writes the columns in which a row differs from what it was; `false` when there is no such row.
    fn change(&self, table: &Table, before: &[Value], row: &[Value]) -> Result<bool, StorageError> {
        let differs = |at: &usize| row[*at] != before[*at];
        let differing: Vec<usize> = (table.key..row.len()).filter(differs).collect();
        let mut statement = self.connection.prepare_cached(&table.update(&differing))?;
        for at in (0..table.key).chain(differing) {
            statement.raw_bind_parameter(at + 1, &row[at])?;
        }
        Ok(statement.raw_execute()? > 0)
    }
}
