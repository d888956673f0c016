//! Opening: new, old, newer, foreign and damaged files.

use std::fs;

use rusqlite::Connection;

use lockring_domain::fact::Value;

use super::{Bench, at, block_on, note, request};
use crate::migrate::{self, APPLICATION_ID, SCHEMA};
use crate::{OpenError, Reader, StorageError, Store, WriteError, restore};

/// A data file of schema 1 as text. Kept as it is for ever: each later schema opens it.
const SCHEMA_1: &str = include_str!("schema_1.sql");
/// What schema 2 added, likewise.
const SCHEMA_2: &str = include_str!("schema_2.sql");
/// What schema 3 added, likewise.
const SCHEMA_3: &str = include_str!("schema_3.sql");
/// What schema 4 added, likewise.
const SCHEMA_4: &str = include_str!("schema_4.sql");
/// What schema 5 added, likewise.
const SCHEMA_5: &str = include_str!("schema_5.sql");
/// What makes a file of schema 6 of it.
const SCHEMA_6: &str = include_str!("schema_6.sql");
/// What makes one of schema 7 of that.
const SCHEMA_7: &str = include_str!("schema_7.sql");
/// What makes one of schema 8 of that.
const SCHEMA_8: &str = include_str!("schema_8.sql");
/// What makes one of schema 9 of that.
const SCHEMA_9: &str = include_str!("schema_9.sql");
/// What makes one of schema 10 of that.
const SCHEMA_10: &str = include_str!("schema_10.sql");
/// What makes one of schema 11 of that.
const SCHEMA_11: &str = include_str!("schema_11.sql");

fn refusal(folder: &std::path::Path) -> OpenError {
    Store::open(folder).err().expect("the file must be refused")
}

#[test]
fn a_new_file_has_the_newest_schema_our_mark_and_the_durable_settings() {
    let bench = Bench::new();
    assert_eq!(bench.store.schema(), SCHEMA);
    assert_eq!(bench.store.path(), bench.file());
    let settings = bench
        .write(|tx| {
            let number = |pragma: &str| {
                tx.connection
                    .pragma_query_value(None, pragma, |row| row.get::<_, i64>(0))
                    .map_err(StorageError::from)
            };
            let mode: String = tx
                .connection
                .pragma_query_value(None, "journal_mode", |row| row.get(0))
                .map_err(StorageError::from)?;
            let numbers = [
                number("synchronous")?,
                number("foreign_keys")?,
                number("trusted_schema")?,
                number("user_version")?,
                number("application_id")?,
                number("temp_store")?,
            ];
            Ok((mode, numbers))
        })
        .unwrap();
    // 2 is FULL ("PRAGMA synchronous", SQLite documentation), and MEMORY ("PRAGMA temp_store").
    assert_eq!(
        settings,
        ("wal".into(), [2, 1, 0, SCHEMA.into(), APPLICATION_ID.into(), 2])
    );
    assert_eq!(bench.problems(), [""; 0]);
}

#[cfg(unix)]
#[test]
fn a_new_file_is_for_its_owner_alone() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new();
    assert_eq!(
        fs::metadata(bench.file()).unwrap().permissions().mode() & 0o777,
        0o600
    );
}

#[test]
fn a_crash_while_the_first_file_is_made_leaves_none_and_does_not_stop_the_next_start() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lockring.db.new"), "half a file").unwrap();
    let store = Store::open(folder.path()).unwrap();
    assert_eq!(store.verify().unwrap().problems, [""; 0]);
    assert!(!folder.path().join("lockring.db.new").exists());
}

#[test]
fn what_was_stored_is_there_after_closing_and_opening() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let before = bench.entries(1);
    bench.store.close().unwrap();
    assert!(
        !bench.folder.path().join("lockring.db-wal").exists(),
        "the log is in the file"
    );
    let again = Store::open(bench.folder.path()).unwrap();
    assert_eq!(again.read(|reader| reader.entries(1, 0)).unwrap(), before);
}

