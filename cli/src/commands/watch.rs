//! `lockring watch`: entries as they are stored.

use lockring_proto::v1::WatchRequest;
use lockring_proto::v1::jobs_client::JobsClient;

use crate::client::{ORDINARY, within};
use crate::command_error::{CommandError, Exit, is_broken};
use crate::desk::Desk;
use crate::output::job;

/// Show entries as they are stored, until Ctrl-C
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring watch\n  \
    lockring watch 21 --json")]
pub(crate) struct Watch {
    /// Number of the job [default: all jobs]
    #[arg(default_value_t = 0, hide_default_value = true)]
    job: u32,
}

impl Watch {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let client = desk.client().await?;
        let mut jobs = JobsClient::new(client.channel().await?);
        let begun = jobs.watch(WatchRequest { job: self.job });
        // A deadline for the beginning, none for what follows: a quiet shop is no fault.
        let answer = within(ORDINARY, Box::pin(begun)).await;
        let mut entries = answer.map_err(|status| CommandError::from_status(&status))?;
        let is_afar = desk.folder.pass().is_some();
        let cut_off = || {
            CommandError::new(Exit::NoDaemon, "the shop closed the connection, and the watch ended with it")
                .hint("`lockring jobs` says whether it still lets this bench in")
        };
        loop {
            let entry = tokio::select! {
                entry = entries.message() => entry.map_err(|status| match is_afar && is_broken(&status) {
                    true => cut_off(),
                    false => CommandError::from_status(&status),
                })?,
                pressed = tokio::signal::ctrl_c() => {
                    pressed.map_err(|error| {
                        CommandError::new(Exit::Unexpected, "Ctrl-C cannot be waited for").caused_by(&error)
                    })?;
                    return Ok(Exit::Ok);
                }
            };
            let Some(entry) = entry else {
                if is_afar {
                    return Err(cut_off());
                }
                return Err(CommandError::new(Exit::NoDaemon, "lockringd ended, and the watch with it")
                    .hint("start it with `lockring daemon start` and watch again"));
            };
            desk.look_at_width();
            if desk.out.look.json {
                desk.out.json(&entry)?;
            } else {
                job::print_entry(&mut desk.out, &entry, self.job == 0)?;
            }
            desk.out.flush()?;
        }
    }
}
