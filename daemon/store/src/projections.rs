//! The tables that are written from a job's state alone, and the rows a job has in each.

use lockring_domain::job::Job;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::piece::Piece;
use lockring_domain::supply::{mark_key, supplier};
use rusqlite::Connection;
use rusqlite::types::Value;

use crate::error::StorageError;
use crate::rows::whole;

/// A table that is written from a job's state alone.
pub(crate) struct Table {
    /// Name.
    pub(crate) name: &'static str,
    /// Columns; the first holds the job's number.
    pub(crate) columns: &'static [&'static str],
    /// How many columns, from the first, are the primary key.
    pub(crate) key: usize,
    /// The rows a job has in it; given another state of the job, only those that may differ there.
    rows_beside: fn(&Job, Option<&Job>) -> Result<Rows, StorageError>,
}

impl Table {
    /// The rows a job has in it.
    pub(crate) fn rows(&self, job: &Job) -> Result<Rows, StorageError> {
        (self.rows_beside)(job, None)
    }

    /// The rows a job has in it as they are stored.
    pub(crate) fn stored(&self, connection: &Connection, number: u32) -> Result<Rows, StorageError> {
        let sql = format!(
            "SELECT {} FROM {} WHERE {} = ?1",
            self.columns.join(", "),
            self.name,
            self.columns[0]
        );
        let mut statement = connection.prepare_cached(&sql)?;
        let width = self.columns.len();
        let rows = statement.query_map([number], |row| (0..width).map(|at| row.get(at)).collect())?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The text of the job's state out of its rows in this table; `None` in all tables but one.
    pub(crate) fn state(&self, rows: Rows) -> Option<String> {
        let place = self.columns.iter().position(|column| *column == "state")?;
        match rows.into_iter().next()?.into_iter().nth(place)? {
            Value::Text(state) => Some(state),
            _ => None,
        }
    }

    /// The statement that changes some columns in the row of a key; its places are numbered as the
    /// columns. What is not set costs no look into the indexes it stands in.
    pub(crate) fn update(&self, columns: &[usize]) -> String {
        let sets = self.places(columns.iter().copied(), ", ");
        let key = self.places(0..self.key, " AND ");
        format!("UPDATE {} SET {sets} WHERE {key}", self.name)
    }

    /// The statement that adds a row.
    pub(crate) fn insert(&self) -> String {
        let places: Vec<String> = (1..=self.columns.len()).map(|at| format!("?{at}")).collect();
        let (columns, places) = (self.columns.join(", "), places.join(", "));
        format!("INSERT INTO {} ({columns}) VALUES ({places})", self.name)
    }

    /// The statement that takes the row of a key out.
    pub(crate) fn delete(&self) -> String {
        format!(
            "DELETE FROM {} WHERE {}",
            self.name,
            self.places(0..self.key, " AND ")
        )
    }

    /// Columns, each beside its place.
    fn places(&self, columns: impl Iterator<Item = usize>, between: &str) -> String {
        let beside: Vec<String> = columns
            .map(|at| format!("{} = ?{}", self.columns[at], at + 1))
            .collect();
        beside.join(between)
    }

    /// The rows of two states of a job that may differ, old and new. The text of the older state is left
    /// out: it differs in any case.
    pub(crate) fn changed(&self, before: &Job, after: &Job) -> Result<(Rows, Rows), StorageError> {
        let old = (self.rows_beside)(before, Some(after))?;
        Ok((old, (self.rows_beside)(after, Some(before))?))
    }
}

/// Rows as they are stored.
pub(crate) type Rows = Vec<Vec<Value>>;

/// The tables written from a job's state, those that others refer to first.
pub(crate) static PROJECTIONS: [Table; 3] = [
    Table {
        name: "job",
        columns: &[
            "number",
            "stage",
            "is_over",
            "rider",
            "revision",
            "opened_us",
            "stage_since_us",
            "touched_us",
            "outstanding",
            "state",
        ],
        key: 1,
        rows_beside: job_rows,
    },
    Table {
        name: "order_line",
        columns: &["job", "number", "settled"],
        key: 2,
        rows_beside: order_rows,
    },
    Table {
        name: "piece",
        columns: &[
            "job",
            "number",
            "slot",
            "part_id",
            "kind",
            "name",
            "serial",
            "lot",
            "serial_key",
            "lot_key",
            "supplier",
            "supplier_key",
            "came_us",
            "item",
            "fate",
            "left_us",
            "why",
        ],
        key: 2,
        rows_beside: piece_rows,
    },
];

fn job_rows(job: &Job, beside: Option<&Job>) -> Result<Rows, StorageError> {
    let is_older = beside.is_some_and(|beside| job.revision < beside.revision);
    let state = if is_older {
        Value::Null
    } else {
        json(job, "the state of a job")?
    };
    Ok(vec![vec![
        job.number.into(),
        text(job.stage.word()),
        job.stage.is_end().into(),
        text(&job.rider),
        whole(job.revision)?.into(),
        job.opened.as_microsecond().into(),
        job.stage_since.as_microsecond().into(),
        job.touched.as_microsecond().into(),
        job.is_outstanding().into(),
        state,
    ]])
}

fn order_rows(job: &Job, beside: Option<&Job>) -> Result<Rows, StorageError> {
    let differs = |line: &&OrderLine| beside.is_none_or(|beside| !beside.orders.contains(line));
    let row = |line: &OrderLine| {
        Ok(vec![
            job.number.into(),
            whole(line.number)?.into(),
            line.is_settled().into(),
        ])
    };
    job.orders.iter().filter(differs).map(row).collect()
}

fn piece_rows(job: &Job, beside: Option<&Job>) -> Result<Rows, StorageError> {
    // A piece is known by its place in the list.
    let others = beside.map_or(&[][..], |beside| &beside.pieces);
    let differs = |(number, piece): &(i64, &Piece)| {
        let place = usize::try_from(*number - 1).ok();
        place.and_then(|place| others.get(place)) != Some(*piece)
    };
    let row = |(number, piece): (i64, &Piece)| {
        let left = piece.left.as_ref();
        Ok(vec![
            job.number.into(),
            number.into(),
            text(piece.slot.word()),
            text(&piece.goods.part),
            text(piece.goods.kind.word()),
            text(&piece.goods.name),
            piece.serial.clone().into(),
            piece.lot.clone().into(),
            key(piece.serial.as_ref()),
            key(piece.lot.as_ref()),
            piece.supplier.clone().into(),
            piece.supplier.as_deref().map(supplier::key).into(),
            piece.came.as_microsecond().into(),
            piece.item.map(whole).transpose()?.into(),
            left.map(|left| left.fate.word().to_owned()).into(),
            left.map(|left| left.at.as_microsecond()).into(),
            left.map(|left| left.why.clone()).into(),
        ])
    };
    (1..).zip(&job.pieces).filter(differs).map(row).collect()
}

/// A mark as it is looked for.
pub(crate) fn key(mark: Option<&String>) -> Value {
    mark.map(|mark| mark_key(mark)).into()
}

fn text(words: &str) -> Value {
    Value::Text(words.to_owned())
}

fn json<T: serde::Serialize>(value: &T, what: &str) -> Result<Value, StorageError> {
    let text =
        serde_json::to_string(value).map_err(|error| StorageError::unstorable(what, error.to_string()))?;
    Ok(Value::Text(text))
}
