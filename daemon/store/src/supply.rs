//! Pieces and the shelf: where a mark is and was; and whose clock runs where.

use lockring_domain::labour::Running;
use lockring_domain::part::Slot;
use lockring_domain::stage::Stage;
use lockring_domain::supply::piece::Holder;
use rusqlite::Connection;

use crate::error::StorageError;

pub(crate) const HOLDERS: &str = "SELECT part_id, job, slot, NULL FROM piece
     WHERE serial_key = ?1 AND left_us IS NULL
     UNION ALL
     SELECT part_id, NULL, NULL, number FROM shelf_item WHERE serial_key = ?1 AND count > 0";

/// Where pieces with a serial number are now.
pub(crate) fn holders(connection: &Connection, serial_key: &str) -> Result<Vec<Holder>, StorageError> {
    let mut statement = connection.prepare_cached(HOLDERS)?;
    let mut rows = statement.query([serial_key])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let slot: Option<String> = row.get(2)?;
        let item: Option<i64> = row.get(3)?;
        found.push(Holder {
            part: row.get(0)?,
            job: row.get(1)?,
            slot: slot.as_deref().and_then(Slot::from_word),
            item: item.map(i64::cast_unsigned),
        });
    }
    Ok(found)
}

/// Clocks out of the states of jobs, without the rest of them.
pub(crate) const CLOCKS: &str = "SELECT number, stint.value ->> 'stage'
     FROM job, json_each(job.state, '$.labour') AS stint
     WHERE outstanding = 1 AND stint.value ->> 'who' = ?1 AND stint.value ->> 'to' IS NULL
     ORDER BY number";

/// The clocks that run for somebody, by job: such a job is outstanding.
pub(crate) fn clocks(connection: &Connection, who: &str) -> Result<Vec<Running>, StorageError> {
    let mut statement = connection.prepare_cached(CLOCKS)?;
    let mut rows = statement.query([who])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let (job, stage): (u32, String) = (row.get(0)?, row.get(1)?);
        let stage = Stage::from_word(&stage).ok_or_else(|| {
            StorageError::unreadable(
                format!("a clock of job {job}"),
                format!("unknown stage `{stage}`"),
            )
        })?;
        found.push(Running { job, stage });
    }
    Ok(found)
}

/// The statement behind [`crate::Reader::jobs_with_orders`].
pub(crate) const fn jobs_sql(unsettled: bool) -> &'static str {
    if unsettled {
        "SELECT number, state FROM job
         WHERE number IN (SELECT job FROM order_line WHERE settled = 0) ORDER BY number"
    } else {
        "SELECT number, state FROM job WHERE number IN (SELECT job FROM order_line) ORDER BY number"
    }
}

/// Bicycles that were handed over and had a part swapped since: the piece that went on then came from no order and no
/// shelf, so that it has no supplier, and lies on the job still.
pub(crate) const SWAPPED: &str = "SELECT p.job FROM piece AS p JOIN job AS j ON j.number = p.job
     WHERE p.supplier_key IS NULL AND p.left_us IS NULL AND j.stage = 'handed-over'
     AND json_array_length(j.state, '$.after.swaps') > 0";

/// The statement behind [`crate::Reader::jobs_swapped`].
pub(crate) fn swapped_sql() -> String {
    format!("SELECT number, state FROM job WHERE number IN ({SWAPPED}) ORDER BY number")
}
