//! A shop made from a backup: a bench that was revoked after it stays outside.

use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;

use super::{Reached, away};
use crate::support::run_in;

/// Brings the workshop's authority along, as who wants the benches to go on does.
fn bring_access(from: &Path, to: &Path) {
    let folder = to.join("access");
    std::fs::create_dir(&folder).unwrap();
    std::fs::set_permissions(&folder, std::fs::Permissions::from_mode(0o700)).unwrap();
    let mut files = 0;
    for item in std::fs::read_dir(from.join("access")).unwrap() {
        let item = item.unwrap();
        std::fs::copy(item.path(), folder.join(item.file_name())).unwrap();
        files += 1;
    }
    assert_eq!(files, 2, "key and certificate");
}

#[test]
fn a_bench_that_was_revoked_after_the_backup_does_not_come_back_with_it() {
    let mut reached = Reached::open();
    let (lost, kept) = (reached.pair("bench-2", "M"), reached.pair("desk", "K"));
    let shop = &reached.shop;
    shop.line("backup").ok();
    shop.line("pair --revoke 1 --why \"left on the train\"").ok();
    away(&lost, "jobs").fails(14);
    let place = tempfile::tempdir().unwrap();
    let to = place.path().join("restored");
    let restored = shop.json(&format!("restore --to {}", to.display()))[0].clone();
    let told = |field: &str| -> Vec<String> {
        let lines = restored[field].as_array().unwrap();
        lines
            .iter()
            .map(|line| line.as_str().unwrap().to_owned())
            .collect()
    };
    let [revoked] = &told("revoked")[..] else {
        panic!("{restored}")
    };
    assert!(
        revoked.starts_with("pair 1 (bench-2 of M): revoked on "),
        "{revoked}"
    );
    let [standing] = &told("pairs")[..] else {
        panic!("{restored}")
    };
    assert!(
        standing.starts_with("pair 2 (desk of K): until ")
            && standing.contains("without the folder `access`"),
        "{standing}"
    );
    assert!(standing.contains("lockring pair --revoke 2"), "{standing}");

    // The restored shop takes the old one's place and address, key and all.
    shop.line("daemon stop").ok();
    bring_access(&shop.folder(), &to);
    reached.shop.forget();
    run_in(&to, ["daemon", "start"]).ok();
    let said = away(&lost, "jobs").fails(14);
    assert!(
        said.contains("pair 1 (bench-2 of M) was revoked by lockringd"),
        "{said}"
    );
    away(&kept, "jobs").ok();
    let pairs = run_in(&to, ["pair"]).ok();
    assert!(pairs.contains("left on the train"), "{pairs}");
    assert!(run_in(&to, ["verify", "--json"]).ok().contains("\"sound\":true"));
    // Restoring the same backup says the same again, and the list names the pair once.
    let list = std::fs::read_to_string(reached.shop.folder().join("backups/revoked.jsonl")).unwrap();
    assert_eq!(list.lines().count(), 1, "{list}");
    run_in(&to, ["daemon", "stop"]).ok();
}
