//! The commands: one file each, whose doc comment is the help.
//!
//! A command is one line in the table below and one file: a struct that clap reads, with an
//! `async fn run`, a doc comment and two examples in `after_help`. The tests hold it to that.
//!
//! Some go back to `line`, which reads and runs them all: help and the set-up of a shell ask it for the
//! grammar, the prompt, the demonstration and filling in have it perform lines, and every change lets what
//! waits go first (`send.rs`). Nothing else here does.

use std::future::Future;
use std::io::Read as _;
use std::path::Path;

use lockring_proto::v1::{JobReply, SheetFile, ShopReply, SupplyReply};
use tonic::transport::Channel;
use tonic::{Request, Response, Status};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::desk::{Desk, Waits};
use crate::output::{reply, settings as shop_output};
use crate::queue::Queue;

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

        /// A command by its name; `None` when there is none of it.
        pub(crate) fn alone(name: &str) -> Option<Alone> {
            $($(if is_typed(stringify!($module), name) {
                return Some(Alone {
                    grammar: <$module::$variant as clap::Args>::augment_args,
                    read: |matches| {
                        <$module::$variant as clap::FromArgMatches>::from_arg_matches(matches).map(Command::$variant)
                    },
                });
            })+)+
            None
        }

        /// Commands by use, in the order of the help; `_` stands for `-`, and `r#` for
        /// nothing.
        pub(crate) const GROUPS: &[(&str, &[&str])] = &[$(($heading, &[$(stringify!($module)),+])),+];
    };
}

commands! {
    "Taking in": TakeIn take_in, Brief brief, Donor donor, Build build;
    "Parts": Order order, Receive receive, Return r#return, Suppliers suppliers, Shelf shelf, Lot lot, Where r#where,
        Recall recall, Catalogue catalogue;
    "At the bench": Measure measure, Torque torque, Ride ride, Note note, Photo photo, Undo undo,
        Fill fill, Prompt prompt;
    "Before buying": Fit fit, Chainline chainline, Hill hill, Predict predict, Range range, Regear regear,
        Propose propose;
    "Gates": Check check, Explain explain, Advance advance, Concede concede, Back back, Handover handover;
    "What keeps a job": Block block, Chase chase, Clear clear, Hold hold, Release release, Close close;
    "Promises": Promise promise, Told told, Promises promises;
    "Money and hours": Quote quote, Pay pay, Invoice invoice, Money money, Clock clock;
    "After handover": Visit visit, Claim claim, Swap swap, Rider rider;
    "Looking": Jobs jobs, Show show, Print print, Picture picture, History history, Watch watch, Report report, Words words;
    "The shop": Settings settings, People people, Pair pair, Iam iam, Status status, Send send, Verify verify,
        Backup backup, Restore restore, Export export, Import import, Daemon daemon, Doctor doctor,
        SetupShell setup_shell, Demo demo, Help help;
}

/// One command without the others.
pub(crate) struct Alone {
    /// What it adds to the grammar of a line without its name.
    pub(crate) grammar: fn(clap::Command) -> clap::Command,
    /// Reads it from what that grammar found.
    pub(crate) read: fn(&clap::ArgMatches) -> Result<Command, clap::Error>,
}

/// Whether this is how the command of a module is typed, as [`typed`] has it.
fn is_typed(module: &str, name: &str) -> bool {
    let module = module.trim_start_matches("r#");
    let is_same = |(ours, theirs)| ours == theirs || (ours, theirs) == (b'_', b'-');
    module.len() == name.len() && !name.contains('_') && module.bytes().zip(name.bytes()).all(is_same)
}

/// The name of a command as it is typed.
pub(crate) fn typed(module: &str) -> String {
    module.trim_start_matches("r#").replace('_', "-")
}

/// Seed of draws when nobody says another: the same question gets the same answer everywhere.
pub(crate) const SEED: u64 = 1;

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

/// A call of the service of the owner's desk; needs `DeskClient` in scope.
macro_rules! of_desk {
    ($method:ident) => {
        |channel, request| async move { DeskClient::new(channel).$method(request).await }
    };
}
use of_desk;

