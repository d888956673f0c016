//! The writer: batches, savepoints, failures, and many callers at once.

use std::future::{Future, poll_fn};
use std::pin::Pin;
use std::sync::mpsc::channel;
use std::task::Poll;

use lockring_domain::refusal::{Reason, Refusal};
use rusqlite::ErrorCode;

use super::{Bench, add, at, block_on, note, request};
use crate::{StorageError, WriteError};

fn sql(result: Result<(), rusqlite::Error>) -> Result<(), StorageError> {
    result.map_err(StorageError::from)
}

fn refusal() -> WriteError {
    WriteError::Refused(Refusal::new(Reason::BadInput, "no"))
}

/// Runs three writes as one batch: the first holds the writer until the others are queued.
fn in_one_batch(
    bench: &Bench,
    second: impl FnOnce(&mut crate::Tx<'_>) -> Result<u64, WriteError> + Send + 'static,
    third: impl FnOnce(&mut crate::Tx<'_>) -> Result<u64, WriteError> + Send + 'static,
) -> [Result<u64, WriteError>; 3] {
    let (go, wait) = channel::<()>();
    let first = bench.store.write(move |tx| {
        wait.recv().expect("the gate opens");
        Ok(add(tx, 1, 1, &[note("first")])?[0].id)
    });
    let (one, two, three, ()) = block_on(async {
        tokio::join!(
            first,
            bench.store.write(second),
            bench.store.write(third),
            async {
                go.send(()).unwrap();
            }
        )
    });
    [one, two, three]
}

#[test]
fn a_refused_caller_leaves_nothing_and_the_others_of_its_batch_stay() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let answers = in_one_batch(
        &bench,
        |tx| {
            add(tx, 1, 2, &[note("refused")])?;
            tx.remember(&request("r"), b"refused")?;
            Err(refusal())
        },
        |tx| {
            assert_eq!(tx.answer(&request("r"))?, None);
            Ok(add(tx, 1, 3, &[note("kept")])?[0].id)
        },
    );
    assert_eq!(answers, [Ok(2), Err(refusal()), Ok(3)]);
    let events: Vec<_> = bench
        .entries(1)
        .into_iter()
        .skip(1)
        .map(|entry| entry.event)
        .collect();
    assert_eq!(events, [note("first"), note("kept")]);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn a_batch_whose_first_caller_is_refused_keeps_what_comes_after() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let (go, wait) = channel::<()>();
    let first = bench.store.write(move |tx| -> Result<u64, WriteError> {
        wait.recv().expect("the gate opens");
        add(tx, 1, 1, &[note("refused")])?;
        Err(refusal())
    });
    let second = bench
        .store
        .write(|tx| Ok(add(tx, 1, 2, &[note("second")])?[0].id));
    let third = bench.store.write(|tx| Ok(add(tx, 1, 3, &[note("third")])?[0].id));
    let answers: (_, _, _, ()) = block_on(async {
        tokio::join!(first, second, third, async {
            go.send(()).unwrap();
        })
    });
    assert_eq!(answers, (Err(refusal()), Ok(2), Ok(3), ()));
    assert_eq!(bench.entries(1).len(), 3);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn a_panic_is_reported_leaves_nothing_and_the_writer_goes_on() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let answers = in_one_batch(
        &bench,
        |tx| {
            add(tx, 1, 2, &[note("lost")])?;
            panic!("broken rule {}", 7);
        },
        |tx| Ok(add(tx, 1, 3, &[note("kept")])?[0].id),
    );
    let message = "broken rule 7".into();
    assert_eq!(
        answers,
        [
            Ok(2),
            Err(WriteError::Storage(StorageError::Panicked { message })),
            Ok(3)
        ]
    );
    assert_eq!(bench.entries(1).len(), 3);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn a_write_error_that_a_caller_makes_nothing_of_still_drops_its_part() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let result = bench.write(|tx| {
        add(tx, 1, 1, &[note("lost")])?;
        let after = tx.job(1)?.unwrap();
        let wrong = tx.append(1, &super::origin(2), at(2), &[note("x")], &after);
        assert!(wrong.is_err());
        Ok(())
    });
    assert!(
        matches!(result, Err(WriteError::Storage(StorageError::Unstorable { .. }))),
        "{result:?}"
    );
    assert_eq!(bench.entries(1).len(), 1);
}

#[test]
fn a_commit_that_fails_is_told_to_everybody_and_stores_nothing() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let answers = in_one_batch(
        &bench,
        |tx| {
            sql(tx.connection.execute_batch(
                "PRAGMA defer_foreign_keys = ON;
                 INSERT INTO order_line VALUES (9, 1, 0);",
            ))?;
            Ok(0)
        },
        |_| Err(refusal()),
    );
    for answer in answers {
        let Err(WriteError::Storage(StorageError::Database { detail })) = answer else {
            panic!("{answer:?}")
        };
        assert!(detail.contains("FOREIGN KEY constraint failed"), "{detail}");
    }
    assert_eq!(bench.entries(1).len(), 1);
    bench.add(1, 5, vec![note("after")]).unwrap();
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn a_full_disk_is_named_stores_nothing_and_passes() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let limit = |pages: &'static str| {
        move |tx: &mut crate::Tx<'_>| {
            let sql = format!("PRAGMA max_page_count = {pages}");
            tx.connection
                .query_row(&sql, [], |row| row.get::<_, i64>(0))
                .map_err(StorageError::from)?;
            Ok(())
        }
    };
    bench.write(limit("1")).unwrap();
    let error = bench.add(1, 1, vec![note(&"long ".repeat(20_000))]).unwrap_err();
    let WriteError::Storage(error @ StorageError::Full { .. }) = error else {
        panic!("{error:?}")
    };
    assert!(error.cure().contains("make room"));
    assert_eq!(bench.entries(1).len(), 1);
    bench.write(limit("1000000")).unwrap();
    bench.add(1, 2, vec![note("there is room again")]).unwrap();
    assert_eq!(bench.entries(1).len(), 2);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn complaints_of_the_database_and_the_system_become_errors_with_a_cure() {
    use rusqlite::ffi;
    let from = |code| StorageError::from(rusqlite::Error::SqliteFailure(ffi::Error::new(code), None));
    assert!(matches!(from(ffi::SQLITE_FULL), StorageError::Full { .. }));
    assert!(matches!(
        from(ffi::SQLITE_READONLY),
        StorageError::ReadOnly { .. }
    ));
    assert!(matches!(from(ffi::SQLITE_IOERR_FSYNC), StorageError::Io { .. }));
    assert!(matches!(from(ffi::SQLITE_CANTOPEN), StorageError::Io { .. }));
    assert!(matches!(from(ffi::SQLITE_BUSY), StorageError::Busy { .. }));
    assert!(matches!(from(ffi::SQLITE_CORRUPT), StorageError::Damaged { .. }));
    assert!(matches!(from(ffi::SQLITE_NOTADB), StorageError::Damaged { .. }));
    assert!(matches!(from(ffi::SQLITE_MISUSE), StorageError::Database { .. }));
    assert_eq!(ffi::Error::new(ffi::SQLITE_FULL).code, ErrorCode::DiskFull);
    let io = |kind: std::io::ErrorKind| StorageError::from(std::io::Error::from(kind));
    assert!(matches!(
        io(std::io::ErrorKind::StorageFull),
        StorageError::Full { .. }
    ));
    assert!(matches!(
        io(std::io::ErrorKind::ReadOnlyFilesystem),
        StorageError::ReadOnly { .. }
    ));
    assert!(matches!(
        io(std::io::ErrorKind::UnexpectedEof),
        StorageError::Io { .. }
    ));
}

