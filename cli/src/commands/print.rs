//! `lockring print`: documents for the stand, the rider and the file.

use std::path::{Path, PathBuf};

use lockring_paper::model::{Document, Sheet};
use lockring_paper::{html, kinds, pdf};
use lockring_proto::v1::forecasts_client::ForecastsClient;
use lockring_proto::v1::reports_client::ReportsClient;
use lockring_proto::v1::{
    BlockedRequest, CardRequest, ChainlineRequest, CheckReply, CheckRequest, CompanionsReply, CompanionsRequest,
    HistoryRequest, JobView, PredictReply, PredictRequest, ProposeRequest, RidePlanRequest, ShowJobRequest,
};

use crate::client::{Client, ORDINARY};
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::progress;

/// A call of the service of papers.
macro_rules! of_papers {
    ($method:ident) => {
        |channel, request| async move {
            lockring_proto::v1::papers_client::PapersClient::new(channel)
                .$method(request)
                .await
        }
    };
}

/// Print a document: a page that needs nothing but itself, or a PDF
///
/// Kinds: card, ride, quote, build, handover, file (everything about a job), evening (no job). The
/// name's ending decides: .html or .pdf; without --out both are written beside each other.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring print card 21\n  \
    lockring print handover 21 --out handover-21.pdf\n  \
    lockring print quote 21 --builds 1,3 --paper letter\n  \
    lockring print evening --on 2026-03-25 --out evening.html")]
pub(crate) struct Print {
    /// Kind of document
    kind: Kind,
    /// Number of the job; none for the evening
    job: Option<u32>,
    /// The file to write, ending in .html or .pdf
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Size of the sheet
    #[arg(long, value_name = "SIZE")]
    paper: Option<Paper>,
    /// Builds of the proposal for a quote, at most three
    #[arg(long, value_name = "N,N", value_delimiter = ',')]
    builds: Vec<usize>,
    /// The evening asked for, as it was known then
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true)]
    on: String,
}

/// Kinds of documents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Kind {
    /// For the stand: brief, boxes in bench order, limits beside them
    Card,
    /// For the road: every run, what is expected, what is allowed
    Ride,
    /// For the rider: builds side by side
    Quote,
    /// As built: parts, settings, torques
    Build,
    /// For the rider to keep: as built, measured, expected, cautions
    Handover,
    /// Everything about a job, with its history
    File,
    /// What stands still tonight, why, and whose move it is
    Evening,
}

/// Sizes of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Paper {
    /// 210 by 297 mm
    A4,
    /// 148 by 210 mm
    A5,
    /// 8.5 by 11 in
    Letter,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Self::Card => "card",
            Self::Ride => "ride",
            Self::Quote => "quote",
            Self::Build => "build",
            Self::Handover => "handover",
            Self::File => "file",
            Self::Evening => "evening",
        }
    }
}

impl Print {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let mut client = desk.client().await?;
        let (document, name) = if self.kind == Kind::Evening {
            let document = evening(&mut client, &self.on).await?;
            (document, "lockring-evening".to_owned())
        } else {
            let job = self.job.ok_or_else(|| {
                CommandError::new(Exit::Usage, format!("a {} is about a job; none was given", self.kind.word()))
                    .hint(format!("name it, as in `lockring print {} 21`", self.kind.word()))
            })?;
            let document = self.of_job(&mut client, job, desk).await?;
            (document, format!("lockring-{job}-{}", self.kind.word()))
        };
        let document = Document {
            sheet: self.paper.map_or(document.sheet, |paper| match paper {
                Paper::A4 => Sheet::A4,
                Paper::A5 => Sheet::A5,
                Paper::Letter => Sheet::Letter,
            }),
            ..document
        };
        let files = match self.out {
            Some(file) => vec![file],
            None => vec![PathBuf::from(format!("{name}.html")), PathBuf::from(format!("{name}.pdf"))],
        };
        for file in &files {
            let content = written(&document, file)?;
            std::fs::write(file, content).map_err(|error| {
                CommandError::new(Exit::Storage, format!("{} cannot be written", file.display())).caused_by(&error)
            })?;
            desk.out.line(format_args!("{}: {}, {}", document.kind, document.title, file.display()))?;
        }
        Ok(Exit::Ok)
    }

    async fn of_job(&self, client: &mut Client, job: u32, desk: &Desk<'_>) -> Result<Document, CommandError> {
        Ok(match self.kind {
            Kind::Card => kinds::card(&client.call(ORDINARY, CardRequest { job }, of_papers!(card)).await?),
            Kind::Ride => {
                let ask = |channel, request| async move { ForecastsClient::new(channel).ride_plan(request).await };
                kinds::ride_sheet(&client.call(ORDINARY, RidePlanRequest { job }, ask).await?)
            }
            Kind::Quote => {
                let view = view(client, job).await?;
                let reply = client.call(ORDINARY, ProposeRequest { job }, of_jobs!(propose)).await?;
                known(&self.builds, reply.proposals.len())?;
                kinds::quote(&view, &reply, &self.builds)
            }
            Kind::Build => kinds::build_sheet(&view(client, job).await?),
            Kind::Handover => {
                let view = view(client, job).await?;
                let gates = gates(client, &view).await?;
                let companions = companions(client, job).await?;
                let forecast = forecast(client, job).await?;
                kinds::handover(kinds::Handover {
                    view: &view,
                    gates: &gates,
                    companions: &companions,
                    forecast: forecast.as_ref(),
                })
            }
            Kind::File => {
                let view = view(client, job).await?;
                let gates = gates(client, &view).await?;
                let history = client.call(ORDINARY, HistoryRequest { job, after: 0 }, of_jobs!(history)).await?;
                let chainline = client.call(ORDINARY, ChainlineRequest { job }, of_jobs!(chainline)).await;
                let chainline = where_known(chainline)?;
                let companions = companions(client, job).await?;
                let zone = &desk.place.zone;
                kinds::technical_file(&view, &gates, &history, &companions, chainline.as_ref(), zone)
            }
            Kind::Evening => evening(client, &self.on).await?,
        })
    }
}

