//! `lockring note`: words added to a job.

use lockring_proto::v1::riders_client::RidersClient;
use lockring_proto::v1::{NotePrivatelyRequest, NoteRequest};

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs, joined};
use crate::desk::Desk;

/// Add words to a job's history
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring note 21 rider rang: the old lights stay on\n  \
    lockring note 21 key number 4711 --at 2026-03-13T10:00\n  \
    lockring note 21 --private hard of hearing, write instead")]
pub(crate) struct Note {
    /// Number of the job
    job: u32,
    /// The words; they need no quotes
    #[arg(value_name = "TEXT", required = true, value_parser = args::text)]
    text: Vec<String>,
    /// They are about the rider: they go when the rider is removed
    #[arg(long)]
    private: bool,
}

impl Note {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let (origin, job, text) = (Some(desk.origin()?), self.job, joined(&self.text));
        if !self.private {
            return change(desk, NoteRequest { origin, job, text }, of_jobs!(note)).await;
        }
        let send = |channel, request| async move { RidersClient::new(channel).note_privately(request).await };
        change(desk, NotePrivatelyRequest { origin, job, text }, send).await
    }
}
