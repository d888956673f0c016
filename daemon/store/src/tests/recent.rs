//! What is remembered of jobs lately read or written.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use jiff::civil::date;
use lockring_domain::entry::Event;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::shop::event::ShopEvent;

use super::{Bench, add, note};
use crate::error::StorageError;
use crate::recent::{AsOf, ROOM, Recent};
use crate::rows;

fn bench(jobs: u32) -> Bench {
    let bench = Bench::new();
    for number in 1..=jobs {
        bench.take_in(number, 0);
    }
    bench
}

#[test]
fn a_reader_on_an_older_state_is_given_the_older_job_and_spoils_nothing() {
    let bench = bench(1);
    bench
        .store
        .read(|reader| {
            let before = reader.job(1)?.unwrap();
            bench.add(1, 1, vec![note("more")]).unwrap();
            assert_eq!(bench.job(1).revision, before.revision + 1);
            assert_eq!(*reader.job(1)?.unwrap(), *before);
            Ok(())
        })
        .unwrap();
    bench.add(1, 2, vec![note("still more")]).unwrap();
    assert_eq!(bench.job(1).revision, 3);
    assert!(bench.problems().is_empty());
}

#[test]
fn what_was_not_kept_is_not_remembered() {
    let bench = bench(1);
    let before = bench.job(1);
    let failed = bench.write(|tx| {
        add(tx, 1, 1, &[note("gone")])?;
        Err::<(), _>(StorageError::unstorable("a test", "it is dropped").into())
    });
    failed.unwrap_err();
    assert_eq!(bench.job(1), before);
}

#[test]
fn there_is_room_for_so_much_and_lists_drive_nothing_out() {
    let bench = bench(3);
    let connection = crate::connection::reader(bench.store.path()).unwrap();
    let recent = Recent::default();
    let state = |number: u32| -> String {
        let sql = "SELECT state FROM job WHERE number = ?1";
        connection.query_row(sql, [number], |row| row.get(0)).unwrap()
    };
    let first = recent.job(&connection, AsOf::UNKNOWN, 1).unwrap().unwrap();
    assert!(Arc::ptr_eq(
        &first,
        &recent.job(&connection, AsOf::UNKNOWN, 1).unwrap().unwrap()
    ));
    assert!(Arc::ptr_eq(
        &first,
        &recent.listed(AsOf::UNKNOWN, 1, &state(1)).unwrap()
    ));
    // Blanks after a text are read over, so that a text may be as long as one likes.
    let long = |number: u32| format!("{}{}", state(number), " ".repeat(ROOM - 10));
    recent.listed(AsOf::UNKNOWN, 2, &long(2)).unwrap();
    assert_eq!(recent.remembered().0, [1]);
    recent.keep(Arc::new(rows::job(2, &state(2)).unwrap()), long(2));
    assert_eq!(recent.remembered().0, [2]);
    assert_eq!(recent.remembered().1, long(2).len());
    recent.keep(Arc::new(rows::job(2, &state(2)).unwrap()), state(2));
    recent.job(&connection, AsOf::UNKNOWN, 3).unwrap();
    assert_eq!(recent.remembered().1, state(2).len() + state(3).len());
    assert!(recent.take(&connection, 9).unwrap().is_none());
}

/// Whether job 1 is at hand, and at which revision.
fn at_hand(bench: &Bench) -> Option<u64> {
    bench.store.at_hand(1).map(|(_, job)| job.revision)
}

/// Reads shop and job 1, as an answer does that finds them not at hand.
fn look(bench: &Bench) -> u64 {
    let read = bench.store.read(|reader| {
        reader.shop()?;
        Ok(reader.job(1)?.unwrap().revision)
    });
    read.unwrap()
}

/// Something said of the shop.
fn shut() -> ShopEvent {
    ShopEvent::Shut {
        days: [date(2026, 4, 3)].into(),
        why: "spring".into(),
    }
}

#[test]
fn what_was_read_or_written_last_is_at_hand() {
    let bench = bench(1);
    assert_eq!(at_hand(&bench), None, "nobody read the shop");
    look(&bench);
    assert_eq!(at_hand(&bench), Some(1));
    bench.add(1, 1, vec![note("more")]).unwrap();
    assert_eq!(at_hand(&bench), Some(2), "the writer knows what it wrote");
    assert!(bench.store.at_hand(2).is_none(), "there is no job 2");
    bench.tell(2, shut());
    assert_eq!(at_hand(&bench), None, "the shop was written anew");
    look(&bench);
    let (shop, job) = bench.store.at_hand(1).unwrap();
    assert_eq!(shop.calendar.holidays.len(), 1);
    assert_eq!(*job, bench.job(1));
}

