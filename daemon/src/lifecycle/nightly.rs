//! The verified backup of every night.
//!
//! Due when no backup is younger than the last 02:00 of the shop's time zone; so it is made
//! once a night whatever the clock does, and caught up when the daemon was not running.

use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_domain::shop::Shop;
use lockring_store::{BACKUPS, Store};

use crate::service::zone_of;

/// Hour of the night, local time (workshop setting). 02:00 may be skipped or come twice at a
/// clock change; the time zone's rules then name the instant that stands for it.
const HOUR: i8 = 2;
/// Pause between two looks at the clock, and before the first: boot comes first.
const LOOK: Duration = Duration::from_secs(60);

/// How long an answer is kept for a client that asks again (judgement: clients ask again within
/// seconds, so a week is ample).
const KEPT: Duration = Duration::from_secs(7 * 86_400);

/// Makes the backup whenever it is due.
///
/// # Errors
/// What the store or the clock says; the supervisor begins it again.
pub(crate) async fn keep(store: Arc<Store>, system: TimeZone) -> Result<(), String> {
    loop {
        tokio::time::sleep(LOOK).await;
        let now = Timestamp::now();
        let (last, entries, shop) = look(&store).await?;
        let zone = zone_of(&shop, &system);
        if entries == 0 || !is_due(now, last, &zone).map_err(|error| error.to_string())? {
            continue;
        }
        let folder = store.path().with_file_name(BACKUPS);
        let done = store
            .backup(&folder, now)
            .await
            .map_err(|error| error.to_string())?;
        tracing::info!(path = %done.path.display(), entries = done.entries, "nightly backup made and verified");
        for problem in &done.problems {
            tracing::error!(problem, "a photo is not in the nightly backup");
        }
        prune(&store, now).await?;
        forget(&store, now).await?;
    }
}

/// Removes the backups that the new one makes superfluous.
async fn prune(store: &Arc<Store>, now: Timestamp) -> Result<(), String> {
    let store = store.clone();
    let pruned = tokio::task::spawn_blocking(move || store.prune_backups(now));
    let gone = pruned
        .await
        .map_err(|error| error.to_string())?
        .map_err(|error| error.to_string())?;
    for path in gone {
        tracing::info!(path = %path.display(), "an old backup removed");
    }
    Ok(())
}

/// Forgets answers that nobody will ask for again, so that they do not grow for ever.
async fn forget(store: &Store, now: Timestamp) -> Result<(), String> {
    let before = now - KEPT;
    let forgotten = store
        .write(move |tx| Ok(tx.forget_answers(before)?))
        .await
        .map_err(|error| error.to_string())?;
    tracing::info!(forgotten, "answers of repeated requests forgotten");
    Ok(())
}

/// When the last backup was made, how many entries there are, and the shop.
async fn look(store: &Arc<Store>) -> Result<(Option<Timestamp>, u64, Arc<Shop>), String> {
    let store = store.clone();
    let look = tokio::task::spawn_blocking(move || {
        let last = store
            .last_backup()
            .map_err(|error| error.to_string())?
            .map(|backup| backup.at);
        let (counts, shop) = store
            .read(|reader| Ok((reader.counts()?, reader.shop()?)))
            .map_err(|error| error.to_string())?;
        Ok((last, counts.entries, shop))
    });
    look.await.map_err(|error| error.to_string())?
}

/// Whether the last backup is older than the last 02:00.
fn is_due(now: Timestamp, last: Option<Timestamp>, zone: &TimeZone) -> Result<bool, jiff::Error> {
    let Some(last) = last else { return Ok(true) };
    let today = now.to_zoned_datetime(zone.clone()).date();
    let tonight = today
        .at(HOUR, 0, 0, 0)
        .to_zoned_datetime(zone.clone())?
        .timestamp();
    let boundary = if tonight <= now {
        tonight
    } else {
        today
            .yesterday()?
            .at(HOUR, 0, 0, 0)
            .to_zoned_datetime(zone.clone())?
            .timestamp()
    };
    Ok(last < boundary)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The time of an answer is that of the newest entry; an empty journal has none, so its
    /// answers are older than anything.
    #[tokio::test]
    async fn old_answers_are_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path()).unwrap();
        let request = || lockring_store::Request::new("a", "asked");
        store
            .write(move |tx| Ok(tx.remember(&request(), b"answer")?))
            .await
            .unwrap();
        forget(&store, Timestamp::now()).await.unwrap();
        let kept = store.write(move |tx| tx.answer(&request())).await.unwrap();
        assert_eq!(kept, None);
    }

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    #[test]
    fn once_a_night_and_caught_up() {
        let utc = TimeZone::UTC;
        assert!(is_due(at("2026-03-10T09:00Z"), None, &utc).unwrap());
        assert!(is_due(at("2026-03-10T09:00Z"), Some(at("2026-03-10T01:59Z")), &utc).unwrap());
        assert!(!is_due(at("2026-03-10T09:00Z"), Some(at("2026-03-10T02:00Z")), &utc).unwrap());
        assert!(!is_due(at("2026-03-10T01:00Z"), Some(at("2026-03-09T02:00Z")), &utc).unwrap());
        assert!(is_due(at("2026-03-10T01:00Z"), Some(at("2026-03-08T03:00Z")), &utc).unwrap());
    }

    /// The clocks of Berlin went from 02:00 CET to 03:00 CEST on 2026-03-29 and go back from
    /// 03:00 to 02:00 on 2026-10-25 (Directive 2000/84/EC: last Sundays of March and October,
    /// 01:00 UTC).
    #[test]
    fn once_at_a_clock_change() {
        let berlin = TimeZone::get("Europe/Berlin").unwrap();
        // 02:00 does not exist: 03:00 CEST, which is 01:00 UTC, stands for it.
        assert!(!is_due(at("2026-03-29T00:59Z"), Some(at("2026-03-28T01:30Z")), &berlin).unwrap());
        assert!(is_due(at("2026-03-29T01:01Z"), Some(at("2026-03-28T01:30Z")), &berlin).unwrap());
        assert!(!is_due(at("2026-03-29T01:30Z"), Some(at("2026-03-29T01:01Z")), &berlin).unwrap());
        // 02:00 comes twice, at 00:00 and 01:00 UTC: one backup is enough.
        assert!(is_due(at("2026-10-25T00:01Z"), Some(at("2026-10-24T00:30Z")), &berlin).unwrap());
        assert!(!is_due(at("2026-10-25T01:01Z"), Some(at("2026-10-25T00:01Z")), &berlin).unwrap());
    }
}
