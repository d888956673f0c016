//! `lockring torque`: a fastener tightened.

use lockring_proto::v1::RecordRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Record the torque of a fastener
///
/// Bolt and torque as set on the wrench, in newton metres unless another unit is given. Several
/// bolts at once go as BOLT=VALUE. `lockring words bolts` lists the bolts.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring torque 21 lockring 40\n  \
    lockring torque 21 crank 30 ft lb\n  \
    lockring torque 21 stem=5 rotor-front=6")]
pub(crate) struct Torque {
    /// Number of the job
    job: u32,
    /// A bolt and its torque, or several BOLT=VALUE
    #[arg(value_name = "BOLT VALUE", required = true, value_parser = args::text)]
    words: Vec<String>,
    /// Take a value outside its plausible window
    #[arg(long)]
    force: bool,
    /// Begin a new series instead of repeating the last reading
    #[arg(long)]
    anew: bool,
}

impl Torque {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = RecordRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            act: "torque".to_owned(),
            run: String::new(),
            values: args::values(&self.words, "lockring torque 21 crank 40")?,
            force: self.force,
            anew: self.anew,
        };
        change(desk, request, of_jobs!(record)).await
    }
}
