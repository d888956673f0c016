//! What it costs to keep a measurement: from the client's call until it is on the disk.

use std::path::Path;
use std::sync::{Arc, LazyLock};
use std::time::Duration;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_domain::command::{self, Act, Command, Desk, Typed};
use lockring_domain::gate::Memory;
use lockring_domain::origin::Origin;
use lockring_domain::rules::RuleSheet;
use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::{Assignment, RecordRequest, SheetFile, TakeInRequest};
use lockring_store::{Request, Store, WriteError, whole_microseconds};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tokio::task::JoinSet;
use tonic::transport::Channel;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_client::HealthClient;

use super::board::{Amount, Bar, Board, in_turn, median, timed};
use super::raw::Raw;
use super::served::{Served, one_thread};
use crate::support::{Shop, demo_file, rpc};

/// What is measured over and over: a code and its text.
const READING: (&str, &str) = ("chainline-front", "51.5");
/// Writers at a time in the benchmark.
pub const WRITERS: u32 = 64;

/// A shop with so many jobs of the demo's first sheet, each measured once; nobody serves it.
fn shop(jobs: u32) -> Shop {
    let mut shop = Shop::open();
    shop.run(["catalogue", "import", &demo_file("catalogue.toml")])
        .ok();
    let text = std::fs::read_to_string(demo_file("trekking.toml")).unwrap();
    one_thread().block_on(async {
        let mut client = JobsClient::new(rpc::connect(&shop).await);
        for number in 1..=jobs {
            let sheet = SheetFile {
                name: "trekking.toml".into(),
                content: text.clone(),
            };
            let request = TakeInRequest {
                origin: rpc::origin(&format!("take in {number}")),
                sheet: Some(sheet),
                ..TakeInRequest::default()
            };
            client.take_in(request).await.unwrap();
        }
        for job in 1..=jobs {
            measure(&mut client, job, format!("first {job}")).await;
        }
    });
    shop.run(["daemon", "stop"]).ok();
    shop.forget();
    shop
}

async fn measure(client: &mut JobsClient<Channel>, job: u32, id: String) {
    let (code, text) = READING;
    let value = Assignment {
        field: code.into(),
        value: text.into(),
    };
    let request = RecordRequest {
        origin: rpc::origin(&id),
        job,
        act: "measure".into(),
        values: vec![value],
        anew: true,
        ..RecordRequest::default()
    };
    client.record(request).await.unwrap();
}

async fn empty_call(client: &mut HealthClient<Channel>) {
    client.check(HealthCheckRequest::default()).await.unwrap();
}

/// One durable write beside what it is made of: an empty call and a commit of the same rows. What
/// there is to say of the disk stands behind each name.
pub fn one(board: &mut Board, rounds: usize, disk: &str) {
    let shop = shop(1);
    let mut raw = Raw::copy(&shop.folder());
    let served = Served::begin(&shop.folder());
    let runtime = one_thread();
    let channel = runtime.block_on(served.connect());
    let (mut jobs, mut health) = (JobsClient::new(channel.clone()), HealthClient::new(channel));
    let work = |kind: usize, round: usize| {
        let (took, ()) = timed(|| match kind {
            0 => runtime.block_on(measure(&mut jobs, 1, format!("one {round}"))),
            1 => runtime.block_on(empty_call(&mut health)),
            2 => raw.change(0),
            _ => raw.bare(),
        });
        took
    };
    let [write, call, same, bare] = in_turn(rounds, work);
    let sum = |commit: Duration| Amount::ms(commit + call);
    let name = &format!("one durable measurement by a connected client{disk}");
    let floor = "commit of the same rows + empty call";
    board.show(name, Amount::ms(write), (floor, sum(same)), Bar::Times(1.3));
    let floor = "commit of one bare row + empty call";
    board.show(name, Amount::ms(write), (floor, sum(bare)), Bar::Told);
    board.show(
        &format!("empty call{disk}"),
        Amount::ms(call),
        ("commit of one bare row", Amount::ms(bare)),
        Bar::Told,
    );
}

