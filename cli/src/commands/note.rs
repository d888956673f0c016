//! `lockring note`: words added to a job.

use lockring_proto::v1::NoteRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs, joined};
use crate::desk::Desk;

/// Add words to a job's history
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring note 21 rider rang: the old lights stay on\n  \
    lockring note 21 key number 4711 --at 2026-03-13T10:00")]
pub(crate) struct Note {
    /// Number of the job
    job: u32,
    /// The words; they need no quotes
    #[arg(value_name = "TEXT", required = true, value_parser = args::text)]
    text: Vec<String>,
}

impl Note {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = NoteRequest { origin: Some(desk.origin()?), job: self.job, text: joined(&self.text) };
        change(desk, request, of_jobs!(note)).await
    }
}
