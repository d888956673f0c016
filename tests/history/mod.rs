//! The journal: folded again, backed up, tampered with.

mod moving;

use crate::support::Shop;

#[test]
fn the_journal_folds_to_what_the_shop_shows() {
    let shop = Shop::with_demo_jobs();
    shop.line("measure 2 clf 51.5").ok();
    shop.line("undo 2").ok();
    shop.line("advance 2").fails(8);
    let verified = shop.json("verify")[0].clone();
    assert_eq!(verified["sound"], true, "{verified}");
    assert_eq!(verified["jobs"], 3);
}

#[test]
fn a_changed_line_of_the_journal_is_found_and_named() {
    let mut shop = Shop::with_demo_jobs();
    shop.line("measure 2 clf 51.5").ok();
    shop.kill();
    let database = rusqlite::Connection::open(shop.folder().join("lockring.db")).unwrap();
    let triggers: Vec<String> = database
        .prepare("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    for trigger in triggers {
        database
            .execute_batch(&format!("DROP TRIGGER {trigger}"))
            .unwrap();
    }
    let changed = database
        .execute(
            "UPDATE journal SET payload = replace(payload, '0.0515', '0.0415') WHERE payload LIKE '%0.0515%'",
            [],
        )
        .unwrap();
    assert_eq!(changed, 1);
    drop(database);
    shop.serve();
    let text = shop.line("verify").fails(12);
    assert!(text.contains("entry"), "{text}");
}

#[test]
fn a_backup_opens_as_a_shop_of_its_own() {
    let shop = Shop::with_demo_jobs();
    shop.line("measure 2 clf 51.5").ok();
    let folder = tempfile::TempDir::new().unwrap();
    shop.run(["backup", "--to", folder.path().to_str().unwrap()]).ok();
    let copy = std::fs::read_dir(folder.path())
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();

    let mut other = Shop::open();
    other.kill();
    for end in ["", "-wal", "-shm"] {
        let file = other.folder().join(format!("lockring.db{end}"));
        if file.exists() {
            std::fs::remove_file(file).unwrap();
        }
    }
    std::fs::copy(copy, other.folder().join("lockring.db")).unwrap();
    other.serve();
    assert_eq!(other.json("jobs"), shop.json("jobs"));
    assert_eq!(other.json("verify")[0]["head"], shop.json("verify")[0]["head"]);
}
