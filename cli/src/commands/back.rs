//! `lockring back`: a job returns to an earlier stage.

use lockring_proto::v1::SendBackRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Send a job back to an earlier stage
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring back 21 fitting --why \"chainring to be changed\"\n  \
    lockring back 21 intake --why \"rider wants another motor\"")]
pub(crate) struct Back {
    /// Number of the job
    job: u32,
    /// Stage: intake, parts, fitting or test-ride
    #[arg(value_parser = args::text)]
    stage: String,
    /// Why
    #[arg(long, value_parser = args::text)]
    why: String,
}

impl Back {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request =
            SendBackRequest { origin: Some(desk.origin()?), job: self.job, stage: self.stage, why: self.why };
        change(desk, request, of_jobs!(send_back)).await
    }
}