#[test]
fn after_a_power_cut_everything_that_was_answered_is_there() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench.add(1, 1, vec![note("answered")]).unwrap();
    // The files as they lie on the disk while the store is open: the log not yet in the file.
    let after = tempfile::tempdir().unwrap();
    for name in ["lockring.db", "lockring.db-wal"] {
        fs::copy(bench.folder.path().join(name), after.path().join(name)).unwrap();
    }
    assert!(fs::metadata(after.path().join("lockring.db-wal")).unwrap().len() > 0);
    let store = Store::open(after.path()).unwrap();
    assert_eq!(
        store.read(|reader| reader.entries(1, 0)).unwrap(),
        bench.entries(1)
    );
    assert_eq!(store.verify().unwrap().problems, [""; 0]);
}

#[test]
fn a_closed_store_says_so() {
    let bench = Bench::new();
    bench.store.close().unwrap();
    bench.store.close().unwrap();
    assert_eq!(
        bench.write(|_| Ok(())),
        Err(WriteError::Storage(StorageError::Closed))
    );
    assert_eq!(
        bench.store.read(|reader| reader.counts()),
        Err(StorageError::Closed)
    );
}

#[test]
fn a_newer_file_is_refused_with_the_version_that_reads_it_and_left_alone() {
    let bench = Bench::new();
    bench.store.close().unwrap();
    let raw = Connection::open(bench.file()).unwrap();
    raw.execute_batch("INSERT INTO migration VALUES (99, '9.1.0'); PRAGMA user_version = 99;")
        .unwrap();
    raw.close().unwrap();
    let before = fs::read(bench.file()).unwrap();
    let error = refusal(bench.folder.path());
    assert!(
        matches!(&error, OpenError::Newer { found: 99, known: SCHEMA, program, .. } if program == "9.1.0")
    );
    assert!(
        error.to_string().contains("use lockring 9.1.0 or newer"),
        "{error}"
    );
    assert_eq!(fs::read(bench.file()).unwrap(), before);
}

#[test]
fn a_foreign_file_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("lockring.db");
    fs::write(&file, "shopping list").unwrap();
    assert!(matches!(refusal(folder.path()), OpenError::NotOurs { .. }));
    assert_eq!(fs::read(&file).unwrap(), b"shopping list");

    fs::remove_file(&file).unwrap();
    let raw = Connection::open(&file).unwrap();
    raw.execute_batch("CREATE TABLE other (a); PRAGMA application_id = 7;")
        .unwrap();
    raw.close().unwrap();
    let before = fs::read(&file).unwrap();
    let error = refusal(folder.path());
    assert!(
        error
            .to_string()
            .contains("application id 0x00000007, expected 0x4c4b5247"),
        "{error}"
    );
    assert_eq!(fs::read(&file).unwrap(), before);
}

#[test]
fn a_damaged_file_is_refused_and_left_alone() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench
        .add(
            1,
            1,
            (0..200).map(|number| note(&format!("note {number}"))).collect(),
        )
        .unwrap();
    bench.store.close().unwrap();
    let mut bytes = fs::read(bench.file()).unwrap();
    let page = 4096;
    for start in (page..bytes.len()).step_by(page) {
        bytes[start..start + 8].fill(0xFF);
    }
    fs::write(bench.file(), &bytes).unwrap();
    let error = refusal(bench.folder.path());
    assert!(matches!(error, OpenError::Damaged { .. }), "{error}");
    assert_eq!(fs::read(bench.file()).unwrap(), bytes);

    // A log that lies there would be read into a backup that is put in its place.
    let said = error.to_string();
    assert!(said.contains("`lockring restore --to NEW-FOLDER`"), "{said}");
    assert!(!said.contains("in its place"), "{said}");

    fs::write(bench.file(), b"").unwrap();
    assert!(matches!(refusal(bench.folder.path()), OpenError::Damaged { .. }));
    fs::write(bench.file(), &bytes[..60]).unwrap();
    assert!(matches!(refusal(bench.folder.path()), OpenError::Damaged { .. }));
}

#[test]
fn a_missing_folder_is_an_error_that_names_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let error = refusal(&folder.path().join("nowhere"));
    assert!(matches!(error, OpenError::Storage { .. }));
    assert!(
        error.to_string().contains("nowhere/lockring.db cannot be opened"),
        "{error}"
    );
}

