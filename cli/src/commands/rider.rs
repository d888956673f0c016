//! `lockring rider`: what is stored about a rider, and taking it out of the history.

use std::fs;
use std::io::{BufRead as _, Write as _};
use std::os::unix::fs::OpenOptionsExt as _;
use std::path::{Path, PathBuf};

use lockring_proto::v1::riders_client::RidersClient;
use lockring_proto::v1::{RemoveRiderRequest, RiderView, SealHistoryRequest, ShowRiderRequest};

use crate::args;
use crate::client::{LONG, ORDINARY};
use crate::command_error::{CommandError, Exit};
use crate::commands::{first_what_waits, joined};
use crate::desk::Desk;
use crate::output::rider;

/// Documents that can be printed of a job.
const PAPERS: [&str; 7] = ["card", "ride", "quote", "invoice", "build", "handover", "file"];

/// Why a removal does not wait for a daemon.
const FOR_GOOD: &str = "it cannot be undone, so it is done under the eyes of whoever asks for it";

/// See what is stored about a rider, write it out, or take it out of the history
///
/// Over all jobs of that rider: name, contact, words, photos, money, days, and which backups and
/// files hold them. `--export` writes all of it as JSON for the rider, but
/// for words in other riders' jobs.
///
/// `--redact` is the owner's. It takes name, contact and private notes out of the data file, the
/// reports and the kept answers; where they stood, `customer removed on` and the day stand from then
/// on, everywhere. Facts about the bicycle, gates, concessions and papers stay, and so does the
/// chain of hashes. A note or caption that holds the name goes when it is named with `--words`, a
/// picture with `--photos`. It cannot be undone.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring rider 21\n  \
    lockring rider Ines H. --export ines.json\n  \
    lockring rider 21 --redact --why \"letter of 3 March\" --words found")]
pub(crate) struct Rider {
    /// Number of a job, or the rider's name; it needs no quotes
    #[arg(value_name = "JOB|NAME", required_unless_present = "seal_history", value_parser = args::text)]
    who: Vec<String>,
    /// Write all of it into this file, which must not exist
    #[arg(long, value_name = "FILE", conflicts_with = "redact", value_parser = args::path())]
    export: Option<PathBuf>,
    /// Take the rider out of the history of all their jobs
    #[arg(long, requires = "why")]
    redact: bool,
    /// Why; it stays, so it must not hold the name
    #[arg(long, value_name = "WORDS", requires = "redact", value_parser = args::text)]
    why: Option<String>,
    /// Entries whose words go too: 4, 21:4 with the job before it, or `found` for all with the name
    #[arg(long, value_name = "ENTRIES", requires = "redact", value_delimiter = ',', value_parser = args::text)]
    words: Vec<String>,
    /// Photos whose pictures go too: 1, 21:1, or `all`
    #[arg(long, value_name = "PHOTOS", requires = "redact", value_delimiter = ',', value_parser = args::text)]
    photos: Vec<String>,
    /// Overrule what speaks against it and may be overruled: money owed, claims, the keeping period
    #[arg(long, requires = "redact")]
    anyway: bool,
    /// Do not ask again
    #[arg(long)]
    yes: bool,
    /// Once, after an old version: put names and words of old entries under seal, so that riders can
    /// be removed; a backup is made first, every hash from there on changes, and an entry tells it
    #[arg(long, conflicts_with_all = ["who", "redact", "export"])]
    seal_history: bool,
}

impl Rider {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        if self.seal_history {
            return seal(desk, self.yes).await;
        }
        let who = joined(&self.who);
        if self.redact {
            return self.remove(desk, who).await;
        }
        if self.export.is_some() {
            desk.cannot_be_tried("writing a rider's data out")?;
        }
        let view = show(desk, who).await?;
        if let Some(path) = &self.export {
            export(desk, &view, path)?;
        } else if desk.out.look.json {
            desk.out.json(&view)?;
        } else {
            rider::print(&mut desk.out, &view)?;
        }
        Ok(Exit::Ok)
    }

    async fn remove(self, desk: &mut Desk<'_>, who: String) -> Result<Exit, CommandError> {
        desk.waits_not(FOR_GOOD);
        first_what_waits(desk).await?;
        if !self.yes && !desk.global.dry_run {
            let view = show(desk, who.clone()).await?;
            confirm(desk, &view, &who)?;
        }
        let request = RemoveRiderRequest {
            origin: Some(desk.origin()?),
            who,
            why: self.why.unwrap_or_default(),
            words: self.words,
            photos: self.photos,
            anyway: self.anyway,
        };
        let send = |channel, request| async move { RidersClient::new(channel).remove_rider(request).await };
        let reply = desk.client().await?.call(LONG, request, send).await?;
        if desk.out.look.json {
            desk.out.json(&reply)?;
        } else {
            rider::print_removed(&mut desk.out, &reply, desk.global.dry_run)?;
        }
        Ok(Exit::Ok)
    }
}

