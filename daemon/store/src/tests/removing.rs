//! Removals whose cleaning failed or has to wait, that are made again in a copy, and whose pictures have
//! names that are none.

use std::collections::BTreeSet;
use std::fs;

use lockring_domain::entry::Event;
use lockring_domain::photo::Photo;
use lockring_domain::removal::Removal;

use super::private::{NAME, bench, holding, removal, remove};
use super::tampering::tamper;
use super::{Bench, at, block_on, note, photographed};
use crate::{BACKUPS, StorageError, Store, WriteError};

/// A list beside the backups that cannot be read keeps the file from being cleaned.
#[test]
fn a_cleaning_that_failed_is_made_up_for() {
    let bench = bench();
    let list = bench.folder.path().join(BACKUPS).join("removed.jsonl");
    fs::create_dir_all(list.parent().unwrap()).unwrap();
    fs::write(&list, "no line of a list\n").unwrap();
    remove(&bench, removal(&[4], &[])).unwrap();
    assert!(bench.store.read(|reader| reader.is_uncleaned()).unwrap());
    fs::remove_file(&list).unwrap();
    bench.write(|tx| Ok(tx.clean_if_needed()?)).unwrap();
    assert!(!bench.store.read(|reader| reader.is_uncleaned()).unwrap());
    assert_eq!(holding(bench.folder.path(), NAME), [""; 0]);
}

/// Words about a neighbour went before the backup was made; the job's own rider is still in it.
#[test]
fn a_backup_after_a_removal_of_words_alone_still_holds_the_rider() {
    let bench = bench();
    let words = Removal {
        who: BTreeSet::new(),
        ..removal(&[4], &[])
    };
    remove(&bench, words).unwrap();
    let backups = bench.folder.path().join(BACKUPS);
    let holding = |job: u32| {
        let job = bench.store.read(|reader| reader.job(job)).unwrap().unwrap();
        bench.store.backups_with_rider(&job).unwrap()
    };
    let with = block_on(bench.store.backup(&backups, at(11))).unwrap().path;
    remove(&bench, removal(&[], &[])).unwrap();
    block_on(bench.store.backup(&backups, at(12))).unwrap();
    assert_eq!(holding(1), [with]);
    assert_eq!(holding(2).len(), 2, "nobody removed this one");
}

#[test]
fn cleaning_waits_until_a_large_file_was_looked_through() {
    let bench = bench().opened_as_large();
    let before = fs::read(bench.file()).unwrap();
    remove(&bench, removal(&[4], &[])).unwrap();
    assert!(
        fs::read(bench.file()).unwrap() == before,
        "the file was written to"
    );
    assert!(bench.store.read(|reader| reader.is_uncleaned()).unwrap());
    bench.store.look_through().unwrap();
    bench.write(|tx| Ok(tx.clean_if_needed()?)).unwrap();
    assert!(!bench.store.read(|reader| reader.is_uncleaned()).unwrap());
    assert_eq!(holding(bench.folder.path(), NAME), [""; 0]);
    assert_eq!(bench.problems(), [""; 0]);
}

