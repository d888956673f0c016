//! `lockring regear`: every gearing that could be built, best first.

use lockring_proto::v1::RegearRequest;

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::regear;

/// Compare every ring and cassette: hill and start against chainline, chain and price
///
/// Every ring of the catalogue, and the sizes that are not stocked with the present dish, with
/// every cassette, tried on the job without storing anything. What the job needs comes first,
/// what it costs second. The hill stands for the steepest grade the hill is computed at.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring regear 21\n  \
    lockring regear 21 --all")]
pub(crate) struct Regear {
    /// Number of the job
    job: u32,
    /// All of them, not the best dozen
    #[arg(long)]
    all: bool,
}

impl Regear {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = RegearRequest { job: self.job };
        let reply = desk.client().await?.call(ORDINARY, request, of_jobs!(regear)).await?;
        if desk.out.look.json {
            desk.out.json(&reply)?;
        } else {
            regear::print(&mut desk.out, &reply, self.all)?;
        }
        Ok(Exit::Ok)
    }
}
