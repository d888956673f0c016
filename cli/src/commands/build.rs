//! `lockring build`: the parts chosen from the catalogue.

use lockring_proto::v1::BuildRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Choose parts from the catalogue
///
/// Each part goes into a slot; `none` empties the slot. A changed part opens every check that
/// looked at the old one. `lockring words parts` lists the slots, `lockring catalogue list`
/// the parts.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring build 21 motor=mid-48-250 controller=ctl-15 pack=pack-13s4p\n  \
    lockring build 21 chainring=none")]
pub(crate) struct Build {
    /// Number of the job
    job: u32,
    /// A slot and the id of its part, or several SLOT=PART
    #[arg(value_name = "SLOT PART", required = true, value_parser = args::text)]
    parts: Vec<String>,
}

impl Build {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let parts = args::values(&self.parts, "lockring build 21 motor=mid-48-250")?;
        let request = BuildRequest { origin: Some(desk.origin()?), job: self.job, parts };
        change(desk, request, of_jobs!(build)).await
    }
}
