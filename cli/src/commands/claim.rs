//! `lockring claim`: somebody is asked to pay for what went wrong after handover.

use lockring_proto::v1::enter_request::Entry;
use lockring_proto::v1::{ClaimOpen, ClaimSettle};

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::money::enter;
use crate::desk::Desk;

/// Open or settle a claim on a bicycle that was handed over
///
/// What the shop pays for a claim against itself is a credit to the rider by that alone; the money that goes is a refund
/// (`lockring pay`).
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring claim 21 supplier \"controller dead after rain\" --amount 98\n  \
    lockring claim 21 --settle 1 --paid 98 --how \"credit note\"")]
pub(crate) struct Claim {
    /// Number of the job
    job: u32,
    /// Who is asked: shop, supplier or rider
    #[arg(required_unless_present = "settle", conflicts_with = "settle", value_parser = args::text)]
    against: Option<String>,
    /// What for
    #[arg(required_unless_present = "settle", conflicts_with = "settle", value_parser = args::text)]
    about: Option<String>,
    /// How much is asked for
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    amount: String,
    /// Number of the claim that ended
    #[arg(long, value_name = "CLAIM", requires = "how")]
    settle: Option<u32>,
    /// What was paid; nothing when it was turned down
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    paid: String,
    /// How it ended
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    how: String,
}

impl Claim {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let entry = match self.settle {
            Some(number) => Entry::ClaimSettle(ClaimSettle {
                number,
                paid: desk.amount("paid", self.paid)?,
                how: self.how,
            }),
            None => Entry::Claim(ClaimOpen {
                against: self.against.unwrap_or_default(),
                about: self.about.unwrap_or_default(),
                amount: desk.amount("amount", self.amount)?,
            }),
        };
        enter(desk, self.job, entry).await
    }
}
