//! Speed of a recall: pieces found among 10,000 bicycles that were handed over, four marked
//! pieces on each.
//!
//! Run: `cargo bench -p lockring-store`. Riders, marks and days are invented.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use jiff::Timestamp;
use jiff::civil::date;
use jiff::tz::TimeZone;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::fact::{Provenance, Value};
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::part::{Part, Slot};
use lockring_domain::receipt::Receipt;
use lockring_domain::stage::Stage;
use lockring_domain::supply::recall::{Find, FindText};
use lockring_store::Store;
use tempfile::TempDir;

/// Bicycles handed over.
const BICYCLES: u32 = 10_000;
/// Bicycles whose packs are of one lot.
const LOT: u32 = 40;

fn main() {
    divan::main();
}

fn origin(job: u32) -> Origin {
    Origin {
        by: "K".into(),
        terminal: "bench".into(),
        // One bicycle in three hours of the clock, from an invented first day on.
        made: Timestamp::from_second(1_600_000_000 + i64::from(job) * 10_800).expect("a plausible time"),
    }
}

/// The history of a bicycle that was converted and handed over.
fn history(job: u32) -> Vec<Event> {
    let mut events = vec![
        Event::TakenIn {
            rider: format!("Rider {job}"),
        },
        Event::Stated {
            values: [(
                "contact".to_owned(),
                Value::Text(format!("rider-{job} at example")),
            )]
            .into(),
            provenance: Provenance::Stated,
        },
    ];
    for slot in [Slot::Motor, Slot::Controller, Slot::Pack, Slot::Charger] {
        let part = Part {
            id: format!("{}-1", slot.word()),
            kind: slot.kind(),
            attributes: BTreeMap::new(),
        };
        events.push(Event::Chosen { slot, part });
        events.push(Event::Ordered {
            slot,
            supplier: format!("supplier {}", job % 7),
            due: None,
            price: None,
        });
        events.push(Event::Received(Receipt {
            slot,
            found: BTreeMap::new(),
            serial: Some(format!("{}{job:06}", slot.word().to_uppercase())),
            lot: Some(format!("LOT-{}-{}", slot.word(), job / LOT)),
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

fn folded(job: u32, events: &[Event]) -> Job {
    let entries: Vec<Entry> = (1..)
        .zip(events)
        .map(|(seq, event)| Entry {
            id: 0,
            job,
            seq,
            origin: origin(job),
            stored: origin(job).made,
            event: event.clone(),
            previous: [0; 32],
            hash: [0; 32],
        })
        .collect();
    Job::fold(&entries).expect("a whole history")
}

/// A shop that has handed over all those bicycles.
static SHOP: LazyLock<(Store, TempDir)> = LazyLock::new(|| {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path()).expect("a store");
    let written = tokio::runtime::Builder::new_current_thread()
        .build()
        .expect("a runtime")
        .block_on(store.write(|tx| {
            for job in 1..=BICYCLES {
                let events = history(job);
                tx.append(
                    job,
                    &origin(job),
                    origin(job).made,
                    &events,
                    &folded(job, &events),
                )?;
            }
            Ok(())
        }));
    written.expect("a full shop");
    (store, folder)
});

fn find(bencher: divan::Bencher<'_, '_>, text: &FindText, expected: usize) {
    let find = Find::read(text, &TimeZone::UTC).expect("a search");
    let store = &SHOP.0;
    let count = store
        .read(|reader| reader.find_pieces(&find))
        .expect("pieces")
        .len();
    assert_eq!(count, expected);
    bencher.bench_local(|| store.read(|reader| reader.find_pieces(&find)));
}

fn marks(mark: &str) -> FindText {
    FindText {
        marks: vec![mark.into()],
        ..FindText::default()
    }
}

#[divan::bench]
fn one_serial(bencher: divan::Bencher<'_, '_>) {
    find(bencher, &marks("PACK005000"), 1);
}

#[divan::bench]
fn one_lot(bencher: divan::Bencher<'_, '_>) {
    find(bencher, &marks("LOT-pack-100"), LOT as usize);
}

#[divan::bench]
fn a_beginning_of_a_thousand(bencher: divan::Bencher<'_, '_>) {
    find(bencher, &marks("PACK005*"), 1_000);
}

#[divan::bench]
fn a_range_of_a_thousand(bencher: divan::Bencher<'_, '_>) {
    find(bencher, &marks("PACK004001..PACK005000"), 1_000);
}

#[divan::bench]
fn a_supplier_in_a_month(bencher: divan::Bencher<'_, '_>) {
    // 31 days of eight bicycles each, every seventh of this supplier, four pieces on each.
    let text = FindText {
        supplier: "supplier 3".into(),
        since: Some(date(2022, 3, 1)),
        until: Some(date(2022, 3, 31)),
        ..FindText::default()
    };
    let pieces = (1..=BICYCLES)
        .filter(|job| job % 7 == 3)
        .filter(|job| {
            let day = origin(*job).made.to_zoned_datetime(TimeZone::UTC).date();
            (date(2022, 3, 1)..=date(2022, 3, 31)).contains(&day)
        })
        .count()
        * 4;
    find(bencher, &text, pieces);
}
