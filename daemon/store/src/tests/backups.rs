//! Backups: proved copies, alone in their file, made while others write.

use std::fs;
use std::path::PathBuf;

use rusqlite::Connection;

use super::{Bench, at, block_on, note};
use crate::{BACKUPS, StorageError, Store};

#[test]
fn a_backup_opens_as_a_data_file_and_verifies() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let folder = bench.folder.path().join(BACKUPS);
    assert_eq!(bench.store.last_backup(at(1)), Ok(None));
    let done = block_on(bench.store.backup(&folder, at(1))).unwrap();
    assert_eq!(done.entries, 1);
    assert_eq!(done.bytes, fs::metadata(&done.path).unwrap().len());
    let names: Vec<_> = fs::read_dir(&folder)
        .unwrap()
        .map(|item| item.unwrap().file_name())
        .collect();
    assert_eq!(
        names,
        [done.path.file_name().unwrap()],
        "one file, nothing beside it"
    );

    bench.add(1, 2, vec![note("after the backup")]).unwrap();
    let other = tempfile::tempdir().unwrap();
    fs::copy(&done.path, other.path().join("lockring.db")).unwrap();
    let restored = Store::open(other.path()).unwrap();
    let found = restored.verify().unwrap();
    assert_eq!((found.entries, found.problems), (1, vec![]));
    assert_eq!(
        restored.read(|reader| reader.entries(1, 0)).unwrap(),
        bench.entries(1)[..1]
    );
}

#[test]
fn the_newest_backup_is_found_by_its_name() {
    let bench = Bench::new();
    let folder = bench.folder.path().join(BACKUPS);
    let newest = block_on(bench.store.backup(&folder, at(60 * 24))).unwrap();
    block_on(bench.store.backup(&folder, at(0))).unwrap();
    fs::write(folder.join("zz-notes.txt"), "not one").unwrap();
    let last = bench.store.last_backup(at(60 * 24)).unwrap().unwrap();
    assert_eq!(
        (&last.path, last.at, last.bytes),
        (&newest.path, at(60 * 24), newest.bytes)
    );
    // Of one that is dated later than now only its name is told.
    let earlier = bench.store.last_backup(at(1)).unwrap().unwrap();
    assert_eq!(earlier.at, at(0));
    assert_eq!(bench.store.backups_ahead(at(1)).unwrap(), [last.path]);
    assert_eq!(
        bench.store.backups_ahead(at(60 * 24)).unwrap(),
        [""; 0].map(PathBuf::from)
    );
    let again = block_on(bench.store.backup(&folder, at(0)));
    assert!(
        matches!(&again, Err(StorageError::Io { detail }) if detail.contains("exists already")),
        "{again:?}"
    );
}

#[test]
fn a_backup_of_a_file_that_was_tampered_with_is_thrown_away() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let folder = bench.folder.path().join(BACKUPS);
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join(".unfinished-lockring-old.db"), "left by a crash").unwrap();
    Connection::open(bench.file())
        .unwrap()
        .execute("UPDATE job SET rider = 'nobody'", [])
        .unwrap();
    let result = block_on(bench.store.backup(&folder, at(1)));
    let problem = "job 1: the row of table job differs from its history in rider";
    assert_eq!(
        result,
        Err(StorageError::Unsound {
            problems: vec![problem.into()]
        })
    );
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);
    assert_eq!(bench.store.last_backup(at(2)), Ok(None));
}

#[test]
fn a_backup_made_while_others_write_is_one_committed_state() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let folder = bench.folder.path().join(BACKUPS);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            for turn in 0..100 {
                bench
                    .add(1, 1, vec![note(&format!("{turn} a")), note(&format!("{turn} b"))])
                    .unwrap();
            }
        });
        for minute in 0..5 {
            let done = block_on(bench.store.backup(&folder, at(minute))).unwrap();
            assert_eq!(done.entries % 2, 1, "pairs are kept or left together");
        }
    });
    assert_eq!(bench.problems(), [""; 0]);
}
