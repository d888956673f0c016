//! Restoring: a folder made new from a backup, or nothing at all.

use std::fs;
use std::os::unix::fs::PermissionsExt;

use jiff::{SignedDuration, Timestamp};
use rusqlite::Connection;

use lockring_domain::shop::event::ShopEvent;
use lockring_domain::shop::people::Role;

use super::{Bench, at, block_on, every_job_event, note};
use crate::{BACKUPS, MoveError, OpenError, Store, heed, restore};

/// A shop with a backup of it, and a place to restore it to.
fn drill() -> (Bench, std::path::PathBuf, std::path::PathBuf) {
    let bench = Bench::new();
    for event in every_job_event() {
        bench.add(1, 0, vec![event]).unwrap();
    }
    let backup = block_on(bench.store.backup(&bench.folder.path().join(BACKUPS), at(1)))
        .unwrap()
        .path;
    let to = bench.folder.path().join("restored");
    (bench, backup, to)
}

#[test]
fn a_restored_folder_is_the_shop_as_it_was_and_goes_on() {
    let (bench, backup, to) = drill();
    let before = bench.store.verify().unwrap();
    bench.add(1, 2, vec![note("after the backup")]).unwrap();
    let moved = restore(&backup, &to).unwrap();
    assert_eq!(
        (moved.entries, moved.jobs, moved.head),
        (before.entries, before.jobs, before.head)
    );
    assert_eq!((&moved.from, &moved.to), (&backup, &to.join("lockring.db")));
    let mode = |path: &std::path::Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(&to), mode(&moved.to)), (0o700, 0o600));
    let mut names: Vec<_> = fs::read_dir(&to)
        .unwrap()
        .map(|item| item.unwrap().file_name())
        .collect();
    names.sort();
    assert_eq!(names, ["lockring.db", "photos"]);
    let restored = Store::open(&to).unwrap();
    assert_eq!(
        restored.read(|reader| reader.entries(1, 0)).unwrap(),
        bench.entries(1)[..before.entries as usize]
    );
    assert_eq!(restored.verify().unwrap(), before);
}

#[test]
fn a_folder_of_backups_gives_its_newest() {
    let (bench, _, to) = drill();
    bench.add(1, 5, vec![note("later")]).unwrap();
    let newest = block_on(bench.store.backup(&bench.folder.path().join(BACKUPS), at(6))).unwrap();
    let moved = restore(&bench.folder.path().join(BACKUPS), &to).unwrap();
    assert_eq!((moved.from, moved.entries), (newest.path, newest.entries));
}

/// A clock that was ahead left the newest backup: it is not taken, and not passed over without a word.
#[test]
fn a_backup_dated_later_than_now_is_passed_over_by_name() {
    let (bench, backup, to) = drill();
    let folder = backup.parent().unwrap();
    let later = Timestamp::now() + SignedDuration::from_hours(24);
    let ahead = block_on(bench.store.backup(folder, later)).unwrap().path;
    let moved = restore(folder, &to).unwrap();
    assert_eq!(moved.from, backup);
    let [told] = moved.passed_over.as_slice() else {
        panic!("{:?}", moved.passed_over)
    };
    assert!(told.contains(&ahead.display().to_string()), "{told}");
    assert!(told.contains("dated later than now"), "{told}");
    // Named, it is taken.
    let (named, other) = (restore(&ahead, &to.join("other")), to.join("other"));
    let named = named.unwrap();
    assert_eq!((named.from, named.to.parent()), (ahead, Some(other.as_path())));
    assert!(named.passed_over.is_empty());
}

#[test]
fn nothing_is_written_over_and_a_bad_backup_makes_no_folder_file() {
    let (bench, backup, to) = drill();
    fs::create_dir(&to).unwrap();
    fs::write(to.join("letter.txt"), "mine").unwrap();
    let error = restore(&backup, &to).unwrap_err();
    assert!(
        matches!(&error, MoveError::Unfit { problem, .. } if problem.contains("letter.txt")),
        "{error}"
    );
    fs::remove_file(to.join("letter.txt")).unwrap();

    // A backup in which a job's row was changed behind everybody's back.
    Connection::open(&backup)
        .unwrap()
        .execute("UPDATE job SET rider = 'nobody'", [])
        .unwrap();
    let error = restore(&backup, &to).unwrap_err();
    assert!(
        matches!(&error, MoveError::Unsound { problems, .. } if problems.len() == 1),
        "{error}"
    );
    let whole = fs::read(&backup).unwrap();
    fs::write(&backup, &whole[..whole.len() / 2]).unwrap();
    let error = restore(&backup, &to).unwrap_err();
    assert!(
        matches!(error, MoveError::Open(OpenError::Damaged { .. })),
        "{error}"
    );
    assert!(error.to_string().contains("name an older one"), "{error}");
    let error = restore(&bench.folder.path().join("letter.txt"), &to).unwrap_err();
    assert!(matches!(error, MoveError::Unfit { .. }), "{error}");
    let error = restore(bench.folder.path(), &to).unwrap_err();
    assert!(error.to_string().contains("holds no backup"), "{error}");
    assert_eq!(
        fs::read_dir(&to).unwrap().count(),
        0,
        "nothing unfinished is left"
    );
}

