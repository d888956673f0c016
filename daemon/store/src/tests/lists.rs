//! Lists: what they hold, in which order, and that they use their index.

use lockring_domain::block::Whose;
use lockring_domain::entry::Event;
use lockring_domain::part::PartKind;
use lockring_domain::stage::Stage;

use super::{Bench, at, blocked, every_job_event, note, origin, part};
use crate::reader::{COUNT_OPEN, LAST_JOB, jobs_sql};
use crate::{JobFilter, StorageError};

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
        (parts, "SEARCH part USING INDEX part_kind (kind=? AND id>?)"),
        (COUNT_OPEN, "SEARCH job USING COVERING INDEX job_open (is_over=?)"),
        (LAST_JOB, "SEARCH job"),
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
