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

use crate::standing::zone_of;

/// Hour of the night, local time (workshop setting). 02:00 may be skipped or come twice at a
/// clock change; the time zone's rules then name the instant that stands for it.
const HOUR: i8 = 2;
/// Pause between two looks at the clock, and before the first: boot comes first.
const LOOK: Duration = Duration::from_secs(60);

/// Pause after a backup that failed.
const AFTER_FAILURE: Duration = Duration::from_secs(3600);

/// How long an answer is kept for a client that asks again (judgement: clients ask again within
/// seconds, so a week is ample).
const KEPT: Duration = Duration::from_secs(7 * 86_400);

/// Makes the backup whenever it is due.
///
/// # Errors
/// What the store or the clock says when it is looked what is due; the supervisor begins it again.
pub(crate) async fn keep(store: Arc<Store>, system: TimeZone) -> Result<(), String> {
    let mut pause = LOOK;
    loop {
        tokio::time::sleep(pause).await;
        pause = turn(&store, &system, Timestamp::now()).await?;
    }
}

/// Makes the backup if it is due; gives the pause until the next look. A backup that fails is a copy of
/// the whole file each time, so it is not tried again at once.
///
/// # Errors
/// As [`keep`].
async fn turn(store: &Arc<Store>, system: &TimeZone, now: Timestamp) -> Result<Duration, String> {
    let (last, entries, shop) = look(store, now).await?;
    let zone = zone_of(&shop, system);
    if entries == 0 || !is_due(now, last, &zone).map_err(|error| error.to_string())? {
        return Ok(LOOK);
    }
    match back_up(store, now).await {
        Ok(()) => Ok(LOOK),
        Err(error) => {
            tracing::error!(error, "the nightly backup was not made; tried again in an hour");
            Ok(AFTER_FAILURE)
        }
    }
}

