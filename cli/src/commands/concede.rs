//! `lockring concede`: the owner accepts what does not hold.

use lockring_proto::v1::ConcedeRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Accept a check that does not hold, as the owner
///
/// The concession carries the owner's name and reason and stands for the present values only:
/// a changed value opens the check again. Some checks are never conceded; `lockring words
/// checks` tells which. Nor is what cannot be put together, whichever check finds it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring concede 21 chainline.cog_angles --why \"0 drops in 10 turns\"\n  \
    lockring concede 21 chainline.centre --by MK --why \"rider knows and accepts\"")]
pub(crate) struct Concede {
    /// Number of the job
    job: u32,
    /// Id of the check
    #[arg(value_parser = args::text)]
    check: String,
    /// Why it is acceptable
    #[arg(long, value_parser = args::text)]
    why: String,
}

impl Concede {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        desk.waits_not("what is conceded is what the check says now, and that may be something else by then");
        let request =
            ConcedeRequest { origin: Some(desk.origin()?), job: self.job, check: self.check, why: self.why };
        change(desk, request, of_jobs!(concede)).await
    }
}
