//! A long day: clients come over socket and network, work, watch, look and go, documents are
//! printed and backups made, and the daemon grows neither in memory nor in open files.
//!
//! A few seconds by default, which show that everything is answered and files are given back;
//! with `LOCKRING_SOAK_SECONDS` of 300 or more memory is held to 5 % of growth as well.

mod visits;

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use lockring_proto::v1::WatchRequest;
use lockring_proto::v1::jobs_client::JobsClient;
use visits::{Door, Tally, Visit, keep_house};

use crate::access::Reached;
use crate::support::rpc::{block_on, connect};
use crate::support::seed::whole;
use crate::support::tls::Carried;

/// From here on memory is looked at: shorter runs only fill caches.
const LONG: u64 = 300;
/// Most growth of memory after the first third, per cent.
const GROWTH: u64 = 5;
/// Fewest turns, however slow the machine is: enough to see something of everything.
const FEWEST: u64 = 4;
/// Files that a daemon at rest may have open beyond what it had: four readers are kept for the next
/// caller, each with data file and log, and a connection may be about to go.
const KEPT: usize = 10;
/// The turns are told as one each half hour from 2020 on: a report reads the jobs of its day, and
/// a day on which a hundred thousand visits were made would be large, whoever looked at it.
const FIRST_US: i64 = 1_577_836_800_000_000;
const HALF_AN_HOUR_US: i64 = 1_800_000_000;
/// How often the daemon is looked at in a run.
const LOOKS: u64 = 30;
/// Documents in turn, about a job of the demo or the shop.
const DOCUMENTS: [&str; 6] = ["card 1", "build 2", "ride 1", "evening", "week", "file 3"];

/// What the system says of the daemon.
#[derive(Debug, Clone, Copy)]
struct Size {
    at: Duration,
    /// KiB in use.
    memory: u64,
    /// Open files, sockets among them.
    files: usize,
    threads: u64,
}

fn size(pid: u64, at: Duration) -> Size {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let number = |name: &str| -> u64 {
        let line = status.lines().find_map(|line| line.strip_prefix(name));
        line.unwrap().trim().trim_end_matches(" kB").parse().unwrap()
    };
    Size {
        at,
        memory: number("VmRSS:"),
        files: std::fs::read_dir(format!("/proc/{pid}/fd")).unwrap().count(),
        threads: number("Threads:"),
    }
}

/// Three at the shop's computer and one at each of two other benches, at the same time.
fn turn(folder: &Path, doors: &[Door], turn: u64, tally: &Arc<Tally>) {
    block_on(async {
        let mut visits = tokio::task::JoinSet::new();
        for (number, door) in doors.iter().cloned().enumerate() {
            let (folder, tally) = (folder.to_owned(), tally.clone());
            let name = format!("visit {turn} {number}");
            visits.spawn(async move {
                let visit = Visit {
                    door,
                    folder,
                    name,
                    turn: turn + number as u64,
                    at_us: FIRST_US + i64::try_from(turn).unwrap() * HALF_AN_HOUR_US,
                    tally: &tally,
                };
                visit.run().await;
            });
        }
        visits.join_all().await;
    });
}

/// Hears everything that is typed until told to stop; gives how many lines.
async fn listen(channel: tonic::transport::Channel, stop: Arc<AtomicBool>) -> u64 {
    let watched = JobsClient::new(channel).watch(WatchRequest::default()).await;
    let (mut watch, mut lines) = (watched.unwrap().into_inner(), 0);
    while !stop.load(Ordering::Relaxed) {
        match tokio::time::timeout(Duration::from_millis(200), watch.message()).await {
            Ok(Ok(Some(_))) => lines += 1,
            Ok(other) => panic!("the watch over everything ended after {lines} lines: {other:?}"),
            Err(_) => {}
        }
    }
    lines
}

