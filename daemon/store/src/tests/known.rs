//! The shop as it was known: a past report tells what had been made by its time and was stored by
//! its entry, and a search of the shelf what lies there and what left it.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::date;
use jiff::tz::TimeZone;
use lockring_domain::entry::Event;
use lockring_domain::part::{PartKind, Slot};
use lockring_domain::shop::Shop;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::stage::Stage;
use lockring_domain::supply::event::StockEvent;
use lockring_domain::supply::item::{Item, Seen};
use lockring_domain::supply::line::{Goods, OrderLine};
use lockring_domain::supply::piece::Fate;
use lockring_domain::supply::recall::{Find, FindText, Spot};
use lockring_domain::supply::shelf::Stock;

use super::{Bench, add, at, note, part};

fn goods() -> Goods {
    Goods {
        part: "chain-9".into(),
        kind: PartKind::Chain,
        name: "chain".into(),
    }
}

fn line(number: u64, count: u32) -> OrderLine {
    OrderLine::new(number, None, goods(), count, "One".into(), at(0))
}

fn item(number: u64, line: u64, count: u32, minute: i64) -> Item {
    Item {
        number,
        goods: goods(),
        serial: None,
        lot: Some("L-7".into()),
        supplier: Some("One".into()),
        line: Some(line),
        from_job: None,
        came: at(minute),
        count,
        seen: Seen::default(),
        kept_for: None,
        paid: None,
        gone: Vec::new(),
    }
}

#[test]
fn a_days_report_is_found_by_its_day_and_the_one_before_by_the_days_after() {
    let bench = Bench::new();
    let evening = |day| {
        bench
            .store
            .read(|reader| reader.evening(day, Timestamp::MAX))
            .unwrap()
    };
    let before = |day| {
        bench
            .store
            .read(|reader| reader.evening_before(day, Timestamp::MAX))
            .unwrap()
    };
    assert_eq!(bench.store.read(|reader| reader.begun()).unwrap(), None);
    let days = [date(2026, 6, 1), date(2026, 6, 3), date(2026, 6, 10)];
    for (number, day) in (1..).zip(days) {
        let event = ShopEvent::EveningWritten {
            day,
            as_of: at(100 * number),
            upto: number.cast_unsigned(),
        };
        bench.tell(100 * number, event);
    }
    assert_eq!(bench.store.read(|reader| reader.begun()).unwrap(), Some(at(100)));
    assert_eq!(evening(days[0]), Some((at(100), 1)));
    assert_eq!(evening(days[2]), Some((at(300), 3)));
    assert_eq!(evening(date(2026, 6, 2)), None);
    assert_eq!(before(days[0]), None);
    assert_eq!(before(date(2026, 6, 2)), Some((at(100), 1)));
    assert_eq!(before(days[1]), Some((at(100), 1)));
    // By the day and not by the letters or the order in which they were written.
    assert_eq!(before(days[2]), Some((at(200), 2)));
    assert_eq!(before(date(2027, 1, 1)), Some((at(300), 3)));

    // By a clock that says an earlier time, what a clock ahead of it wrote is not there, and is written again.
    let by = |minute: i64| {
        bench.store.read(|reader| {
            Ok((
                reader.evening(days[2], at(minute))?,
                reader.evening_before(days[2], at(minute))?,
                reader.last_evening(at(minute))?,
            ))
        })
    };
    assert_eq!(by(299).unwrap(), (None, Some((at(200), 2)), Some(days[1])));
    assert_eq!(by(99).unwrap(), (None, None, None));
    let again = ShopEvent::EveningWritten {
        day: days[2],
        as_of: at(300),
        upto: 7,
    };
    bench.tell(250, again);
    assert_eq!(
        by(250).unwrap(),
        (Some((at(300), 7)), Some((at(200), 2)), Some(days[2]))
    );
    assert_eq!(evening(days[2]), Some((at(300), 7)), "the last that was written");

    let (made_after, last) = bench
        .store
        .read(|reader| {
            Ok((
                reader.made_after(at(200))?,
                [at(100), at(101), at(250)].map(|at| reader.last_made_before(at, "nobody").unwrap()),
            ))
        })
        .unwrap();
    assert_eq!(made_after, [(0, 3, at(300)), (0, 4, at(250))]);
    assert_eq!(last, [None, Some(at(100)), Some(at(200))]);
}

