//! Lists: what they hold, in which order, and that they use their index.

use jiff::civil::date;
use lockring_domain::block::Whose;
use lockring_domain::entry::Event;
use lockring_domain::part::{PartKind, Slot};
use lockring_domain::stage::Stage;

use super::{Bench, add, at, blocked, every_job_event, note, origin, part, receipt};
use crate::lookup::{BLOCKS_BY_WHOSE, LINES_OF_LOT, LINES_OVERDUE, LINES_WITH_SERIAL};
use crate::queries::RIDER_SQL;
use crate::reader::{COUNT_OPEN, LAST_JOB, jobs_sql};
use crate::{JobFilter, OpenBlock, StorageError};

fn close(bench: &Bench, job: u32) {
    bench
        .add(
            job,
            9,
            vec![Event::Closed {
                end: Stage::Cancelled,
                why: "no".into(),
            }],
        )
        .unwrap();
}

#[test]
fn jobs_are_listed_by_number_in_pages_open_or_all() {
    let bench = Bench::new();
    (1..=5).for_each(|job| bench.take_in(job, 0));
    close(&bench, 2);
    let numbers = |filter, after, limit| -> Vec<u32> {
        let jobs = bench
            .store
            .read(|reader| reader.jobs(filter, after, limit))
            .unwrap();
        jobs.iter().map(|job| job.number).collect()
    };
    assert_eq!(numbers(JobFilter::Open, 0, 3), [1, 3, 4]);
    assert_eq!(numbers(JobFilter::Open, 4, 3), [5]);
    assert_eq!(numbers(JobFilter::All, 1, 2), [2, 3]);
    let counts = bench.store.read(|reader| reader.counts()).unwrap();
    assert_eq!(
        (counts.entries, counts.jobs_open, counts.jobs_over, counts.parts),
        (6, 4, 1, 0)
    );
}

#[test]
fn the_journal_and_a_history_are_read_on_from_a_number() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench.take_in(2, 0);
    bench.add(1, 1, vec![note("a"), note("b")]).unwrap();
    let ids = |after, limit| -> Vec<u64> {
        bench
            .store
            .read(|reader| reader.journal(after, limit))
            .unwrap()
            .iter()
            .map(|entry| entry.id)
            .collect()
    };
    assert_eq!(
        (ids(0, 2), ids(2, 10), ids(4, 10)),
        (vec![1, 2], vec![3, 4], vec![])
    );
    let late = bench.store.read(|reader| reader.entries(1, 2)).unwrap();
    assert_eq!(
        late.iter().map(|entry| (entry.id, entry.seq)).collect::<Vec<_>>(),
        [(4, 3)]
    );
}

#[test]
fn parts_are_listed_by_id_of_one_kind_or_all() {
    let bench = Bench::new();
    let parts = [
        part("c", PartKind::Motor),
        part("a", PartKind::Pack),
        part("b", PartKind::Motor),
    ];
    bench
        .write(move |tx| Ok(tx.catalogue(&origin(0), at(0), &parts)?))
        .unwrap();
    let ids = |kind, after: &str, limit| -> Vec<String> {
        let parts = bench
            .store
            .read(|reader| reader.parts(kind, after, limit))
            .unwrap();
        parts.into_iter().map(|part| part.id).collect()
    };
    assert_eq!(ids(None, "", 2), ["a", "b"]);
    assert_eq!(ids(None, "b", 2), ["c"]);
    assert_eq!(ids(Some(PartKind::Motor), "", 9), ["b", "c"]);
    let one = bench.store.read(|reader| reader.part("b")).unwrap();
    assert_eq!(one, Some(part("b", PartKind::Motor)));
    assert_eq!(bench.store.read(|reader| reader.part("z")).unwrap(), None);
}

#[test]
fn jobs_as_of_a_moment_count_what_was_made_before_it() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench.add(1, 10, vec![blocked(1, Whose::Owner)]).unwrap();
    bench
        .add(
            1,
            5,
            vec![Event::Held {
                why: "told late".into(),
                until: None,
            }],
        )
        .unwrap();
    bench.take_in(2, 20);
    bench
        .add(
            1,
            30,
            vec![Event::Retracted {
                seq: 3,
                why: "slip".into(),
            }],
        )
        .unwrap();
    let as_of = |minute| {
        bench
            .store
            .read(|reader| reader.jobs_known(at(minute), u64::MAX))
            .unwrap()
    };
    assert!(as_of(0).is_empty());
    let [job] = &as_of(6)[..] else { panic!("one job") };
    assert_eq!((job.blocks.len(), job.hold.is_some(), job.revision), (0, true, 3));
    let [job] = &as_of(20)[..] else { panic!("one job") };
    assert_eq!((job.blocks.len(), job.hold.is_some()), (1, true));
    let now = as_of(31);
    assert_eq!(now, [bench.job(1), bench.job(2)]);
    assert!(now[0].hold.is_none());
}

