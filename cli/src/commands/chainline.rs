//! `lockring chainline`: ring, cogs and chain angles, drawn.

use lockring_proto::v1::ChainlineRequest;

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::chainline;

/// Draw ring and cogs with the chain's angle at each cog
///
/// The front line is the measured one, or the motor's ring plane with spacers and dish; the
/// cogs come from the measured centre line, or from dropout width, first gap and spacing.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring chainline 21\n  \
    lockring chainline 21 --json")]
pub(crate) struct Chainline {
    /// Number of the job
    job: u32,
}

impl Chainline {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = ChainlineRequest { job: self.job };
        let reply = desk.client().await?.call(ORDINARY, request, of_jobs!(chainline)).await?;
        if desk.out.look.json {
            desk.out.json(&reply)?;
        } else {
            chainline::print(&mut desk.out, &reply)?;
        }
        Ok(Exit::Ok)
    }
}