#[test]
fn shop_and_shelf_are_told_by_what_was_made_in_time_and_stored_by_then() {
    let bench = Bench::new();
    let shut = |day| ShopEvent::Shut {
        days: [day].into(),
        why: String::new(),
    };
    let first = bench.tell(10, shut(date(2026, 7, 1)));
    bench.put(20, vec![StockEvent::Ordered { line: line(1, 3) }]);
    let last = bench.tell(30, shut(date(2026, 7, 2)));
    bench.put(
        40,
        vec![StockEvent::Came {
            item: item(1, 1, 2, 40),
        }],
    );
    let shop = |minute, upto| -> Arc<Shop> {
        bench
            .store
            .read(|reader| reader.shop_known(at(minute), upto))
            .unwrap()
    };
    let stock = |minute, upto| -> Stock {
        bench
            .store
            .read(|reader| reader.stock_known(at(minute), upto))
            .unwrap()
    };
    let days = |shop: &Shop| shop.calendar.holidays.len();
    assert_eq!(
        days(&shop(10, u64::MAX)),
        0,
        "made at that very moment is not before it"
    );
    assert_eq!(days(&shop(11, u64::MAX)), 1);
    assert_eq!(days(&shop(31, u64::MAX)), 2);
    assert_eq!(days(&shop(99, first)), 1, "stored later");
    assert_eq!(days(&shop(99, last)), 2);
    assert_eq!(days(&shop(99, u64::MAX)), 2);
    assert_eq!(stock(20, u64::MAX), Stock::default());
    assert_eq!(stock(21, u64::MAX).lines[&1].awaited(), 3);
    assert_eq!(stock(41, last).lines[&1].awaited(), 3);
    let now = bench.store.read(|reader| reader.whole_stock()).unwrap();
    assert_eq!(now.lines[&1].awaited(), 1);
    assert_eq!(stock(41, u64::MAX), now);
    assert_eq!(now.items.len(), 1);
    assert_eq!(bench.problems(), [""; 0]);
    // A line that differs from its history is told, as an item is.
    let spoiled = bench.write(|tx| {
        let sql = "UPDATE shelf_line SET state = json_set(state, '$.count', 9)";
        Ok(tx
            .connection
            .execute(sql, [])
            .map_err(crate::StorageError::from)?)
    });
    assert_eq!(spoiled, Ok(1));
    assert_eq!(bench.problems(), ["the shelf: line 1 differs from its history"]);
}

#[test]
fn the_shelf_is_searched_for_what_lies_there_and_for_what_left_it() {
    let bench = Bench::new();
    bench.put(
        10,
        vec![
            StockEvent::Ordered { line: line(1, 5) },
            StockEvent::Came {
                item: item(1, 1, 5, 10),
            },
        ],
    );
    let gone = vec![
        StockEvent::Returned {
            item: 1,
            count: 2,
            why: "rusty".into(),
            owed: None,
        },
        StockEvent::Counted {
            item: 1,
            count: 2,
            why: "one is missing".into(),
        },
    ];
    bench.put(20, gone);
    let text = |mark: &str, supplier: &str| FindText {
        marks: [mark]
            .iter()
            .filter(|mark| !mark.is_empty())
            .map(|mark| (*mark).into())
            .collect(),
        supplier: supplier.into(),
        ..FindText::default()
    };
    let seen = |text: FindText| -> Vec<(u32, Option<Fate>)> {
        let find = Find::read(&text, &TimeZone::UTC).unwrap();
        let found = bench.store.read(|reader| reader.find_pieces(&find)).unwrap();
        let one = bench.write(move |tx| Ok(tx.find_pieces(&find)?)).unwrap();
        assert_eq!(one, [], "no job has any");
        found
            .into_iter()
            .map(|piece| match piece.at {
                Spot::Shelf { count, .. } => (count, piece.left.map(|left| left.fate)),
                Spot::Job(bearer) => panic!("{bearer:?}"),
            })
            .collect()
    };
    let all = [(2, None), (2, Some(Fate::Returned)), (1, Some(Fate::Swapped))];
    assert_eq!(seen(text("L-7", "")), all);
    assert_eq!(seen(text("L-1..L-9", "")), all);
    assert_eq!(seen(text("", "one")), all);
    assert_eq!(seen(text("L-8", "")), []);
    assert_eq!(seen(text("", "two")), []);
    // Nothing is left: what went is still told.
    bench.put(
        30,
        vec![StockEvent::Counted {
            item: 1,
            count: 0,
            why: "all gone".into(),
        }],
    );
    let left: Vec<Option<Fate>> = seen(text("L-7", "")).into_iter().map(|(_, fate)| fate).collect();
    assert!(left.len() == 3 && left.iter().all(Option::is_some), "{left:?}");
}

