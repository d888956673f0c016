//! What the daemon does by itself at the times of the shop's day: the sweep in the morning, the
//! end-of-day report at closing time. The nightly backup stands in `lifecycle::nightly`.
//!
//! Every look asks the same question, what is due at this moment that was not done yet, and
//! the answer follows from the journal and the clock alone. So a look may come late, twice, or
//! after weeks in which the machine was off; what is done is done once for each calendar day,
//! whatever the clock or the time zone does meanwhile, because days only go forward.

use std::sync::Arc;
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use lockring_store::{LEAP, StorageError};

use crate::service::{Daemon, finish_removals};

pub(crate) mod evening;
mod hand;
mod sweep;
#[cfg(test)]
mod tests;

/// Pause between two looks at the clock, and before the first: boot comes first.
const LOOK: Duration = Duration::from_secs(60);

/// How long somebody has to have worked after a leap of the clock before it is believed (judgement: longer than
/// somebody needs to see that it is wrong, and shorter than a day's work).
const WORKED_FOR: SignedDuration = SignedDuration::from_hours(1);

/// Reports of one look at most: a month of working days.
const AT_ONCE: usize = 23;

/// The clock, handed in so that tests can set it.
pub(crate) type Clock = Arc<dyn Fn() -> Timestamp + Send + Sync>;

/// The machine's clock.
pub(crate) fn system_clock() -> Clock {
    Arc::new(Timestamp::now)
}

/// Does whatever is due, look after look.
///
/// # Errors
/// What the store or a file says; the supervisor begins it again.
pub(crate) async fn keep(daemon: Arc<Daemon>, clock: Clock) -> Result<(), String> {
    loop {
        tokio::time::sleep(LOOK).await;
        look(&daemon, clock()).await?;
    }
}

/// One look: what a removal that was cut off left to do, the sweep of the day, then the report of every
/// working day that has closed since the last one written. None of them keeps the others from being done; after
/// a leap of the clock that nobody has worked by yet, sweep and reports wait.
///
/// # Errors
/// As [`keep`]; the first of them.
pub(crate) async fn look(daemon: &Arc<Daemon>, now: Timestamp) -> Result<(), String> {
    let now = lockring_store::whole_microseconds(now);
    let removed = finish_removals(daemon).await;
    if has_leapt(daemon, now).await? {
        tracing::debug!("the clock leapt ahead, or the shop was closed: neither sweep nor report yet");
        return removed;
    }
    let swept = sweep::sweep(daemon, now).await;
    let told = tell(daemon, now).await;
    removed.and(swept).and(told)
}

/// Whether nobody entered anything for so long that the clock may be wrong, so that days seem to have come that
/// have not. It is believed an hour after somebody enters something; what the daemon does by it says nothing.
async fn has_leapt(daemon: &Arc<Daemon>, now: Timestamp) -> Result<bool, String> {
    let daemon = daemon.clone();
    let looked = tokio::task::spawn_blocking(move || {
        let worked = now - WORKED_FOR;
        let last = daemon
            .store
            .read(|reader| reader.last_made_before(worked, evening::BY))?;
        Ok(last.is_some_and(|last| now.duration_since(last) > LEAP))
    });
    let has_leapt: Result<bool, StorageError> = looked.await.map_err(|error| error.to_string())?;
    has_leapt.map_err(|error| error.to_string())
}

/// Writes the reports that are due, oldest first: after a long time, or a clock that jumped, those of
/// the first days, and the rest with the next look.
async fn tell(daemon: &Arc<Daemon>, now: Timestamp) -> Result<(), String> {
    for _ in 0..AT_ONCE {
        let Some(written) = evening::write_next(daemon, now).await? else {
            break;
        };
        hand::hand_over(daemon, &written).await?;
    }
    Ok(())
}
