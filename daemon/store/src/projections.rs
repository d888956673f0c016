//! The tables that are written from a job's state alone, and the rows a job has in each.

use lockring_domain::job::Job;
use lockring_domain::supply::{mark_key, supplier};
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
    /// The rows a job has in it.
    pub(crate) rows: fn(&Job) -> Result<Vec<Vec<Value>>, StorageError>,
}

/// The tables written from a job's state, those that others refer to first.
pub(crate) const PROJECTIONS: [Table; 3] = [
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
        rows: job_rows,
    },
    Table {
        name: "order_line",
        columns: &["job", "number", "settled"],
        key: 2,
        rows: order_rows,
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
        rows: piece_rows,
    },
];

fn job_rows(job: &Job) -> Result<Vec<Vec<Value>>, StorageError> {
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
        json(job, "the state of a job")?,
    ]])
}

fn order_rows(job: &Job) -> Result<Vec<Vec<Value>>, StorageError> {
    let row = |line: &lockring_domain::supply::line::OrderLine| {
        Ok(vec![
            job.number.into(),
            whole(line.number)?.into(),
            line.is_settled().into(),
        ])
    };
    job.orders.iter().map(row).collect()
}

fn piece_rows(job: &Job) -> Result<Vec<Vec<Value>>, StorageError> {
    let row = |(number, piece): (i64, &lockring_domain::supply::piece::Piece)| {
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
    (1..).zip(&job.pieces).map(row).collect()
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
