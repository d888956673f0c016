//! What somebody does who comes to the shop: a connection, a job of one's own, looks all round,
//! and away again, now and then in the middle of something.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use lockring_proto::v1::desk_client::DeskClient;
use lockring_proto::v1::figures_client::FiguresClient;
use lockring_proto::v1::forecasts_client::ForecastsClient;
use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::reports_client::ReportsClient;
use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::{
    AdvanceRequest, Assignment, BackupRequest, BlockedRequest, CheckRequest, CloseRequest, ConcedeRequest,
    FiguresRequest, FitRequest, HistoryRequest, ListJobsRequest, NoteRequest, Origin, PredictRequest,
    PromisesRequest, RecordRequest, ShowJobRequest, TakeInRequest, UndoRequest, VerifyRequest, WatchRequest,
};
use tonic::transport::Channel;
use tonic::{Code, Response, Status};

use crate::support::rpc::{block_on, try_connect};
use crate::support::tls::Carried;

/// Where somebody comes from.
#[derive(Debug, Clone)]
pub enum Door {
    /// The shop's own computer.
    Socket(PathBuf),
    /// Another bench, over the network.
    Street(Box<Carried>),
}

impl Door {
    async fn connect(&self) -> Channel {
        match self {
            Self::Socket(folder) => try_connect(folder).await.unwrap(),
            Self::Street(carried) => carried.connect().await,
        }
    }

    /// Who is let in here: the owner at the shop's computer, the mechanic elsewhere.
    fn who(&self) -> &'static str {
        match self {
            Self::Socket(_) => "K",
            Self::Street(_) => "M",
        }
    }
}

/// What was asked, as counted by all visitors together.
#[derive(Debug, Default)]
pub struct Tally {
    pub calls: AtomicU64,
    /// Requests that had to be refused, and were.
    pub refused: AtomicU64,
    /// Lines that watches told.
    pub told: AtomicU64,
}

impl Tally {
    /// The answer of a call that must succeed.
    #[track_caller]
    fn ok<T>(&self, what: &str, reply: Result<Response<T>, Status>) -> T {
        self.calls.fetch_add(1, Ordering::Relaxed);
        reply
            .unwrap_or_else(|status| panic!("{what}: {status}"))
            .into_inner()
    }

    /// A call that must be refused as wrong, and with nothing worse.
    #[track_caller]
    fn no<T: std::fmt::Debug>(&self, what: &str, reply: Result<Response<T>, Status>) {
        self.calls.fetch_add(1, Ordering::Relaxed);
        self.refused.fetch_add(1, Ordering::Relaxed);
        let status = reply.expect_err(what);
        let refusals = [
            Code::NotFound,
            Code::InvalidArgument,
            Code::FailedPrecondition,
            Code::Aborted,
            Code::PermissionDenied,
        ];
        assert!(refusals.contains(&status.code()), "{what}: {status}");
    }
}

/// One visit.
pub struct Visit<'a> {
    pub door: Door,
    /// The shop's data folder.
    pub folder: PathBuf,
    /// No other visit's: rider and request ids are made of it.
    pub name: String,
    pub turn: u64,
    /// When it was, in microseconds since 1970.
    pub at_us: i64,
    pub tally: &'a Tally,
}