/// Entry 7 of the old shop, a note whose words went, is the removal in the copy, and entry 8 a note that
/// nobody asked to remove.
#[test]
fn what_was_removed_again_from_a_copy_is_not_removed_a_third_time() {
    let bench = bench();
    let backups = bench.folder.path().join(BACKUPS);
    let made = block_on(bench.store.backup(&backups, at(3))).unwrap().path;
    bench.add(1, 5, vec![note("seventh"), note("eighth")]).unwrap();
    let asked = removal(&[4, 7, 8], &[]);
    remove(&bench, asked.clone()).unwrap();

    let to = bench.folder.path().join("restored");
    assert_eq!(crate::restore(&made, &to).unwrap().removed.len(), 1);
    let store = Store::open(&to).unwrap();
    let copy = Bench {
        store,
        folder: tempfile::tempdir().unwrap(),
    };
    copy.add(1, 20, vec![note("a word that stays")]).unwrap();
    let entries = copy.entries(1);
    let Event::RiderRemoved(again) = &entries[6].event else {
        panic!("{:?}", entries[6]);
    };
    assert_eq!(again.words, BTreeSet::from([4]));
    let later = block_on(copy.store.backup(&to.join(BACKUPS), at(30)))
        .unwrap()
        .path;
    copy.store.close().unwrap();

    let anew = bench.folder.path().join("anew");
    let moved = crate::restore(&later, &anew).unwrap();
    let moved = crate::heed(moved, &backups).unwrap();
    assert_eq!(moved.removed, [""; 0]);
    let store = Store::open(&anew).unwrap();
    let entries = store.read(|reader| reader.entries(1, 0)).unwrap();
    assert_eq!(entries.len(), 8);
    assert_eq!(entries[7].event, note("a word that stays"));

    // One that names more of what was there is another one.
    let more = removal(&[1, 4], &[]);
    remove(&bench, more).unwrap();
    let moved = crate::restore(&later, &bench.folder.path().join("more")).unwrap();
    let moved = crate::heed(moved, &backups).unwrap();
    assert_eq!(moved.removed.len(), 1);
}

/// Somebody copied an old backup to where the data file was, instead of restoring it.
#[test]
fn a_backup_put_in_the_data_files_place_does_not_bring_a_rider_back() {
    let bench = bench();
    let (file, kept) = (bench.file(), bench.folder.path().join(BACKUPS));
    let made = block_on(bench.store.backup(&kept, at(3))).unwrap();
    remove(&bench, removal(&[4], &[5])).unwrap();
    bench.store.close().unwrap();
    fs::remove_file(&file).unwrap();
    fs::copy(&made.path, &file).unwrap();
    for _ in 0..2 {
        let store = Store::open(bench.folder.path()).unwrap();
        let job = store.read(|reader| reader.job(1)).unwrap().unwrap();
        assert_eq!(job.rider, "customer removed on 2026-11-26");
        let found = store.verify().unwrap();
        assert_eq!((found.problems, found.entries), (Vec::new(), made.entries + 1));
        assert!(!store.read(|reader| reader.is_uncleaned()).unwrap());
        assert_eq!(holding(bench.folder.path(), NAME), [""; 0]);
        store.close().unwrap();
    }
    // A list that nobody can read stops no shop.
    fs::write(kept.join("removed.jsonl"), "no line of a list\n").unwrap();
    Store::open(bench.folder.path()).unwrap();
}

#[test]
fn a_picture_whose_hash_is_a_path_is_refused_wherever_it_is_read() {
    let Event::Photographed(photo) = photographed() else {
        unreachable!()
    };
    let path = "../../spoke";
    let odd = Event::Photographed(Photo {
        sha256: path.into(),
        ..photo.clone()
    });
    let told = "expected 64 lower-case hexadecimal digits";
    let fresh = bench();
    let refused = fresh.add(2, 2, vec![odd]).unwrap_err();
    assert!(
        matches!(&refused, WriteError::Storage(StorageError::Unstorable { problem, .. }) if problem.contains(told)),
        "{refused}"
    );

    let bench = bench();
    remove(&bench, removal(&[], &[5])).unwrap();
    let outside = bench.folder.path().join("spoke.jpg");
    fs::write(&outside, "somebody's").unwrap();
    let sql = format!(
        "UPDATE journal SET payload = replace(payload, '{}', '{path}')",
        photo.sha256
    );
    tamper(&bench, &sql);
    let problems = bench.problems();
    assert!(
        problems
            .iter()
            .any(|line| line.contains("entry 5") && line.contains(told)),
        "{problems:?}"
    );
    bench
        .write(|tx| {
            tx.clean = true;
            Ok(())
        })
        .unwrap();
    assert!(outside.exists(), "a file outside the folder was deleted");
}
