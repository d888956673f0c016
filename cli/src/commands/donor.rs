//! `lockring donor`: the bicycle as it came in.

use lockring_proto::v1::StateRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// State how the bicycle came in
///
/// Values of the donor bicycle as read off labels or told: frame, shell, rear end, wheels,
/// gears, brakes. What was read off an instrument belongs to `lockring measure`, and a stated
/// value does not displace a reading.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring donor 21 frame-material=steel fork-kind=steel-rigid damage=none\n  \
    lockring donor 21 wheelbase=1100 --assumed")]
pub(crate) struct Donor {
    /// Number of the job
    job: u32,
    /// A code of the donor bicycle and its value, or several CODE=VALUE
    #[arg(value_name = "CODE VALUE", required = true, value_parser = args::text)]
    values: Vec<String>,
    /// Taken for want of anything better, rather than told or read
    #[arg(long)]
    assumed: bool,
}

impl Donor {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = StateRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            group: "donor".to_owned(),
            values: args::values(&self.values, "lockring donor 21 frame-material=steel")?,
            assumed: self.assumed,
        };
        change(desk, request, of_jobs!(state)).await
    }
}
