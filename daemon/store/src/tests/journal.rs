//! The journal: every kind of entry read back, the chain, times, and what is refused.

use std::collections::BTreeSet;

use jiff::Timestamp;
use lockring_domain::block::Whose;
use lockring_domain::entry::{Event, link};
use lockring_domain::fact::Value;
use lockring_domain::job::Job;
use lockring_domain::part::{PartKind, Slot};
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::shop::{Shop, ShopDraft};
use lockring_domain::stage::Stage;
use lockring_domain::supply::event::StockEvent;
use lockring_domain::supply::event::SupplyEvent;
use lockring_domain::supply::shelf::Stock;
use rusqlite::Connection;

use super::{
    Bench, add, at, blocked, every_job_event, note, origin, part, receipt, recorded, stated, stocked,
};
use crate::{StorageError, WriteError};

/// Fails to compile when a kind is added, so that the list of events is added to as well.
const fn must_be_played(event: &Event) {
    match event {
        Event::TakenIn { .. }
        | Event::Stated { .. }
        | Event::Recorded { .. }
        | Event::Chosen { .. }
        | Event::Recatalogued { .. }
        | Event::Corrected { .. }
        | Event::Dropped { .. }
        | Event::Ordered { .. }
        | Event::Received(_)
        | Event::GateTried { .. }
        | Event::Conceded { .. }
        | Event::SentBack { .. }
        | Event::Blocked { .. }
        | Event::Restated { .. }
        | Event::Cleared { .. }
        | Event::LineLate { .. }
        | Event::Chased { .. }
        | Event::Promised { .. }
        | Event::Told { .. }
        | Event::Held { .. }
        | Event::Released {}
        | Event::Noted { .. }
        | Event::Retracted { .. }
        | Event::Closed { .. }
        | Event::Supply(_)
        | Event::Stock(_)
        | Event::Account(_)
        | Event::Labour(_)
        | Event::After(_)
        | Event::Shop(_)
        | Event::RideLogged(_)
        | Event::Photographed(_)
        | Event::RiderRemoved(_)
        | Event::Catalogued { .. } => {}
    }
}