#[test]
fn what_is_not_yet_committed_is_not_at_hand() {
    let bench = Arc::new(bench(1));
    look(&bench);
    let meanwhile = bench.clone();
    bench
        .write(move |tx| {
            add(tx, 1, 1, &[note("more")])?;
            assert_eq!(at_hand(&meanwhile), None);
            // Whoever reads meanwhile sees the job as it is stored, and that is no longer so afterwards.
            assert_eq!(look(&meanwhile), 1);
            Ok(())
        })
        .unwrap();
    assert_eq!(at_hand(&bench), Some(2));
}

#[test]
fn a_change_that_is_dropped_leaves_nothing_at_hand_that_is_not_stored() {
    let bench = bench(1);
    look(&bench);
    let failed = bench.write(|tx| {
        add(tx, 1, 1, &[note("gone")])?;
        Err::<(), _>(StorageError::unstorable("a test", "it is dropped").into())
    });
    failed.unwrap_err();
    assert_eq!(at_hand(&bench), None);
    assert_eq!(look(&bench), 1);
    assert_eq!(at_hand(&bench), Some(1));
}

/// A reader that began before a commit finds what was stored then; that is not kept for what is
/// stored now, whenever it finds it.
#[test]
fn a_reader_that_began_before_a_commit_puts_nothing_at_hand() {
    let bench = bench(1);
    look(&bench);
    bench
        .store
        .read(|reader| {
            assert_eq!(reader.job(1)?.unwrap().revision, 1);
            bench.add(1, 1, vec![note("more")]).unwrap();
            assert_eq!(at_hand(&bench), Some(2));
            assert_eq!(reader.job(1)?.unwrap().revision, 1);
            assert_eq!(at_hand(&bench), Some(2));
            Ok(())
        })
        .unwrap();
}

/// Readers and the writer at the same time: whoever was told of a change finds it at hand, or nothing.
#[test]
fn nobody_is_given_less_than_was_answered() {
    let bench = bench(1);
    let told = AtomicU64::new(1);
    let is_over = AtomicBool::new(false);
    let mut found = 0;
    std::thread::scope(|scope| {
        scope.spawn(|| {
            for minute in 1..200 {
                bench.add(1, minute, vec![note("more")]).unwrap();
                told.fetch_add(1, Ordering::SeqCst);
            }
            is_over.store(true, Ordering::SeqCst);
        });
        for _ in 0..2 {
            scope.spawn(|| {
                while !is_over.load(Ordering::SeqCst) {
                    look(&bench);
                }
            });
        }
        while !is_over.load(Ordering::SeqCst) {
            let least = told.load(Ordering::SeqCst);
            if let Some(revision) = at_hand(&bench) {
                assert!(revision >= least, "{revision} where {least} was answered");
                found += 1;
            }
        }
    });
    assert!(found > 0);
    let last = look(&bench);
    assert_eq!(at_hand(&bench), Some(last));
}

/// The writer's transaction is open; somebody reads the shop, and it is another after the commit.
#[test]
fn a_shop_read_while_it_is_written_is_not_at_hand_afterwards() {
    let bench = Arc::new(bench(1));
    look(&bench);
    let meanwhile = bench.clone();
    let shut = shut();
    let mut shop = Arc::unwrap_or_clone(bench.store.read(|reader| reader.shop()).unwrap());
    shop.take(1, &super::origin(2), &shut);
    bench
        .write(move |tx| {
            tx.append_shop(&super::origin(2), super::at(2), &[Event::Shop(shut)], &shop)?;
            look(&meanwhile);
            let before = meanwhile.store.at_hand(1).unwrap().0;
            assert!(before.calendar.holidays.is_empty(), "it is not committed");
            Ok(())
        })
        .unwrap();
    assert_eq!(at_hand(&bench), None);
    look(&bench);
    assert_eq!(bench.store.at_hand(1).unwrap().0.calendar.holidays.len(), 1);
}

/// In one batch job 1 is written and kept, another caller is refused, and somebody reads job 1.
#[test]
fn a_job_read_in_a_batch_with_a_refused_caller_is_not_at_hand_afterwards() {
    let bench = Arc::new(bench(1));
    look(&bench);
    let meanwhile = bench.clone();
    let (go, wait) = std::sync::mpsc::channel::<()>();
    let first = bench.store.write(move |tx| {
        wait.recv().unwrap();
        Ok(add(tx, 1, 1, &[note("kept")])?.len())
    });
    let second = bench.store.write(|_| {
        let refused = Refusal::new(Reason::BadInput, "no");
        Err::<(), _>(crate::WriteError::Refused(refused))
    });
    let third = bench.store.write(move |_| {
        assert_eq!(look(&meanwhile), 1, "it is not committed");
        assert_eq!(at_hand(&meanwhile), Some(1));
        Ok(())
    });
    let (first, second, third, ()) =
        super::block_on(async { tokio::join!(first, second, third, async { go.send(()).unwrap() }) });
    assert_eq!(first, Ok(1));
    second.unwrap_err();
    third.unwrap();
    assert_eq!(at_hand(&bench), None);
    assert_eq!(look(&bench), 2);
    assert_eq!(at_hand(&bench), Some(2));
}

