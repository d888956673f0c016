//! `lockring hill`: what the finished bicycle does on hills.

use lockring_proto::v1::HillsRequest;

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::hill;

/// Predict speed, gear and start on hills, and the steepest grade of each gear
///
/// From all that is known of the job: at full charge and with a fifth of it left, with the
/// brief's rider power on hills, and all the help that the drive gives unless a lower level is
/// asked for. A grade may be written as 8%, 1:12 or 5deg.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring hill 21\n  \
    lockring hill 21 --grade 10.8%\n  \
    lockring hill 21 --assist low")]
pub(crate) struct Hill {
    /// Number of the job
    job: u32,
    /// One grade instead of the table
    #[arg(long, default_value = "", value_parser = args::text)]
    grade: String,
    /// Level of help: off, low, mid, high or full
    #[arg(long, value_name = "LEVEL", default_value = "", hide_default_value = true, value_parser = args::text)]
    assist: String,
}

impl Hill {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = HillsRequest { job: self.job, grade: self.grade, assist: self.assist };
        let reply = desk.client().await?.call(ORDINARY, request, of_jobs!(hills)).await?;
        if desk.out.look.json {
            desk.out.json(&reply)?;
        } else {
            hill::print(&mut desk.out, &reply)?;
        }
        Ok(Exit::Ok)
    }
}
