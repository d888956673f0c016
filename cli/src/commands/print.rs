//! `lockring print`: documents for the stand, the rider and the file.

use std::path::{Path, PathBuf};

use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_paper::model::{Document, Sheet};
use lockring_paper::{html, kinds, pdf, picture};
use lockring_proto::v1::{JobView, ProposeReply};
use serde::Serialize;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use answers::Answers;

pub(crate) mod answers;

/// Print a document: a page that needs nothing but itself, or a PDF
///
/// About a job: card, ride, quote, invoice, build, handover, file (everything about it). About the
/// shop: evening, week; recall by its number. The name's ending decides: .html or .pdf, and .json for
/// the file's data; without --out they are written beside each other.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring print card 21\n  \
    lockring print handover 21 --out handover-21.pdf\n  \
    lockring print quote 21 --builds 1,3 --paper letter\n  \
    lockring print week --on 2026-03-25 --out week.html --open")]
pub(crate) struct Print {
    /// Kind of document
    kind: Kind,
    /// Number of the job, or of the recall; none for evening and week
    number: Option<u32>,
    /// The file to write, ending in .html, .pdf or .json
    #[arg(long, value_name = "FILE", value_parser = args::path())]
    out: Option<PathBuf>,
    /// Show it with the program that this machine opens such files with
    #[arg(long)]
    open: bool,
    /// Size of the sheet
    #[arg(long, value_name = "SIZE")]
    paper: Option<Paper>,
    /// Builds of the proposal for a quote, at most three; 0 is the chosen one
    #[arg(long, value_name = "N,N", value_delimiter = ',')]
    builds: Vec<usize>,
    /// A day of the evening or week asked for, as it was known then
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
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
    /// For the rider: lines, tax, what was paid, what is owed
    Invoice,
    /// As built: parts, settings, torques
    Build,
    /// For the rider to keep: as built, measured, expected, cautions
    Handover,
    /// Everything about a job, with its history
    File,
    /// What the day moved, what stands still, what tomorrow needs
    Evening,
    /// Flow, gates, promises, suppliers, hours, money of a week
    Week,
    /// Whom to call about which pieces
    Recall,
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
    fn word(self) -> String {
        clap::ValueEnum::to_possible_value(&self).map_or_else(String::new, |value| value.get_name().to_owned())
    }

    fn is_of_the_shop(self) -> bool {
        matches!(self, Self::Evening | Self::Week)
    }
}

/// A document and, for the technical file, the data it was made of.
struct Made {
    document: Document,
    data: Option<String>,
}

impl From<Document> for Made {
    fn from(document: Document) -> Self {
        Self { document, data: None }
    }
}

impl Print {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let mut answers = Answers(desk.client().await?);
        let number = self.of()?;
        let Made { mut document, data } = self.made(&mut answers, number, desk).await?;
        let printed = answers.today(&desk.out.look.zone).await?;
        document.day = Some(printed);
        let from = match answers.setting("shop-name").await?.as_str() {
            "" => String::new(),
            name => format!("{name}. "),
        };
        document.foot = format!("{from}{} Printed on {printed}.", document.foot);
        if let Some(paper) = self.paper {
            document.sheet = match paper {
                Paper::A4 => Sheet::A4,
                Paper::A5 => Sheet::A5,
                Paper::Letter => Sheet::Letter,
            };
        }
        let files = match &self.out {
            Some(file) => vec![file.clone()],
            None => {
                let name = match number {
                    0 => format!("lockring-{}", self.kind.word()),
                    number => format!("lockring-{}-{number}", self.kind.word()),
                };
                let endings = ["html", "pdf"].into_iter().chain(data.is_some().then_some("json"));
                endings.map(|ending| PathBuf::from(format!("{name}.{ending}"))).collect()
            }
        };
        for file in &files {
            write(file, &written(&document, data.as_deref(), file)?)?;
            let about = format!("{}: {}", document.kind, document.title);
            desk.out.written(file, &about, format_args!("{about}, {}", file.display()))?;
        }
        if let (true, Some(file)) = (self.open, files.first()) {
            open(file)?;
        }
        Ok(Exit::Ok)
    }

    /// The number that the document is about; 0 for those of the shop.
    fn of(&self) -> Result<u32, CommandError> {
        let word = self.kind.word();
        match (self.number, self.kind.is_of_the_shop()) {
            (None, true) => Ok(0),
            (Some(number), false) => Ok(number),
            (Some(number), true) => Err(CommandError::new(
                Exit::Usage,
                format!("{word} is about the whole shop; {number} was given"),
            )
            .hint(format!("leave it out, as in `lockring print {word}`"))),
            (None, false) => Err(
                CommandError::new(Exit::Usage, format!("{word} is about one number; none was given"))
                    .hint(format!("name it, as in `lockring print {word} 21`")),
            ),
        }
    }

    async fn made(&self, answers: &mut Answers, number: u32, desk: &Desk<'_>) -> Result<Made, CommandError> {
        let zone = &desk.out.look.zone;
        let document = match self.kind {
            Kind::Card => kinds::card(&answers.card(number).await?, &answers.companions(number).await?),
            Kind::Ride => kinds::ride_sheet(&answers.ride_plan(number).await?, &answers.companions(number).await?),
            Kind::Quote => self.quote(answers, number, desk).await?,
            Kind::Invoice => invoice(answers, number, zone).await?,
            Kind::Build => {
                kinds::build_sheet(&answers.view(number).await?, &answers.companions(number).await?)
            }
            Kind::Handover => {
                let view = answers.view(number).await?;
                let workshop = answers.setting("shop-name").await?;
                let currency = answers.setting("currency").await?;
                kinds::handover(
                    kinds::Handover {
                        view: &view,
                        gates: &answers.gates(&view).await?,
                        companions: &answers.companions(number).await?,
                        forecast: answers.forecast(number, &[]).await?.as_ref(),
                        range: answers.range(number, &[]).await?.as_ref(),
                        compare: answers.compare(number).await?.as_ref(),
                        workshop: &workshop,
                        currency: &currency,
                    },
                    zone,
                )
            }
            Kind::File => return technical_file(answers, number, desk).await,
            Kind::Evening => {
                let blocked = picture::blocked(&answers.blocked(&self.on).await?);
                let currency = answers.setting("currency").await?;
                kinds::report(&answers.day(&self.on).await?, blocked.into_iter().collect(), &currency)
            }
            Kind::Week => {
                let told = answers.week(&self.on).await?;
                let today = answers.today(&desk.out.look.zone).await?;
                // As it was known at the week's end, if that has come.
                let is_over = told.to.parse::<Date>().is_ok_and(|end| end <= today);
                let known = answers.predictions(if is_over { &told.to } else { "" }).await?;
                let mut pictures = picture::errors_by_kind(&known);
                pictures.extend(picture::blocked(&answers.blocked(&self.on).await?));
                kinds::report(&told, pictures, &answers.setting("currency").await?)
            }
            Kind::Recall => kinds::recall(&answers.recall(number).await?, zone),
        };
        Ok(document.into())
    }
}

