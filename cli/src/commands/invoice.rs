//! `lockring invoice`: the rider is asked for the total.

use lockring_proto::v1::IssueInvoice;
use lockring_proto::v1::enter_request::Entry;

use crate::command_error::{CommandError, Exit};
use crate::commands::money::enter;
use crate::desk::Desk;

/// Ask the rider for the total
///
/// Refused while the total lies over what the rider agreed to. Asked again without a change, the
/// last invoice stands.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring invoice 21\n  \
    lockring invoice 21 --dry-run")]
pub(crate) struct Invoice {
    /// Number of the job
    job: u32,
}

impl Invoice {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        enter(desk, self.job, Entry::Invoice(IssueInvoice {})).await
    }
}
