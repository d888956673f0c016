//! `lockring block`: a reason why a job cannot move, opened by hand.

use lockring_proto::v1::OpenBlockRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs, joined};
use crate::desk::Desk;

/// Open a block by hand
///
/// Checks open their own when a gate is tried; this is for what no check sees. Families: fit,
/// parts, power, law, safe, ride, rider, shop.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring block 21 fit cable guide sticks into the shell\n  \
    lockring block 21 rider which lights --chase 2026-03-16 --clears \"he calls\"")]
pub(crate) struct Block {
    /// Number of the job
    job: u32,
    /// Family of the block
    #[arg(value_parser = args::text)]
    family: String,
    /// What is wrong; the words need no quotes
    #[arg(value_name = "ABOUT", required = true, value_parser = args::text)]
    about: Vec<String>,
    /// Whose move it is: mechanic, owner, supplier or rider [default: the family's usual]
    #[arg(long, value_name = "WHO", default_value = "", hide_default_value = true, value_parser = args::text)]
    whose: String,
    /// The day somebody asks again
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
    chase: String,
    /// What clears it
    #[arg(long, value_name = "WHAT", default_value = "", hide_default_value = true, value_parser = args::text)]
    clears: String,
}

impl Block {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = OpenBlockRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            family: self.family,
            about: joined(&self.about),
            whose_move: self.whose,
            chase: desk.day("chase", &self.chase).await?,
            clears_when: self.clears,
        };
        change(desk, request, of_jobs!(open_block)).await
    }
}
