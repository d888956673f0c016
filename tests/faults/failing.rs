//! A disk whose calls fail, stick or come back with half (`support/disk.c`): what was answered stays,
//! what could not be stored is said, and the daemon goes on when the disk does.
//!
//! More rounds with `LOCKRING_DISK_ROUNDS`, another course with `LOCKRING_SEED`.

use std::process::Child;
use std::time::Duration;

use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::{ListJobsRequest, NoteRequest};

use super::clients::{AtWork, Trial};
use crate::support::disk::Disk;
use crate::support::rpc::{block_on, connect, origin};
use crate::support::seed::{Seed, whole};
use crate::support::{LOCKRING, Shop, clean};

/// A shop with three jobs whose daemon runs on a disk of ours.
fn shop_on(disk: &Disk) -> Shop {
    let mut shop = Shop::with_demo_jobs();
    shop.stop();
    shop.set_environment(disk.environment());
    shop.serve();
    shop
}

/// The notes of the first job, by number.
fn notes(shop: &Shop) -> Vec<String> {
    let entries = shop.json("history 1");
    let texts = entries.iter().filter_map(|entry| entry["text"].as_str());
    texts
        .filter_map(|said| said.strip_prefix("note: "))
        .map(str::to_owned)
        .collect()
}

fn is_sound(shop: &Shop) -> bool {
    shop.json("verify")[0]["sound"] == true
}

/// Types a line that will be answered when it can be.
fn begin(shop: &Shop, line: &[&str]) -> Child {
    let mut program = clean(LOCKRING);
    program.arg("--dir").arg(shop.folder()).args(line);
    program.spawn().unwrap()
}

#[test]
fn a_sync_that_fails_is_said_and_the_shop_goes_on_when_the_disk_does() {
    let disk = Disk::new();
    let mut shop = shop_on(&disk);
    shop.line("note 1 before").ok();
    disk.does("sync log fail");
    let said = shop.line("note 1 meanwhile").fails(12);
    for word in [
        "nobody knows yet",
        "lockring.db: ",
        "disk I/O error",
        "Hint: ",
        "lockring history",
    ] {
        assert!(said.contains(word), "no `{word}` in:\n{said}");
    }
    assert_eq!(notes(&shop), ["before"], "others read on, and see what is stored");
    disk.does("");
    shop.line("note 1 after").ok();
    for _ in 0..2 {
        assert_eq!(notes(&shop), ["before", "after"]);
        assert!(is_sound(&shop));
        shop.kill();
        shop.serve();
    }
}

/// The commit lies in the log whole, and whoever asked for it was told that it is not stored.
#[test]
fn what_was_not_stored_because_of_one_sync_is_not_found_after_a_kill() {
    let disk = Disk::new();
    let mut shop = shop_on(&disk);
    shop.line("note 1 before").ok();
    disk.does("sync log next 1");
    let said = shop.line("note 1 meanwhile").fails(12);
    assert!(said.contains("reading or writing the disk failed"), "{said}");
    disk.does("");
    shop.kill();
    shop.serve();
    assert_eq!(notes(&shop), ["before"]);
    assert!(is_sound(&shop));
}

#[test]
fn a_read_that_fails_names_the_file_and_the_daemon_serves_on_when_reads_do() {
    let disk = Disk::new();
    let mut shop = shop_on(&disk);
    let lines = [
        "show 1",
        "jobs",
        "history 1",
        "verify",
        "backup",
        "note 1 meanwhile",
        "report blocked",
        "daemon status",
    ];
    // Nothing that was read before is remembered by a daemon that has only begun.
    shop.kill();
    shop.serve();
    disk.does("read any fail");
    for line in lines {
        let said = shop.line(line).fails(12);
        for word in [
            "reading or writing the disk failed",
            "lockring.db",
            "Hint: ",
            "system log",
        ] {
            assert!(said.contains(word), "`{line}`: no `{word}` in:\n{said}");
        }
    }
    disk.does("");
    for line in lines {
        shop.line(line).ok();
    }
    assert_eq!(notes(&shop), ["meanwhile"]);
    assert!(is_sound(&shop));
    assert_eq!(
        std::fs::read_dir(shop.folder().join("backups")).unwrap().count(),
        1,
        "the backup that failed left nothing"
    );
}

