//! `lockring fit`: whether the parts fit, on one page.

use lockring_proto::v1::{Assignment, FitRequest};

use crate::client::ORDINARY;
use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_jobs;
use crate::desk::Desk;
use crate::output::fit;

/// Show whether the parts fit, by how much, and what would make them fit
///
/// Every check of fit with all that is known, whatever the stage. With --what-if changes are
/// tried and answered without being stored: a ring and its dish in mm, a part for a slot, a
/// spacer or another reading. What a ring or a spacer moves is moved with it, so that the
/// price of a cure elsewhere is on the same page, and what hill and speed become with it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring fit 21\n  \
    lockring fit 21 --what-if ring=38T-dish5,spacer=2.5mm")]
pub(crate) struct Fit {
    /// Number of the job
    job: u32,
    /// Changes to try, separated by commas; a decimal comma needs its own --what-if with a point
    #[arg(long, value_name = "KEY=VALUE,...", value_parser = args::text, value_delimiter = ',')]
    what_if: Vec<String>,
}

impl Fit {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let what_if = self.what_if.iter().map(|text| change(text)).collect::<Result<Vec<_>, _>>()?;
        let request = FitRequest { job: self.job, what_if };
        let reply = desk.client().await?.call(ORDINARY, request, of_jobs!(fit)).await?;
        if desk.out.look.json {
            desk.out.json(&reply)?;
        } else {
            fit::print(&mut desk.out, &reply)?;
        }
        Ok(Exit::Ok)
    }
}

fn change(text: &str) -> Result<Assignment, CommandError> {
    match text.split_once('=') {
        Some((field, value)) if !field.trim().is_empty() => {
            Ok(Assignment { field: field.trim().to_owned(), value: value.trim().to_owned() })
        }
        _ => Err(CommandError::usage(
            format!("`{text}` is no change; expected KEY=VALUE"),
            "lockring fit 21 --what-if ring=38T-dish5,spacer=2.5mm",
        )),
    }
}