#[test]
fn old_backups_go_when_newer_ones_are_there() {
    let bench = Bench::new();
    bench.take_in(1, 0);
    let folder = bench.folder.path().join(BACKUPS);
    let day = 60 * 24;
    let made: Vec<_> = [0, 1, 10]
        .map(|days| {
            block_on(bench.store.backup(&folder, at(days * day)))
                .unwrap()
                .path
        })
        .into();
    fs::write(folder.join("letter.txt"), "not a backup").unwrap();
    // Days 0 and 1 lie in one week, more than a week ago: the later one is enough.
    assert_eq!(bench.store.prune_backups(at(10 * day)), Ok(vec![made[0].clone()]));
    assert_eq!(bench.store.prune_backups(at(10 * day)), Ok(vec![]));
    assert!(made[1].exists() && made[2].exists() && folder.join("letter.txt").exists());
}

/// A pair opens what was restored only where no list of revoked pairs names it: neither that beside
/// the backup nor that of the shop in use.
#[test]
fn a_pair_revoked_after_the_backup_is_revoked_in_what_is_restored() {
    let bench = Bench::new();
    for (number, fingerprint) in [(1, "ab12"), (2, "cd34"), (3, "ef56")] {
        bench.tell(
            1,
            ShopEvent::Paired {
                number,
                bench: format!("bench-{number}"),
                person: "M".into(),
                fingerprint: fingerprint.into(),
                until: at(60 * 24 * 365 * 100),
            },
        );
    }
    let joined = ShopEvent::Joined {
        initials: "M".into(),
        name: String::new(),
        role: Role::Mechanic,
    };
    bench.tell(2, joined);
    let elsewhere = bench.folder.path().join("elsewhere");
    let backup = block_on(bench.store.backup(&elsewhere, at(3))).unwrap().path;
    let revoke = |number| {
        let why = "lost".into();
        bench.tell(4, ShopEvent::PairRevoked { number, why });
    };
    revoke(1);
    // The next backup into the folder writes the list there.
    block_on(bench.store.backup(&elsewhere, at(5))).unwrap();
    revoke(2);
    bench.store.list_revoked().unwrap();
    bench.store.list_revoked().unwrap();

    let to = bench.folder.path().join("restored");
    let moved = restore(&backup, &to).unwrap();
    let of_pair =
        |lines: &[String]| -> Vec<String> { lines.iter().map(|line| line[..6].to_owned()).collect() };
    assert_eq!(of_pair(&moved.revoked), ["pair 1"]);
    assert_eq!(of_pair(&moved.pairs), ["pair 2", "pair 3"]);
    let moved = heed(moved, &bench.folder.path().join(BACKUPS)).unwrap();
    assert_eq!(of_pair(&moved.revoked), ["pair 1", "pair 2"]);
    assert_eq!(of_pair(&moved.pairs), ["pair 3"]);
    let again = heed(moved.clone(), &bench.folder.path().join(BACKUPS)).unwrap();
    assert_eq!(again, moved, "what was revoked is not revoked twice");

    let restored = Store::open(&to).unwrap();
    assert_eq!(restored.verify().unwrap().problems, [""; 0]);
    let shop = restored.read(|reader| reader.shop()).unwrap();
    let revoked = |number: u32| shop.pairs[&number].revoked.clone().map(|said| said.why);
    let why = revoked(1).unwrap();
    assert!(
        why.starts_with("revoked by ") && why.ends_with("after the backup: lost"),
        "{why}"
    );
    assert!(revoked(2).is_some() && revoked(3).is_none());

    // Put in the data file's place, the backup lets in no more than the shop did.
    bench.store.close().unwrap();
    fs::copy(&backup, bench.file()).unwrap();
    let store = Store::open(bench.folder.path()).unwrap();
    let shop = store.read(|reader| reader.shop()).unwrap();
    let is_revoked = [1, 2, 3].map(|number| shop.pairs[&number].revoked.is_some());
    assert_eq!(is_revoked, [true, true, false]);
}
