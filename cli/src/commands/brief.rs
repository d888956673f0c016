//! `lockring brief`: what the rider needs.

use lockring_proto::v1::StateRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// State what the rider needs
///
/// Values of the brief: distance between charges, the worst hill and where its grade comes
/// from, speeds, masses, posture, ride class, budget, promise. Any unit, comma or point; a value
/// stated again replaces the one before. `lockring words codes` lists the codes.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring brief 21 range=40km hill-grade=8% hill-source=told\n  \
    lockring brief 21 range 40 km\n  \
    lockring brief 21 rider-mass=\"82 kg\" coldest=-5C promise=2026-03-27")]
pub(crate) struct Brief {
    /// Number of the job
    job: u32,
    /// A code of the brief and its value, or several CODE=VALUE
    #[arg(value_name = "CODE VALUE", required = true, value_parser = args::text)]
    values: Vec<String>,
    /// Taken for want of anything better, rather than told
    #[arg(long)]
    assumed: bool,
}

impl Brief {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = StateRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            group: "brief".to_owned(),
            values: args::values(&self.values, "lockring brief 21 range=40km")?,
            assumed: self.assumed,
        };
        change(desk, request, of_jobs!(state)).await
    }
}
