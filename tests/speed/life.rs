//! A daemon's beginning, its size, and its end.

use std::io::Write as _;
use std::os::unix::net::UnixStream;
use std::time::Duration;

use lockring_proto::v1::WatchRequest;
use lockring_proto::v1::jobs_client::JobsClient;

use super::board::{Amount, Bar, Board, median, timed};
use super::served::{Served, one_thread};
use crate::support::{LOCKRING, LOCKRINGD, Shop, clean};

/// What a client may send and then fall silent; the last but one is half of what opens HTTP/2
/// (RFC 9113, 3.4), the last all of it and empty settings.
const BEGINNINGS: [&[u8]; 4] = [
    b"",
    b"GET / HTTP/1.1\r\n",
    b"PRI * HTTP/2.0\r\n",
    b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\x00\x00\x00\x04\x00\x00\x00\x00\x00",
];

/// Start, memory and end on the demo's shop; sizes of the programs.
pub fn figures(board: &mut Board, rounds: usize) {
    let mut shop = Shop::after_the_demo();
    shop.run(["daemon", "stop"]).ok();
    shop.forget();
    let (mut starts, mut ends, mut floors, mut idle) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for _ in 0..rounds {
        let (took, status) = timed(|| {
            let mut program = clean(LOCKRINGD);
            program.arg("--version").stdout(std::process::Stdio::null());
            program.status().unwrap()
        });
        assert!(status.success());
        floors.push(took);
        let served = Served::begin(&shop.folder());
        starts.push(served.ready_after);
        // A moment in which everything that begins by itself has begun.
        std::thread::sleep(Duration::from_millis(100));
        idle.push(served.memory().0);
        ends.push(end_under_guests(served));
    }
    let floor = ("the program's `--version`", Amount::ms(median(floors)));
    board.show(
        "start to ready, the demo's shop",
        Amount::ms(median(starts)),
        floor,
        Bar::Most(10.0),
    );
    let worst = ends.iter().max().copied().unwrap();
    let middle = ("median", Amount::ms(median(ends)));
    board.show(
        "end under silent and idle clients, the longest",
        Amount::ms(worst),
        middle,
        Bar::Most(1000.0),
    );
    idle.sort_unstable();
    let mib = |kib: u64| Amount(kib as f64 / 1024.0, "MiB");
    let middle = mib(idle[idle.len() / 2]);
    board.show(
        "idle memory, the demo's shop",
        middle,
        ("least of all runs", mib(idle[0])),
        Bar::Most(12.0),
    );
    for (name, path) in [("lockring", LOCKRING), ("lockringd", LOCKRINGD)] {
        let size = std::fs::metadata(path).unwrap().len() as f64 / (1024.0 * 1024.0);
        println!("size of {name}: {size:.1} MiB");
    }
}

/// How long a daemon takes to end while clients keep it company that never go by themselves.
fn end_under_guests(served: Served) -> Duration {
    let socket = lockring_proto::paths::socket_path(served.folder()).unwrap();
    let silent: Vec<UnixStream> = BEGINNINGS
        .into_iter()
        .map(|beginning| {
            let mut stream = UnixStream::connect(&socket).unwrap();
            stream.write_all(beginning).unwrap();
            stream
        })
        .collect();
    let runtime = one_thread();
    let (_idle, _watching) = runtime.block_on(async {
        let idle = served.connect().await;
        let mut watcher = JobsClient::new(served.connect().await);
        (idle, watcher.watch(WatchRequest { job: 0 }).await.unwrap())
    });
    let took = served.end();
    drop(silent);
    took
}