#[test]
fn every_kind_of_entry_reads_back_as_it_was_given() {
    let bench = Bench::new();
    let events = every_job_event();
    events.iter().for_each(must_be_played);
    let kinds: BTreeSet<&str> = events.iter().map(Event::kind).collect();
    assert_eq!(kinds.len(), 48, "every kind but `catalogued`: {kinds:?}");
    let returned: Vec<_> = (0..)
        .zip(&events)
        .flat_map(|(minute, event)| bench.add(1, minute, vec![event.clone()]).unwrap())
        .collect();
    let read = bench.entries(1);
    assert_eq!(read, returned);
    assert_eq!(
        read.iter().map(|entry| entry.event.clone()).collect::<Vec<_>>(),
        events
    );
    assert_eq!(bench.job(1), Job::fold(&read).unwrap());
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn the_catalogue_is_an_entry_and_rows_and_a_part_of_the_same_id_is_replaced() {
    let bench = Bench::new();
    let motor = part("mid", PartKind::Motor);
    let mut other = motor.clone();
    other
        .attributes
        .insert("note".into(), Value::Text("second".into()));
    let lists = [
        vec![motor.clone(), part("pack", PartKind::Pack)],
        vec![other.clone()],
    ];
    for parts in lists.clone() {
        bench
            .write(move |tx| Ok(tx.catalogue(&origin(0), at(0), &parts)?))
            .unwrap();
    }
    let entries = bench.entries(0);
    let said: Vec<_> = entries
        .into_iter()
        .map(|entry| (entry.id, entry.seq, entry.event))
        .collect();
    let [first, second] = lists;
    assert_eq!(
        said,
        [
            (1, 1, Event::Catalogued { parts: first }),
            (2, 2, Event::Catalogued { parts: second })
        ]
    );
    let (one, ids) = bench.write(|tx| Ok((tx.part("mid")?, tx.part_ids()?))).unwrap();
    assert_eq!(one, Some(other));
    assert_eq!(ids, ["mid", "pack"]);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn entries_are_linked_over_the_columns_as_stored() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench
        .add(1, 5, vec![stated("hill-grade", Value::Number(0.5))])
        .unwrap();
    let payload = r#"{"event":"stated","values":{"hill-grade":{"number":0.5}},"provenance":"stated"}"#;
    let [first, second] = &bench.entries(1)[..] else {
        panic!("two entries")
    };
    assert_eq!(first.previous, [0; 32]);
    assert_eq!(second.previous, first.hash);
    let us = at(5).as_microsecond();
    let expected = link(
        &first.hash,
        2,
        1,
        2,
        us,
        us,
        "AB",
        "bench 1",
        "stated",
        2,
        payload,
    );
    assert_eq!(second.hash, expected);
    assert_eq!(bench.store.verify().unwrap().head, expected);
    assert_eq!(
        bench.store.read(|reader| reader.counts()).unwrap().head_hash,
        expected
    );
}

#[test]
fn doubles_read_back_to_the_last_bit() {
    // Values whose shortest decimal text a quick reader rounds to a neighbour, and extremes.
    let bits = [
        0x3FB9_9999_9999_999A,
        0x7FEF_FFFF_FFFF_FFFF,
        1,
        0x8000_0000_0000_0000,
        0x3FF0_0000_0000_0001,
        0x4340_0000_0000_0001,
        0x0010_0000_0000_0000,
        0x44B5_2D02_C7E1_4AF7,
    ];
    let bench = Bench::new();
    bench.take_in(1, 0);
    let mut seed = 7_u64;
    let random = std::iter::repeat_with(|| next(&mut seed)).filter(|bits| f64::from_bits(*bits).is_finite());
    let bits: Vec<u64> = bits.into_iter().chain(random.take(200)).collect();
    let code = |bits: &u64| format!("x-{bits}");
    let events = bits
        .iter()
        .map(|bits| stated(&code(bits), Value::Number(f64::from_bits(*bits))))
        .collect();
    bench.add(1, 1, events).unwrap();
    let job = bench.job(1);
    for bits in bits {
        let Value::Number(back) = job.facts[code(&bits).as_str()].value else {
            panic!("a number")
        };
        assert_eq!(back.to_bits(), bits);
    }
}

#[test]
fn the_stored_time_never_runs_backwards() {
    let bench = Bench::new();
    bench.take_in(1, 10);
    let late = bench.add(1, 3, vec![note("clock was set back")]).unwrap();
    assert_eq!((late[0].origin.made, late[0].stored), (at(3), at(10)));
    assert_eq!(bench.problems(), [""; 0]);
}

fn refused(
    bench: &Bench,
    minute: i64,
    event: Event,
    change: impl FnOnce(&mut Job) + Send + 'static,
) -> StorageError {
    let made = Timestamp::from_nanosecond(at(minute).as_nanosecond()).unwrap();
    refused_at(bench, made, event, change)
}

fn refused_at(
    bench: &Bench,
    made: Timestamp,
    event: Event,
    change: impl FnOnce(&mut Job) + Send + 'static,
) -> StorageError {
    let before = (bench.entries(1), bench.job(1));
    let result = bench.write(move |tx| {
        let mut after = tx.job(1)?.unwrap();
        let origin = lockring_domain::origin::Origin { made, ..origin(0) };
        after.revision += 1;
        after.touched = made;
        after.take(after.revision, &origin, &event);
        change(&mut after);
        Ok(tx.append(1, &origin, made, &[event], &after)?)
    });
    assert_eq!(
        (bench.entries(1), bench.job(1)),
        before,
        "nothing of it may be stored"
    );
    match result {
        Err(WriteError::Storage(error)) => error,
        other => panic!("expected a storage error, got {other:?}"),
    }
}

#[test]
fn what_the_journal_could_not_give_back_is_refused() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let fine = at(1) + jiff::SignedDuration::from_nanos(1);
    let error = refused_at(&bench, fine, note("x"), |_| {});
    assert!(
        error.to_string().contains("expected a whole microsecond"),
        "{error}"
    );
    let error = refused(&bench, 1, stated("x", Value::Number(f64::NAN)), |_| {});
    assert!(error.to_string().contains("are all numbers finite?"), "{error}");
    let error = refused(&bench, 1, note("x"), |after| after.rider = "somebody else".into());
    assert!(
        error.to_string().contains("not what its entries fold into"),
        "{error}"
    );
    let error = refused(&bench, 1, note("x"), |after| after.number = 2);
    assert!(
        error.to_string().contains("it comes with the state of job 2"),
        "{error}"
    );
    let error = refused(&bench, 1, Event::Catalogued { parts: vec![] }, |_| {});
    assert!(error.to_string().contains("entry of the shop"), "{error}");
    let empty = bench
        .write(|tx| Ok(tx.catalogue(&origin(1), at(1), &[])?))
        .unwrap_err();
    assert!(empty.to_string().contains("it has no part"), "{empty}");
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn the_triggers_refuse_to_change_delete_replace_or_skip() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench.add(1, 1, vec![note("x")]).unwrap();
    let raw = Connection::open(bench.file()).unwrap();
    let row = "made_us, stored_us, by_whom, terminal, kind, version, payload, previous, hash FROM journal WHERE id = 1";
    for (sql, said) in [
        (
            "UPDATE journal SET payload = '{}' WHERE id = 1".into(),
            "never changed",
        ),
        ("DELETE FROM journal WHERE id = 2".into(), "never deleted"),
        (
            format!("INSERT OR REPLACE INTO journal SELECT 1, 1, 1, {row}"),
            "without gaps",
        ),
        (
            format!("INSERT INTO journal SELECT 4, 1, 3, {row}"),
            "without gaps",
        ),
        (
            format!("INSERT INTO journal SELECT 3, 1, 4, {row}"),
            "without gaps",
        ),
    ] {
        let error = raw.execute_batch(&sql).unwrap_err().to_string();
        assert!(error.contains(said), "{sql}: {error}");
    }
    assert_eq!(bench.entries(1).len(), 2);
    assert_eq!(bench.problems(), [""; 0]);
}

