//! Folders that cannot or must not be served.

use std::fs::Permissions;
use std::os::unix::fs::PermissionsExt;

use crate::support::{LOCKRINGD, Shop, clean};

/// Starts a second daemon on a folder and gives its exit code and complaint.
fn serve_again(folder: &std::path::Path) -> (i32, String) {
    let output = clean(LOCKRINGD).arg("--dir").arg(folder).output().unwrap();
    (
        output.status.code().unwrap_or(-1),
        String::from_utf8(output.stderr).unwrap(),
    )
}

#[test]
fn two_daemons_on_one_folder_are_one_too_many() {
    let shop = Shop::open();
    let (code, complaint) = serve_again(&shop.folder());
    assert_eq!(code, 4, "{complaint}");
    assert!(complaint.contains("daemon stop"), "{complaint}");
    shop.line("jobs").ok();
}

#[test]
fn a_folder_open_to_others_is_refused_by_both_programs() {
    let mut shop = Shop::open();
    shop.kill();
    std::fs::set_permissions(shop.folder(), Permissions::from_mode(0o777)).unwrap();
    let (code, complaint) = serve_again(&shop.folder());
    assert_eq!(code, 5, "{complaint}");
    assert!(
        complaint.contains("777") && complaint.contains("chmod"),
        "{complaint}"
    );
    std::fs::set_permissions(shop.folder(), Permissions::from_mode(0o700)).unwrap();
    shop.serve();
    std::fs::set_permissions(shop.folder().join("run"), Permissions::from_mode(0o777)).unwrap();
    let text = shop.line("jobs").fails(14);
    assert!(text.contains("777"), "{text}");
    std::fs::set_permissions(shop.folder().join("run"), Permissions::from_mode(0o700)).unwrap();
    shop.line("jobs").ok();
}

#[test]
fn a_data_file_of_a_newer_program_is_left_alone() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    let file = shop.folder().join("lockring.db");
    let database = rusqlite::Connection::open(&file).unwrap();
    let version: i64 = database
        .query_row("PRAGMA user_version", [], |row| row.get(0))
        .unwrap();
    database
        .execute_batch(&format!("PRAGMA user_version = {}", version + 1))
        .unwrap();
    drop(database);
    let before = std::fs::read(&file).unwrap();
    let (code, complaint) = serve_again(&shop.folder());
    assert_eq!(code, 7, "{complaint}");
    let text = shop.line("daemon start").fails(12);
    assert!(text.contains("Caused by: ") && text.contains("Hint: "), "{text}");
    assert!(complaint.contains(&(version + 1).to_string()), "{complaint}");
    assert_eq!(std::fs::read(&file).unwrap(), before, "the file was touched");
}

#[test]
fn a_file_that_is_no_shop_is_named_and_left_alone() {
    let mut shop = Shop::open();
    shop.kill();
    let file = shop.folder().join("lockring.db");
    for end in ["-wal", "-shm"] {
        let beside = shop.folder().join(format!("lockring.db{end}"));
        if beside.exists() {
            std::fs::remove_file(beside).unwrap();
        }
    }
    std::fs::write(&file, b"shopping list: bread, milk\n".repeat(100)).unwrap();
    let before = std::fs::read(&file).unwrap();
    let (code, complaint) = serve_again(&shop.folder());
    assert_eq!(code, 8, "{complaint}");
    shop.line("daemon start").fails(12);
    assert!(complaint.contains("lockring.db"), "{complaint}");
    assert_eq!(std::fs::read(&file).unwrap(), before, "the file was touched");
}

#[test]
fn a_stale_socket_after_a_kill_does_not_keep_the_next_daemon_away() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    assert!(
        shop.folder().join("run/lockringd.sock").exists(),
        "the kill should leave the socket behind"
    );
    shop.line("jobs").fails(3);
    shop.serve();
    assert_eq!(shop.json("jobs").len(), 3);
}

#[test]
fn a_socket_folder_of_another_user_is_not_talked_to() {
    if !rustix::process::geteuid().is_root() {
        eprintln!("not tried: only root can give a folder to another user");
        return;
    }
    let shop = Shop::open();
    let run = shop.folder().join("run");
    std::os::unix::fs::chown(&run, Some(65_534), None).unwrap();
    let text = shop.line("jobs").fails(14);
    assert!(text.contains("65534") && text.contains("Hint"), "{text}");
    std::os::unix::fs::chown(&run, Some(0), None).unwrap();
    shop.line("jobs").ok();
}

#[test]
fn a_place_where_nothing_can_be_made_is_named() {
    // No folder can be made here, whoever asks.
    let folder = std::path::Path::new("/proc/lockring");
    let (code, complaint) = serve_again(folder);
    assert_ne!(code, 0, "{complaint}");
    assert!(
        complaint.contains("/proc/lockring") && complaint.contains("Hint"),
        "{complaint}"
    );
    let text = crate::support::run_in(folder, ["daemon", "start"]);
    assert!(text.code == 12 || text.code == 14, "{} {}", text.code, text.err);
    assert!(text.err.contains("/proc/lockring"), "{}", text.err);
}