#[test]
fn jobs_are_counted_by_stage_found_by_rider_and_by_their_orders() {
    let bench = Bench::new();
    for job in 1..=3 {
        bench.take_in(job, 0);
    }
    let ordered = |job: u32| {
        let events = vec![
            Event::Chosen {
                slot: Slot::Motor,
                part: part("mid", PartKind::Motor),
            },
            Event::Ordered {
                slot: Slot::Motor,
                supplier: "One".into(),
                due: None,
                price: None,
            },
        ];
        bench.add(job, 1, events).unwrap();
    };
    ordered(2);
    ordered(3);
    let cancelled = lockring_domain::supply::event::SupplyEvent::OrderCancelled {
        slot: Slot::Motor,
        why: "no".into(),
    };
    bench.add(3, 2, vec![Event::Supply(cancelled)]).unwrap();
    let with_orders = |unsettled| -> Vec<u32> {
        let jobs = bench
            .store
            .read(|reader| reader.jobs_with_orders(unsettled))
            .unwrap();
        jobs.iter().map(|job| job.number).collect()
    };
    assert_eq!(with_orders(false), [2, 3]);
    assert_eq!(with_orders(true), [2]);
    let stages = BTreeMap::from([(Stage::Intake, 3)]);
    assert_eq!(bench.store.read(|reader| reader.open_by_stage()).unwrap(), stages);
    let (inside, riders) = bench
        .write(|tx| Ok((tx.open_by_stage()?, tx.jobs_of_rider("RIDER 2")?)))
        .unwrap();
    assert_eq!(inside, stages);
    let riders: Vec<u32> = riders.iter().map(|job| job.number).collect();
    assert_eq!(riders, [2]);
    let last = |job| bench.store.read(|reader| reader.last_seq(job)).unwrap();
    assert_eq!((last(1), last(2), last(3), last(9)), (1, 3, 4, 0));
}

#[test]
fn every_history_is_handed_over_once_without_what_was_taken_back() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench.take_in(2, 50);
    bench.add(1, 1, vec![note("one")]).unwrap();
    bench
        .write(|tx| {
            let gone = Event::Retracted {
                seq: 2,
                why: "slip".into(),
            };
            Ok(add(tx, 1, 2, &[gone])?)
        })
        .unwrap();
    let seen = |minute| -> Vec<(u32, Vec<u64>)> {
        let mut seen = Vec::new();
        let looked = bench.store.read(|reader| {
            reader.every_history_known(at(minute), u64::MAX, |history| {
                let seqs = history.entries.iter().map(|entry| entry.seq);
                seen.push((history.job.number, seqs.collect()));
            })
        });
        looked.unwrap();
        seen
    };
    assert_eq!(seen(99), [(1, vec![1, 3]), (2, vec![1])]);
    assert_eq!(
        seen(2),
        [(1, vec![1, 2])],
        "the second is not there yet, nor the slip taken back"
    );
}
