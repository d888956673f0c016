//! `lockring report`: what the owner reads in the evening.

use lockring_proto::v1::reports_client::ReportsClient;
use lockring_proto::v1::rides_client::RidesClient;
use lockring_proto::v1::{BlockedRequest, PredictionsRequest};

use crate::args;
use crate::client::{LONG, ORDINARY};
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use crate::output::{predictions, report};

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
    /// How far expectations were off, by kind of bicycle, and constants the rides ask for
    ///
    /// Every job that was ridden counts. Nothing changes by itself: an offered constant is taken
    /// with the command printed below it, and jobs judged before keep theirs.
    #[command(after_help = "Examples:\n  \
        lockring report predictions\n  \
        lockring report predictions --json")]
    Predictions,
}

impl Report {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let on = match self.which {
            Which::Blocked { on } => on,
            Which::Predictions => return of_predictions(desk).await,
        };
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

async fn of_predictions(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let send = |channel, request| async move { RidesClient::new(channel).predictions(request).await };
    let answer = desk.client().await?.call(LONG, PredictionsRequest {}, send).await?;
    if desk.out.look.json {
        desk.out.json(&answer)?;
    } else {
        predictions::print(&mut desk.out, &answer)?;
    }
    Ok(Exit::Ok)
}