/// A folder with a data file of an old schema.
pub(super) fn old(schema: u32) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let raw = Connection::open(folder.path().join("lockring.db")).unwrap();
    for step in &[
        SCHEMA_1, SCHEMA_2, SCHEMA_3, SCHEMA_4, SCHEMA_5, SCHEMA_6, SCHEMA_7, SCHEMA_8, SCHEMA_9, SCHEMA_10,
        SCHEMA_11,
    ][..schema as usize]
    {
        raw.execute_batch(step).unwrap();
    }
    raw.pragma_update(None, "application_id", APPLICATION_ID).unwrap();
    raw.pragma_update(None, "user_version", schema).unwrap();
    raw.close().unwrap();
    folder
}

#[test]
fn a_file_of_every_old_schema_opens_verifies_and_takes_entries() {
    // A new step comes with a file of the schema before it.
    assert_eq!(SCHEMA, 12);
    for schema in 1..SCHEMA {
        let folder = old(schema);
        let bench = Bench {
            store: Store::open(folder.path()).unwrap(),
            folder,
        };
        assert_eq!(bench.problems(), [""; 0], "schema {schema}");
        let old_words = "SELECT count(*) FROM sqlite_schema WHERE (name = 'job' AND sql LIKE '%json_valid%')
                         OR (name = 'answered' AND sql LIKE '%WITHOUT ROWID%')";
        let found: i64 = Connection::open(bench.file())
            .and_then(|raw| raw.query_row(old_words, [], |row| row.get(0)))
            .unwrap();
        assert_eq!(found, 0, "schema {schema}");
        let job = bench.job(1);
        assert_eq!(
            (job.revision, job.facts.len(), job.build.len(), job.blocks.len()),
            (10, 1, 1, 1)
        );
        assert_eq!(
            bench.write(|tx| tx.answer(&request("request 1"))),
            Ok(Some(b"answer".to_vec()))
        );
        if schema == 7 {
            let kept = bench.write(|tx| tx.answer(&request("request 7")));
            assert_eq!(kept, Ok(Some(b"answer 7".to_vec())));
            assert_eq!(bench.problems(), [""; 0], "its seal is looked at as well");
        }
        if schema == 8 {
            let facts = bench.job(2).facts;
            assert_eq!(facts["torque-stem"].value, Value::Number(9.0), "the last stands");
            let together = Value::Tally { good: 20, tried: 22 };
            assert_eq!(facts["back-pedal"].value, together, "tries add up");
        }
        if schema == 9 {
            let known = |reader: &Reader<'_>| reader.jobs_known(at(2000), u64::MAX);
            let outstanding = bench.store.read(known).unwrap();
            let numbers: Vec<u32> = outstanding.iter().map(|job| job.number).collect();
            assert!(numbers.contains(&3), "a deposit is to be given back: {numbers:?}");
        }
        if schema == 10 {
            let deposit = bench.job(3).account.payments[0].seq;
            assert_eq!(deposit, 2, "the entry of the deposit can be named");
            let facts = bench.job(4).facts;
            assert_eq!(
                facts["rim-wall"].value,
                Value::Number(0.000_900_000_000_000_000_1),
                "the thinnest stands"
            );
            assert_eq!(
                facts["chain-slack"].value,
                Value::Number(0.012),
                "the last stands"
            );
        }
        if schema == 11 {
            let rolled_out = &bench.job(5).facts["circumference"];
            assert_eq!(
                rolled_out.stale.as_deref(),
                Some("tyre-front"),
                "of the wheel that is driven"
            );
        }
        let days_shut = bench.write(|tx| Ok(tx.shop()?)).unwrap().calendar.holidays.len();
        assert_eq!(days_shut, usize::from(schema > 1), "schema {schema}");
        bench.add(1, 1000, vec![note("still going")]).unwrap();
        assert_eq!(bench.entries(1).last().unwrap().stored, at(1000));
        bench
            .write(|tx| Ok(tx.remember(&request("request 2"), b"more")?))
            .unwrap();
        assert_eq!(bench.problems(), [""; 0]);
    }
}

