//! A file that is too large to be looked through before it is served.

use std::fs;
use std::path::Path;

use super::{Bench, note};
use crate::look::Sizes;
use crate::{OpenError, StorageError, Store, WriteError};

const PAGE: usize = 4096;

/// Every file is so large that it takes long to look at.
pub(super) const LARGE: Sizes = Sizes {
    at_once: 0,
    before_changes: 0,
};

/// Every file is so large that it is looked at before the first change.
const MIDDLING: Sizes = Sizes {
    at_once: 0,
    before_changes: u64::MAX,
};

/// Writes one more entry.
fn write(store: &Store) -> Result<usize, WriteError> {
    let write = store.write(|tx| {
        let job = tx.job(1)?.unwrap();
        let entries = super::add(tx, job.number, 9, &[note("later")])?;
        Ok(entries.len())
    });
    let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
    runtime.block_on(write)
}

/// A store on a closed file that counts as large, and one more entry written to it.
fn opened_and_written(folder: &Path) -> Result<Store, OpenError> {
    let store = Store::open_looking_at(folder, LARGE)?;
    // Damage may lie where the entry goes: then it is refused, which is as good.
    let _stored_or_not = write(&store);
    Ok(store)
}

/// A folder with a file of which one page is overwritten.
fn damaged(whole: &[u8], page: usize) -> (tempfile::TempDir, Vec<u8>) {
    let mut damaged = whole.to_vec();
    damaged[page * PAGE..][..PAGE].fill(0xA5);
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lockring.db"), &damaged).unwrap();
    (folder, damaged)
}

fn closed_file() -> Bench {
    let bench = Bench::new();
    bench.take_in(1, 0);
    for turn in 0..40 {
        bench
            .add(1, 1, vec![note(&format!("{turn} {}", "word ".repeat(60)))])
            .unwrap();
    }
    bench.store.close().unwrap();
    bench
}

#[test]
fn a_long_log_waits_until_a_large_file_was_looked_through() {
    let bench = closed_file();
    let before = fs::read(bench.file()).unwrap();
    let store = Store::open_looking_at(bench.folder.path(), LARGE).unwrap();
    let long = "x".repeat(400_000);
    let write = |minute: i64| {
        let long = note(&long);
        let write = store.write(move |tx| Ok(super::add(tx, 1, minute, &[long])?.len()));
        super::block_on(write).unwrap();
    };
    (10..30).for_each(write);
    assert!(
        fs::read(bench.file()).unwrap() == before,
        "the file was written to"
    );
    store.look_through().unwrap();
    (30..32).for_each(write);
    assert!(fs::read(bench.file()).unwrap() != before, "the log only grows");
    store.close().unwrap();
}

#[test]
fn a_state_that_is_no_json_is_found_before_it_is_served() {
    let bench = closed_file();
    let raw = rusqlite::Connection::open(bench.file()).unwrap();
    raw.execute_batch("UPDATE job SET state = 'no JSON' WHERE number = 1")
        .unwrap();
    raw.close().unwrap();
    let told = "the state of job 1 is no JSON";
    let found = Store::open(bench.folder.path()).map(drop).unwrap_err();
    assert!(
        matches!(&found, OpenError::Damaged { problem, .. } if problem == told),
        "{found}"
    );
    let store = Store::open_looking_at(bench.folder.path(), LARGE).unwrap();
    let found = store.look_through().unwrap_err();
    assert!(
        matches!(&found, OpenError::Damaged { problem, .. } if problem == told),
        "{found}"
    );
}

#[test]
fn what_is_stored_before_a_large_file_was_looked_through_lies_beside_it() {
    let bench = closed_file();
    let before = fs::read(bench.file()).unwrap();
    let store = opened_and_written(bench.folder.path()).unwrap();
    let last = store.read(|reader| reader.last_seq(1)).unwrap();
    store.close().unwrap();
    assert!(
        fs::read(bench.file()).unwrap() == before,
        "the file was written to"
    );
    let store = Store::open_looking_at(bench.folder.path(), LARGE).unwrap();
    assert_eq!(
        store.read(|reader| reader.last_seq(1)).unwrap(),
        last,
        "and nothing is lost"
    );
    store.look_through().unwrap();
    store.look_through().unwrap();
    store.close().unwrap();
    assert!(fs::read(bench.file()).unwrap() != before, "now it is in the file");
    assert!(!bench.folder.path().join("lockring.db-wal").exists());
    assert_eq!(
        Store::open(bench.folder.path())
            .unwrap()
            .verify()
            .unwrap()
            .problems,
        [""; 0]
    );
}

