//! `lockring hold`: a planned wait.

use lockring_proto::v1::HoldRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Begin a planned wait
///
/// A hold is no block and is not counted as one; no gate is tried while it lasts.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring hold 21 --why \"rider on holiday\" --until 2026-04-07\n  \
    lockring hold 21 --why \"waits for spring\"")]
pub(crate) struct Hold {
    /// Number of the job
    job: u32,
    /// Why
    #[arg(long, value_parser = args::text)]
    why: String,
    /// The day it is meant to end
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
    until: String,
}

impl Hold {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = HoldRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            why: self.why,
            until: desk.day("until", &self.until).await?,
        };
        change(desk, request, of_jobs!(hold)).await
    }
}
