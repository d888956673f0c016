//! `lockring receive`: a part arrived.

use lockring_proto::v1::ReceiveRequest;

use crate::args::{self, Pair, assignments};
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Note a part as received, with what was found on it
///
/// Attributes read off the part are compared with the order. A pack needs serial, lot, volts at
/// rest, spread between cell groups, papers and damage before it is fitted.
///
/// Received again with something more, the part keeps what is on file and this is added. With
/// nothing, or with another serial, it is a replacement and begins anew.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring receive 21 cassette\n  \
    lockring receive 21 pack --serial P-31 --lot 26-07 --volts 46,8 --spread 12mV")]
pub(crate) struct Receive {
    /// Number of the job
    job: u32,
    /// Slot of the part
    #[arg(value_parser = args::text)]
    slot: String,
    /// Attributes as read off the part
    #[arg(value_name = "KEY=VALUE")]
    found: Vec<Pair>,
    /// Serial number
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    serial: String,
    /// Mark of the batch
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    lot: String,
    #[command(flatten)]
    seen: Seen,
}

/// What is seen on a piece that came, named as the contract has it.
#[derive(Debug, clap::Args)]
pub(super) struct Seen {
    /// Volts of the pack at rest
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    pub(super) volts: String,
    /// Spread between the pack's cell groups
    #[arg(
        long = "spread",
        value_name = "SPREAD",
        default_value = "",
        hide_default_value = true,
        value_parser = args::text
    )]
    pub(super) group_spread: String,
    /// Papers on file, by their names
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    pub(super) papers: String,
    /// Damage seen; none when it is whole
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    pub(super) damage: String,
}

impl Receive {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let Seen { volts, group_spread, papers, damage } = self.seen;
        let request = ReceiveRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            slot: self.slot,
            found: assignments(self.found),
            serial: self.serial,
            lot: self.lot,
            volts,
            group_spread,
            papers,
            damage,
        };
        change(desk, request, of_jobs!(receive)).await
    }
}