#[test]
fn a_long_day_leaves_the_daemon_no_larger() {
    let seconds = whole("LOCKRING_SOAK_SECONDS", 4);
    let length = Duration::from_secs(seconds);
    let reached = Reached::open();
    let shop = &reached.shop;
    let folder = shop.folder();
    let pid = shop.json("status")[0]["pid"].as_u64().unwrap();
    let street = |bench: &str| Door::Street(Box::new(Carried::read(&reached.pair(bench, "M"))));
    let mut doors = vec![Door::Socket(folder.clone()); 3];
    doors.extend([street("bench-2"), street("bench-3")]);
    let place = tempfile::tempdir().unwrap();
    let tally = Arc::new(Tally::default());

    let stop = Arc::new(AtomicBool::new(false));
    let (listening, shut) = (folder.clone(), stop.clone());
    let listener = std::thread::spawn(move || {
        block_on(async {
            let channel = crate::support::rpc::try_connect(&listening).await.unwrap();
            listen(channel, shut).await
        })
    });

    let begun = Instant::now();
    let (mut turns, mut printed, mut sizes) = (0, 0, vec![size(pid, Duration::ZERO)]);
    while begun.elapsed() < length || turns < FEWEST {
        turn(&folder, &doors, turns, &tally);
        if turns % 4 == 1 {
            let document = DOCUMENTS[printed % DOCUMENTS.len()];
            let ending = ["html", "pdf"][printed / DOCUMENTS.len() % 2];
            let out = place.path().join(format!("document.{ending}"));
            shop.line(&format!("print {document} --out {}", out.display()))
                .ok();
            printed += 1;
        }
        if turns % 50 == 2 {
            keep_house(&folder, &place.path().join("backup"), &tally);
        }
        turns += 1;
        let due = length * u32::try_from(sizes.len()).unwrap() / u32::try_from(LOOKS).unwrap();
        if begun.elapsed() >= due {
            sizes.push(size(pid, begun.elapsed()));
        }
    }
    stop.store(true, Ordering::Relaxed);
    let heard = listener.join().unwrap();
    // The daemon notices a connection's end when it next looks at it.
    std::thread::sleep(Duration::from_millis(500));
    block_on(async { drop(connect(shop).await) });
    sizes.push(size(pid, begun.elapsed()));

    for size in &sizes {
        eprintln!(
            "{:6.0} s  {:7} KiB  {:3} files  {:2} threads",
            size.at.as_secs_f64(),
            size.memory,
            size.files,
            size.threads
        );
    }
    let (calls, refused) = (
        tally.calls.load(Ordering::Relaxed),
        tally.refused.load(Ordering::Relaxed),
    );
    let visits = turns * doors.len() as u64;
    eprintln!(
        "{visits} visits, {calls} calls, {refused} of them refused as they had to be, {printed} documents, {heard} lines heard, errors 0"
    );
    // Each visit makes 22 calls, two of them refused, at other benches three; each change was told
    // to who watches everything.
    assert_eq!(refused, 2 * visits + 2 * turns);
    assert!(calls >= 22 * visits, "{calls} calls in {visits} visits");
    assert!(heard > 5 * visits, "{heard} lines heard in {visits} visits");
    assert!(tally.told.load(Ordering::Relaxed) > 0 && printed > 0 && sizes.len() > 2);

    let settled = sizes.iter().find(|size| size.at >= length / 3).unwrap();
    let last = sizes.last().unwrap();
    assert!(last.memory > 1000 && last.files > 5, "no figures: {last:?}");
    assert!(
        visits > KEPT as u64,
        "a file lost with each of {visits} visits would not show"
    );
    assert!(
        last.files <= sizes[0].files + KEPT && last.threads <= sizes[0].threads + KEPT as u64,
        "open files or threads grew: {:?} to {last:?}",
        sizes[0]
    );
    if seconds >= LONG {
        assert!(last.files <= settled.files + 2, "{settled:?} to {last:?}");
        let most = settled.memory * (100 + GROWTH) / 100;
        assert!(last.memory <= most, "memory grew: {settled:?} to {last:?}");
    }
    assert_eq!(shop.json("verify")[0]["sound"], true);
}
