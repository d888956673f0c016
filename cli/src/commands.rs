//! The commands: one file each, whose doc comment is the help.
//!
//! A command is one line in the table below and one file: a struct that clap reads, with an
//! `async fn run`, a doc comment and two examples in `after_help`. The tests hold it to that.

use std::future::Future;
use std::path::Path;

use lockring_proto::v1::{JobReply, SheetFile};
use tonic::transport::Channel;
use tonic::{Request, Response, Status};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use crate::output::reply;

/// Makes modules, the enum that clap reads, its dispatch, and the groups of the help.
macro_rules! commands {
    ($($heading:literal: $($variant:ident $module:ident),+;)+) => {
        $($(mod $module;)+)+

        /// Every command.
        #[derive(Debug, clap::Subcommand)]
        pub(crate) enum Command {
            $($(#[allow(missing_docs, reason = "described in its own file")] $variant($module::$variant),)+)+
        }

        impl Command {
            /// Does what the command says.
            ///
            /// # Errors
            /// [`CommandError`] with exit code, message, causes and hints.
            pub(crate) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
                match self {
                    $($(Self::$variant(command) => command.run(desk).await,)+)+
                }
            }
        }

        /// Commands by use, in the order of the help; `_` stands for `-`.
        pub(crate) const GROUPS: &[(&str, &[&str])] = &[$(($heading, &[$(stringify!($module)),+])),+];
    };
}

commands! {
    "Taking in": TakeIn take_in, Brief brief, Donor donor, Build build;
    "Parts": Order order, Receive receive, Catalogue catalogue;
    "At the bench": Measure measure, Torque torque, Ride ride, Note note, Undo undo;
    "Before buying": Fit fit, Chainline chainline, Hill hill, Predict predict, Range range, Regear regear,
        Propose propose;
    "Gates": Check check, Explain explain, Advance advance, Concede concede, Back back;
    "What keeps a job": Block block, Clear clear, Hold hold, Release release, Close close;
    "Looking": Jobs jobs, Show show, Print print, History history, Watch watch, Report report, Words words;
    "The shop": Status status, Verify verify, Backup backup, Daemon daemon, Demo demo, Help help;
}

/// A call of the service of jobs, for [`change`] and the client.
macro_rules! of_jobs {
    ($method:ident) => {
        |channel, request| async move {
            lockring_proto::v1::jobs_client::JobsClient::new(channel)
                .$method(request)
                .await
        }
    };
}
use of_jobs;

/// A call of the service of the shop.
macro_rules! of_shop {
    ($method:ident) => {
        |channel, request| async move {
            lockring_proto::v1::shop_client::ShopClient::new(channel)
                .$method(request)
                .await
        }
    };
}
use of_shop;

/// Sends a change to a job and prints the answer.
async fn change<R, F, S>(desk: &mut Desk<'_>, request: R, send: S) -> Result<Exit, CommandError>
where
    R: Clone,
    F: Future<Output = Result<Response<JobReply>, Status>>,
    S: Fn(Channel, Request<R>) -> F,
{
    let answer = desk.client().await?.call(ORDINARY, request, send).await?;
    if desk.out.look.json {
        desk.out.json(&answer)?;
    } else {
        reply::print(&mut desk.out, &answer, desk.global.dry_run)?;
    }
    Ok(Exit::Ok)
}

/// Words that need no quotes: joined by one blank.
fn joined(words: &[String]) -> String {
    words.join(" ")
}

/// Reads a file of text for the daemon to read.
///
/// # Errors
/// [`Exit::BadInput`] when it cannot be read or is no UTF-8 text.
fn read_sheet(path: &Path) -> Result<SheetFile, CommandError> {
    let content = std::fs::read_to_string(path).map_err(|error| {
        CommandError::new(
            Exit::BadInput,
            format!("{} cannot be read as text", path.display()),
        )
        .caused_by(&error)
    })?;
    Ok(SheetFile {
        name: path.display().to_string(),
        content,
    })
}
