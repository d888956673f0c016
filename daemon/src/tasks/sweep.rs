//! The sweep: once on each working day, order lines past their day open a block, and what has
//! to be asked again or cannot be kept is counted.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::command;
use lockring_domain::entry::Entry;
use lockring_domain::job::Job;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::shop::{SHOP, ShopDraft};
use lockring_store::{StorageError, Tx, WriteError};

use super::evening::origin;
use crate::report::promises;
use crate::service::{Daemon, open_jobs};
use crate::standing::Standing;

/// What a sweep found.
struct Found {
    day: Date,
    late: Vec<u32>,
    chase: u32,
    at_risk: u32,
}

/// Sweeps, if the day is worked and was not swept.
///
/// # Errors
/// What the store says.
pub(super) async fn sweep(daemon: &Arc<Daemon>, now: Timestamp) -> Result<(), String> {
    let looking = daemon.clone();
    let found = tokio::task::spawn_blocking(move || look(&looking, now))
        .await
        .map_err(|error| error.to_string())?
        .map_err(|error| error.to_string())?;
    let Some(found) = found else {
        return Ok(());
    };
    let entries = daemon
        .store
        .write(move |tx| write(tx, &found, now))
        .await
        .map_err(|error| error.to_string())?;
    daemon.feed.publish(entries);
    Ok(())
}

/// What is to be done on the day; `None` when there is nothing.
fn look(daemon: &Daemon, now: Timestamp) -> Result<Option<Found>, StorageError> {
    daemon.store.read(|reader| {
        let at = Standing::of(reader.shop()?, &daemon.zone);
        let day = now.to_zoned_datetime(at.zone.clone()).date();
        let mut is_done = at.shop.swept.is_some_and(|last| last >= day);
        if is_done {
            // By a clock that was ahead, perhaps.
            is_done = reader.last_swept(now)?.is_some_and(|last| last >= day);
        }
        if is_done || !at.shop.calendar.is_working(day) {
            return Ok(None);
        }
        let jobs = open_jobs(reader)?;
        if jobs.is_empty() {
            return Ok(None);
        }
        let is_late = |job: &&Arc<Job>| !command::late_lines(job, day).is_empty();
        let to_ask = |job: &&Arc<Job>| job.hold.is_none();
        let chase = jobs.iter().filter(to_ask).flat_map(|job| &job.blocks);
        let chase = chase.filter(|block| block.chase.is_some_and(|chase| chase <= day));
        Ok(Some(Found {
            day,
            late: jobs.iter().filter(is_late).map(|job| job.number).collect(),
            chase: u32::try_from(chase.count()).unwrap_or(u32::MAX),
            at_risk: promises::report(&jobs, &at, now).at_risk(),
        }))
    })
}

/// Opens the blocks and says that the day was swept, in one transaction.
fn write(tx: &mut Tx<'_>, found: &Found, now: Timestamp) -> Result<Vec<Entry>, WriteError> {
    let shop = Arc::unwrap_or_clone(tx.shop()?);
    if tx.last_swept(now)?.is_some_and(|last| last >= found.day) {
        return Ok(Vec::new());
    }
    let mut entries = Vec::new();
    let mut overdue = 0;
    for number in &found.late {
        let swept = tx
            .job(*number)?
            .and_then(|job| command::sweep(job, found.day, origin(now)));
        if let Some(draft) = swept {
            overdue += u32::try_from(draft.opened.len()).unwrap_or(u32::MAX);
            entries.extend(tx.append(*number, &draft.origin, now, &draft.events, &draft.job)?);
        }
    }
    let mut draft = ShopDraft::new(shop, tx.last_seq(SHOP)?, origin(now));
    draft.push(ShopEvent::Swept {
        day: found.day,
        overdue,
        chase: found.chase,
        at_risk: found.at_risk,
    });
    entries.extend(tx.append_shop(&draft.origin, now, &draft.events, &draft.shop)?);
    Ok(entries)
}
