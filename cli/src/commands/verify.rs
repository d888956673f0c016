//! `lockring verify`: the journal folded again.

use lockring_proto::v1::VerifyRequest;

use crate::client::LONG;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_shop;
use crate::desk::Desk;
use crate::output::times;

/// Work everything out from the journal again and compare it with what is stored
///
/// Also follows the chain of hashes, so that a line changed or lost behind the daemon's back
/// shows. A fault is listed and ends with the exit code storage.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring verify\n  \
    lockring verify --json")]
pub(crate) struct Verify {}

impl Verify {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let answer = desk.client().await?.call(LONG, VerifyRequest {}, of_shop!(verify)).await?;
        if desk.out.look.json {
            desk.out.json(&answer)?;
        } else {
            let (entries, jobs) = (answer.entries, answer.jobs);
            let found = if answer.sound { "+ sound" } else { "x not sound" };
            let entries = times::count_of(entries, "entry", "entries");
            let jobs = times::count_of(u64::from(jobs), "job", "jobs");
            desk.out.line(format_args!("{found}: {entries} of {jobs} folded again and compared"))?;
            desk.out.line(format_args!("hash of the last entry:\n  {}", answer.head))?;
            for removed in &answer.removed {
                desk.out.wrapped("  ", "      ", removed)?;
            }
            for problem in &answer.problems {
                desk.out.wrapped("  ", "      ", problem)?;
            }
        }
        Ok(if answer.sound { Exit::Ok } else { Exit::Storage })
    }
}
