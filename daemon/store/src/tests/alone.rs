//! A caller who comes alone: little work is done on its own thread, everything else on the writer's.

use std::sync::mpsc::channel;
use std::thread::{ThreadId, current};
use std::time::{Duration, Instant};

use lockring_domain::refusal::{Reason, Refusal};

use super::{Bench, add, block_on, note, request};
use crate::sync::{ALONE, RESTLESS};
use crate::{Size, StorageError, Store, Tx, WriteError};

impl Bench {
    fn write_little<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Tx<'_>) -> Result<T, WriteError> + Send + 'static,
    ) -> Result<T, WriteError> {
        block_on(self.store.write_sized(Size::Little, work))
    }

    /// Notes something on job 1; on which thread that was done. The writer has let go of the pen before:
    /// it does so a moment after its answer.
    fn note_by(&self, size: Size, minute: i64) -> ThreadId {
        self.wait_for_the_pen();
        let noted = self.store.write_sized(size, move |tx| {
            add(tx, 1, minute, &[note("alone")])?;
            Ok(current().id())
        });
        block_on(noted).unwrap()
    }

    fn wait_for_the_pen(&self) {
        let begun = Instant::now();
        while self.store.pen.is_held() {
            assert!(
                begun.elapsed() < Duration::from_secs(60),
                "the writer never lets go"
            );
            std::thread::yield_now();
        }
    }

    /// A bench where callers have come one by one for long enough.
    fn with_lone_callers() -> Self {
        let bench = Self::new();
        bench.take_in(1, 0);
        for minute in 1..i64::from(ALONE) {
            bench.note_by(Size::Any, minute);
        }
        bench.wait_for_the_pen();
        bench
    }
}

#[test]
fn once_callers_come_one_by_one_little_work_is_done_on_their_own_thread() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let own = current().id();
    for minute in 1..i64::from(ALONE) {
        assert_ne!(bench.note_by(Size::Little, minute), own, "{minute}");
    }
    assert_eq!(bench.note_by(Size::Little, 20), own);
    assert_ne!(bench.note_by(Size::Any, 21), own);
    let expected = ALONE as usize + 2;
    assert_eq!(bench.entries(1).len(), expected);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn two_who_come_together_are_written_together_by_the_writer() {
    let bench = Bench::with_lone_callers();
    let noted = |minute| {
        bench.store.write_sized(Size::Little, move |tx| {
            add(tx, 1, minute, &[note("two")])?;
            Ok(current().id())
        })
    };
    let (one, two) = block_on(async { tokio::join!(noted(30), noted(31)) });
    let own = current().id();
    assert_ne!(one.unwrap(), own);
    assert_ne!(two.unwrap(), own);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn what_is_refused_or_breaks_down_on_the_callers_thread_leaves_nothing_there() {
    let bench = Bench::with_lone_callers();
    let before = bench.entries(1).len();
    let refusal = || WriteError::Refused(Refusal::new(Reason::BadInput, "no"));
    let own = current().id();
    let refused = bench.write_little(move |tx| -> Result<(), WriteError> {
        assert_eq!(current().id(), own);
        add(tx, 1, 40, &[note("refused")])?;
        tx.remember(&request("r"), b"refused")?;
        Err(refusal())
    });
    assert_eq!(refused, Err(refusal()));
    let broken = bench.write_little(move |tx| -> Result<(), WriteError> {
        assert_eq!(current().id(), own);
        add(tx, 1, 60, &[note("lost")])?;
        panic!("broken rule {}", 8);
    });
    let message = "broken rule 8".into();
    assert_eq!(
        broken,
        Err(WriteError::Storage(StorageError::Panicked { message }))
    );
    assert_eq!(bench.write(|tx| tx.answer(&request("r"))), Ok(None));
    bench.note_by(Size::Little, 61);
    assert_eq!(bench.entries(1).len(), before + 1);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn a_log_that_lone_callers_made_long_is_taken_in_all_the_same() {
    let bench = Bench::with_lone_callers();
    let log = bench.folder.path().join("lockring.db-wal");
    let length = || std::fs::metadata(&log).unwrap().len();
    let long = "x".repeat(100_000);
    let (mut by_themselves, mut longest) = (0, 0);
    for minute in 100..100 + 4 * i64::from(RESTLESS) {
        let long = long.clone();
        bench.wait_for_the_pen();
        let own = bench.write_little(move |tx| {
            add(tx, 1, minute, &[note(&long)])?;
            Ok(current().id())
        });
        by_themselves += u32::from(own.unwrap() == current().id());
        longest = longest.max(length());
    }
    assert!(by_themselves > 3 * RESTLESS, "{by_themselves}");
    // So many notes take some 13 MB in the log; it is looked at after each of so many callers.
    let most = 4096 * 1000 + u64::from(RESTLESS) * 150_000;
    assert!(longest > 1_000_000 && longest < most, "{longest}");
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn a_commit_that_fails_is_told_to_the_lone_caller_and_stores_nothing() {
    let bench = Bench::with_lone_callers();
    let before = bench.entries(1).len();
    let own = current().id();
    let answer = bench.write_little(move |tx| {
        assert_eq!(current().id(), own);
        add(tx, 1, 70, &[note("lost")])?;
        // No job 9: found when the transaction is committed.
        let sql = "PRAGMA defer_foreign_keys = ON; INSERT INTO order_line VALUES (9, 1, 0);";
        tx.connection.execute_batch(sql).map_err(StorageError::from)?;
        Ok(())
    });
    let Err(WriteError::Storage(StorageError::Database { detail })) = answer else {
        panic!("{answer:?}")
    };
    assert!(detail.contains("FOREIGN KEY constraint failed"), "{detail}");
    assert_eq!(bench.entries(1).len(), before);
    bench.note_by(Size::Little, 71);
    assert_eq!(bench.entries(1).len(), before + 1);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn a_store_that_is_closed_while_somebody_writes_alone_waits_and_takes_no_more() {
    let bench = Bench::with_lone_callers();
    let (written, is_written) = channel();
    let (go, wait) = channel::<()>();
    std::thread::scope(|scope| {
        let alone = scope.spawn(|| {
            let own = current().id();
            bench.write_little(move |tx| {
                assert_eq!(current().id(), own);
                add(tx, 1, 80, &[note("at the end")])?;
                written.send(()).expect("somebody waits");
                wait.recv().expect("the gate opens");
                Ok(())
            })
        });
        is_written.recv().unwrap();
        let closing = scope.spawn(|| bench.store.close());
        while !bench.store.queue.is_closed() {
            std::thread::yield_now();
        }
        assert!(!closing.is_finished());
        go.send(()).unwrap();
        assert_eq!(alone.join().unwrap(), Ok(()));
        closing.join().unwrap().unwrap();
    });
    let after = bench.write_little(|tx| Ok(add(tx, 1, 81, &[note("too late")])?.len()));
    assert_eq!(after, Err(WriteError::Storage(StorageError::Closed)));
    let again = Store::open(bench.folder.path()).unwrap();
    assert_eq!(again.verify().unwrap().problems, [""; 0]);
    let last = again.read(|reader| reader.job(1)).unwrap().unwrap().revision;
    assert_eq!(last, u64::from(ALONE) + 1);
}
