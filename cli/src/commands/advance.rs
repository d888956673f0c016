//! `lockring advance`: trying the gate.

use lockring_proto::v1::AdvanceRequest;

use crate::command_error::{CommandError, Exit};
use crate::commands::{of_jobs, reach};
use crate::desk::Desk;
use crate::output::reply;

/// Try the present gate and move the job on if it passes
///
/// A gate that stays shut shows everything that keeps it, with the command that would help, and
/// opens a block for each; the exit code is then gate-closed. With --queue the last gate is not
/// passed: `lockring handover` does that, while the bicycle stands here.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring advance 21\n  \
    lockring advance 21 --dry-run")]
pub(crate) struct Advance {
    /// Number of the job
    job: u32,
}

impl Advance {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        // The same whether it goes out now or waited, so that a second sending is known as one.
        let not_the_last = desk.global.queue || desk.place.from_queue;
        let request = AdvanceRequest { origin: Some(desk.origin()?), job: self.job, not_the_last };
        let answer = reach(desk, request, of_jobs!(advance)).await?;
        if desk.out.look.json {
            desk.out.json(&answer)?;
        } else {
            reply::print_advance(&mut desk.out, &answer, desk.global.dry_run)?;
        }
        Ok(if answer.passed { Exit::Ok } else { Exit::GateClosed })
    }
}