#[test]
fn an_answer_is_remembered_with_what_it_answers_and_can_be_forgotten() {
    let bench = Bench::new();
    let first = bench.write(|tx| {
        add(
            tx,
            1,
            0,
            &[lockring_domain::entry::Event::TakenIn { rider: "A".into() }],
        )?;
        tx.remember(&request("request 1"), b"job 1")?;
        tx.answer(&request("request 1"))
    });
    assert_eq!(first, Ok(Some(b"job 1".to_vec())));
    let again = bench.write(|tx| tx.answer(&request("request 1")));
    assert_eq!(again, Ok(Some(b"job 1".to_vec())));
    assert!(
        bench
            .write(|tx| Ok(tx.remember(&request("request 1"), b"another")?))
            .is_err()
    );
    let other = bench.write(|tx| tx.answer(&crate::Request::new("request 1", "something else")));
    let Err(WriteError::Refused(refusal)) = other else {
        panic!("{other:?}");
    };
    assert_eq!(refusal.reason, Reason::RequestIdReused);
    assert_eq!(refusal.metadata["request_id"], "request 1");
    assert_eq!(bench.write(|tx| Ok(tx.forget_answers(at(0))?)), Ok(0));
    assert_eq!(bench.write(|tx| Ok(tx.forget_answers(at(1))?)), Ok(1));
    assert_eq!(bench.write(|tx| tx.answer(&request("request 1"))), Ok(None));
}

#[test]
fn readers_see_committed_states_only() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let (written, is_written) = channel();
    let (go, wait) = channel::<()>();
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| {
            bench.write(move |tx| {
                add(tx, 1, 1, &[note("x")])?;
                written.send(()).expect("the reader waits");
                wait.recv().expect("the gate opens");
                Ok(())
            })
        });
        is_written.recv().unwrap();
        let count = || bench.store.read(|reader| reader.counts()).unwrap().entries;
        assert_eq!(count(), 1);
        go.send(()).unwrap();
        writer.join().unwrap().unwrap();
        assert_eq!(count(), 2);
    });
    let within = bench.store.read(|reader| {
        let before = reader.counts()?.entries;
        bench.add(1, 2, vec![note("y")]).unwrap();
        Ok((before, reader.counts()?.entries))
    });
    assert_eq!(within, Ok((2, 2)), "a read stays on one state");
}

#[test]
fn the_next_job_number_follows_the_last() {
    let bench = Bench::new();
    let next = |bench: &Bench| bench.write(|tx| Ok(tx.next_job_number()?)).unwrap();
    assert_eq!(next(&bench), 1);
    bench.take_in(1, 0);
    bench.take_in(2, 0);
    assert_eq!(next(&bench), 3);
}

