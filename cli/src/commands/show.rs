//! `lockring show`: one job on one page.

use lockring_proto::v1::ShowJobRequest;

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::{job, times};

/// Show one job: gates, blocks, build, values, concessions
///
/// With --at as it stood at that moment, by everything that had been made up to then.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring show 21\n  \
    lockring show 21 --at 2026-03-18T12:00\n  \
    lockring show 21 --json")]
pub(crate) struct Show {
    /// Number of the job
    job: u32,
}

impl Show {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let at_us = desk.at_us()?;
        let request = ShowJobRequest { job: self.job, at_us };
        let view = desk.client().await?.call(ORDINARY, request, of_jobs!(show)).await?;
        if desk.out.look.json {
            desk.out.json(&view)?;
        } else {
            if let Some(at) = at_us {
                let zone = desk.out.look.zone.clone();
                desk.out.line(format_args!("as it stood on {}", times::moment(at, &zone)))?;
            }
            job::print(&mut desk.out, &view)?;
        }
        Ok(Exit::Ok)
    }
}
