//! What the daemon does by itself at the times of the shop's day: the sweep in the morning, the
//! end-of-day report at closing time. The nightly backup stands in `lifecycle::nightly`.
//!
//! Every look asks the same question, what is due at this moment that was not done yet, and
//! the answer follows from the journal and the clock alone. So a look may come late, twice, or
//! after weeks in which the machine was off; what is done is done once for each calendar day,
//! whatever the clock or the time zone does meanwhile, because days only go forward.

use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;

use crate::service::Daemon;

pub(crate) mod evening;
mod hand;
mod sweep;
#[cfg(test)]
mod tests;

/// Pause between two looks at the clock, and before the first: boot comes first.
const LOOK: Duration = Duration::from_secs(60);

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

/// One look: the sweep of the day, then the report of every working day that has closed since
/// the last one written.
///
/// # Errors
/// As [`keep`].
pub(crate) async fn look(daemon: &Arc<Daemon>, now: Timestamp) -> Result<(), String> {
    let now = lockring_store::whole_microseconds(now);
    sweep::sweep(daemon, now).await?;
    while let Some(written) = evening::write_next(daemon, now).await? {
        hand::hand_over(daemon, &written).await?;
    }
    Ok(())
}
