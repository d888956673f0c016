//! `lockring return`: a part goes back to its supplier.

use lockring_proto::v1::ReturnPartRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_supply};
use crate::desk::Desk;

/// Send a part that came for a job back to its supplier
///
/// The slot waits for a part again, the piece stays in the records, and the line is owed until
/// `lockring order credit` says it was paid for.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring return 23 pack --why \"14S, ordered 13S\"\n  \
    lockring return 21 display --why \"dead on arrival\"")]
pub(crate) struct Return {
    /// Number of the job
    job: u32,
    /// Slot
    #[arg(value_parser = args::text)]
    slot: String,
    /// Why
    #[arg(long, value_parser = args::text)]
    why: String,
}

impl Return {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request =
            ReturnPartRequest { origin: Some(desk.origin()?), job: self.job, slot: self.slot, why: self.why };
        change(desk, request, of_supply!(return_part)).await
    }
}
