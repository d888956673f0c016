//! `lockring lot`: where the pieces of a lot are.

use lockring_proto::v1::FindPiecesRequest;

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_supply;
use crate::desk::Desk;
use crate::output::pieces;

/// Find pieces by lot, serial, beginning, range, supplier and days
///
/// All at once: bicycles handed over, with how their riders are reached, bicycles on the bench,
/// the shelf, what went back to its supplier, what was swapped out.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring lot PK-2511-C\n  \
    lockring lot \"PK-25*\" A40100..A40250 --from N --since 2026-01-01")]
pub(crate) struct Lot {
    #[command(flatten)]
    which: Which,
    /// All of them, however many
    #[arg(long)]
    all: bool,
}

/// Which pieces are meant.
#[derive(Debug, clap::Args)]
pub(super) struct Which {
    /// A lot or serial, PREFIX*, or FIRST..LAST
    #[arg(value_name = "MARK", value_parser = args::text)]
    marks: Vec<String>,
    /// Only what this supplier delivered
    #[arg(long, value_name = "SUPPLIER", default_value = "", hide_default_value = true, value_parser = args::text)]
    from: String,
    /// Only this part of the catalogue
    #[arg(long, value_name = "ID", default_value = "", hide_default_value = true, value_parser = args::text)]
    part: String,
    /// Only what came on this day or later
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
    since: String,
    /// Only what came on this day or earlier
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
    until: String,
}

impl Which {
    /// As the contract has it.
    pub(super) fn request(self) -> FindPiecesRequest {
        let Self { marks, from, part, since, until } = self;
        FindPiecesRequest { marks, supplier: from, part, since, until }
    }
}

impl Lot {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = self.which.request();
        let answer = desk.client().await?.call(ORDINARY, request, of_supply!(find_pieces)).await?;
        if desk.out.look.json {
            desk.out.json(&answer)?;
        } else {
            pieces::print(&mut desk.out, &answer, self.all)?;
        }
        Ok(Exit::Ok)
    }
}