#[test]
fn a_backup_of_every_old_schema_is_restored_and_brought_up_to_date() {
    for schema in 1..SCHEMA {
        let folder = old(schema);
        let to = folder.path().join("restored");
        let before = fs::read(folder.path().join("lockring.db")).unwrap();
        let moved = restore(&folder.path().join("lockring.db"), &to).unwrap();
        // One entry came with schema 2, five with schema 8, three with schema 9, five with schema 10, four
        // with schema 11.
        let entries =
            10 + u64::from(schema.min(2)) + [0, 5, 8, 13, 17][schema.saturating_sub(7).min(4) as usize];
        assert_eq!(moved.entries, entries, "schema {schema}");
        assert_eq!(Store::open(&to).unwrap().verify().unwrap().head, moved.head);
        assert_eq!(
            fs::read(folder.path().join("lockring.db")).unwrap(),
            before,
            "the backup was touched"
        );
    }
}

/// A restored file keeps no write-ahead log before its first start; a kill then leaves a
/// rollback journal, and some pages of the change in the file.
#[test]
fn a_change_cut_off_before_there_was_a_log_is_undone_at_the_start() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench.store.close().unwrap();
    let raw = Connection::open(bench.file()).unwrap();
    raw.execute_batch(
        "PRAGMA journal_mode = delete; PRAGMA cache_size = 1; BEGIN;
         UPDATE job SET rider = 'half';
         WITH RECURSIVE n (i) AS (VALUES (1) UNION ALL SELECT i + 1 FROM n WHERE i < 500)
         INSERT INTO answered (request_id, answer, at_us) SELECT 'r' || i, zeroblob(500), 0 FROM n;",
    )
    .unwrap();
    let after = tempfile::tempdir().unwrap();
    for name in ["lockring.db", "lockring.db-journal"] {
        fs::copy(bench.folder.path().join(name), after.path().join(name)).unwrap();
    }
    let half = fs::metadata(after.path().join("lockring.db")).unwrap().len();
    let store = Store::open(after.path()).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(store.verify().unwrap().problems, [""; 0]);
    assert_eq!(
        store.read(|reader| reader.job(1)).unwrap().unwrap().rider,
        "rider 1"
    );
    store.close().unwrap();
    let whole = fs::metadata(after.path().join("lockring.db")).unwrap().len();
    assert!(
        whole < half,
        "nothing of the change had reached the file: {whole} of {half} bytes"
    );
    assert!(!after.path().join("lockring.db-journal").exists());
}

#[test]
fn a_step_that_fails_leaves_the_schema_before_it() {
    let mut raw = Connection::open_in_memory().unwrap();
    let good = "CREATE TABLE migration (number INTEGER PRIMARY KEY, program TEXT NOT NULL) STRICT;";
    let bad = "CREATE TABLE half (a); CREATE TABLE half (a);";
    let failed = migrate::run(&mut raw, &[good, bad]).unwrap_err();
    assert_eq!(failed.number, 2);
    assert_eq!(migrate::user_version(&raw).unwrap(), 1);
    assert!(!raw.table_exists(None, "half").unwrap());
    migrate::run(&mut raw, &[good, "CREATE TABLE whole (a);"]).unwrap();
    assert_eq!(migrate::user_version(&raw).unwrap(), 2);
    assert!(raw.table_exists(None, "whole").unwrap());
}

/// A kill left the log; the file was damaged, and the newest backup moved into its place.
#[test]
fn a_backup_beside_the_log_of_another_file_is_refused_and_stays_a_backup() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let made = block_on(bench.store.backup(&bench.folder.path().join("kept"), at(1))).unwrap();
    let backup = fs::read(&made.path).unwrap();
    for second in 2..40 {
        bench.add(1, second, vec![note("after the backup")]).unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    let [file, log] = ["lockring.db", "lockring.db-wal"].map(|name| folder.path().join(name));
    fs::write(&file, &backup).unwrap();
    fs::copy(bench.folder.path().join("lockring.db-wal"), &log).unwrap();
    assert!(fs::metadata(&log).unwrap().len() > 0);

    let new = folder.path().join("new");
    let named = format!("`lockring restore {} --to NEW-FOLDER`", file.display());
    for error in [
        refusal(folder.path()).to_string(),
        restore(&file, &new).unwrap_err().to_string(),
    ] {
        assert!(error.contains(&named), "{error}");
        assert!(error.contains(&format!("move {} out", log.display())), "{error}");
    }
    assert!(fs::read(&file).unwrap() == backup, "the backup was written to");

    fs::remove_file(&log).unwrap();
    assert_eq!(restore(&file, &new).unwrap().entries, made.entries);
}
