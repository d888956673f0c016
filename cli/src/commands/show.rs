//! `lockring show`: one job on one page.

use lockring_proto::v1::ShowJobRequest;

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::job;

/// Show one job: gates, blocks, build, values, concessions
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring show 21\n  \
    lockring show 21 --json")]
pub(crate) struct Show {
    /// Number of the job
    job: u32,
}

impl Show {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = ShowJobRequest { job: self.job };
        let view = desk.client().await?.call(ORDINARY, request, of_jobs!(show)).await?;
        if desk.out.look.json {
            desk.out.json(&view)?;
        } else {
            job::print(&mut desk.out, &view)?;
        }
        Ok(Exit::Ok)
    }
}
