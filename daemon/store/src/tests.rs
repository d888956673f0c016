//! Tests of the store: a bench with a data folder of its own, and events to play with.
//!
//! Times and values are invented; expected numbers follow from the events written, so no
//! outside source is named.

mod alone;
mod any_commands;
mod backups;
mod batches;
mod bitrot;
mod exchange;
mod journal;
mod known;
mod lists;
mod looking;
mod money;
mod opening;
mod pictures;
mod pieces;
mod plans;
mod powercut;
mod private;
mod recent;
mod removing;
mod restoring;
mod tampering;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::date;
use lockring_domain::block::{Family, LateLine, Whose};
use lockring_domain::check::{Kept, Verdict};
use lockring_domain::entry::{Entry, Event};
use lockring_domain::fact::{Provenance, Value};
use lockring_domain::job::Job;
use lockring_domain::money::Money;
use lockring_domain::origin::Origin;
use lockring_domain::part::{Part, PartKind, Slot};
use lockring_domain::receipt::Receipt;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::stage::Stage;
use lockring_domain::supply::event::StockEvent;
use lockring_domain::supply::event::SupplyEvent;
use lockring_domain::supply::item::{Item, Seen};
use lockring_domain::supply::line::Goods;
use lockring_domain::supply::piece::Fate;
use lockring_domain::supply::shelf::{Stock, StockDraft};
use tempfile::TempDir;

use crate::{StorageError, Store, Tx, WriteError};

/// An open store in a folder that goes away with it.
struct Bench {
    store: Store,
    folder: TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        lay_picture(folder.path());
        Self {
            store: Store::open(folder.path()).unwrap(),
            folder,
        }
    }

    /// The same file opened once more, where it counts as one that takes long to look at.
    fn opened_as_large(self) -> Self {
        self.store.close().unwrap();
        let store = Store::open_looking_at(self.folder.path(), looking::LARGE).unwrap();
        Self { store, ..self }
    }

    fn file(&self) -> PathBuf {
        self.folder.path().join("lockring.db")
    }

    fn write<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Tx<'_>) -> Result<T, WriteError> + Send + 'static,
    ) -> Result<T, WriteError> {
        block_on(self.store.write(work))
    }

    fn take_in(&self, number: u32, minute: i64) {
        let event = Event::TakenIn {
            rider: format!("rider {number}"),
        };
        self.add(number, minute, vec![event]).unwrap();
    }

    fn add(&self, number: u32, minute: i64, events: Vec<Event>) -> Result<Vec<Entry>, WriteError> {
        self.write(move |tx| Ok(add(tx, number, minute, &events)?))
    }

    /// Appends an event of the shop as the daemon does; gives the entry's id.
    fn tell(&self, minute: i64, event: ShopEvent) -> u64 {
        let mut shop = Arc::unwrap_or_clone(self.store.read(|reader| reader.shop()).unwrap());
        let (origin, seq) = (origin(minute), self.entries(0).len() as u64 + 1);
        shop.take(seq, &origin, &event);
        let told =
            self.write(move |tx| Ok(tx.append_shop(&origin, at(minute), &[Event::Shop(event)], &shop)?));
        told.unwrap()[0].id
    }

    /// Appends events of the shelf as the daemon does.
    fn put(&self, minute: i64, events: Vec<StockEvent>) {
        let mut draft = StockDraft::new(self.store.read(|reader| reader.stock()).unwrap(), origin(minute));
        events.into_iter().for_each(|event| draft.push(event));
        self.write(move |tx| Ok(tx.append_stock(&draft.origin, at(minute), &draft.events, &draft.stock)?))
            .unwrap();
    }

    fn job(&self, number: u32) -> Job {
        let job = self.store.read(|reader| reader.job(number)).unwrap().unwrap();
        Job::clone(&job)
    }

    fn entries(&self, number: u32) -> Vec<Entry> {
        self.store.read(|reader| reader.entries(number, 0)).unwrap()
    }

    fn problems(&self) -> Vec<String> {
        self.store.verify().unwrap().problems
    }
}

fn block_on<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread()
        .build()
        .unwrap()
        .block_on(future)
}

/// A moment so many minutes after an invented morning.
fn at(minute: i64) -> Timestamp {
    Timestamp::from_second(1_780_000_000 + 60 * minute).unwrap()
}

fn origin(minute: i64) -> Origin {
    Origin {
        by: "AB".into(),
        terminal: "bench 1".into(),
        made: at(minute),
    }
}

