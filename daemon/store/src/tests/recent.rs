//! What is remembered of jobs lately read or written.

use std::sync::Arc;

use super::{Bench, add, note};
use crate::error::StorageError;
use crate::recent::{ROOM, Recent};
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
    let connection = crate::open::reader(bench.store.path()).unwrap();
    let recent = Recent::default();
    let state = |number: u32| -> String {
        let sql = "SELECT state FROM job WHERE number = ?1";
        connection.query_row(sql, [number], |row| row.get(0)).unwrap()
    };
    let first = recent.job(&connection, 1).unwrap().unwrap();
    assert!(Arc::ptr_eq(&first, &recent.job(&connection, 1).unwrap().unwrap()));
    assert!(Arc::ptr_eq(&first, &recent.listed(1, &state(1)).unwrap()));
    // Blanks after a text are read over, so that a text may be as long as one likes.
    let long = |number: u32| format!("{}{}", state(number), " ".repeat(ROOM - 10));
    recent.listed(2, &long(2)).unwrap();
    assert_eq!(recent.remembered().0, [1]);
    recent.keep(Arc::new(rows::job(2, &state(2)).unwrap()), long(2));
    assert_eq!(recent.remembered().0, [2]);
    assert_eq!(recent.remembered().1, long(2).len());
    recent.keep(Arc::new(rows::job(2, &state(2)).unwrap()), state(2));
    recent.job(&connection, 3).unwrap();
    assert_eq!(recent.remembered().1, state(2).len() + state(3).len());
    assert!(recent.take(&connection, 9).unwrap().is_none());
}
