//! Speed of a measurement: decided and stored, without any call, in batches of 64 jobs.
//!
//! Run: `cargo bench -p lockring-store --bench change`. The bicycle is the demo's invented one.

use std::sync::LazyLock;
use std::sync::atomic::{AtomicU64, Ordering};

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_domain::command::{self, Act, Command, Desk, Draft, Typed};
use lockring_domain::gate::{self, Memory};
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::part::Part;
use lockring_domain::rules::RuleSheet;
use lockring_domain::shop::Shop;
use lockring_domain::{catalogue, sheet};
use lockring_store::{Request, Store, Tx, WriteError};
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tokio::task::JoinSet;

/// Jobs measured at a time.
const JOBS: u32 = 64;
const CATALOGUE: &str = include_str!("../../../cli/demo/catalogue.toml");
const SHEET: &str = include_str!("../../../cli/demo/trekking.toml");

fn main() {
    divan::main();
}

fn origin() -> Origin {
    Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made: lockring_store::whole_microseconds(Timestamp::now()),
    }
}

/// Decides at a desk with the demo's parts.
fn at_desk<T>(shop: &Shop, decide: impl FnOnce(&Desk<'_>) -> T) -> T {
    static PARTS: LazyLock<Vec<Part>> =
        LazyLock::new(|| catalogue::read("catalogue.toml", CATALOGUE).expect("the demo's catalogue reads"));
    static RULES: LazyLock<RuleSheet> = LazyLock::new(RuleSheet::shipped);
    static MEMORY: LazyLock<Memory> = LazyLock::new(|| Memory::of(&RULES));
    decide(&Desk {
        rules: &RULES,
        shop,
        zone: &TimeZone::UTC,
        holders: &|_| Vec::new(),
        history: &|_| Vec::new(),
        clocks: &|_| Vec::new(),
        part: &|id| PARTS.iter().find(|part| part.id == id).cloned(),
        part_ids: &Vec::new,
        memory: Some(&MEMORY),
    })
}

fn taken_in(number: u32) -> Draft {
    let (mut rider, mut values, mut build) = (String::new(), Vec::new(), Vec::new());
    for table in sheet::tables("trekking.toml", SHEET).expect("the demo's sheet reads") {
        match table.name.as_str() {
            "" => rider.clone_from(&table.values[0].text),
            "build" => build = table.values,
            _ => values.extend(table.values),
        }
    }
    at_desk(&Shop::default(), |desk| {
        command::take_in(number, origin(), &rider, &values, &build, desk)
    })
    .expect("the demo's bicycle is taken in")
}

fn measured(job: Job, shop: &Shop) -> Draft {
    let command = Command::Record {
        act: Act::Measure,
        values: vec![Typed::new("chainline-front", "51.5")],
        force: false,
        anew: true,
    };
    at_desk(shop, |desk| command::change(job, None, origin(), &command, desk))
        .expect("a chainline is measured")
}

fn change(tx: &mut Tx<'_>, number: u32, id: &str) -> Result<(), WriteError> {
    let request = Request::new(id, id);
    assert_eq!(tx.answer(&request)?, None);
    let shop = tx.shop()?;
    let job = tx.job(number)?.expect("all jobs are there");
    let draft = measured(job, &shop);
    tx.append(number, &draft.origin, Timestamp::now(), &draft.events, &draft.job)?;
    Ok(tx.remember(&request, format!("{:?}", draft.said).as_bytes())?)
}

struct Bench {
    store: Store,
    runtime: Runtime,
    _folder: TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path()).expect("a new shop");
        let runtime = tokio::runtime::Builder::new_current_thread()
            .build()
            .expect("a runtime");
        for number in 1..=JOBS {
            let draft = taken_in(number);
            let stored = store.write(move |tx| {
                Ok(tx.append(
                    number,
                    &draft.origin,
                    draft.origin.made,
                    &draft.events,
                    &draft.job,
                )?)
            });
            runtime.block_on(stored).expect("a job is stored");
        }
        Self {
            store,
            runtime,
            _folder: folder,
        }
    }
}

/// Each of 64 jobs once, all waiting at a time.
#[divan::bench]
fn a_batch_of_measurements(bencher: divan::Bencher<'_, '_>) {
    static BENCH: LazyLock<Bench> = LazyLock::new(Bench::new);
    static TURN: AtomicU64 = AtomicU64::new(0);
    bencher.counter(JOBS).bench(|| {
        let turn = TURN.fetch_add(1, Ordering::Relaxed);
        BENCH.runtime.block_on(async {
            let mut waiting = JoinSet::new();
            for number in 1..=JOBS {
                let id = format!("{turn} {number}");
                waiting.spawn(BENCH.store.write(move |tx| change(tx, number, &id)));
            }
            while let Some(stored) = waiting.join_next().await {
                stored.expect("a task ends").expect("a measurement is stored");
            }
        });
    });
}

/// What is decided of one, without storing it.
#[divan::bench]
fn decided(bencher: divan::Bencher<'_, '_>) {
    let (job, shop) = (taken_in(1).job, Shop::default());
    bencher.bench(|| measured(job.clone(), &shop));
}

/// All checks of the gate the job stands at, with their words.
#[divan::bench]
fn all_checks(bencher: divan::Bencher<'_, '_>) {
    let job = taken_in(1).job;
    let rules = RuleSheet::shipped();
    bencher.bench(|| gate::run(job.stage, &job, &rules));
}

/// A job copied, put into text, and read from its text.
mod a_job {
    use super::taken_in;
    use lockring_domain::job::Job;

    #[divan::bench]
    fn copied(bencher: divan::Bencher<'_, '_>) {
        let job = taken_in(1).job;
        bencher.bench(|| job.clone());
    }

    #[divan::bench]
    fn written(bencher: divan::Bencher<'_, '_>) {
        let job = taken_in(1).job;
        bencher.bench(|| serde_json::to_string(&job));
    }

    #[divan::bench]
    fn read(bencher: divan::Bencher<'_, '_>) {
        let text = serde_json::to_string(&taken_in(1).job).expect("a job has a text");
        bencher.bench(|| serde_json::from_str::<Job>(&text));
    }
}
