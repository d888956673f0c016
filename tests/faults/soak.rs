//! A long day: clients come, work, look and go, and the daemon grows neither in memory nor in
//! open files.
//!
//! A few seconds by default, which show that files are given back; with
//! `LOCKRING_SOAK_SECONDS` of 300 or more memory is held to 5 % of growth as well.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::{
    BackupRequest, CheckRequest, HistoryRequest, ListJobsRequest, NoteRequest, ShowJobRequest, TakeInRequest,
    WatchRequest,
};

use crate::support::Shop;
use crate::support::rpc::{block_on, connect, origin, try_connect};
use crate::support::seed::whole;

/// Clients at a time.
const CLIENTS: usize = 4;
/// From here on memory is looked at: shorter runs only fill caches.
const LONG: u64 = 300;
/// Most growth of memory after the first third, per cent.
const GROWTH: u64 = 5;

/// What the system says of the daemon: memory in use, KiB, and open files.
#[derive(Debug, Clone, Copy)]
struct Size {
    memory: u64,
    files: usize,
}

fn size(pid: u64) -> Size {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmRSS:"))
        .unwrap();
    Size {
        memory: line.trim().trim_end_matches(" kB").parse().unwrap(),
        files: std::fs::read_dir(format!("/proc/{pid}/fd")).unwrap().count(),
    }
}

/// One visit: a connection, a job of one's own with some notes, and looks all round.
async fn visit(folder: &Path, name: String, backups: Option<PathBuf>) {
    let channel = try_connect(folder).await.unwrap();
    let mut jobs = JobsClient::new(channel.clone());
    let request = TakeInRequest {
        origin: origin(&name),
        rider: name.clone(),
        ..TakeInRequest::default()
    };
    let job = jobs.take_in(request).await.unwrap().into_inner().job;
    let watching = jobs.watch(WatchRequest { job }).await.unwrap();
    for number in 0..10 {
        let id = format!("{name} {number}");
        let request = NoteRequest {
            origin: origin(&id),
            job,
            text: id,
        };
        jobs.note(request).await.unwrap();
    }
    let gate = String::new();
    jobs.check(CheckRequest {
        job: 1 + job % 3,
        gate,
    })
    .await
    .unwrap();
    jobs.show(ShowJobRequest {
        job,
        ..ShowJobRequest::default()
    })
    .await
    .unwrap();
    jobs.history(HistoryRequest { job, after: 0 }).await.unwrap();
    let page = ListJobsRequest {
        page_size: 20,
        ..ListJobsRequest::default()
    };
    jobs.list(page).await.unwrap();
    jobs.show(ShowJobRequest {
        job: 9_999_999,
        ..ShowJobRequest::default()
    })
    .await
    .unwrap_err();
    if let Some(backups) = backups {
        let to_folder = backups.display().to_string();
        ShopClient::new(channel)
            .backup(BackupRequest { to_folder })
            .await
            .unwrap();
        std::fs::remove_dir_all(backups).unwrap();
    }
    drop(watching);
}

#[test]
fn a_long_day_leaves_the_daemon_no_larger() {
    let seconds = whole("LOCKRING_SOAK_SECONDS", 4);
    let shop = Shop::with_demo_jobs();
    let pid = shop.json("status")[0]["pid"].as_u64().unwrap();
    let place = tempfile::tempdir().unwrap();
    let begun = Instant::now();
    let mut sizes: Vec<(Duration, Size)> = Vec::new();
    let mut turn = 0;
    block_on(async {
        while begun.elapsed() < Duration::from_secs(seconds) {
            let mut visits = tokio::task::JoinSet::new();
            for client in 0..CLIENTS {
                let folder = shop.folder();
                let backups = (client == 0 && turn % 50 == 10).then(|| place.path().join(format!("{turn}")));
                visits.spawn(async move { visit(&folder, format!("v{turn}-{client}"), backups).await });
            }
            visits.join_all().await;
            turn += 1;
            sizes.push((begun.elapsed(), size(pid)));
        }
        // The daemon notices a connection's end when it next looks at it.
        tokio::time::sleep(Duration::from_millis(500)).await;
        drop(connect(&shop).await);
    });
    let settled = sizes
        .iter()
        .position(|(at, _)| at.as_secs() >= seconds / 3)
        .unwrap_or(0);
    let (first, last) = (sizes[settled].1, size(pid));
    eprintln!("{turn} turns in {seconds} s: {first:?} after a third, {last:?} at the end");
    assert!(
        last.files <= first.files + 2,
        "open files grew: {first:?} to {last:?}"
    );
    if seconds >= LONG {
        let most = first.memory * (100 + GROWTH) / 100;
        assert!(last.memory <= most, "memory grew: {first:?} to {last:?}");
    }
    assert_eq!(shop.json("verify")[0]["sound"], true);
}
