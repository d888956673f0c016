//! Questions that readers and writers ask alike.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::entry::{Entry, Event, Hash};
use lockring_domain::job::Job;
use lockring_domain::part::Part;
use lockring_domain::private::name_key;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::shop::{SHOP, Shop};
use lockring_domain::stage::Stage;
use lockring_domain::supply::mark_key;
use rusqlite::{Connection, OptionalExtension, Params};

use crate::error::StorageError;
use crate::rows::{self, JOURNAL, Raw};

/// The last line of the journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Head {
    pub(crate) id: i64,
    pub(crate) stored_us: i64,
    pub(crate) hash: Hash,
}

/// The head of an empty journal.
pub(crate) const NO_ENTRY: Head = Head {
    id: 0,
    stored_us: i64::MIN,
    hash: [0; 32],
};

pub(crate) fn head(connection: &Connection) -> Result<Head, StorageError> {
    let head = connection
        .prepare_cached("SELECT id, stored_us, hash FROM journal WHERE id = (SELECT max(id) FROM journal)")?
        .query_row([], |row| {
            Ok(Head {
                id: row.get(0)?,
                stored_us: row.get(1)?,
                hash: row.get(2)?,
            })
        })
        .optional()?;
    Ok(head.unwrap_or(NO_ENTRY))
}

/// How many entries there are, counted one by one: what proving a copy asks. Their numbers
/// have no gaps, so that everybody else reads the last one's.
pub(crate) fn count_entries(connection: &Connection) -> Result<u64, StorageError> {
    let count: i64 = connection.query_row("SELECT count(*) FROM journal", [], |row| row.get(0))?;
    Ok(count.cast_unsigned())
}

/// Open jobs by stage.
pub(crate) fn open_by_stage(connection: &Connection) -> Result<BTreeMap<Stage, u32>, StorageError> {
    let mut statement =
        connection.prepare_cached("SELECT stage, count(*) FROM job WHERE is_over = 0 GROUP BY stage")?;
    let mut found = BTreeMap::new();
    for row in statement.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get(1)?)))? {
        let (word, count) = row?;
        let stage = Stage::from_word(&word)
            .ok_or_else(|| StorageError::unreadable("the table of jobs", format!("unknown word `{word}`")))?;
        found.insert(stage, count);
    }
    Ok(found)
}

/// The shop as it stands; as it begins when nothing was said of it yet.
pub(crate) fn shop(connection: &Connection) -> Result<Shop, StorageError> {
    let state = connection
        .prepare_cached("SELECT state FROM shop WHERE id = 1")?
        .query_row([], |row| row.get::<_, String>(0))
        .optional()?;
    state.map_or_else(|| Ok(Shop::default()), |state| rows::shop(&state))
}

/// Entries chosen by the end of a statement, from `WHERE` on.
pub(crate) fn entries(
    connection: &Connection,
    rest: &str,
    given: impl Params,
) -> Result<Vec<Entry>, StorageError> {
    let mut statement = connection.prepare_cached(&format!("SELECT {JOURNAL} FROM journal {rest}"))?;
    let mut found = Vec::new();
    for raw in statement.query_map(given, Raw::read)? {
        found.push(raw?.entry(connection)?);
    }
    Ok(found)
}

/// The last day whose end-of-day report was written by a moment, as the clock said then.
pub(crate) fn last_evening(connection: &Connection, by: Timestamp) -> Result<Option<Date>, StorageError> {
    let found = evening(connection, LAST_EVENING, Date::MAX, by)?;
    Ok(found.map(|evening| evening.day))
}

/// The end of a statement for the last report of a day …
pub(crate) const EVENING_OF: &str = "AND payload ->> 'day' = ?3 ORDER BY id DESC";
/// … and for that of the last day before it.
pub(crate) const LAST_EVENING: &str = "AND payload ->> 'day' < ?3 ORDER BY payload ->> 'day' DESC, id DESC";

/// An end-of-day report that was written.
pub(crate) struct Evening {
    pub(crate) day: Date,
    pub(crate) as_of: Timestamp,
    pub(crate) upto: u64,
}

/// The first of the end-of-day reports written by a moment that counts; with [`Timestamp::MAX`] each does.
pub(crate) fn evening(
    connection: &Connection,
    rest: &str,
    day: Date,
    by: Timestamp,
) -> Result<Option<Evening>, StorageError> {
    let sql = format!(
        "SELECT {JOURNAL} FROM journal WHERE kind = 'evening-written' AND +job = ?1 AND made_us <= ?2 {rest}"
    );
    let mut statement = connection.prepare_cached(&sql)?;
    let given = (SHOP, by.as_microsecond(), day.to_string());
    for raw in statement.query_map(given, Raw::read)? {
        let entry = raw?.entry(connection)?;
        if let Event::Shop(ShopEvent::EveningWritten { day, as_of, upto }) = entry.event
            && (by == Timestamp::MAX || !was_ahead(connection, &entry, as_of)?)
        {
            return Ok(Some(Evening { day, as_of, upto }));
        }
    }
    Ok(None)
}