impl Print {
    /// Builds side by side; each of the proposal is forecast on a copy of the job with its parts.
    async fn quote(
        &self,
        answers: &mut Answers,
        job: u32,
        desk: &Desk<'_>,
    ) -> Result<Document, CommandError> {
        let view = answers.view(job).await?;
        still_quoted(job, &view)?;
        let reply = answers.proposals(job).await?;
        known(&self.builds, &reply)?;
        let builds = kinds::picked(&reply, &view, &self.builds);
        let parts = builds.iter().flat_map(|(_, build)| &build.parts).chain(&reply.bought);
        let names = answers.names(parts.map(|part| part.value.as_str())).await?;
        let mut sampled = Vec::new();
        for (number, build) in &builds {
            // The job's own build is forecast as it is: with what was found on its parts.
            let parts = if *number == 0 { &[] } else { build.parts.as_slice() };
            sampled.push((answers.forecast(job, parts).await?, answers.range(job, parts).await?));
        }
        let choices: Vec<kinds::Choice<'_>> = builds
            .iter()
            .zip(&sampled)
            .map(|((number, build), (forecast, range))| kinds::Choice {
                number: *number,
                build,
                forecast: forecast.as_ref(),
                range: range.as_ref(),
            })
            .collect();
        let stands = answers.setting("quote-days").await?;
        let stands: i64 = stands.parse().map_err(|_| {
            CommandError::new(Exit::Unexpected, format!("quote-days is `{stands}`; expected a number of days"))
                .hint("set it with `lockring settings set quote-days 14`")
        })?;
        Ok(kinds::quote(kinds::Quote {
            view: &view,
            reply: &reply,
            choices: &choices,
            names: &names,
            account: &answers.account(job).await?,
            companions: &answers.companions(job).await?,
            currency: &answers.setting("currency").await?,
            units: desk.out.look.units.get(),
            until: answers.today(&desk.out.look.zone).await?.saturating_add(jiff::Span::new().days(stands)),
        }))
    }
}

/// The last invoice.
async fn invoice(answers: &mut Answers, job: u32, zone: &TimeZone) -> Result<Document, CommandError> {
    let (view, account) = (answers.view(job).await?, answers.account(job).await?);
    let (currency, workshop) = (answers.setting("currency").await?, answers.setting("shop-name").await?);
    let given = kinds::Invoice { view: &view, account: &account, currency: &currency, workshop: &workshop };
    kinds::invoice(given, zone).ok_or_else(|| {
        CommandError::new(Exit::Refused, format!("no invoice of job {job} was asked for yet"))
            .hint(format!("ask the rider for the total with `lockring invoice {job}`"))
    })
}