/// Sends a change of the shop and prints the answer.
async fn change_shop<R, F, S>(desk: &mut Desk<'_>, request: R, send: S) -> Result<Exit, CommandError>
where
    R: Clone,
    F: Future<Output = Result<Response<ShopReply>, Status>>,
    S: Fn(Channel, Request<R>) -> F,
{
    let answer = reach(desk, request, send).await?;
    if desk.out.look.json {
        desk.out.json(&answer)?;
    } else {
        shop_output::print_reply(&mut desk.out, &answer, desk.global.dry_run)?;
    }
    Ok(Exit::Ok)
}
/// A call of the service of what the shop buys and keeps.
macro_rules! of_supply {
    ($method:ident) => {
        |channel, request| async move {
            lockring_proto::v1::supply_client::SupplyClient::new(channel)
                .$method(request)
                .await
        }
    };
}
use of_supply;

/// Sends a change to a job and prints the answer.
async fn change<R, F, S>(desk: &mut Desk<'_>, request: R, send: S) -> Result<Exit, CommandError>
where
    R: Clone,
    F: Future<Output = Result<Response<JobReply>, Status>>,
    S: Fn(Channel, Request<R>) -> F,
{
    let answer = reach(desk, request, send).await?;
    if desk.out.look.json {
        desk.out.json(&answer)?;
    } else {
        reply::print(&mut desk.out, &answer, desk.global.dry_run)?;
    }
    Ok(Exit::Ok)
}

/// Lets what waits go first, then asks for a change. One that reaches nobody may wait itself, unless
/// the command says why not.
async fn reach<R, A, F, S>(desk: &mut Desk<'_>, request: R, send: S) -> Result<A, CommandError>
where
    R: Clone,
    F: Future<Output = Result<Response<A>, Status>>,
    S: Fn(Channel, Request<R>) -> F,
{
    if desk.waits == Waits::ForNothing {
        desk.waits = Waits::Kept;
    }
    first_what_waits(desk).await?;
    desk.client().await?.call(ORDINARY, request, send).await
}

/// Lets what waits go first, but for a dry run. A line that waited itself names its request id.
///
/// # Errors
/// As [`send::what_waits`]; [`Exit::Refused`] for a line that waited and is none that may: another version
/// kept it.
async fn first_what_waits(desk: &mut Desk<'_>) -> Result<(), CommandError> {
    if desk.place.from_queue
        && let Waits::Not(why) = desk.waits
    {
        return Err(CommandError::new(Exit::Refused, format!("not sent: {why}")));
    }
    if desk.global.request_id.is_none() && !desk.global.dry_run {
        let queue = Queue::of(&desk.folder)?;
        if queue.any_waits()? {
            desk.hear_the_clock().await;
        }
        send::what_waits(&queue, &desk.place.clone(), &mut desk.out).await?;
    }
    Ok(())
}

/// Sends a change to what the shop buys and keeps, and prints the answer.
async fn supplied<R, F, S>(desk: &mut Desk<'_>, request: R, send: S) -> Result<Exit, CommandError>
where
    R: Clone,
    F: Future<Output = Result<Response<SupplyReply>, Status>>,
    S: Fn(Channel, Request<R>) -> F,
{
    let answer = reach(desk, request, send).await?;
    if desk.out.look.json {
        desk.out.json(&answer)?;
    } else {
        reply::print_said(&mut desk.out, &answer.said, desk.global.dry_run, answer.repeated)?;
    }
    Ok(Exit::Ok)
}

/// Why a line that names a file does not wait for a daemon.
const FILE_MAY_CHANGE: &str = "the file may be another one, or gone, when the line is sent";

/// Why an undo that names no entry does not wait for a daemon.
const LATER_IS_LAST: &str =
    "what was entered last may be something else by then; --entry NUMBER names what is meant";

/// Words that need no quotes: joined by one blank.
fn joined(words: &[String]) -> String {
    words.join(" ")
}

/// Reads a file of so many bytes at most, and no further, whatever its size is said to be.
///
/// # Errors
/// [`Exit::BadInput`] when it is larger or cannot be read.
fn read_file(path: &Path, most: u64, expected: &str) -> Result<(String, Vec<u8>), CommandError> {
    let mut content = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(most + 1).read_to_end(&mut content))
        .map_err(|error| {
            CommandError::new(Exit::BadInput, format!("{} cannot be read", path.display())).caused_by(&error)
        })?;
    if content.len() as u64 > most {
        return Err(CommandError::new(
            Exit::BadInput,
            format!("{}: more than {most} bytes; expected {expected}", path.display()),
        ));
    }
    let name = path
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    Ok((name, content))
}

/// Largest sheet sent, bytes: the daemon takes no larger message.
const LARGEST_SHEET: u64 = 4 * 1024 * 1024;

/// Reads a file of text for the daemon to read.
///
/// # Errors
/// [`Exit::BadInput`] when it is larger than a sheet may be, cannot be read, or is no UTF-8 text.
fn read_sheet(path: &Path) -> Result<SheetFile, CommandError> {
    let (_, content) = read_file(path, LARGEST_SHEET, "a take-in sheet or a catalogue")?;
    let content = String::from_utf8(content).map_err(|error| {
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
