//! `lockring visit`: a bicycle that was handed over comes back for a look.

use lockring_proto::v1::VisitEntry;
use lockring_proto::v1::enter_request::Entry;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::money::enter;
use crate::desk::Desk;

/// Enter a visit after handover: what the rider said, what was found, who pays
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring visit 21 --first-check --odometer 140km --found \"spokes tightened\"\n  \
    lockring visit 21 \"cuts out\" --found \"plug wet\" --cause our-work --payer shop")]
pub(crate) struct Visit {
    /// Number of the job
    job: u32,
    /// What the rider said
    #[arg(default_value = "", hide_default_value = true, value_parser = args::text)]
    symptom: String,
    /// What was found and done
    #[arg(long, value_parser = args::text)]
    found: String,
    /// Distance ridden, such as 140km
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    odometer: String,
    /// Why it came back: brief, fit, part, our-work, supplier, rider or wear
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    cause: String,
    /// Who pays: shop, supplier or rider
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    payer: String,
    /// It was the first check
    #[arg(long)]
    first_check: bool,
}

impl Visit {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let entry = VisitEntry {
            symptom: self.symptom,
            odometer: self.odometer,
            found: self.found,
            cause: self.cause,
            payer: self.payer,
            first_check: self.first_check,
        };
        enter(desk, self.job, Entry::Visit(entry)).await
    }
}