#[test]
fn a_large_file_that_is_damaged_inside_is_found_and_never_written_to() {
    let bench = closed_file();
    let whole = fs::read(bench.file()).unwrap();
    let mut found = 0;
    for page in 1..whole.len() / PAGE {
        let (folder, damaged) = damaged(&whole, page);
        let path = folder.path().join("lockring.db");
        if let Ok(store) = opened_and_written(folder.path()) {
            match store.look_through() {
                Err(OpenError::Damaged { .. }) => found += 1,
                other => panic!("page {page}: {other:?}"),
            }
            let _its_log_stays = store.close();
        }
        assert!(
            fs::read(&path).unwrap() == damaged,
            "page {page}: the file was written to"
        );
    }
    assert!(
        found > whole.len() / PAGE / 2,
        "{found} of {}",
        whole.len() / PAGE
    );
}

/// A backup that was copied into place keeps no write-ahead log yet: serving it writes into the file.
#[test]
fn a_file_without_a_log_is_looked_at_before_it_gets_one() {
    let bench = closed_file();
    let raw = rusqlite::Connection::open(bench.file()).unwrap();
    let mode: String = raw
        .pragma_update_and_check(None, "journal_mode", "delete", |row| row.get(0))
        .unwrap();
    assert_eq!(mode, "delete");
    raw.close().unwrap();
    let whole = fs::read(bench.file()).unwrap();
    let mut found = 0;
    for page in 1..whole.len() / PAGE {
        let (folder, damaged) = damaged(&whole, page);
        match Store::open_looking_at(folder.path(), MIDDLING) {
            Err(OpenError::Damaged { .. }) => found += 1,
            // Bytes that nothing uses.
            Ok(store) => {
                assert_eq!(store.verify().unwrap().problems, [""; 0], "page {page}");
                continue;
            }
            Err(other) => panic!("page {page}: {other:?}"),
        }
        let path = folder.path().join("lockring.db");
        assert!(
            fs::read(path).unwrap() == damaged,
            "page {page}: it was written to"
        );
    }
    assert!(
        found > whole.len() / PAGE / 2,
        "{found} of {}",
        whole.len() / PAGE
    );
}

#[test]
fn a_change_waits_until_a_middling_file_was_looked_at_and_is_refused_when_it_is_damaged() {
    let bench = closed_file();
    let whole = fs::read(bench.file()).unwrap();
    let mut found = 0;
    for page in 1..whole.len() / PAGE {
        let (folder, damaged) = damaged(&whole, page);
        let path = folder.path().join("lockring.db");
        let Ok(store) = Store::open_looking_at(folder.path(), MIDDLING) else {
            continue;
        };
        // Nobody asked for the look: the change does.
        let refused = write(&store);
        match (store.look_through(), &refused) {
            (Ok(()), Ok(1)) => continue,
            (Err(OpenError::Damaged { problem, .. }), Err(WriteError::Storage(error))) => {
                let detail = format!("{}: {problem}", store.path().display());
                assert_eq!(error, &StorageError::Damaged { detail });
            }
            other => panic!("page {page}: {other:?}"),
        }
        assert_eq!(write(&store), refused, "page {page}: refused from then on");
        drop(store);
        assert!(
            fs::read(&path).unwrap() == damaged,
            "page {page}: it was written to"
        );
        let log = path.with_file_name("lockring.db-wal");
        assert!(fs::metadata(log).map_or(true, |log| log.len() == 0));
        // Whoever serves it next knows before.
        match Store::open_looking_at(folder.path(), LARGE) {
            Err(OpenError::Damaged { .. }) => found += 1,
            other => panic!("page {page}: {:?}", other.map(|_| "opened")),
        }
        // Until another file lies there.
        fs::write(&path, &whole).unwrap();
        for _ in 0..2 {
            let store = Store::open_looking_at(folder.path(), MIDDLING).unwrap();
            assert_eq!(write(&store), Ok(1));
        }
    }
    assert!(
        found > whole.len() / PAGE / 2,
        "{found} of {}",
        whole.len() / PAGE
    );
}