async fn view(client: &mut Client, job: u32) -> Result<JobView, CommandError> {
    client.call(ORDINARY, ShowJobRequest { job, at_us: None }, of_jobs!(show)).await
}

async fn companions(client: &mut Client, job: u32) -> Result<CompanionsReply, CommandError> {
    client.call(ORDINARY, CompanionsRequest { job }, of_papers!(companions)).await
}

async fn gates(client: &mut Client, view: &JobView) -> Result<Vec<CheckReply>, CommandError> {
    let mut replies = Vec::new();
    for gate in &view.gates {
        let request = CheckRequest {
            job: view.line.as_ref().map_or(0, |line| line.job),
            gate: gate.gate.clone(),
        };
        replies.push(client.call(ORDINARY, request, of_jobs!(check)).await?);
    }
    Ok(replies)
}

/// The forecast, where enough is known for one.
async fn forecast(client: &mut Client, job: u32) -> Result<Option<PredictReply>, CommandError> {
    let request = PredictRequest { job, draws: 0, seed: 1, ..PredictRequest::default() };
    where_known(progress::follow(ForecastsClient::new(client.channel()).predict(request)).await)
}

/// An answer, or none where the job does not say enough for it.
fn where_known<T>(answer: Result<T, CommandError>) -> Result<Option<T>, CommandError> {
    match answer {
        Ok(answer) => Ok(Some(answer)),
        Err(error) if matches!(error.kind, Exit::Refused | Exit::BadInput) => Ok(None),
        Err(error) => Err(error),
    }
}

async fn evening(client: &mut Client, on: &str) -> Result<Document, CommandError> {
    let ask = |channel, request| async move { ReportsClient::new(channel).blocked(request).await };
    let report = client.call(ORDINARY, BlockedRequest { on: on.to_owned() }, ask).await?;
    Ok(kinds::evening(&report))
}

/// Refuses a build that is not proposed, and more than stand side by side.
fn known(builds: &[usize], proposed: usize) -> Result<(), CommandError> {
    if builds.len() > kinds::SIDE_BY_SIDE {
        let message = format!("{} builds were named; at most {} stand side by side", builds.len(), kinds::SIDE_BY_SIDE);
        return Err(CommandError::new(Exit::Usage, message));
    }
    match builds.iter().find(|at| !(1..=proposed).contains(*at)) {
        None => Ok(()),
        Some(at) => Err(CommandError::new(
            Exit::NotFound,
            format!("no build {at} is proposed; builds are numbered 1 to {proposed}"),
        )
        .hint("`lockring propose JOB` lists them")),
    }
}

/// The document as its file's name asks for.
fn written(document: &Document, file: &Path) -> Result<Vec<u8>, CommandError> {
    let broken = |error: &dyn std::error::Error| CommandError::new(Exit::Unexpected, error.to_string());
    match file.extension().and_then(|ending| ending.to_str()) {
        Some("html") => html::page(document).map(String::into_bytes).map_err(|error| broken(&error)),
        Some("pdf") => pdf::pdf(document).map_err(|error| broken(&error)),
        _ => Err(CommandError::new(
            Exit::Usage,
            format!("{} says no kind of file; expected an ending .html or .pdf", file.display()),
        )
        .hint("for example `--out card.pdf`")),
    }
}