#[test]
fn blocks_are_listed_by_whose_move_it_is_as_the_job_has_them() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench.take_in(2, 0);
    bench
        .add(2, 1, vec![blocked(1, Whose::Owner), blocked(2, Whose::Supplier)])
        .unwrap();
    bench.add(1, 1, vec![blocked(1, Whose::Owner)]).unwrap();
    let owners = bench.store.read(|reader| reader.blocks(Whose::Owner)).unwrap();
    let block = |job: u32| OpenBlock {
        job,
        block: bench.job(job).blocks[0].clone(),
    };
    assert_eq!(owners, [block(1), block(2)]);
    bench
        .add(
            1,
            2,
            vec![Event::Cleared {
                number: 1,
                why: "done".into(),
            }],
        )
        .unwrap();
    let owners = bench.store.read(|reader| reader.blocks(Whose::Owner)).unwrap();
    assert_eq!(owners, [block(2)]);
}

#[test]
fn parts_are_found_by_lot_by_serial_and_when_overdue() {
    let bench = Bench::new();
    for (job, lot) in [(1, "L-1"), (2, "L-2"), (3, "L-1")] {
        bench.take_in(job, 0);
        let serial = format!("S-{job}");
        bench
            .write(move |tx| {
                let events = [
                    Event::Chosen {
                        slot: Slot::Pack,
                        part: part("pack", PartKind::Pack),
                    },
                    Event::Received(receipt(Slot::Pack, &serial, lot)),
                    Event::Chosen {
                        slot: Slot::Motor,
                        part: part("mid", PartKind::Motor),
                    },
                    Event::Ordered {
                        slot: Slot::Motor,
                        supplier: "one".into(),
                        due: Some(date(2026, 6, 10 - job as i8)),
                        price: None,
                    },
                ];
                Ok(add(tx, job, 1, &events)?)
            })
            .unwrap();
    }
    close(&bench, 2);
    let lots = bench.store.read(|reader| reader.lines_of_lot("L-1")).unwrap();
    assert_eq!(
        lots.iter().map(|line| (line.job, line.slot)).collect::<Vec<_>>(),
        [(1, Slot::Pack), (3, Slot::Pack)]
    );
    let [line] = &bench
        .store
        .read(|reader| reader.lines_with_serial("S-2"))
        .unwrap()[..]
    else {
        panic!("one line")
    };
    assert_eq!(
        (
            line.job,
            line.part_id.as_str(),
            line.received,
            line.lot.as_deref()
        ),
        (2, "pack", true, Some("L-2"))
    );
    let overdue = |day| -> Vec<u32> {
        let lines = bench
            .store
            .read(|reader| reader.lines_overdue(date(2026, 6, day)))
            .unwrap();
        lines.iter().map(|line| line.job).collect()
    };
    assert_eq!(
        (overdue(7), overdue(8), overdue(10)),
        (vec![], vec![3], vec![3, 1])
    );
}

#[test]
fn the_list_statements_use_their_indexes() {
    let bench = Bench::new();
    every_job_event().into_iter().for_each(|event| {
        bench.add(1, 0, vec![event]).unwrap();
    });
    let parts = "SELECT id, kind, attributes FROM part WHERE kind = ?1 AND id > ?2 ORDER BY id LIMIT ?3";
    for (sql, index) in [
        (
            jobs_sql(JobFilter::Open),
            "SEARCH job USING INDEX job_open (is_over=? AND number>?)",
        ),
        (
            jobs_sql(JobFilter::All),
            "SEARCH job USING INTEGER PRIMARY KEY (rowid>?)",
        ),
        (BLOCKS_BY_WHOSE, "SEARCH block USING INDEX block_whose (whose=?)"),
        (
            LINES_OF_LOT,
            "SEARCH build_line USING INDEX build_line_lot (lot=?)",
        ),
        (
            LINES_WITH_SERIAL,
            "SEARCH build_line USING INDEX build_line_serial (serial=?)",
        ),
        (
            LINES_OVERDUE,
            "SEARCH build_line USING INDEX build_line_due (received=? AND due<?)",
        ),
        (parts, "SEARCH part USING INDEX part_kind (kind=? AND id>?)"),
        (COUNT_OPEN, "SEARCH job USING COVERING INDEX job_open (is_over=?)"),
        (LAST_JOB, "SEARCH job"),
        (RIDER_SQL, "SEARCH job USING INDEX job_rider (rider=?)"),
    ] {
        let plan: Vec<String> = bench
            .store
            .read(|reader| {
                let mut statement = reader.connection.prepare(&format!("EXPLAIN QUERY PLAN {sql}"))?;
                for place in 1..=statement.parameter_count() {
                    statement.raw_bind_parameter(place, 0)?;
                }
                let mut rows = statement.raw_query();
                let mut lines = Vec::new();
                while let Some(row) = rows.next()? {
                    lines.push(row.get(3)?);
                }
                Ok::<_, StorageError>(lines)
            })
            .unwrap();
        assert!(plan.iter().any(|line| line == index), "{sql}: {plan:?}");
        assert!(
            !plan.iter().any(|line| line.starts_with("SCAN")),
            "{sql}: {plan:?}"
        );
    }
}
