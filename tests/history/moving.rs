//! A whole shop moved: restored from its backup, written out as open files and made again.

use crate::support::{Shop, run_in};

/// The answer of a moving command as it prints with `--json`.
fn moved(shop: &Shop, line: &str) -> serde_json::Value {
    let answer = shop.json(line);
    assert_eq!(answer.len(), 1, "{answer:?}");
    answer[0].clone()
}

/// The drill: the shop is lost, the newest backup becomes a new folder, and work goes on there.
#[test]
fn the_restore_drill() {
    let mut shop = Shop::with_demo_jobs();
    shop.line("measure 2 clf 51.5").ok();
    shop.line("backup").ok();
    let before = shop.json("verify")[0].clone();
    let jobs = shop.json("jobs");
    shop.line("note 1 \"after the backup\"").ok();
    // Lost without a word, and nobody serves.
    shop.kill();
    for name in ["lockring.db", "lockring.db-wal", "lockring.db-shm"] {
        std::fs::remove_file(shop.folder().join(name)).unwrap();
    }
    let place = tempfile::tempdir().unwrap();
    let to = place.path().join("restored");
    let answer = moved(&shop, &format!("restore --to {}", to.display()));
    assert_eq!(
        (&answer["entries"], &answer["head"]),
        (&before["entries"], &before["head"])
    );
    run_in(&to, ["daemon", "start"]).ok();
    let verified: serde_json::Value =
        serde_json::from_str(run_in(&to, ["verify", "--json"]).ok().trim()).unwrap();
    assert_eq!(verified, before);
    let restored = run_in(&to, ["jobs", "--json"]).ok();
    let restored: Vec<serde_json::Value> = restored
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(restored, jobs);
    run_in(&to, ["note", "1", "goes on"]).ok();
    run_in(&to, ["daemon", "stop"]).ok();
}

#[test]
fn what_cannot_be_tried_is_refused_a_dry_run_and_not_done() {
    let shop = Shop::with_demo_jobs();
    let place = tempfile::tempdir().unwrap();
    let to = place.path().join("new");
    let to = to.display();
    for line in [
        "backup".to_owned(),
        format!("backup --to {to}"),
        format!("export --to {to}"),
        format!("restore --to {to}"),
        format!("import {to} --to {to}"),
        format!("rider 1 --export {to}"),
        "daemon stop".to_owned(),
        "send".to_owned(),
    ] {
        let said = shop.line(&format!("{line} --dry-run")).fails(2);
        assert!(
            said.contains("cannot be tried without doing it"),
            "{line}: {said}"
        );
    }
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 0);
    assert!(!shop.folder().join("backups").exists());
    shop.line("status").ok();
}

#[test]
fn a_shop_written_out_while_it_is_served_is_made_again_with_the_same_hash() {
    let shop = Shop::with_demo_jobs();
    shop.line("measure 2 clf 51.5").ok();
    shop.line("undo 2").ok();
    let before = shop.json("verify")[0].clone();
    let place = tempfile::tempdir().unwrap();
    let (open, made) = (place.path().join("open"), place.path().join("made"));
    let answer = moved(&shop, &format!("export --to {}", open.display()));
    assert_eq!(
        (&answer["entries"], &answer["head"]),
        (&before["entries"], &before["head"])
    );
    moved(
        &shop,
        &format!("import {} --to {}", open.display(), made.display()),
    );
    run_in(&made, ["daemon", "start"]).ok();
    let verified: serde_json::Value =
        serde_json::from_str(run_in(&made, ["verify", "--json"]).ok().trim()).unwrap();
    assert_eq!(verified, before);
    run_in(&made, ["daemon", "stop"]).ok();
}

#[test]
fn what_cannot_be_moved_is_said_and_nothing_is_written_over() {
    let shop = Shop::with_demo_jobs();
    let folder = shop.folder();
    let text = shop.line(&format!("restore --to {}", folder.display())).fails(4);
    assert!(
        text.contains("backups cannot be looked at") && text.contains("name a backup"),
        "{text}"
    );
    shop.line("backup").ok();
    let text = shop.line(&format!("restore --to {}", folder.display())).fails(4);
    assert!(text.contains("is not empty") && text.contains("Hint: "), "{text}");
    let text = shop.line("import /nonexistent --to /nonexistent/2").fails(4);
    assert!(text.contains("/nonexistent/shop.json"), "{text}");
    shop.line("export").fails(2);
    let text = shop.line(&format!("export --to {}", folder.display())).fails(4);
    assert!(text.contains("nothing is ever written over"), "{text}");
    let backups = folder.join("backups");
    let backup = std::fs::read_dir(&backups)
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    std::fs::write(&backup, b"a letter to a customer").unwrap();
    let text = shop
        .line(&format!(
            "restore {} --to {}/new",
            backup.display(),
            folder.display()
        ))
        .fails(12);
    assert!(text.contains("is not a data file of lockring"), "{text}");
}