/// The data file itself cannot be synced: what is stored stays in the log, as durable as ever.
#[test]
fn a_data_file_that_cannot_be_synced_costs_nothing_that_was_answered() {
    let disk = Disk::new();
    let mut shop = shop_on(&disk);
    disk.does("sync data fail");
    shop.line("note 1 meanwhile").ok();
    shop.stop();
    let said = std::fs::read_to_string(shop.said()).unwrap();
    assert!(
        said.contains("Error: reading or writing the disk failed") && said.contains("lockring.db: "),
        "{said}"
    );
    let log = std::fs::metadata(shop.folder().join("lockring.db-wal")).unwrap();
    assert!(
        log.len() > 0,
        "the log was let go although its pages are on no disk"
    );
    disk.does("");
    shop.serve();
    assert_eq!(notes(&shop), ["meanwhile"]);
    assert!(is_sound(&shop));
}

/// Nobody looks at a clock: the sync sticks until it is told otherwise.
#[test]
fn while_a_change_waits_for_a_slow_disk_everybody_reads_and_a_stop_waits_for_it() {
    let disk = Disk::new();
    let mut shop = shop_on(&disk);
    disk.does("sync any stick");
    block_on(async {
        let channel = connect(&shop).await;
        let (mut jobs, request) = (
            JobsClient::new(channel),
            NoteRequest {
                origin: origin("slow"),
                job: 1,
                text: "slow".into(),
            },
        );
        let mut writer = jobs.clone();
        let mut change = tokio::spawn(async move { writer.note(request).await });
        for _ in 0..20 {
            let listed = jobs.list(ListJobsRequest::default()).await.unwrap().into_inner();
            assert_eq!(listed.jobs.len(), 3);
        }
        let early = tokio::time::timeout(Duration::from_millis(1), &mut change).await;
        assert!(
            early.is_err(),
            "a change was answered before it was on the disk: {early:?}"
        );
        disk.does("");
        change.await.unwrap().unwrap();
    });
    disk.does("sync any stick");
    let change = begin(&shop, &["note", "1", "at the end"]);
    shop.line("status").ok();
    shop.line("show 1").ok();
    let stop = begin(&shop, &["daemon", "stop"]);
    shop.says("the disk is slow");
    disk.does("");
    for mut child in [change, stop] {
        assert!(child.wait().unwrap().success());
    }
    shop.forget();
    shop.serve();
    assert_eq!(notes(&shop), ["slow", "at the end"]);
}

#[test]
fn whatever_fails_under_writing_clients_what_was_answered_is_there_once_and_the_rest_as_it_was_told() {
    let mut seed = Seed::from_environment();
    let rounds = whole("LOCKRING_DISK_ROUNDS", 4);
    let disk = Disk::new();
    let mut trial = Trial::begin();
    trial.shop.stop();
    trial.shop.set_environment(disk.environment());
    let (mut answered, mut failed) = (0, 0);
    for round in 0..rounds {
        trial.shop.serve();
        let sent = block_on(async {
            let at_work = AtWork::begin(&trial.shop.folder(), round, 8);
            at_work.answered().await;
            let faults = [
                "sync any fail 3",
                "write any fail 9",
                "write log short 9",
                "read any fail 9",
                "sync any fail 5\nwrite any short 30\nread any fail 30",
            ];
            let drawn = usize::try_from(seed.below(faults.len() as u64)).unwrap();
            disk.does(faults[drawn]);
            at_work.failed().await;
            tokio::time::sleep(Duration::from_micros(seed.below(100_000))).await;
            // Now and then the disk is as bad as ever when the daemon is killed.
            if seed.below(2) == 0 {
                disk.does("");
                at_work.answered().await;
            }
            trial.shop.kill();
            at_work.end().await
        });
        disk.does("");
        trial.shop.serve();
        trial.look_for(&sent);
        trial.send_again(&sent);
        trial.shop.kill();
        let lost = sent.iter().filter(|request| request.answer.is_none()).count();
        answered += sent.len() - lost;
        failed += lost;
    }
    eprintln!("{rounds} rounds, {answered} requests answered, {failed} failed or cut off");
    assert!(
        answered > 0 && failed > 0,
        "{answered} answered, {failed} failed: the faults prove nothing"
    );
}

#[test]
fn a_backup_that_cannot_be_synced_is_none_and_leaves_nothing() {
    let disk = Disk::new();
    let shop = shop_on(&disk);
    disk.does("sync other fail");
    let said = shop.line("backup").fails(12);
    assert!(
        said.contains("reading or writing the disk failed") && said.contains("/backups"),
        "{said}"
    );
    let left = std::fs::read_dir(shop.folder().join("backups")).unwrap().count();
    assert_eq!(left, 0, "a backup that may not be on the disk was left");
    disk.does("");
    shop.line("backup").ok();
}
