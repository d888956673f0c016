//! `lockring swap`: a part put in for another one after handover.

use lockring_proto::v1::SwapPart;
use lockring_proto::v1::enter_request::Entry;

use crate::args::{self, Pair, assignments};
use crate::command_error::{CommandError, Exit};
use crate::commands::money::enter;
use crate::commands::receive::Seen;
use crate::desk::Desk;

/// Enter a part swapped after handover: serial out, serial in, who paid
///
/// The bicycle's history keeps both: which is on it now, and which ever was. What was seen on the
/// one that goes on is entered as at `receive`, and the answer is what the checks on arrival say of it.
///
/// Without --in, --payer and --why, what was seen is added to the one that went on.
#[derive(Debug, clap::Args)]
#[command(override_usage = "lockring swap [OPTIONS] JOB SLOT --in SERIAL --payer WHO --why TEXT\n       \
    lockring swap [OPTIONS] JOB SLOT [KEY=VALUE]...", after_help = "Examples:\n  \
    lockring swap 21 pack --in 4071 --lot PK-25 --payer supplier --why recalled\n  \
    lockring swap 21 pack --volts 36,9 --spread 12mV --papers \"EN 50604-1 report\"\n  \
    lockring swap 21 charger --out C-91 --in C-92 --lot 7 --payer rider --why lost")]
pub(crate) struct Swap {
    /// Number of the job
    job: u32,
    /// Slot
    #[arg(value_parser = args::text)]
    slot: String,
    /// Attributes as read off the one that goes on
    #[arg(value_name = "KEY=VALUE")]
    found: Vec<Pair>,
    /// Serial that comes off [default: the one on file]
    #[arg(long = "out", value_name = "SERIAL", default_value = "", hide_default_value = true, value_parser = args::text)]
    serial_out: String,
    /// Serial that goes on
    #[arg(long = "in", value_name = "SERIAL", default_value = "", hide_default_value = true, value_parser = args::text)]
    serial_in: String,
    /// Lot of the one that goes on; motor, controller, pack and charger need it
    #[arg(long = "lot", value_name = "LOT", default_value = "", hide_default_value = true, value_parser = args::text)]
    lot_in: String,
    /// Who pays: shop, supplier or rider
    #[arg(long, value_name = "WHO", default_value = "", hide_default_value = true, value_parser = args::text)]
    payer: String,
    /// Why
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true, value_parser = args::text)]
    why: String,
    #[command(flatten)]
    seen: Seen,
}

impl Swap {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let Seen { volts, group_spread, papers, damage } = self.seen;
        let entry = SwapPart {
            slot: self.slot,
            serial_out: self.serial_out,
            serial_in: self.serial_in,
            lot_in: self.lot_in,
            payer: self.payer,
            why: self.why,
            found: assignments(self.found),
            volts,
            group_spread,
            papers,
            damage,
        };
        enter(desk, self.job, Entry::Swap(entry)).await
    }
}
