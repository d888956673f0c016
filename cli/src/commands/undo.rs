//! `lockring undo`: counter-entries.

use lockring_proto::v1::UndoRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{LATER_IS_LAST, change, of_jobs};
use crate::desk::Desk;

/// Take back what you entered last on a job, or the entry named
///
/// What one command entered goes together; when it is nothing that can be undone, nothing goes and the answer says why.
/// Money is taken back only by its number. Nothing is deleted: a new entry says that the old one no longer counts, and
/// the checks that used it are run again.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring undo 21\n  \
    lockring undo 21 --entry 14 --why \"rule held to the wrong face\"")]
pub(crate) struct Undo {
    /// Number of the job
    job: u32,
    /// Number of the entry, as `lockring history` shows it [default: all that your last command entered]
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u64).range(1..))]
    entry: Option<u64>,
    /// Why
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    why: String,
}

impl Undo {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        if self.entry.is_none() {
            desk.waits_not(LATER_IS_LAST);
        }
        let request = UndoRequest { origin: Some(desk.origin()?), job: self.job, seq: self.entry.unwrap_or_default(), why: self.why };
        change(desk, request, of_jobs!(undo)).await
    }
}
