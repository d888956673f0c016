//! `lockring promises`: which promises cannot be kept as things stand.

use lockring_proto::v1::PromisesRequest;
use lockring_proto::v1::desk_client::DeskClient;

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_desk;
use crate::desk::Desk;
use crate::output::{promises, sheet};

/// Promises against the earliest finish, those at risk first
///
/// The earliest finish follows from the days of ordered parts, the planned hours of the stages
/// (rules `plan.*`) and the shop's working days, benches and people.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring promises\n  \
    lockring promises --all --json")]
pub(crate) struct Promises {
    /// Also promises that can be kept, and jobs without one
    #[arg(long)]
    all: bool,
    /// As CSV: section, row, column, value
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

impl Promises {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = PromisesRequest { all: self.all };
        let answer = desk.client().await?.call(ORDINARY, request, of_desk!(promises)).await?;
        if desk.out.look.json {
            desk.out.json(&answer)?;
        } else if self.csv {
            sheet::print_csv(&mut desk.out, &promises::as_sheet(&answer))?;
        } else {
            promises::print(&mut desk.out, &answer)?;
        }
        Ok(Exit::Ok)
    }
}