/// Appends events with the state that the domain leads them to.
fn add(tx: &mut Tx<'_>, number: u32, minute: i64, events: &[Event]) -> Result<Vec<Entry>, StorageError> {
    let mut after = tx.job(number)?;
    let first = after.as_ref().map_or(1, |job| job.revision + 1);
    let entries: Vec<Entry> = (first..)
        .zip(events)
        .map(|(seq, event)| unstored(number, seq, minute, event))
        .collect();
    for entry in &entries {
        after = match after {
            Some(job) => job.after(entry),
            None => Job::begin(entry).ok(),
        };
        if after.is_none() {
            let history: Vec<Entry> = tx
                .entries(number)?
                .into_iter()
                .chain(entries.iter().cloned())
                .collect();
            after = Some(Job::fold(&history).unwrap());
            break;
        }
    }
    tx.append(number, &origin(minute), at(minute), events, &after.unwrap())
}

/// An entry as the domain sees it before it is stored.
fn unstored(job: u32, seq: u64, minute: i64, event: &Event) -> Entry {
    let (previous, hash) = ([0; 32], [0; 32]);
    Entry {
        id: seq,
        job,
        seq,
        origin: origin(minute),
        stored: at(minute),
        event: event.clone(),
        previous,
        hash,
    }
}

/// The least that counts as a picture.
const PICTURE: &[u8] = b"\xff\xd8\xff\xe0";

/// Lays the picture of [`photographed`] beside a data file.
fn lay_picture(folder: &Path) {
    let Event::Photographed(photo) = photographed() else {
        unreachable!()
    };
    crate::photos::keep(folder, &photo.kept_as(), &photo.sha256, PICTURE).unwrap();
}

fn photographed() -> Event {
    use lockring_domain::photo::{Photo, Picture};
    let Picture {
        name,
        format,
        sha256,
        bytes,
    } = Picture::of("left.jpg", PICTURE).unwrap();
    Event::Photographed(Photo {
        number: 1,
        caption: "dropout, left".into(),
        file: name,
        format,
        bytes,
        sha256,
        check: "frame.soundness".into(),
    })
}

fn ride_logged() -> Event {
    use lockring_domain::ridelog::packed::Packed;
    use lockring_domain::ridelog::study::{Meter, study};
    use lockring_domain::ridelog::{Logged, read};
    let file = b"time_s,speed,height,power\n0,3.1,200.2,90\n1,3.2,200.3,91\n";
    Event::RideLogged(Box::new(Logged {
        number: 1,
        file: "loop.csv".into(),
        columns: String::new(),
        meter: Meter::Crank,
        packed: Packed::new(file).unwrap(),
        study: study(&read(file).unwrap(), Err("no mass"), Default::default()),
    }))
}

/// A request that asks what its id says.
fn request(id: &str) -> crate::Request {
    crate::Request::new(id, &format!("what {id} asks"))
}

fn note(text: &str) -> Event {
    Event::Noted {
        text: text.into(),
        private: false,
    }
}

fn stated(code: &str, value: Value) -> Event {
    Event::Stated {
        values: BTreeMap::from([(code.into(), value)]),
        provenance: Provenance::Stated,
    }
}

fn recorded(code: &str, value: f64) -> Event {
    let readings = BTreeMap::from([(code.into(), Value::Number(value))]);
    Event::Recorded {
        run: None,
        readings,
        forced: false,
        anew: false,
    }
}

fn part(id: &str, kind: PartKind) -> Part {
    let attributes = BTreeMap::from([
        ("name".into(), Value::Text(format!("part {id}"))),
        ("price".into(), Value::Money(12_345)),
        ("mass".into(), Value::Number(0.1 + 0.2)),
    ]);
    Part {
        id: id.into(),
        kind,
        attributes,
    }
}

fn receipt(slot: Slot, serial: &str, lot: &str) -> Receipt {
    Receipt {
        slot,
        found: BTreeMap::from([("capacity".into(), Value::Number(41_760.000_000_000_01))]),
        serial: Some(serial.into()),
        lot: Some(lot.into()),
        volts: Some(51.7),
        group_spread: Some(0.012),
        papers: Some("UN 38.3 summary".into()),
        damage: None,
        shelf: None,
        paid: None,
        supplier: None,
    }
}

fn blocked(number: u32, whose: Whose) -> Event {
    Event::Blocked {
        number,
        family: Family::Parts,
        check: Some("parts.received".into()),
        about: "motor not here".into(),
        whose,
        chase: Some(date(2026, 6, 3)),
        clears_when: "it is here".into(),
    }
}

