//! `lockring jobs`: all jobs by whose move it is.

use lockring_proto::v1::{ListJobsRequest, StatusRequest};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{of_jobs, of_shop};
use crate::desk::Desk;
use crate::output::list;

/// Jobs asked for at once.
const PAGE: u32 = 500;

/// List the jobs, by whose move it is
///
/// Mechanic, owner, supplier, rider; then jobs on hold. Each with its stage, the working days
/// it has been there, the promise and what it waits for. Before them stand recalls with riders whom nobody has reached,
/// and parts swapped after handover that do not hold.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring jobs\n  \
    lockring jobs --all --json")]
pub(crate) struct Jobs {
    /// Also jobs that are over
    #[arg(long)]
    all: bool,
}

impl Jobs {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let client = desk.client().await?;
        let mut jobs = Vec::new();
        let (mut recalls, mut swaps) = (Vec::new(), Vec::new());
        let mut page_token = String::new();
        loop {
            let request = ListJobsRequest { all: self.all, page_size: PAGE, page_token };
            let page = client.call(ORDINARY, request, of_jobs!(list)).await?;
            jobs.extend(page.jobs);
            recalls.extend(page.recalls);
            swaps.extend(page.swaps);
            page_token = page.next_page_token;
            if page_token.is_empty() {
                break;
            }
        }
        if desk.out.look.json {
            jobs.iter().try_for_each(|job| desk.out.json(job))?;
        } else {
            let over = if jobs.is_empty() && !self.all {
                client.call(ORDINARY, StatusRequest {}, of_shop!(status)).await?.jobs_over
            } else {
                0
            };
            list::print_recalls(&mut desk.out, &recalls)?;
            list::print_swaps(&mut desk.out, &swaps)?;
            list::print(&mut desk.out, &jobs, over.into())?;
        }
        Ok(Exit::Ok)
    }
}
