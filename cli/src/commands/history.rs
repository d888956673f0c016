//! `lockring history`: everything that was ever written down about a job.

use lockring_proto::v1::HistoryRequest;

use crate::client::ORDINARY;
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
        let request = HistoryRequest { job: self.job, after: self.after };
        let history = desk.client().await?.call(ORDINARY, request, of_jobs!(history)).await?;
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