/// One of every kind of a job's events, in an order that a job could see.
fn every_job_event() -> Vec<Event> {
    let kept = Kept {
        check: "pack.c-rate".into(),
        version: 3,
        verdict: Verdict::Caution,
        summary: "1.9 C".into(),
        uses: vec!["pack.capacity".into()],
        fingerprint: "00ff".into(),
        conceded: true,
    };
    let mut events = vec![
        Event::TakenIn {
            rider: "Ümit \"the hill\"\n".into(),
        },
        stated("hill-grade", Value::Number(0.1)),
        stated("date", Value::Day(date(2026, 7, 1))),
        stated("class", Value::Word("eu-25".into())),
        stated("throttle", Value::Flag(true)),
        stated("cogs", Value::Teeth(vec![11, 13, 34])),
        stated("hub-ratios", Value::Ratios(vec![0.75, 1.0, 4.0 / 3.0])),
        stated("restarts", Value::Tally { good: 4, tried: 5 }),
        recorded("chainline-front", 0.051_5),
        Event::Chosen {
            slot: Slot::Pack,
            part: part("pack-48-14", PartKind::Pack),
        },
        Event::Chosen {
            slot: Slot::Motor,
            part: part("mid-48-250", PartKind::Motor),
        },
        Event::Recatalogued {
            slot: Slot::Motor,
            part: part("mid-48-250", PartKind::Motor),
            block: None,
            about: "mid-48-250: mass 3.1 kg -> gone".into(),
        },
        Event::Corrected {
            slot: Slot::Motor,
            part: part("mid-48-250", PartKind::Motor),
        },
        Event::Dropped { slot: Slot::Motor },
        Event::Ordered {
            slot: Slot::Pack,
            supplier: "supplier one".into(),
            due: Some(date(2026, 6, 1)),
            price: None,
        },
        Event::Received(receipt(Slot::Pack, "S-1", "L-7")),
        Event::Supply(SupplyEvent::PartReturned {
            slot: Slot::Pack,
            why: "dead".into(),
            moved: true,
        }),
        Event::Supply(SupplyEvent::Credited {
            slot: Slot::Pack,
            amount: Money(39_500),
            ordered: Some(Timestamp::UNIX_EPOCH),
        }),
        Event::Ordered {
            slot: Slot::Pack,
            supplier: "supplier two".into(),
            due: None,
            price: Some(Money(40_000)),
        },
        Event::Supply(SupplyEvent::OrderMoved {
            slot: Slot::Pack,
            due: date(2026, 6, 9),
            why: "ship".into(),
        }),
        Event::Supply(SupplyEvent::OrderCancelled {
            slot: Slot::Pack,
            why: "too late".into(),
        }),
        Event::Received(Receipt {
            shelf: Some(3),
            supplier: Some("supplier one".into()),
            ..receipt(Slot::Pack, "S-2", "L-7")
        }),
        Event::Supply(SupplyEvent::PutBack {
            slot: Slot::Pack,
            item: 3,
            why: "too heavy".into(),
        }),
        Event::Received(receipt(Slot::Pack, "S-3", "L-8")),
        Event::Supply(SupplyEvent::PartWent {
            slot: Slot::Pack,
            off: None,
            to: Fate::Scrapped,
            item: None,
            why: "water in it".into(),
            moved: false,
        }),
        Event::GateTried {
            gate: Stage::Intake,
            findings: vec![kept],
            passed: true,
        },
        Event::Conceded {
            check: "pack.c-rate".into(),
            why: "short hills".into(),
            fingerprint: "00ff".into(),
            finding: "1.9 C".into(),
        },
        blocked(1, Whose::Supplier),
        blocked(2, Whose::Owner),
        Event::Restated {
            number: 1,
            about: "13 V short".into(),
            whose: Whose::Owner,
            clears_when: "pack.current passes".into(),
        },
        Event::Cleared {
            number: 2,
            why: "paid".into(),
        },
        Event::LineLate {
            number: 3,
            line: LateLine {
                slot: Slot::Pack,
                due: date(2026, 3, 20),
            },
            about: "pack was due".into(),
        },
        Event::Chased {
            number: 3,
            chase: Some(date(2026, 3, 30)),
            whose: Some(Whose::Owner),
            said: "ships on Thursday".into(),
        },
        Event::Promised {
            day: date(2026, 4, 14),
            hard: Some(true),
            why: "pack late".into(),
        },
        Event::Told {
            words: "agreed".into(),
        },
        Event::Held {
            why: "holiday".into(),
            until: None,
        },
        Event::Released {},
        Event::SentBack {
            stage: Stage::Intake,
            why: "other pack".into(),
        },
        note("note"),
        ride_logged(),
        photographed(),
        Event::Retracted {
            seq: 2,
            why: "slip".into(),
        },
        Event::Closed {
            end: Stage::Returned,
            why: "rider moved".into(),
        },
    ];
    events.extend(money::money_events());
    events
}

/// A pack that came onto the shelf.
fn stocked() -> StockDraft {
    let goods = Goods {
        part: "pack-1".into(),
        kind: PartKind::Pack,
        name: "pack".into(),
    };
    let item = Item {
        number: 1,
        goods,
        serial: Some("S 1".into()),
        lot: Some("l-7".into()),
        supplier: Some("One".into()),
        line: None,
        from_job: None,
        came: at(1),
        count: 1,
        seen: Seen::default(),
        kept_for: None,
        paid: None,
        gone: Vec::new(),
    };
    let mut draft = StockDraft::new(Stock::default(), origin(1));
    draft.push(StockEvent::Came { item });
    draft
}