/// Many writers at a time beside plain SQL one by one, and beside the store without any call.
pub fn many(board: &mut Board, rounds: usize, writers: u32, disk: &str) {
    let shop = shop(writers);
    let mut raw = Raw::copy(&shop.folder());
    let inside = Inside::copy(&shop.folder());
    let served = Served::begin(&shop.folder());
    let runtime = one_thread();
    let channels = runtime.block_on(async {
        let mut channels = Vec::new();
        for _ in 0..writers {
            channels.push(served.connect().await);
        }
        channels
    });
    // A run is long enough to fill many batches; several runs in turn share what else goes on.
    let each = u32::try_from(rounds / 10).unwrap().max(1);
    let runs = 5;
    let mut times: [Vec<Duration>; 4] = Default::default();
    for run in 0..runs {
        let (took, ()) = timed(|| runtime.block_on(by_call(&channels, each, run)));
        times[0].push(took);
        let (took, ()) = timed(|| (0..writers * each).for_each(|at| raw.change((at % writers) as usize)));
        times[1].push(took);
        let (took, ()) = timed(|| inside.changes(&runtime, writers, each, run));
        times[2].push(took);
        let (took, ()) = timed(|| runtime.block_on(with_empty_calls(&channels, each)));
        times[3].push(took);
    }
    let count = f64::from(writers * each);
    let [called, plain, inside, empty] = times.map(|times| median(times).as_secs_f64());
    let rate = |time: f64| Amount(count / time, "a second");
    board.show(
        &format!("{writers} writers of a measurement at a time{disk}"),
        rate(called),
        ("the same rows committed one by one by plain SQL", rate(plain)),
        Bar::AtLeast(4.0),
    );
    board.show(
        &format!("{writers} callers of nothing at a time{disk}"),
        rate(empty),
        ("the same rows committed one by one by plain SQL", rate(plain)),
        Bar::Told,
    );
    board.show(
        &format!("{writers} writers of a measurement at a time, time for each{disk}"),
        Amount(called / count * 1e3, "ms"),
        (
            "the same decisions in the store, without calls",
            Amount(inside / count * 1e3, "ms"),
        ),
        Bar::Times(1.3),
    );
}

async fn by_call(channels: &[Channel], each: u32, run: usize) {
    let mut writers = JoinSet::new();
    for (channel, job) in channels.iter().zip(1..) {
        let mut client = JobsClient::new(channel.clone());
        writers.spawn(async move {
            for turn in 0..each {
                measure(&mut client, job, format!("many {run} {job} {turn}")).await;
            }
        });
    }
    writers.join_all().await;
}

/// As many calls that do nothing: the most that can be called on this machine.
async fn with_empty_calls(channels: &[Channel], each: u32) {
    let mut callers = JoinSet::new();
    for channel in channels {
        let mut client = HealthClient::new(channel.clone());
        callers.spawn(async move {
            for _ in 0..each {
                empty_call(&mut client).await;
            }
        });
    }
    callers.join_all().await;
}

/// The store without a daemon: the same decisions, in the same batches.
struct Inside {
    store: Arc<Store>,
    _folder: TempDir,
}

impl Inside {
    fn copy(folder: &Path) -> Self {
        let place = tempfile::tempdir().unwrap();
        std::fs::copy(folder.join("lockring.db"), place.path().join("lockring.db")).unwrap();
        Self {
            store: Arc::new(Store::open(place.path()).unwrap()),
            _folder: place,
        }
    }

    fn changes(&self, runtime: &Runtime, writers: u32, each: u32, run: usize) {
        runtime.block_on(async {
            let mut tasks = JoinSet::new();
            for job in 1..=writers {
                let store = self.store.clone();
                tasks.spawn(async move {
                    for turn in 0..each {
                        let id = format!("inside {run} {job} {turn}");
                        store.write(move |tx| change(tx, job, &id)).await.unwrap();
                    }
                });
            }
            tasks.join_all().await;
        });
    }
}

static RULES: LazyLock<RuleSheet> = LazyLock::new(RuleSheet::shipped);
static MEMORY: LazyLock<Memory> = LazyLock::new(|| Memory::of(&RULES));

/// What the daemon does with a measurement, but for putting its answer into words.
fn change(tx: &mut lockring_store::Tx<'_>, number: u32, id: &str) -> Result<(), WriteError> {
    let request = Request::new(id, id);
    assert_eq!(tx.answer(&request)?, None);
    let shop = tx.shop()?;
    let job = tx.job(number)?.unwrap();
    let (part, part_ids, holders) = (|_: &str| None, Vec::new, |_: &str| Vec::new());
    let desk = Desk {
        rules: &RULES,
        shop: &shop,
        zone: &TimeZone::UTC,
        holders: &holders,
        history: &|_| Vec::new(),
        clocks: &|_| Vec::new(),
        part: &part,
        part_ids: &part_ids,
        memory: Some(&MEMORY),
    };
    let now = whole_microseconds(Timestamp::now());
    let origin = Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made: now,
    };
    let (code, text) = READING;
    let command = Command::Record {
        act: Act::Measure,
        values: vec![Typed::new(code, text)],
        force: false,
        anew: true,
    };
    let draft = command::change(job, None, origin, &command, &desk).map_err(WriteError::Refused)?;
    tx.append(number, &draft.origin, now, &draft.events, &draft.job)?;
    tx.remember(&request, format!("{:?}", draft.said).as_bytes())?;
    Ok(())
}
