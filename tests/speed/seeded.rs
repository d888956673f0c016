//! Shops with many closed jobs, made through the store as the daemon writes them, so that their
//! journals and tables verify. Riders, marks and days are invented.
//!
//! A closed job here is a lean one: some twenty entries, four marked pieces, gates without kept
//! findings. A real job of the demo takes ten times the room, most of it what its checks said.
//!
//! A shop of more than [`WHOLE`] jobs is that many times a shop of so many, each copy older than the
//! one after it: the tables and their indexes are as long as they would be, but its journal does not
//! verify, for a copied entry keeps the hash that it had.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use lockring_domain::block::{Family, Whose};
use lockring_domain::entry::{Entry, Event};
use lockring_domain::fact::{Provenance, Value};
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::part::{Part, Slot};
use lockring_domain::receipt::Receipt;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::shop::{SHOP, ShopDraft};
use lockring_domain::stage::Stage;
use lockring_store::{Store, Tx, WriteError, whole_microseconds};
use rusqlite::Connection;

use super::served::one_thread;

/// Jobs that are still open, in every shop.
pub const OPEN: u32 = 20;
/// Jobs taken in on a day; a larger shop is an older one.
const A_DAY: i64 = 50;
/// Bicycles with a pack of one lot.
pub const LOT: u32 = 40;
/// Most closed jobs that are made one by one; a multiple of [`LOT`].
const WHOLE: u32 = 100_000;
/// Jobs in one transaction.
const BATCH: usize = 500;

/// A job, and the events of its history with the moment each was made.
struct Made {
    number: u32,
    at: Timestamp,
    events: Vec<Event>,
    job: Job,
}

/// The folder of a shop with so many closed jobs; made now when it is not there from another run.
pub fn folder(closed: u32) -> PathBuf {
    let home = std::env::var_os("LOCKRING_SPEED_FOLDER").map_or_else(
        || Path::new(env!("CARGO_TARGET_TMPDIR")).join("speed"),
        PathBuf::from,
    );
    let folder = home.join(format!("jobs-{closed}"));
    if is_full(&folder, closed) {
        return folder;
    }
    let _nothing_there = std::fs::remove_dir_all(&folder);
    if closed > WHOLE {
        assert!(closed.is_multiple_of(WHOLE), "{closed} is no multiple of {WHOLE}");
        // Under another name until it is whole: it is not written durably.
        let unfinished = home.join(format!("jobs-{closed}.new"));
        let _nothing_there = std::fs::remove_dir_all(&unfinished);
        std::fs::create_dir_all(&unfinished).unwrap();
        multiply(&unfinished, &self::folder(WHOLE), WHOLE, closed / WHOLE);
        std::fs::rename(&unfinished, &folder).unwrap();
    } else {
        std::fs::create_dir_all(&folder).unwrap();
        fill(&folder, closed);
    }
    folder
}

/// Fills an empty folder with so many copies of another's closed jobs, and its open ones.
fn multiply(folder: &Path, of: &Path, whole: u32, copies: u32) {
    Store::open(folder).unwrap().close().unwrap();
    let connection = Connection::open(folder.join("lockring.db")).unwrap();
    let copied = of.join("lockring.db");
    connection
        .execute("ATTACH ?1 AS whole", [copied.to_str().unwrap()])
        .unwrap();
    connection
        .execute_batch(
            "PRAGMA main.journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA foreign_keys = OFF;
             PRAGMA cache_size = -200000;
             CREATE TEMP TABLE placed (was INTEGER PRIMARY KEY, id INTEGER NOT NULL);
             CREATE TEMP TABLE copy (up INTEGER NOT NULL, us INTEGER NOT NULL, last INTEGER NOT NULL, whole INTEGER NOT NULL, lot_of INTEGER NOT NULL);",
        )
        .unwrap();
    let span = i64::from(whole) * 86_400_000_000 / A_DAY;
    for copy in 0..copies {
        let is_last = copy + 1 == copies;
        let back = i64::from(copies - 1 - copy) * span;
        connection
            .execute_batch("DELETE FROM placed; DELETE FROM copy;")
            .unwrap();
        connection
            .execute(
                "INSERT INTO copy VALUES (?1, ?2, ?3, ?4, ?5)",
                (copy * whole, back, is_last, whole, LOT),
            )
            .unwrap();
        connection.execute_batch(COPY).unwrap();
    }
    connection.execute_batch("PRAGMA journal_mode = WAL").unwrap();
}