/// Whether the clock by which a day's report was written was set back into the day afterwards: then an entry
/// follows that was made before the closing time and has the report's own moment of storing, because none
/// is earlier than that of the entry before.
fn was_ahead(connection: &Connection, report: &Entry, as_of: Timestamp) -> Result<bool, StorageError> {
    // Stored later than the clock said: it is the one before that was ahead.
    if report.stored != report.origin.made {
        return Ok(false);
    }
    let sql = "SELECT EXISTS (SELECT 1 FROM journal WHERE id > ?1 AND +made_us < ?3 AND id < coalesce(
             (SELECT id FROM journal WHERE id > ?1 AND stored_us > ?2 ORDER BY id LIMIT 1), ?4))";
    let given = (
        rows::whole(report.id)?,
        report.stored.as_microsecond(),
        as_of.as_microsecond(),
        i64::MAX,
    );
    let mut statement = connection.prepare_cached(sql)?;
    Ok(statement.query_row(given, |row| row.get(0))?)
}

/// The day of the last sweep made by a moment, as the clock said then.
pub(crate) fn last_swept(connection: &Connection, by: Timestamp) -> Result<Option<Date>, StorageError> {
    let rest = "WHERE job = ?1 AND kind = 'swept' AND made_us <= ?2 ORDER BY seq DESC LIMIT 1";
    let found = entries(connection, rest, (SHOP, by.as_microsecond()))?;
    Ok(found.first().and_then(|entry| match entry.event {
        Event::Shop(ShopEvent::Swept { day, .. }) => Some(day),
        _ => None,
    }))
}

/// The statement behind [`jobs_of_rider`].
pub(crate) const RIDER_SQL: &str = "SELECT number, rider FROM job INDEXED BY job_rider";

/// Jobs of riders of a name, by number, whatever the case and the blanks ([`name_key`]).
pub(crate) fn jobs_of_rider(connection: &Connection, name: &str) -> Result<Vec<Job>, StorageError> {
    let key = name_key(name);
    let mut numbers = Vec::new();
    let mut statement = connection.prepare_cached(RIDER_SQL)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        if name_key(&row.get::<_, String>(1)?) == key {
            numbers.push(row.get::<_, u32>(0)?);
        }
    }
    numbers.sort_unstable();
    let mut state = connection.prepare_cached("SELECT state FROM job WHERE number = ?1")?;
    let mut found = Vec::with_capacity(numbers.len());
    for number in numbers {
        let text: String = state.query_row([number], |row| row.get(0))?;
        found.push(rows::job(number, &text)?);
    }
    Ok(found)
}

/// The statement behind [`jobs_of_frame`].
pub(crate) const FRAME_SQL: &str = "SELECT number, state ->> '$.facts.\"frame-number\".value.text' AS frame, state FROM job \
     WHERE frame IS NOT NULL ORDER BY number";

/// Jobs of bicycles whose frame bears a number, by number of the job; spaces and capitals do not count.
pub(crate) fn jobs_of_frame(connection: &Connection, frame: &str) -> Result<Vec<Job>, StorageError> {
    let key = mark_key(frame);
    let mut statement = connection.prepare_cached(FRAME_SQL)?;
    let mut rows = statement.query([])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        if mark_key(&row.get::<_, String>(1)?) == key {
            found.push(rows::job(row.get(0)?, &row.get::<_, String>(2)?)?);
        }
    }
    Ok(found)
}

/// The number of the last entry of a job; 0 before the first.
pub(crate) fn last_seq(connection: &Connection, job: u32) -> Result<u64, StorageError> {
    let sql = "SELECT coalesce(max(seq), 0) FROM journal WHERE job = ?1";
    let last: i64 = connection
        .prepare_cached(sql)?
        .query_row([job], |row| row.get(0))?;
    Ok(last.cast_unsigned())
}

/// The entries of one job, in order.
pub(crate) fn history(connection: &Connection, job: u32, after_seq: u64) -> Result<Vec<Entry>, StorageError> {
    entries(
        connection,
        "WHERE job = ?1 AND seq > ?2 ORDER BY seq",
        (job, rows::whole(after_seq)?),
    )
}

/// Parts chosen by the end of a statement, from `WHERE` on.
pub(crate) fn parts(
    connection: &Connection,
    rest: &str,
    given: impl Params,
) -> Result<Vec<Part>, StorageError> {
    let mut statement =
        connection.prepare_cached(&format!("SELECT id, kind, attributes FROM part {rest}"))?;
    let mut found = Vec::new();
    let rows = statement.query_map(given, |row| {
        Ok((
            row.get::<_, String>(0)?,
            row.get::<_, String>(1)?,
            row.get::<_, String>(2)?,
        ))
    })?;
    for row in rows {
        let (id, kind, attributes) = row?;
        found.push(rows::part(id, &kind, &attributes)?);
    }
    Ok(found)
}

pub(crate) fn part(connection: &Connection, id: &str) -> Result<Option<Part>, StorageError> {
    Ok(parts(connection, "WHERE id = ?1", [id])?.pop())
}
