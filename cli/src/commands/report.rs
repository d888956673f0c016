//! `lockring report`: what the owner reads in the evening.

use lockring_proto::v1::BlockedRequest;
use lockring_proto::v1::reports_client::ReportsClient;

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use crate::output::report;

/// Reports over all jobs
#[derive(Debug, clap::Args)]
pub(crate) struct Report {
    #[command(subcommand)]
    which: Which,
}

#[derive(Debug, clap::Subcommand)]
enum Which {
    /// Which builds are blocked, why, whose move it is, what it does to the promise
    #[command(after_help = "Examples:\n  \
        lockring report blocked\n  \
        lockring report blocked --on 2026-03-25 --json")]
    Blocked {
        /// The evening asked for, as it was known then [default: now]
        #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
        on: String,
    },
}

impl Report {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let Which::Blocked { on } = self.which;
        let send = |channel, request| async move { ReportsClient::new(channel).blocked(request).await };
        let answer = desk.client().await?.call(ORDINARY, BlockedRequest { on }, send).await?;
        if desk.out.look.json {
            desk.out.json(&answer)?;
        } else {
            report::print(&mut desk.out, &answer)?;
        }
        Ok(Exit::Ok)
    }
}
