//! `lockring chase`: somebody asked about a block.

use lockring_proto::v1::ChaseRequest;
use lockring_proto::v1::desk_client::DeskClient;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, joined, of_desk};
use crate::desk::Desk;

/// Note that somebody asked about a block: what was said, when to ask again
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring chase 21 2 ships on Thursday --again 2026-03-30\n  \
    lockring chase 21 2 \"rider decides\" --whose rider")]
pub(crate) struct Chase {
    /// Number of the job
    job: u32,
    /// Number of the block
    number: u32,
    /// What was said; the words need no quotes
    #[arg(value_parser = args::text)]
    said: Vec<String>,
    /// The day to ask again [default: not at all]
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
    again: String,
    /// Whose move it is now [default: as before]
    #[arg(long, value_name = "WHO", default_value = "", hide_default_value = true, value_parser = args::text)]
    whose: String,
}

impl Chase {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = ChaseRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            number: self.number,
            chase: desk.day("again", &self.again).await?,
            whose_move: self.whose,
            said: joined(&self.said),
        };
        change(desk, request, of_desk!(chase)).await
    }
}
