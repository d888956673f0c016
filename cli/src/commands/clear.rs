//! `lockring clear`: a block opened by hand is cleared.

use lockring_proto::v1::ClearBlockRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Clear a block that was opened by hand
///
/// A block that comes from a check clears by itself when the check passes or is conceded.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring clear 21 3 --why \"guide shortened\"\n  \
    lockring clear 21 4 --why \"rider wants the old lights\"")]
pub(crate) struct Clear {
    /// Number of the job
    job: u32,
    /// Number of the block, as `lockring show` shows it
    number: u32,
    /// Why
    #[arg(long, value_parser = args::text)]
    why: String,
}

impl Clear {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request =
            ClearBlockRequest { origin: Some(desk.origin()?), job: self.job, number: self.number, why: self.why };
        change(desk, request, of_jobs!(clear_block)).await
    }
}
