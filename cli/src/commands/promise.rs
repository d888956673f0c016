//! `lockring promise`: a day promised to the rider.

use clap::ArgAction;
use lockring_proto::v1::PromiseRequest;
use lockring_proto::v1::desk_client::DeskClient;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_desk};
use crate::desk::Desk;

/// Promise a day to the rider, the first or another one
///
/// The days promised before are kept, and later ones are counted as slips. That the rider knows
/// is an entry of its own: `lockring told`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring promise 21 2026-03-27 --hard\n  \
    lockring promise 21 2026-04-14 --why \"shift sensor comes on 7 April\"")]
pub(crate) struct Promise {
    /// Number of the job
    job: u32,
    /// The day: 2026-03-27, 27.3.2026, friday, tomorrow
    #[arg(value_parser = args::text)]
    day: String,
    /// Nothing but that day will do
    #[arg(long, action = ArgAction::SetTrue, conflicts_with = "soft")]
    hard: bool,
    /// A day or two later will do
    #[arg(long, action = ArgAction::SetTrue)]
    soft: bool,
    /// Why the day is another one than before
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    why: String,
}

impl Promise {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let kind = match (self.hard, self.soft) {
            (true, _) => "hard",
            (_, true) => "soft",
            _ => "",
        };
        let request = PromiseRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            day: desk.day("day", &self.day).await?,
            kind: kind.to_owned(),
            why: self.why,
        };
        change(desk, request, of_desk!(promise)).await
    }
}
