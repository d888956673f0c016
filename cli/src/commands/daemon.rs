//! `lockring daemon`: starting, ending and looking at the daemon.

use lockring_proto::v1::{ServingView, StatusRequest};
use lockring_proto::v1::shop_client::ShopClient;

use crate::client::start::{self, Started};
use crate::client::{Client, ORDINARY, timed};
use crate::command_error::{CommandError, Exit};
use crate::commands::status;
use crate::desk::Desk;

/// Start, end or look at the daemon of a data folder
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring daemon start\n  \
    lockring daemon status")]
pub(crate) struct Daemon {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Start lockringd, detached, and wait until it serves
    #[command(after_help = "Examples:\n  \
        lockring daemon start\n  \
        lockring --dir /srv/shop daemon start")]
    Start,
    /// End lockringd and wait until it has ended
    #[command(after_help = "Examples:\n  \
        lockring daemon stop\n  \
        lockring --dir /srv/shop daemon stop")]
    Stop,
    /// As `lockring status`; where none runs, it says so and the exit code tells
    #[command(after_help = "Examples:\n  \
        lockring daemon status\n  \
        lockring daemon status --json")]
    Status,
}

impl Daemon {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        desk.at_home()?;
        match self.what {
            What::Start => {
                desk.cannot_be_tried("the start of lockringd")?;
                begin(desk).await
            }
            What::Stop => {
                desk.cannot_be_tried("the end of lockringd")?;
                end(desk).await
            }
            What::Status => look(desk).await,
        }
    }
}

async fn begin(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let started = start::start(&desk.folder).await?;
    // A daemon of another version is running, but not one that this program can use.
    Client::connect(&desk.folder).await?;
    let how = match started {
        Started::Now => "is serving",
        Started::Before => "was serving already",
    };
    let folder = desk.folder.named().display().to_string();
    let text = format!("lockringd {how} {folder}");
    let changed = matches!(started, Started::Now);
    desk.out.told(&ServingView { data_folder: folder, serving: true, changed }, text)?;
    Ok(Exit::Ok)
}

async fn end(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let folder = desk.folder.named().display().to_string();
    let changed = start::stop(&desk.folder).await?;
    let text = if changed {
        format!("lockringd has ended; {folder} is at rest")
    } else {
        format!("no lockringd was serving {folder}")
    };
    desk.out.told(&ServingView { data_folder: folder, serving: false, changed }, text)?;
    Ok(Exit::Ok)
}

async fn look(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let client = match Client::connect_to_any_version(&desk.folder).await {
        Ok(client) => client,
        Err(error) if error.kind == Exit::NoDaemon => {
            if !desk.out.look.json {
                desk.out.line(error.message)?;
            }
            return Ok(Exit::NoDaemon);
        }
        Err(error) => return Err(error),
    };
    let answer = ShopClient::new(client.open_channel()).status(timed(ORDINARY, StatusRequest {})).await;
    let answer = answer.map_err(|status| CommandError::from_status(&status))?.into_inner();
    status::print(&mut desk.out, &answer)?;
    Ok(Exit::Ok)
}