#[test]
fn after_a_commit_that_failed_nothing_of_it_is_at_hand() {
    let bench = bench(1);
    look(&bench);
    let failed = bench.write(|tx| {
        add(tx, 1, 1, &[note("gone")])?;
        let dangling = "PRAGMA defer_foreign_keys = ON; INSERT INTO order_line VALUES (9, 1, 0);";
        tx.connection
            .execute_batch(dangling)
            .map_err(StorageError::from)?;
        Ok(())
    });
    failed.unwrap_err();
    assert_eq!(at_hand(&bench), None);
    assert_eq!(look(&bench), 1);
    assert_eq!(at_hand(&bench), Some(1));
    bench.add(1, 2, vec![note("more")]).unwrap();
    assert_eq!(at_hand(&bench), Some(2));
}

/// Another program on the file, and a job of another rider.
fn renamed(bench: &Bench) -> (rusqlite::Connection, String) {
    let other = rusqlite::Connection::open(bench.store.path()).unwrap();
    let sql = "SELECT json_set(state, '$.rider', 'another') FROM job WHERE number = 1";
    let state = other.query_row(sql, [], |row| row.get(0)).unwrap();
    (other, state)
}

const WRITE: &str = "UPDATE job SET state = ?1 WHERE number = 1";

#[test]
fn the_writer_looks_again_when_somebody_else_wrote() {
    let bench = bench(1);
    let rider = |bench: &Bench| bench.write(|tx| Ok(tx.job(1)?.unwrap().rider)).unwrap();
    let before = rider(&bench);
    bench.add(1, 1, vec![note("more")]).unwrap();
    assert_eq!(rider(&bench), before);
    let (other, state) = renamed(&bench);
    other.execute(WRITE, [&state]).unwrap();
    assert_ne!(before, "another");
    assert_eq!(rider(&bench), "another");
    assert_eq!(rider(&bench), "another");
    assert_eq!(bench.job(1).rider, "another");
}

/// A job was written, forgotten for want of room, and read by somebody who does not see that yet.
#[test]
fn the_writer_is_given_what_it_wrote_although_others_still_read_what_was_before() {
    let bench = bench(2);
    let (writer, state) = renamed(&bench);
    let reader = crate::connection::reader(bench.store.path()).unwrap();
    let recent = Recent::default();
    let read = |as_of| recent.job(&reader, as_of, 1).unwrap().unwrap().rider.clone();
    let written = || recent.written(&writer, 1).unwrap().unwrap();
    let before = read(recent.now());
    writer.execute_batch("BEGIN IMMEDIATE").unwrap();
    assert_eq!(written().rider, before);
    recent.take(&writer, 1).unwrap().unwrap();
    writer.execute(WRITE, [&state]).unwrap();
    assert_eq!(written().rider, "another", "it is not remembered yet");
    recent.keep(Arc::new(rows::job(1, &state).unwrap()), state.clone());
    let kept = written();
    assert_eq!(kept.rider, "another");
    assert!(Arc::ptr_eq(&kept, &written()), "no look is needed");
    recent.keep(
        recent.job(&reader, AsOf::UNKNOWN, 2).unwrap().unwrap(),
        " ".repeat(ROOM),
    );
    assert_eq!(recent.remembered().0, [2]);
    recent.keep(
        recent.job(&reader, AsOf::UNKNOWN, 2).unwrap().unwrap(),
        String::new(),
    );
    assert_eq!(read(recent.now()), before);
    assert!(recent.remembered().0.contains(&1));
    assert_eq!(written().rider, "another");
}

/// Somebody else wrote while a reader was at work: what it finds later is not what is stored.
#[test]
fn a_reader_from_before_somebody_else_wrote_spoils_nothing() {
    let bench = bench(1);
    let (writer, _) = renamed(&bench);
    let reader = crate::connection::reader(bench.store.path()).unwrap();
    let recent = Recent::default();
    let began = recent.now();
    recent.lose_all();
    recent.job(&reader, began, 1).unwrap().unwrap();
    let state = renamed(&bench).1;
    writer.execute(WRITE, [&state]).unwrap();
    assert_eq!(recent.written(&writer, 1).unwrap().unwrap().rider, "another");
}