/// Makes and proves the backup, and clears away what is not needed any more. What cannot be cleared away
/// waits for the next night: the backup is there.
async fn back_up(store: &Arc<Store>, now: Timestamp) -> Result<(), String> {
    let folder = store.path().with_file_name(BACKUPS);
    let ahead = store.backups_ahead(now).map_err(|error| error.to_string())?;
    for path in ahead {
        tracing::warn!(path = %path.display(), "a backup is dated later than now: the clock was wrong, or is");
    }
    let done = store
        .backup(&folder, now)
        .await
        .map_err(|error| error.to_string())?;
    tracing::info!(path = %done.path.display(), entries = done.entries, "nightly backup made and verified");
    for problem in &done.problems {
        tracing::error!(problem, "a photo is not in the nightly backup");
    }
    let (pruned, forgotten) = (prune(store, now).await, forget(store, now).await);
    for error in [pruned, forgotten].into_iter().filter_map(Result::err) {
        tracing::error!(
            error,
            "the backup is made, but not all is cleared away; tried again tomorrow night"
        );
    }
    Ok(())
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

/// Forgets answers that nobody will ask for again, so that they do not grow for ever, and what was
/// removed and still lies in the file because cleaning it failed.
async fn forget(store: &Store, now: Timestamp) -> Result<(), String> {
    let before = now - KEPT;
    let forgotten = store
        .write(move |tx| {
            tx.clean_if_needed()?;
            Ok(tx.forget_answers(before)?)
        })
        .await
        .map_err(|error| error.to_string())?;
    tracing::info!(forgotten, "answers of repeated requests forgotten");
    Ok(())
}

/// When the last backup was made, how many entries there are, and the shop.
async fn look(store: &Arc<Store>, now: Timestamp) -> Result<(Option<Timestamp>, u64, Arc<Shop>), String> {
    let store = store.clone();
    let look = tokio::task::spawn_blocking(move || {
        let last = store
            .last_backup(now)
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
    use std::path::Path;

    use lockring_domain::entry::{Entry, Event};
    use lockring_domain::job::Job;
    use lockring_domain::origin::Origin;
    use lockring_domain::private;
    use lockring_domain::removal::Removal;

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

    /// A list beside the backups that cannot be read keeps the file from being cleaned after a removal.
    #[tokio::test]
    async fn a_cleaning_that_failed_is_done_at_night() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path()).unwrap();
        let list = folder.path().join(BACKUPS).join("removed.jsonl");
        std::fs::create_dir_all(list.parent().unwrap()).unwrap();
        std::fs::write(&list, "no line of a list\n").unwrap();
        let origin = origin();
        let taken_in = Event::TakenIn {
            rider: "Ines H.".into(),
        };
        let removed = Event::RiderRemoved(Removal {
            on: jiff::civil::date(2026, 3, 10),
            why: "asked for it".into(),
            who: [1].into(),
            words: [].into(),
            pictures: [].into(),
            although: Vec::new(),
        });
        for event in [taken_in, removed] {
            let origin = origin.clone();
            let added = store.write(move |tx| {
                let draft = tx.entries(1)?;
                let after = folded(draft, &origin, &event);
                Ok(tx.append(1, &origin, origin.made, &[event], &after)?)
            });
            added.await.unwrap();
        }
        let is_uncleaned = || store.read(|reader| reader.is_uncleaned()).unwrap();
        assert!(is_uncleaned());
        std::fs::remove_file(&list).unwrap();
        forget(&store, Timestamp::now()).await.unwrap();
        assert!(!is_uncleaned());
    }

    /// A shop with one entry.
    async fn begun(folder: &Path) -> Arc<Store> {
        let store = Arc::new(Store::open(folder).unwrap());
        let (origin, event) = (
            origin(),
            Event::TakenIn {
                rider: "Ada N.".into(),
            },
        );
        let after = folded(Vec::new(), &origin, &event);
        let added = store.write(move |tx| Ok(tx.append(1, &origin, origin.made, &[event], &after)?));
        added.await.unwrap();
        store
    }

    #[tokio::test]
    async fn a_backup_dated_in_the_future_stops_none() {
        let folder = tempfile::tempdir().unwrap();
        let store = begun(folder.path()).await;
        let backups = folder.path().join(BACKUPS);
        store.backup(&backups, at("2031-01-01T02:00Z")).await.unwrap();
        let now = at("2026-03-10T09:00Z");
        assert_eq!(turn(&store, &TimeZone::UTC, now).await, Ok(LOOK));
        assert_eq!(store.last_backup(now).unwrap().map(|last| last.at), Some(now));
        // Once a night all the same.
        let later = at("2026-03-10T10:00Z");
        assert_eq!(turn(&store, &TimeZone::UTC, later).await, Ok(LOOK));
        assert_eq!(store.last_backup(later).unwrap().map(|last| last.at), Some(now));
    }

    #[tokio::test]
    async fn a_backup_that_failed_is_not_tried_again_at_once() {
        let folder = tempfile::tempdir().unwrap();
        let store = begun(folder.path()).await;
        let unfinished = folder.path().join(BACKUPS).join(".unfinished-lockring-folder");
        std::fs::create_dir_all(&unfinished).unwrap();
        let now = at("2026-03-10T09:00Z");
        assert_eq!(turn(&store, &TimeZone::UTC, now).await, Ok(AFTER_FAILURE));
        std::fs::remove_dir(unfinished).unwrap();
        assert_eq!(turn(&store, &TimeZone::UTC, now).await, Ok(LOOK));
    }

    fn origin() -> Origin {
        Origin {
            by: "AB".into(),
            terminal: "bench 1".into(),
            made: at("2026-03-10T09:00Z"),
        }
    }

    /// The job that one more entry leads to.
    fn folded(mut history: Vec<Entry>, origin: &Origin, event: &Event) -> Job {
        if let Event::RiderRemoved(removal) = event {
            private::redact(&mut history, removal);
        }
        let seq = history.len() as u64 + 1;
        history.push(Entry {
            id: seq,
            job: 1,
            seq,
            origin: origin.clone(),
            stored: origin.made,
            event: event.clone(),
            previous: [0; 32],
            hash: [0; 32],
        });
        Job::fold(&history).unwrap()
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
