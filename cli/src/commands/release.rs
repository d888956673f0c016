//! `lockring release`: the end of a planned wait.

use lockring_proto::v1::ReleaseRequest;

use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// End a planned wait
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring release 21\n  \
    lockring release 21 --at 2026-04-07")]
pub(crate) struct Release {
    /// Number of the job
    job: u32,
}

impl Release {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = ReleaseRequest { origin: Some(desk.origin()?), job: self.job };
        change(desk, request, of_jobs!(release)).await
    }
}