async fn seal(desk: &mut Desk<'_>, yes: bool) -> Result<Exit, CommandError> {
    if !yes && !desk.global.dry_run {
        let again = "lockring rider --seal-history --yes";
        return Err(CommandError::usage("it changes the hashes of the history, once and for good", again)
            .hint("how many entries it is about is told by `lockring rider --seal-history --dry-run`"));
    }
    desk.waits_not(FOR_GOOD);
    first_what_waits(desk).await?;
    let send = |channel, request| async move { RidersClient::new(channel).seal_history(request).await };
    let request = SealHistoryRequest { origin: Some(desk.origin()?) };
    let reply = desk.client().await?.call(LONG, request, send).await?;
    if desk.out.look.json {
        desk.out.json(&reply)?;
        return Ok(Exit::Ok);
    }
    if !reply.backup.is_empty() {
        desk.out.wrapped("backup made before: ", "    ", &reply.backup)?;
    }
    for said in &reply.said {
        desk.out.wrapped("", "  ", said)?;
    }
    Ok(Exit::Ok)
}

async fn show(desk: &mut Desk<'_>, who: String) -> Result<RiderView, CommandError> {
    let ask = |channel, request| async move { RidersClient::new(channel).show_rider(request).await };
    desk.client().await?.call(ORDINARY, ShowRiderRequest { who }, ask).await
}

/// Has the job's number or the name typed once more.
fn confirm(desk: &mut Desk<'_>, view: &RiderView, who: &str) -> Result<(), CommandError> {
    if !desk.place.can_ask || desk.out.look.json {
        return Err(CommandError::usage(
            "it cannot be undone, and nobody can be asked here whether it is meant",
            &format!("lockring rider {who} --redact --why WORDS --yes"),
        ));
    }
    let jobs: Vec<String> = view.jobs.iter().map(|job| job.job.to_string()).collect();
    let jobs = jobs.join(", ");
    let question = format!(
        "{} goes out of the history of job {jobs}, for good. Type {who} again to go on:",
        view.name
    );
    desk.out.wrapped("", "  ", &question)?;
    desk.out.flush()?;
    let mut typed = String::new();
    std::io::stdin().lock().read_line(&mut typed).map_err(|error| {
        CommandError::new(Exit::Unexpected, "the answer cannot be read").caused_by(&error)
    })?;
    if typed.trim() == who.trim() {
        return Ok(());
    }
    let message = format!("`{}` was typed, not `{who}`: nothing was done", typed.trim());
    Err(CommandError::new(Exit::Refused, message))
}

/// Writes a rider's data into a file that is the owner's alone. The file is given to the rider: what stands in other
/// riders' jobs is left out, because a line may be found by a part of a name and be about somebody else.
fn export(desk: &mut Desk<'_>, view: &RiderView, path: &Path) -> Result<(), CommandError> {
    let failed = |error: &dyn std::error::Error, exit| {
        let message = format!("{} cannot be written", path.display());
        CommandError::new(exit, message)
            .caused_by(error)
            .hint("name another file; nothing is ever written over")
    };
    let commands: Vec<String> = view
        .jobs
        .iter()
        .flat_map(|job| PAPERS.map(|paper| format!("lockring print {paper} {}", job.job)))
        .collect();
    let mine = RiderView { other_lines: Vec::new(), ..view.clone() };
    let all = serde_json::json!({ "rider": mine, "documents": commands });
    let text = serde_json::to_string_pretty(&all).map_err(|error| failed(&error, Exit::Unexpected))?;
    let write = || -> std::io::Result<()> {
        let mut file = fs::File::options().write(true).create_new(true).mode(0o600).open(path)?;
        writeln!(file, "{text}")?;
        file.sync_all()
    };
    write().map_err(|error| failed(&error, Exit::of_io(&error, Exit::BadInput)))?;
    if desk.out.look.json {
        return desk.out.json(view);
    }
    let (name, path) = (&view.name, path.display());
    desk.out.line(format_args!("all that is stored about {name} is in {path}"))?;
    desk.out.line("pictures: `lockring photo JOB --get NUMBER`; documents: as the file lists")
}