#[test]
fn many_callers_at_once_lose_nothing_and_leave_no_gap() {
    const CALLERS: u32 = 32;
    const EACH: u32 = 50;
    let bench = Bench::new();
    for job in 1..=CALLERS / 2 + 1 {
        bench.take_in(job, 0);
    }
    std::thread::scope(|scope| {
        for caller in 0..CALLERS {
            let bench = &bench;
            scope.spawn(move || {
                // Half of them share job 1, the others have a job each.
                let job = if caller % 2 == 0 { 1 } else { 2 + caller / 2 };
                for turn in 0..EACH {
                    bench
                        .add(job, 1, vec![note(&format!("{caller}/{turn}"))])
                        .unwrap();
                }
            });
        }
    });
    let mut seen = std::collections::BTreeSet::new();
    for job in 1..=CALLERS / 2 + 1 {
        let entries = bench.entries(job);
        let expected = if job == 1 { EACH * CALLERS / 2 } else { EACH };
        assert_eq!(entries.len() as u32, expected + 1);
        for (seq, entry) in (1..).zip(&entries) {
            assert_eq!(entry.seq, seq);
            if let lockring_domain::entry::Event::Noted { text, .. } = &entry.event {
                assert!(seen.insert(text.clone()), "{text} twice");
            }
        }
    }
    assert_eq!(seen.len() as u32, CALLERS * EACH);
    let found = bench.store.verify().unwrap();
    assert_eq!(
        (found.entries, found.jobs),
        (
            u64::from(CALLERS * EACH + CALLERS / 2 + 1),
            u64::from(CALLERS / 2 + 1)
        )
    );
    assert_eq!(found.problems, [""; 0]);
}

#[test]
fn a_full_queue_sends_the_next_away_and_stores_all_that_it_took() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let (go, wait) = channel::<()>();
    let note_one = |seq: i64| {
        bench
            .store
            .write(move |tx| Ok(add(tx, 1, seq, &[note("waits")])?.len()))
    };
    let answers = block_on(async {
        let first = bench.store.write(move |tx| {
            wait.recv().expect("the gate opens");
            Ok(add(tx, 1, 1, &[note("first")])?.len())
        });
        // All that fit, the first among them, and two more.
        let mut waiting: Vec<Pin<Box<dyn Future<Output = _> + '_>>> = vec![Box::pin(first)];
        for seq in 1..crate::WAITING as i64 + 2 {
            waiting.push(Box::pin(note_one(seq + 1)));
        }
        let mut answers: Vec<Option<Result<usize, WriteError>>> = waiting.iter().map(|_| None).collect();
        let mut go = Some(go);
        poll_fn(|context| {
            for (answer, one) in answers.iter_mut().zip(&mut waiting) {
                if answer.is_none()
                    && let Poll::Ready(done) = one.as_mut().poll(context)
                {
                    *answer = Some(done);
                }
            }
            if let Some(go) = go.take() {
                go.send(()).unwrap();
            }
            let all = answers.iter().all(Option::is_some);
            if all { Poll::Ready(()) } else { Poll::Pending }
        })
        .await;
        answers.into_iter().flatten().collect::<Vec<_>>()
    });
    let crowded = WriteError::Storage(StorageError::Crowded {
        waiting: crate::WAITING,
    });
    let (kept, sent_away) = answers.split_at(crate::WAITING);
    assert!(kept.iter().all(|answer| *answer == Ok(1)), "{kept:?}");
    assert_eq!(sent_away, [Err(crowded.clone()), Err(crowded)]);
    bench.add(1, 2000, vec![note("there is room again")]).unwrap();
}

/// A long note; so many of them make the log so long that it is taken in.
const LONG: usize = 400_000;
const NOTES: i64 = 12;

fn length(path: &std::path::Path) -> u64 {
    std::fs::metadata(path).map_or(0, |seen| seen.len())
}

#[test]
fn a_long_log_is_taken_into_the_file_once_nobody_reads_what_was_before() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let (file, log) = (bench.file(), bench.folder.path().join("lockring.db-wal"));
    let long = "x".repeat(LONG);
    let write = |from: i64| {
        for minute in from..from + NOTES {
            bench.add(1, minute, vec![note(&long)]).unwrap();
        }
    };
    let before = length(&file);
    let read = bench.store.read(|reader| {
        reader.job(1)?;
        write(1);
        // What a reader still needs stays in the log, however long that gets.
        assert_eq!(length(&file), before);
        Ok(length(&log))
    });
    let kept = read.unwrap();
    assert!(kept > 4096 * 1000, "{kept}");
    // With the next change it is taken in, after the answer.
    bench.add(1, 50, vec![note("short")]).unwrap();
    bench.add(1, 51, vec![note("short")]).unwrap();
    assert!(length(&file) > before + 4_000_000, "{}", length(&file));
    for from in [100, 200, 300] {
        write(from);
    }
    assert!(length(&log) < kept + 4096 * 1000, "{}", length(&log));
    assert_eq!(bench.problems(), [""; 0]);
}
