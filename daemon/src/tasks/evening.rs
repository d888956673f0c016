//! The end-of-day report: which day's is due, what it says, and writing it once.
//!
//! The report of a day tells what had been made by that day's closing time and was known when
//! it was written. First the files are put in place, each by a rename, then the entry that says
//! so; after a crash between the two the files are written again, with the same words.

use std::fs::File;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_domain::entry::Entry;
use lockring_domain::origin::Origin;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::shop::{SHOP, Shop, ShopDraft};
use lockring_store::{Reader, StorageError, Tx, WriteError};

use crate::report::evening;
use crate::report::known::{Cut, Known};
use crate::service::{Daemon, report_sheet};
use crate::standing::zone_of;

/// The folder of the reports, beside the data file.
pub(crate) const REPORTS: &str = "reports";
/// Who the daemon is in the history.
pub(super) const BY: &str = "lockringd";

/// A day whose report is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Due {
    /// The day.
    pub(crate) day: Date,
    /// Its closing time.
    pub(crate) as_of: Timestamp,
}

/// What a report says, as text for people and as JSON for programs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Page {
    /// Text of 80 columns.
    pub(crate) text: String,
    /// JSON of the contract's messages.
    pub(crate) json: String,
}

/// A report that was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Written {
    /// The day.
    pub(crate) day: Date,
    /// The text.
    pub(crate) text: PathBuf,
    /// The JSON.
    pub(crate) json: PathBuf,
}

/// The earliest working day after the `last` one written that has closed by `now`. A shop that
/// was never reported on begins with the first closing after its first entry, `begun`.
///
/// A closing time that a clock change skips is the moment the rules of the zone put for it; one
/// that comes twice is the first of the two.
pub(crate) fn next_due(
    shop: &Shop,
    last: Option<Date>,
    zone: &TimeZone,
    begun: Timestamp,
    now: Timestamp,
) -> Option<Due> {
    let day_of = |moment: Timestamp| moment.to_zoned_datetime(zone.clone()).date();
    let mut day = match last {
        Some(last) => last.tomorrow().ok()?,
        None => day_of(begun),
    };
    // By the shop's clock today may be before the last day written, after a change of zone.
    let today = day_of(now);
    while day <= today {
        let as_of = day
            .to_datetime(shop.closing_time())
            .to_zoned_datetime(zone.clone())
            .ok()?
            .timestamp();
        if as_of > now {
            return None;
        }
        let has_begun = last.is_some() || as_of > begun;
        if has_begun && shop.calendar.is_working(day) {
            return Some(Due { day, as_of });
        }
        day = day.tomorrow().ok()?;
    }
    None
}

/// What the report of a day says: to the letter what `lockring report day` and its `--json` print of
/// that day afterwards. `by` is when it is written, as for [`Cut::written`].
pub(crate) fn page(
    reader: &Reader<'_>,
    system: &TimeZone,
    due: Due,
    upto: u64,
    by: Timestamp,
) -> Result<Page, StorageError> {
    let cut = Cut::written(reader, due.day, due.as_of, upto, by)?;
    let known = Known::read(reader, cut, due.day, system)?;
    let sheet = report_sheet(&evening::page(&known, &known.span(due.day, due.day)));
    let json = serde_json::to_string(&sheet).expect("words and lists of words go into JSON");
    Ok(Page {
        text: lockring_proto::page::text(&sheet),
        json: json + "\n",
    })
}

/// Writes the report of the earliest day that is due; `None` when none is.
///
/// # Errors
/// What the store or a file says.
pub(super) async fn write_next(daemon: &Arc<Daemon>, now: Timestamp) -> Result<Option<Written>, String> {
    let Some((due, upto, page)) = compose(daemon, now).await? else {
        return Ok(None);
    };
    let folder = daemon.folder.join(REPORTS);
    let written = tokio::task::spawn_blocking(move || put(&folder, due.day, &page))
        .await
        .map_err(|error| error.to_string())?
        .map_err(|error| format!("the end-of-day report of {} cannot be written: {error}", due.day))?;
    let entries = daemon
        .store
        .write(move |tx| record(tx, due, upto, now))
        .await
        .map_err(|error| error.to_string())?;
    daemon.feed.publish(entries);
    tracing::info!(day = %due.day, path = %written.text.display(), "end-of-day report written");
    Ok(Some(written))
}

/// The day that is due, the last entry its report knows of, and what it says.
pub(super) async fn compose(
    daemon: &Arc<Daemon>,
    now: Timestamp,
) -> Result<Option<(Due, u64, Page)>, String> {
    let daemon = daemon.clone();
    let composed = tokio::task::spawn_blocking(move || {
        daemon.store.read(|reader| {
            let Some(begun) = reader.begun()? else {
                return Ok(None);
            };
            let shop = reader.shop()?;
            let zone = zone_of(&shop, &daemon.zone);
            let last = reader.last_evening(now)?;
            let Some(due) = next_due(&shop, last, &zone, begun, now) else {
                return Ok(None);
            };
            let upto = reader.counts()?.entries;
            Ok(Some((due, upto, page(reader, &daemon.zone, due, upto, now)?)))
        })
    });
    composed
        .await
        .map_err(|error| error.to_string())?
        .map_err(|error| error.to_string())
}

/// Puts the files in place: whole or not at all, and on the disk before anybody is told.
pub(super) fn put(folder: &Path, day: Date, page: &Page) -> std::io::Result<Written> {
    std::fs::create_dir_all(folder)?;
    let place = |ending: &str, content: &str| -> std::io::Result<PathBuf> {
        let path = folder.join(format!("{day}.{ending}"));
        let fresh = folder.join(format!(".{day}.{ending}.new"));
        let mut file = File::create(&fresh)?;
        file.write_all(content.as_bytes())?;
        file.sync_all()?;
        std::fs::rename(&fresh, &path)?;
        Ok(path)
    };
    let written = Written {
        day,
        text: place("txt", &page.text)?,
        json: place("json", &page.json)?,
    };
    File::open(folder)?.sync_all()?;
    Ok(written)
}

/// Writes a day's report again in the words it has now, after something it told was removed with
/// a rider. Nothing when no report of that day was written.
///
/// # Errors
/// What the store or a file says.
pub(crate) fn write_anew(
    reader: &Reader<'_>,
    system: &TimeZone,
    folder: &Path,
    day: Date,
) -> Result<(), StorageError> {
    // Whatever the clock said: the last that was written is what lies there.
    let ever = Timestamp::MAX;
    if let Some((as_of, upto)) = reader.evening(day, ever)? {
        let page = page(reader, system, Due { day, as_of }, upto, ever)?;
        put(&folder.join(REPORTS), day, &page)?;
    }
    Ok(())
}

/// Says in the journal that the report was written; nothing when it says so already.
pub(super) fn record(tx: &mut Tx<'_>, due: Due, upto: u64, now: Timestamp) -> Result<Vec<Entry>, WriteError> {
    if tx.last_evening(now)?.is_some_and(|last| last >= due.day) {
        return Ok(Vec::new());
    }
    let shop = Arc::unwrap_or_clone(tx.shop()?);
    let mut draft = ShopDraft::new(shop, tx.last_seq(SHOP)?, origin(now));
    draft.push(ShopEvent::EveningWritten {
        day: due.day,
        as_of: due.as_of,
        upto,
    });
    Ok(tx.append_shop(&draft.origin, now, &draft.events, &draft.shop)?)
}

/// The daemon as the origin of an entry.
pub(super) fn origin(now: Timestamp) -> Origin {
    Origin {
        by: BY.to_owned(),
        terminal: BY.to_owned(),
        made: now,
    }
}