/// One copy: entries of jobs, with the last copy also those of the shop, and what follows from them.
const COPY: &str = "
    BEGIN;
    INSERT INTO placed SELECT id, (SELECT coalesce(max(id), 0) FROM main.journal) + row_number() OVER (ORDER BY id)
        FROM whole.journal, copy WHERE last OR job BETWEEN 1 AND whole;
    INSERT INTO main.journal SELECT placed.id, iif(job = 0, 0, job + up), seq, made_us - us, stored_us - us, by_whom,
            terminal, kind, version, payload, previous, hash
        FROM whole.journal AS entry, copy JOIN placed ON was = entry.id ORDER BY placed.id;
    INSERT INTO main.private SELECT placed.id, hash, salt, text, removed
        FROM whole.private JOIN placed ON was = entry;
    INSERT INTO main.job (number, stage, is_over, rider, revision, opened_us, stage_since_us, touched_us, state, outstanding)
        SELECT number + up, stage, is_over, 'Rider ' || (number + up), revision, opened_us - us, stage_since_us - us,
            touched_us - us, replace(state, '{\"number\":' || number || ',', '{\"number\":' || (number + up) || ','), outstanding
        FROM whole.job, copy WHERE last OR number <= whole;
    INSERT INTO main.order_line SELECT job + up, number, settled FROM whole.order_line, copy WHERE last OR job <= whole;
    INSERT INTO main.piece SELECT job + up, number, slot, part_id, kind, name, upper(slot) || printf('%07d', job + up),
            'LOT-' || slot || '-' || ((job + up) / lot_of), upper(slot) || printf('%07d', job + up),
            upper('LOT-' || slot || '-' || ((job + up) / lot_of)), supplier, supplier_key, came_us - us, item, fate, left_us, why
        FROM whole.piece, copy WHERE last OR job <= whole;
    INSERT INTO main.shop SELECT shop.* FROM whole.shop, copy WHERE last;
    COMMIT;
";

/// Whether a folder holds what [`fill`] makes; a run that was cut off is told by its last job.
fn is_full(folder: &Path, closed: u32) -> bool {
    let store = folder.join("lockring.db").exists().then(|| Store::open(folder));
    let Some(Ok(store)) = store else {
        return false;
    };
    let counts = store.read(|reader| reader.counts()).unwrap();
    (counts.jobs_over, counts.jobs_open) == (closed.into(), OPEN.into())
}

/// Fills an empty folder.
pub fn fill(folder: &Path, closed: u32) {
    let store = Store::open(folder).unwrap();
    let now = whole_microseconds(Timestamp::now());
    let (batches, made) = sync_channel(2);
    std::thread::scope(|scope| {
        scope.spawn(move || make(closed, now, &batches));
        keep(&store, &made);
    });
    store.close().unwrap();
}

/// Makes all jobs, oldest first, the open ones last.
fn make(closed: u32, now: Timestamp, batches: &SyncSender<Vec<Made>>) {
    let all = closed + OPEN;
    let step = SignedDuration::from_secs(86_400 / A_DAY);
    let mut batch = Vec::with_capacity(BATCH);
    for number in 1..=all {
        let at = now - step * i32::try_from(all - number + 1).unwrap();
        let events = if number <= closed {
            history(number)
        } else {
            beginning(number)
        };
        let job = folded(number, at, &events);
        batch.push(Made {
            number,
            at,
            events,
            job,
        });
        if batch.len() == BATCH || number == all {
            batches.send(std::mem::take(&mut batch)).unwrap();
        }
    }
}

/// Writes them, and at the end of each day that a day's work is known.
fn keep(store: &Store, made: &Receiver<Vec<Made>>) {
    let runtime = one_thread();
    let mut day: Option<Date> = None;
    while let Ok(batch) = made.recv() {
        let before = day;
        day = batch.last().map(|last| day_of(last.at));
        runtime
            .block_on(store.write(move |tx| {
                let mut day = before;
                for made in &batch {
                    let today = day_of(made.at);
                    if let Some(over) = day.filter(|day| *day < today) {
                        evening(tx, over, made.at)?;
                    }
                    day = Some(today);
                    tx.append(made.number, &origin(made.at), made.at, &made.events, &made.job)?;
                }
                Ok(())
            }))
            .unwrap();
    }
}

/// The sweep and the report of a day that is over.
fn evening(tx: &mut Tx<'_>, day: Date, at: Timestamp) -> Result<(), WriteError> {
    let mut draft = ShopDraft::new(Arc::unwrap_or_clone(tx.shop()?), tx.last_seq(SHOP)?, origin(at));
    draft.push(ShopEvent::Swept {
        day,
        overdue: 0,
        chase: 0,
        at_risk: 0,
    });
    let closing = day
        .at(18, 0, 0, 0)
        .to_zoned_datetime(TimeZone::UTC)
        .unwrap()
        .timestamp();
    draft.push(ShopEvent::EveningWritten {
        day,
        as_of: closing.min(at),
        upto: u64::MAX >> 1,
    });
    tx.append_shop(&draft.origin, at, &draft.events, &draft.shop)?;
    Ok(())
}

