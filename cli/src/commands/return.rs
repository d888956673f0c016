//! `lockring return`: a part goes back to its supplier.

use lockring_proto::v1::ReturnPartRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_supply};
use crate::desk::Desk;

/// Send a part that came for a job back to its supplier
///
/// Also one that was taken off again, of a job that is over as well; where there are two of a slot, PIECE
/// says which. `lockring shelf put` and `lockring shelf scrap` are for those that do not go back.
///
/// The slot waits for a part again, the piece stays in the records, and the line is owed until
/// `lockring order credit` says it was paid for.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring return 23 pack --why \"14S, ordered 13S\"\n  \
    lockring return 21 display --why \"dead on arrival\"\n  \
    lockring return 21 chainring ring-36-2 --why \"re-geared\"")]
pub(crate) struct Return {
    /// Number of the job
    job: u32,
    /// Slot
    #[arg(value_parser = args::text)]
    slot: String,
    /// Serial or part id of the one meant, or `on` or `off` the bicycle [default: the only one there is]
    #[arg(value_parser = args::text, default_value = "", hide_default_value = true)]
    piece: String,
    /// Why
    #[arg(long, value_parser = args::text)]
    why: String,
}

impl Return {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = ReturnPartRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            slot: self.slot,
            why: self.why,
            piece: self.piece,
            to: String::new(),
        };
        change(desk, request, of_supply!(return_part)).await
    }
}
