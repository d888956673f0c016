//! `lockring told`: what the rider knows of the promise.

use lockring_proto::v1::TellRequest;
use lockring_proto::v1::desk_client::DeskClient;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, joined, of_desk};
use crate::desk::Desk;

/// Note what the rider was told about the promised day
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring told 21 \"new day is 14 April, agreed\"\n  \
    lockring told 21 collects on Friday")]
pub(crate) struct Told {
    /// Number of the job
    job: u32,
    /// What was said; the words need no quotes
    #[arg(required = true, value_parser = args::text)]
    words: Vec<String>,
}

impl Told {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = TellRequest { origin: Some(desk.origin()?), job: self.job, words: joined(&self.words) };
        change(desk, request, of_desk!(tell)).await
    }
}
