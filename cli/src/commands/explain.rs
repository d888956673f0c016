//! `lockring explain`: one check in full.

use lockring_proto::v1::ExplainRequest;

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::check;

/// Show one check in full
///
/// Its arithmetic with the job's numbers, limits, doubt, source, remedies, the values it looks
/// at, and the concession if there is one. `lockring words checks` lists the checks.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring explain 21 chainline.cog_angles\n  \
    lockring explain 21 chainline.cog_angles --json")]
pub(crate) struct Explain {
    /// Number of the job
    job: u32,
    /// Id of the check
    #[arg(value_parser = args::text)]
    check: String,
}

impl Explain {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = ExplainRequest { job: self.job, check: self.check };
        let report = desk.client().await?.call(ORDINARY, request, of_jobs!(explain)).await?;
        if desk.out.look.json {
            desk.out.json(&report)?;
        } else {
            check::print_full(&mut desk.out, self.job, &report)?;
        }
        Ok(Exit::Ok)
    }
}
