//! `lockring close`: a job ends without a handover.

use lockring_proto::v1::CloseRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// End a job without a handover
///
/// A job of which anything was fitted, tightened or ridden is returned, not cancelled. The answer names
/// what is to be given back, and each part that is still in the house.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring close 21 --returned --why \"crack at the seat tube\"\n  \
    lockring close 21 --cancelled --why \"rider bought another bicycle\"")]
#[command(group(clap::ArgGroup::new("end").required(true).args(["returned", "cancelled"])))]
pub(crate) struct Close {
    /// Number of the job
    job: u32,
    /// The bicycle went back as it came, without a motor
    #[arg(long)]
    returned: bool,
    /// The job was given up before the bicycle was touched
    #[arg(long)]
    cancelled: bool,
    /// Why
    #[arg(long, value_parser = args::text)]
    why: String,
}

impl Close {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let end = if self.returned { "returned" } else { "cancelled" };
        let request =
            CloseRequest { origin: Some(desk.origin()?), job: self.job, end: end.to_owned(), why: self.why };
        change(desk, request, of_jobs!(close)).await
    }
}
