//! `lockring pay`: money that came, went or was taken off.

use lockring_proto::v1::Pay as PayEntry;
use lockring_proto::v1::enter_request::Entry;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::money::enter;
use crate::desk::Desk;

/// Enter money that came, went back or was taken off
///
/// A credit is owed to the rider, a write-off will not come; both need a reason
/// and are the owner's.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring pay 21 725.60 --kind deposit --how card\n  \
    lockring pay 21 40 --kind credit --how \"scratch on the frame\"")]
pub(crate) struct Pay {
    /// Number of the job
    job: u32,
    /// How much
    #[arg(value_parser = args::text)]
    amount: String,
    /// deposit, balance, refund, credit or write-off
    #[arg(long, value_parser = args::text)]
    kind: String,
    /// How it came, or why it is taken off
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    how: String,
}

impl Pay {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let entry = PayEntry {
            kind: self.kind,
            amount: desk.amount("amount", self.amount)?,
            how: self.how,
        };
        enter(desk, self.job, Entry::Pay(entry)).await
    }
}
