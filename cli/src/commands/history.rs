//! `lockring history`: everything that was ever written down about a job.

use lockring_proto::v1::{HistoryReply, HistoryRequest};

use crate::client::{Client, ORDINARY};
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::job;

/// List every entry of a job, oldest first
///
/// Each entry with its number, when it was made and stored, by whom and where. A retracted one
/// stays and says so.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring history 21\n  \
    lockring history 21 --after 14 --json")]
pub(crate) struct History {
    /// Number of the job
    job: u32,
    /// Only entries after this one
    #[arg(long, value_name = "NUMBER", default_value_t = 0, hide_default_value = true)]
    after: u64,
}

impl History {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let history = whole(&desk.client().await?, self.job, self.after).await?;
        if desk.out.look.json {
            history.lines.iter().try_for_each(|entry| desk.out.json(entry))?;
            return Ok(Exit::Ok);
        }
        desk.out.heading(&format!("Job {}, {}", history.job, history.rider))?;
        for entry in &history.lines {
            job::print_entry(&mut desk.out, entry, false)?;
        }
        Ok(Exit::Ok)
    }
}

/// The entries of a job after one of them, read answer after answer: a long history does not fit into one.
pub(crate) async fn whole(client: &Client, job: u32, after: u64) -> Result<HistoryReply, CommandError> {
    let ask = async |after| client.call(ORDINARY, HistoryRequest { job, after }, of_jobs!(history)).await;
    let mut history = ask(after).await?;
    while history.next_after > 0 {
        let rest = ask(history.next_after).await?;
        history.lines.extend(rest.lines);
        history.next_after = rest.next_after;
    }
    Ok(history)
}