/// A linear congruential step (multiplier and increment from memory). Only variety is asked
/// of it, and that a failure can be repeated from its seed.
fn next(seed: &mut u64) -> u64 {
    *seed = seed
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    *seed ^ (*seed >> 33)
}

fn any_event(seed: &mut u64, job: &Job, retractable: &[u64]) -> Event {
    let slot = Slot::ALL[(next(seed) % 3) as usize];
    let code = ["chainline-front", "hill-grade", "gross-mass"][(next(seed) % 3) as usize];
    let number = (next(seed) >> 11) as f64 / 1e12;
    match next(seed) % 16 {
        0 | 1 => stated(code, Value::Number(number)),
        2 | 3 => recorded(code, number),
        4 => Event::Chosen {
            slot,
            part: part("some", slot.kind()),
        },
        5 => Event::Dropped { slot },
        6 => Event::Ordered {
            slot,
            supplier: "one".into(),
            due: None,
            price: None,
        },
        7 => Event::Received(receipt(slot, "S", "L")),
        14 => Event::Supply(SupplyEvent::PartReturned {
            slot,
            why: "dead".into(),
            moved: false,
        }),
        15 => Event::Supply(SupplyEvent::OrderCancelled {
            slot,
            why: "late".into(),
        }),
        8 => blocked(job.last_block + 1, Whose::ALL[(next(seed) % 4) as usize]),
        9 => Event::Cleared {
            number: job.last_block,
            why: "done".into(),
        },
        10 => Event::GateTried {
            gate: job.stage,
            findings: vec![],
            passed: !next(seed).is_multiple_of(3),
        },
        11 => Event::SentBack {
            stage: Stage::Intake,
            why: "again".into(),
        },
        12 => match retractable {
            [] => note("nothing to retract"),
            seqs => Event::Retracted {
                seq: seqs[(next(seed) as usize) % seqs.len()],
                why: "slip".into(),
            },
        },
        _ => note("words"),
    }
}

#[test]
fn after_any_sequence_of_events_the_state_is_the_fold_and_the_tables_follow() {
    for start in 1..=4_u64 {
        let mut seed = start;
        let bench = Bench::new();
        bench.take_in(1, 0);
        for minute in 1..30 {
            let job = bench.job(1);
            let entries = bench.entries(1);
            let retractable: Vec<u64> = entries
                .iter()
                .filter(|entry| entry.event.can_be_undone())
                .map(|entry| entry.seq)
                .collect();
            let count = 1 + next(&mut seed) % 3;
            let events: Vec<Event> = (0..count)
                .map(|_| any_event(&mut seed, &job, &retractable))
                .collect();
            bench
                .write(move |tx| Ok(add(tx, 1, minute * 7, &events)?))
                .unwrap();
            assert_eq!(
                bench.job(1),
                Job::fold(&bench.entries(1)).unwrap(),
                "seed {start}, step {minute}"
            );
        }
        assert_eq!(bench.problems(), [""; 0], "seed {start}");
    }
}