impl Visit<'_> {
    fn origin(&self, what: &str) -> Option<Origin> {
        Some(Origin {
            request_id: format!("{} {what}", self.name),
            by: self.door.who().into(),
            terminal: "soak".into(),
            made_at_us: Some(self.at_us),
            ..Origin::default()
        })
    }

    /// Comes, works, looks and goes.
    pub async fn run(&self) {
        let channel = self.door.connect().await;
        let job = self.take_in(&channel).await;
        let mut jobs = JobsClient::new(channel.clone());
        let watched = jobs.watch(WatchRequest { job }).await;
        let mut watch = self.tally.ok("watch", watched);
        self.work(&channel, job).await;
        self.look(&channel, job).await;
        if self.turn.is_multiple_of(3) {
            // What was typed meanwhile has been told.
            let line = watch.message().await.unwrap().expect("a line of the job");
            assert_eq!(line.job, job);
            self.tally.told.fetch_add(1, Ordering::Relaxed);
        }
        self.close(&channel, job).await;
        // Connection, watch and whatever is under way end here without a word.
        drop(watch);
    }

    /// The job goes back, so that the shop's board stays as long as it was: the owner does that, and
    /// where a mechanic tried, comes by on a connection of one's own.
    async fn close(&self, channel: &Channel, job: u32) {
        let request = |origin| CloseRequest {
            origin,
            job,
            end: "returned".into(),
            why: "the visit is over".into(),
        };
        let mut owners = JobsClient::new(channel.clone());
        let mut origin = self.origin("close");
        if let Door::Street(_) = self.door {
            self.tally
                .no("close", owners.close(request(origin.clone())).await);
            owners = JobsClient::new(try_connect(&self.folder).await.unwrap());
            if let Some(origin) = &mut origin {
                origin.by = "K".into();
            }
        }
        self.tally.ok("close", owners.close(request(origin)).await);
    }

    async fn take_in(&self, channel: &Channel) -> u32 {
        let assigned = |field: &str, value: &str| Assignment {
            field: field.into(),
            value: value.into(),
        };
        let request = TakeInRequest {
            origin: self.origin("take-in"),
            rider: self.name.clone(),
            values: vec![assigned("hill-grade", "8 %"), assigned("rider-mass", "81 kg")],
            build: vec![assigned("motor", "hub-36-250")],
            sheet: None,
        };
        let taken_in = JobsClient::new(channel.clone()).take_in(request).await;
        self.tally.ok("take-in", taken_in).job
    }

    /// Changes of every kind, one sent twice, one refused, and one taken back.
    async fn work(&self, channel: &Channel, job: u32) {
        let mut jobs = JobsClient::new(channel.clone());
        let note = |what: &str| NoteRequest {
            origin: self.origin(what),
            job,
            text: format!("{} {what}", self.name),
        };
        for number in 0..4 {
            let noted = jobs.note(note(&format!("note {number}"))).await;
            self.tally.ok("note", noted);
        }
        let again = self.tally.ok("note again", jobs.note(note("note 0")).await);
        assert!(again.repeated);
        let record = RecordRequest {
            origin: self.origin("record"),
            job,
            act: "measure".into(),
            values: vec![Assignment {
                field: "motor-gap".into(),
                value: "2.6 mm".into(),
            }],
            ..RecordRequest::default()
        };
        self.tally.ok("measure", jobs.record(record).await);
        let undo = UndoRequest {
            origin: self.origin("undo"),
            job,
            ..UndoRequest::default()
        };
        self.tally.ok("undo", jobs.undo(undo).await);
        let advance = AdvanceRequest {
            origin: self.origin("advance"),
            job,
            not_the_last: false,
        };
        self.tally.ok("advance", jobs.advance(advance).await);
        let concede = ConcedeRequest {
            origin: self.origin("concede"),
            job,
            check: "no.such-check".into(),
            why: "why not".into(),
        };
        self.tally.no("concede", jobs.concede(concede).await);
    }

    /// Every page that somebody would look at.
    async fn look(&self, channel: &Channel, job: u32) {
        let tally = self.tally;
        let mut jobs = JobsClient::new(channel.clone());
        let show = |job| ShowJobRequest {
            job,
            ..ShowJobRequest::default()
        };
        let demo = 1 + job % 3;
        let gate = String::new();
        tally.ok("check", jobs.check(CheckRequest { job: demo, gate }).await);
        tally.ok("show", jobs.show(show(demo)).await);
        tally.no("show nothing", jobs.show(show(9_999_999)).await);
        let history = HistoryRequest { job, after: 0 };
        tally.ok("history", jobs.history(history).await);
        let page = ListJobsRequest {
            page_size: 20,
            ..ListJobsRequest::default()
        };
        tally.ok("jobs", jobs.list(page).await);
        let fit = FitRequest {
            job: demo,
            ..FitRequest::default()
        };
        tally.ok("fit", jobs.fit(fit).await);
        let mut reports = ReportsClient::new(channel.clone());
        tally.ok("blocked", reports.blocked(BlockedRequest::default()).await);
        let mut figures = FiguresClient::new(channel.clone());
        tally.ok("day", figures.day(FiguresRequest::default()).await);
        let mut desk = DeskClient::new(channel.clone());
        tally.ok("promises", desk.promises(PromisesRequest::default()).await);
        self.predict(channel, demo).await;
    }

    /// A forecast to its end, or left after its first word.
    async fn predict(&self, channel: &Channel, job: u32) {
        let request = PredictRequest {
            job,
            draws: 10,
            seed: self.turn,
            assist: String::new(),
            build: Vec::new(),
        };
        let predicted = ForecastsClient::new(channel.clone()).predict(request).await;
        let mut updates = self.tally.ok("predict", predicted);
        let mut last = updates.message().await.unwrap();
        if self.turn.is_multiple_of(2) {
            while let Some(update) = updates.message().await.unwrap() {
                last = Some(update);
            }
            assert!(last.unwrap().reply.is_some(), "a forecast without an answer");
        }
    }
}

/// What the owner does between times: a backup into a place of its own, and a look through the whole history.
pub fn keep_house(folder: &Path, place: &Path, tally: &Tally) {
    block_on(async {
        let mut shop = ShopClient::new(try_connect(folder).await.unwrap());
        let to_folder = place.display().to_string();
        tally.ok("backup", shop.backup(BackupRequest { to_folder }).await);
        let found = tally.ok("verify", shop.verify(VerifyRequest {}).await);
        assert!(found.sound, "{:?}", found.problems);
    });
    std::fs::remove_dir_all(place).unwrap();
}
