//! A file that is too large to be looked through before it is served.

use std::fs;

use super::{Bench, note};
use crate::{OpenError, Store};

const PAGE: usize = 4096;

/// A store on a closed file that counts as large, and one more entry written to it.
fn opened_and_written(folder: &std::path::Path) -> Result<Store, OpenError> {
    let store = Store::open_looking_at(folder, 0)?;
    let write = store.write(|tx| {
        let job = tx.job(1)?.unwrap();
        let entries = super::add(tx, job.number, 9, &[note("later")])?;
        Ok(entries.len())
    });
    let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
    // Damage may lie where the entry goes: then it is refused, which is as good.
    let _stored_or_not = runtime.block_on(write);
    Ok(store)
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
    let store = Store::open_looking_at(bench.folder.path(), 0).unwrap();
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
        let mut damaged = whole.clone();
        damaged[page * PAGE..][..PAGE].fill(0xA5);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("lockring.db");
        fs::write(&path, &damaged).unwrap();
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
