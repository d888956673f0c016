//! `lockring where`: one piece, now and ever.

use lockring_proto::v1::FindPiecesRequest;

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_supply;
use crate::desk::Desk;
use crate::output::pieces;

/// Where a piece is now, and everywhere it ever was; or the jobs of a frame
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring where 40117\n  \
    lockring where \"P 77\" --json")]
pub(crate) struct Where {
    /// Serial number, a lot, or the number of a frame
    #[arg(value_parser = args::text)]
    mark: String,
}

impl Where {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = FindPiecesRequest { marks: vec![self.mark.clone()], ..FindPiecesRequest::default() };
        let answer = desk.client().await?.call(ORDINARY, request, of_supply!(find_pieces)).await?;
        if desk.out.look.json {
            desk.out.json(&answer)?;
        } else {
            pieces::print_path(&mut desk.out, &self.mark, &answer)?;
        }
        Ok(Exit::Ok)
    }
}