fn day_of(at: Timestamp) -> Date {
    at.to_zoned_datetime(TimeZone::UTC).date()
}

fn origin(made: Timestamp) -> Origin {
    Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made,
    }
}

fn begun(number: u32) -> Vec<Event> {
    let values = [
        ("contact", format!("rider-{number} at example")),
        ("bike", "trekking, rear hub".to_owned()),
        ("ride-class", "eu-epac".to_owned()),
    ];
    vec![
        Event::TakenIn {
            rider: format!("Rider {number}"),
        },
        Event::Stated {
            values: values
                .map(|(code, text)| (code.to_owned(), Value::Text(text)))
                .into(),
            provenance: Provenance::Stated,
        },
    ]
}

/// A job that waits for its owner.
fn beginning(number: u32) -> Vec<Event> {
    let mut events = begun(number);
    events.push(Event::Blocked {
        number: 1,
        family: Family::Shop,
        check: None,
        about: "the stand is taken".into(),
        whose: Whose::Owner,
        chase: None,
        clears_when: "the stand is free".into(),
    });
    events
}

/// A bicycle that was converted and handed over.
fn history(number: u32) -> Vec<Event> {
    let mut events = begun(number);
    for slot in [Slot::Motor, Slot::Controller, Slot::Pack, Slot::Charger] {
        let part = Part {
            id: format!("{}-1", slot.word()),
            kind: slot.kind(),
            attributes: BTreeMap::new(),
        };
        events.push(Event::Chosen { slot, part });
        events.push(Event::Ordered {
            slot,
            supplier: format!("supplier {}", number % 7),
            due: None,
            price: None,
        });
        events.push(Event::Received(Receipt {
            slot,
            found: BTreeMap::new(),
            serial: Some(format!("{}{number:07}", slot.word().to_uppercase())),
            lot: Some(lot(slot, number)),
            volts: None,
            group_spread: None,
            papers: None,
            damage: None,
            shelf: None,
            paid: None,
            supplier: None,
        }));
    }
    events.extend(Stage::GATED.map(|gate| Event::GateTried {
        gate,
        findings: Vec::new(),
        passed: true,
    }));
    events
}

/// The mark of the lot that a job's piece is of.
pub fn lot(slot: Slot, number: u32) -> String {
    format!("LOT-{}-{}", slot.word(), number / LOT)
}

fn folded(job: u32, at: Timestamp, events: &[Event]) -> Job {
    let entries: Vec<Entry> = (1..)
        .zip(events)
        .map(|(seq, event)| Entry {
            id: 0,
            job,
            seq,
            origin: origin(at),
            stored: at,
            event: event.clone(),
            previous: [0; 32],
            hash: [0; 32],
        })
        .collect();
    Job::fold(&entries).unwrap()
}

/// Copies hold what was copied, each under its own numbers and marks.
#[test]
fn copies_are_told_apart() {
    let place = tempfile::tempdir().unwrap();
    let [of, to] = ["of", "to"].map(|name| place.path().join(name));
    for folder in [&of, &to] {
        std::fs::create_dir(folder).unwrap();
    }
    fill(&of, 120);
    multiply(&to, &of, 120, 3);
    assert!(is_full(&to, 360));
    let [of, to] = [of, to].map(|folder| Store::open(&folder).unwrap());
    let entries = |store: &Store| store.read(|reader| reader.counts()).unwrap().entries;
    let of_the_shop = u64::try_from(of.read(|reader| reader.entries(SHOP, 0)).unwrap().len()).unwrap();
    let of_open = u64::from(OPEN) * 3;
    let of_closed = entries(&of) - of_the_shop - of_open;
    assert_eq!(entries(&to), 3 * of_closed + of_the_shop + of_open);
    let job = to.read(|reader| reader.job(125)).unwrap().unwrap();
    assert_eq!(job.number, 125);
    let history = to.read(|reader| reader.entries(125, 0)).unwrap();
    assert!(matches!(&history[0].event, Event::TakenIn { rider } if rider == "Rider 5"));
}

/// A small shop of this kind is as sound as one that was typed.
#[test]
fn what_is_made_verifies() {
    let place = tempfile::tempdir().unwrap();
    fill(place.path(), 120);
    assert!(is_full(place.path(), 120));
    let store = Store::open(place.path()).unwrap();
    let found = store.verify().unwrap();
    assert!(found.problems.is_empty(), "{:?}", found.problems);
}
