//! `lockring measure`: one reading, one line.

use lockring_proto::v1::RecordRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Record a measurement
///
/// Code and value; a value of several words needs no quotes. Any unit, comma or point; without
/// a unit the code's own. Reading the same code again adds to its series. Several codes at
/// once go as CODE=VALUE. `!` behind a value takes it though it is implausible, and the history
/// says so. `lockring words codes` lists the codes.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring measure 21 chainline-front 51,5\n  \
    lockring measure 21 clf 2 1/16 in --anew\n  \
    lockring measure 21 shell-width=73 shell-bore=33,6 damage=none\n  \
    lockring measure 21 clf 95!\n  \
    lockring measure 21 test-air -3C")]
pub(crate) struct Measure {
    /// Number of the job
    job: u32,
    /// A code and its value, or several CODE=VALUE
    #[arg(value_name = "CODE VALUE", required = true, value_parser = args::text)]
    words: Vec<String>,
    /// Take a value outside its plausible window
    #[arg(long)]
    force: bool,
    /// Begin a new series instead of repeating the last reading
    #[arg(long)]
    anew: bool,
}

impl Measure {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = RecordRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            act: "measure".to_owned(),
            run: String::new(),
            values: args::values(&self.words, "lockring measure 21 chainline-front 51,5")?,
            force: self.force,
            anew: self.anew,
        };
        change(desk, request, of_jobs!(record)).await
    }
}
