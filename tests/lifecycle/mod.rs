//! Starting, stopping, finding each other.

mod wall;

use std::io::Write as _;
use std::os::unix::net::UnixStream;
use std::time::{Duration, Instant};

use crate::support::{PATIENCE, run_in};

#[test]
fn a_detached_daemon_starts_serves_and_stops() {
    let folder = tempfile::TempDir::new().unwrap();
    let data = folder.path().join("data");
    assert_eq!(run_in(&data, ["daemon", "status"]).code, 3);
    run_in(&data, ["daemon", "start"]).ok();
    let again = run_in(&data, ["daemon", "start"]).ok();
    assert!(again.contains("already"), "{again}");
    run_in(&data, ["jobs"]).ok();
    run_in(&data, ["daemon", "stop"]).ok();
    assert_eq!(run_in(&data, ["daemon", "status"]).code, 3);
    assert!(
        !data.join("run/lockringd.sock").exists(),
        "the socket stayed behind"
    );
    let none = run_in(&data, ["daemon", "stop"]).ok();
    assert!(none.contains("no lockringd"), "{none}");
}

#[test]
fn any_command_starts_the_daemon_when_asked_to() {
    let folder = tempfile::TempDir::new().unwrap();
    let data = folder.path().join("data");
    run_in(&data, ["--start", "jobs"]).ok();
    run_in(&data, ["daemon", "stop"]).ok();
}

#[test]
fn two_commands_that_start_the_daemon_at_once_share_one() {
    let folder = tempfile::TempDir::new().unwrap();
    let data = folder.path().join("data");
    let pids: Vec<u64> = std::thread::scope(|scope| {
        let askers: Vec<_> = (0..4)
            .map(|_| {
                let data = &data;
                scope.spawn(move || {
                    let out = run_in(data, ["--start", "--json", "status"]).ok();
                    let status: serde_json::Value = serde_json::from_str(out.trim()).unwrap();
                    status["pid"].as_u64().unwrap()
                })
            })
            .collect();
        askers.into_iter().map(|asker| asker.join().unwrap()).collect()
    });
    assert!(pids.iter().all(|pid| *pid == pids[0]), "{pids:?}");
    run_in(&data, ["daemon", "stop"]).ok();
}

#[test]
fn a_watcher_is_told_when_the_daemon_stops() {
    let folder = tempfile::TempDir::new().unwrap();
    let data = folder.path().join("data");
    run_in(&data, ["daemon", "start"]).ok();
    let mut watcher = crate::support::clean(crate::support::LOCKRING)
        .arg("--dir")
        .arg(&data)
        .arg("watch")
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(200));
    run_in(&data, ["daemon", "stop"]).ok();
    let begun = Instant::now();
    while watcher.try_wait().unwrap().is_none() {
        assert!(begun.elapsed() < PATIENCE, "the watcher hangs on");
        std::thread::sleep(Duration::from_millis(10));
    }
}

/// Silent clients, and one that stops in the middle of its first words, are left behind: a
/// daemon that is asked to end does so within a second.
#[test]
fn silent_clients_do_not_keep_the_daemon() {
    let folder = tempfile::TempDir::new().unwrap();
    let data = folder.path().join("data");
    run_in(&data, ["daemon", "start"]).ok();
    let socket = data.join("run/lockringd.sock");
    let beginnings: [&[u8]; 3] = [b"", b"PRI * HTTP/2.0\r\n", b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"];
    let silent: Vec<UnixStream> = beginnings
        .iter()
        .map(|beginning| {
            let mut stream = UnixStream::connect(&socket).unwrap();
            stream.write_all(beginning).unwrap();
            stream
        })
        .collect();
    run_in(&data, ["jobs"]).ok();
    let begun = Instant::now();
    run_in(&data, ["daemon", "stop"]).ok();
    let took = begun.elapsed();
    drop(silent);
    assert!(took < Duration::from_secs(1), "{} ms", took.as_millis());
    let log = std::fs::read_to_string(data.join("lockringd.log")).unwrap();
    assert!(log.contains("clients stayed longer"), "{log}");
}

#[test]
fn a_watcher_sees_what_is_stored() {
    use std::io::{BufRead, BufReader};

    let shop = crate::support::Shop::with_demo_jobs();
    let mut watcher = crate::support::clean(crate::support::LOCKRING)
        .arg("--dir")
        .arg(shop.folder())
        .args(["watch", "2", "--json"])
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(watcher.stdout.take().unwrap());
    let seen = std::thread::scope(|scope| {
        let reader = scope.spawn(move || {
            let mut line = String::new();
            lines.read_line(&mut line).unwrap();
            line
        });
        // The watch begins at some moment after the program: notes are made until one is seen.
        let begun = Instant::now();
        while !reader.is_finished() {
            assert!(begun.elapsed() < PATIENCE, "nothing was seen");
            shop.line("note 1 \"not watched\"").ok();
            shop.line("note 2 \"seen by the watcher\"").ok();
            std::thread::sleep(Duration::from_millis(20));
        }
        reader.join().unwrap()
    });
    watcher.kill().unwrap();
    watcher.wait().unwrap();
    let entry: lockring_proto::v1::HistoryLine = serde_json::from_str(seen.trim()).unwrap();
    assert_eq!((entry.job, entry.text.as_str()), (2, "note: seen by the watcher"));
}