async fn technical_file(answers: &mut Answers, job: u32, desk: &Desk<'_>) -> Result<Made, CommandError> {
    let view = answers.view(job).await?;
    let gates = answers.gates(&view).await?;
    let history = answers.history(job).await?;
    let companions = answers.companions(job).await?;
    let chainline = answers.chainline(job).await?;
    let compare = answers.compare(job).await?;
    let range = answers.range(job, &[]).await?;
    let photos = answers.photos(job).await?;
    let document = kinds::technical_file(
        kinds::File {
            view: &view,
            gates: &gates,
            history: &history,
            companions: &companions,
            chainline: chainline.as_ref(),
            compare: compare.as_ref(),
            range: range.as_ref(),
            photos: &photos,
        },
        &desk.out.look.zone,
    );
    let data = Data {
        format: "lockring technical file, version 1",
        job: &view,
        gates: &gates,
        history: &history,
        companions: &companions,
        chainline: chainline.as_ref(),
        compare: compare.as_ref(),
        range: range.as_ref(),
        photos: photos.iter().map(|(view, _)| view).collect(),
    };
    let data = serde_json::to_string_pretty(&data).map_err(|error| {
        CommandError::new(Exit::Unexpected, "the file's data do not go into JSON").caused_by(&error)
    })?;
    Ok(Made {
        document,
        data: Some(data),
    })
}

/// What the technical file was made of, as the other commands print it with `--json`.
#[derive(Serialize)]
struct Data<'a> {
    format: &'static str,
    job: &'a JobView,
    gates: &'a [lockring_proto::v1::CheckReply],
    history: &'a lockring_proto::v1::HistoryReply,
    companions: &'a lockring_proto::v1::CompanionsReply,
    chainline: Option<&'a lockring_proto::v1::ChainlineReply>,
    compare: Option<&'a lockring_proto::v1::CompareRideReply>,
    range: Option<&'a lockring_proto::v1::RangeReply>,
    photos: Vec<&'a lockring_proto::v1::PhotoView>,
}

/// Refuses a quote for a bicycle of which nothing is left to choose.
fn still_quoted(job: u32, view: &JobView) -> Result<(), CommandError> {
    let stage = view.line.as_ref().map_or("", |line| line.stage.as_str());
    if !["handed-over", "returned", "cancelled"].contains(&stage) {
        return Ok(());
    }
    let message = format!("job {job} is {}: there is nothing left to quote", stage.replace('-', " "));
    Err(CommandError::new(Exit::Refused, message)
        .hint(format!("what is to be paid for it: `lockring print invoice {job}`")))
}

/// Refuses a build that is neither chosen nor proposed, and more than stand side by side.
fn known(builds: &[usize], reply: &ProposeReply) -> Result<(), CommandError> {
    if builds.len() > kinds::SIDE_BY_SIDE {
        let message = format!(
            "{} builds were named; at most {} stand side by side",
            builds.len(),
            kinds::SIDE_BY_SIDE
        );
        return Err(CommandError::new(Exit::Usage, message));
    }
    let (first, chosen) = match reply.present {
        Some(_) => (0, ", the chosen one is 0"),
        None => (1, ""),
    };
    let proposed = reply.proposals.len();
    match builds.iter().find(|at| !(first..=proposed).contains(*at)) {
        None => Ok(()),
        Some(at) => Err(CommandError::new(
            Exit::NotFound,
            format!("no build {at} is proposed; builds are numbered 1 to {proposed}{chosen}"),
        )
        .hint("`lockring propose JOB` lists them")),
    }
}

/// The ending of a file's name.
pub(super) fn ending(file: &Path) -> &str {
    file.extension().and_then(|ending| ending.to_str()).unwrap_or_default()
}

/// The document as its file's name asks for.
fn written(document: &Document, data: Option<&str>, file: &Path) -> Result<Vec<u8>, CommandError> {
    let broken = |error: &dyn std::error::Error| CommandError::new(Exit::Unexpected, error.to_string());
    match (ending(file), data) {
        ("html", _) => html::page(document)
            .map(String::into_bytes)
            .map_err(|error| broken(&error)),
        ("pdf", _) => pdf::pdf(document).map_err(|error| broken(&error)),
        ("json", Some(data)) => Ok(data.as_bytes().to_vec()),
        ("json", None) => Err(CommandError::new(
            Exit::Usage,
            format!("only the technical file is written as data; {} was asked for", file.display()),
        )
        .hint("other answers come as JSON from their own commands with --json")),
        _ => Err(CommandError::new(
            Exit::Usage,
            format!(
                "{} says no kind of file; expected an ending .html, .pdf or .json",
                file.display()
            ),
        )
        .hint("for example `--out card.pdf`")),
    }
}

/// Writes a file.
pub(super) fn write(file: &Path, content: &[u8]) -> Result<(), CommandError> {
    std::fs::write(file, content).map_err(|error| {
        CommandError::new(Exit::Storage, format!("{} cannot be written", file.display())).caused_by(&error)
    })
}

/// Hands a file to the program that this machine opens such files with.
pub(super) fn open(file: &Path) -> Result<(), CommandError> {
    let program = if cfg!(target_os = "macos") { "open" } else { "xdg-open" };
    let failed = |error: &dyn std::error::Error| {
        CommandError::new(Exit::Unexpected, format!("{} was written but cannot be shown", file.display()))
            .hint(format!("`{program}` is what shows it; open it by hand"))
            .caused_by(error)
    };
    std::process::Command::new(program)
        .arg(file)
        .stdin(std::process::Stdio::null())
        .spawn()
        .map(drop)
        .map_err(|error| failed(&error))
}