/// What is said of the shop is kept, folds, and is held against its history.
#[test]
fn the_shop_is_kept_beside_its_history() {
    let bench = Bench::new();
    let origin = origin(5);
    let shut = ShopEvent::Shut {
        days: [jiff::civil::date(2026, 4, 3)].into(),
        why: "spring".into(),
    };
    let mut draft = ShopDraft::new(Shop::default(), 0, origin.clone());
    draft.push(shut);
    let (events, shop) = (draft.events.clone(), draft.shop.clone());
    bench
        .write(move |tx| Ok(tx.append_shop(&origin, at(6), &events, &shop)?))
        .unwrap();
    assert_eq!(*bench.store.read(|reader| reader.shop()).unwrap(), draft.shop);
    let before = bench
        .store
        .read(|reader| reader.shop_known(at(5), u64::MAX))
        .unwrap();
    assert_eq!(*before, Shop::default());
    assert_eq!(bench.problems(), [""; 0]);
    bench
        .write(|tx| {
            let sql = "UPDATE shop SET state = '{}'";
            Ok(tx.connection.execute(sql, []).map_err(StorageError::from)?)
        })
        .unwrap();
    assert_eq!(
        bench.problems(),
        ["the shop: what is kept of it differs from its history"]
    );
}

#[test]
fn an_entry_of_a_job_is_none_of_the_shop_and_the_reverse() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let noted = [note("a word")];
    let given = origin(1);
    let refused = bench
        .write(move |tx| Ok(tx.append_shop(&given, at(1), &noted, &Shop::default())?))
        .unwrap_err();
    assert!(refused.to_string().contains("`noted`"), "{refused}");
    let of_the_shop = vec![Event::Shop(ShopEvent::Open {
        days: [].into(),
        why: String::new(),
    })];
    let refused = bench.add(1, 1, of_the_shop).unwrap_err();
    assert!(refused.to_string().contains("`open`"), "{refused}");
    assert_eq!(bench.problems(), [""; 0]);
}

/// A shelf entry that changes rows, and a row that was changed by hand.
#[test]
fn the_shelf_is_kept_row_by_row_and_held_against_its_history() {
    let bench = Bench::new();
    let mut draft = stocked();
    let (events, stock) = (draft.events.clone(), draft.stock.clone());
    bench
        .write(move |tx| Ok(tx.append_stock(&origin(1), at(2), &events, &stock)?))
        .unwrap();
    let holders = bench.store.read(|reader| reader.holders("S1")).unwrap();
    assert_eq!((holders.len(), holders[0].item), (1, Some(1)));
    assert_eq!(bench.store.read(|reader| reader.stock()).unwrap(), draft.stock);
    draft.events.clear();
    draft.push(StockEvent::Returned {
        item: 1,
        count: 1,
        why: "dead".into(),
        owed: None,
    });
    let events = draft.events.clone();
    let wrong = Stock::default();
    let refused = bench.write({
        let events = events.clone();
        move |tx| Ok(tx.append_stock(&origin(3), at(3), &events, &wrong)?)
    });
    assert!(
        refused
            .unwrap_err()
            .to_string()
            .contains("not what its entries fold into")
    );
    let stock = draft.stock.clone();
    bench
        .write(move |tx| Ok(tx.append_stock(&draft.origin, at(3), &events, &stock)?))
        .unwrap();
    assert_eq!(bench.store.read(|reader| reader.stock()).unwrap().items.len(), 0);
    assert_eq!(bench.problems(), [""; 0]);
    bench
        .write(|tx| {
            let sql = "UPDATE shelf_item SET state = json_set(state, '$.count', 1)";
            Ok(tx.connection.execute(sql, []).map_err(StorageError::from)?)
        })
        .unwrap();
    assert_eq!(bench.problems(), ["the shelf: item 1 differs from its history"]);
}

/// Marks are looked up in indexes: the plan names them.
#[test]
fn a_recall_reads_indexes_and_never_every_piece() {
    let bench = Bench::new();
    let raw = Connection::open(bench.file()).unwrap();
    for (by, index) in crate::found::BY
        .iter()
        .zip(["piece_serial", "piece_lot", "piece_came"])
    {
        let sql = format!("EXPLAIN QUERY PLAN {}", crate::found::sql(by));
        let mut statement = raw.prepare(&sql).unwrap();
        let given = (Some("one"), None::<String>, 0, 1, "A", "B");
        let plan: Vec<String> = statement
            .query_map(given, |row| row.get(3))
            .unwrap()
            .collect::<Result<_, _>>()
            .unwrap();
        assert!(
            plan[0].contains("SEARCH p") && plan[0].contains(index),
            "{by}: {plan:?}"
        );
    }
}
