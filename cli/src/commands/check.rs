//! `lockring check`: how the checks of a gate stand.

use lockring_proto::v1::CheckRequest;

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::check;

/// Run the checks of a gate and store nothing
///
/// All findings, not only the first that fails. `lockring explain` shows one check in full;
/// `lockring advance` tries the gate.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring check 21\n  \
    lockring check 21 --gate test-ride --all")]
pub(crate) struct Check {
    /// Number of the job
    job: u32,
    /// Gate: intake, parts, fitting, test-ride or handover [default: the present one]
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    gate: String,
    /// Also checks that do not concern the job
    #[arg(long)]
    all: bool,
}

impl Check {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = CheckRequest { job: self.job, gate: self.gate };
        let answer = desk.client().await?.call(ORDINARY, request, of_jobs!(check)).await?;
        if desk.out.look.json {
            answer.checks.iter().try_for_each(|report| desk.out.json(report))?;
        } else {
            check::print_gate(&mut desk.out, &answer, self.all)?;
        }
        Ok(Exit::Ok)
    }
}
