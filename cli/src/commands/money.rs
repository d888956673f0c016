//! `lockring money`: how a job stands in money and hours.

use lockring_proto::v1::enter_request::Entry;
use lockring_proto::v1::money_client::MoneyClient;
use lockring_proto::v1::{AccountRequest, EnterRequest};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::change;
use crate::desk::Desk;
use crate::output::money;

/// Show a job's money: lines, payments, hours, contribution, and what came after handover
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring money 21\n  \
    lockring money 21 --csv")]
pub(crate) struct Money {
    /// Number of the job
    job: u32,
    /// The lines and payments as CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

impl Money {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        show(desk, self.job, self.csv).await
    }
}

/// Shows a job's money.
pub(super) async fn show(desk: &mut Desk<'_>, job: u32, csv: bool) -> Result<Exit, CommandError> {
    let send = |channel, request| async move { MoneyClient::new(channel).account(request).await };
    let view = desk.client().await?.call(ORDINARY, AccountRequest { job }, send).await?;
    if desk.out.look.json {
        desk.out.json(&view)?;
    } else if csv {
        money::print_csv(&mut desk.out, &view)?;
    } else {
        money::print(&mut desk.out, &view)?;
    }
    Ok(Exit::Ok)
}

/// Enters something about a job's money, labour or life after handover.
pub(super) async fn enter(desk: &mut Desk<'_>, job: u32, entry: Entry) -> Result<Exit, CommandError> {
    let request = EnterRequest {
        origin: Some(desk.origin()?),
        job,
        entry: Some(entry),
    };
    let send = |channel, request| async move { MoneyClient::new(channel).enter(request).await };
    change(desk, request, send).await
}
