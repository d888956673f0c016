//! `lockring take-in`: a job begins.

use std::io::stdin;
use std::path::PathBuf;

use lockring_proto::v1::{Assignment, JobReply, TakeInRequest, WordsRequest};

use crate::args::{self, Pair, assignments};
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{FILE_MAY_CHANGE, change, of_jobs, of_shop, read_sheet};
use crate::desk::Desk;
use crate::prompt::take_in::{Answers, ask};

/// Take a bicycle in: a job begins
///
/// The rider's name, then values of brief and donor as KEY=VALUE, in any number: what is not
/// known yet is stated later. A take-in sheet (TOML) may hold them instead. Without any
/// words, on a terminal, the questions are asked one by one.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring take-in \"Ines H.\" range=40km hill-grade=8% rider-mass=82\n  \
    lockring take-in \"Bo T.\" frame-material=steel --part motor=mid-48-250\n  \
    lockring take-in --file sheet.toml\n  \
    lockring take-in")]
pub(crate) struct TakeIn {
    /// The rider's name
    #[arg(value_parser = args::text)]
    rider: Option<String>,
    /// Codes of brief and donor and their values
    #[arg(value_name = "KEY=VALUE")]
    values: Vec<Pair>,
    /// Part for a slot, by id; may be given several times
    #[arg(long = "part", value_name = "SLOT=ID")]
    parts: Vec<Pair>,
    /// A take-in sheet, read before the values typed
    #[arg(long, value_name = "SHEET.toml", value_parser = args::path())]
    file: Option<PathBuf>,
}

impl TakeIn {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let example = "lockring take-in \"Ines H.\" range=40km";
        if self.file.is_some() {
            desk.waits_not(FILE_MAY_CHANGE);
        }
        let request = match self.rider {
            Some(rider) if rider.contains('=') => {
                return Err(CommandError::usage(format!("the rider's name comes before `{rider}`"), example));
            }
            None if self.file.is_none() && self.parts.is_empty() && desk.place.can_ask => {
                desk.waits_not("the answers are none of the line's words; type them as KEY=VALUE");
                let answers = questions(desk).await?;
                TakeInRequest { rider: answers.rider, values: answers.values, ..TakeInRequest::default() }
            }
            None if self.file.is_none() => {
                return Err(CommandError::usage("the rider's name is missing", example));
            }
            rider => TakeInRequest {
                origin: None,
                rider: rider.unwrap_or_default(),
                values: assignments(self.values),
                build: assignments(self.parts),
                sheet: self.file.as_deref().map(read_sheet).transpose()?,
            },
        };
        let request = TakeInRequest { origin: Some(desk.origin()?), ..request };
        change(desk, request, of_jobs!(take_in)).await
    }
}

/// Asks the questions at the terminal; the daemon tries each answer at once.
async fn questions(desk: &mut Desk<'_>) -> Result<Answers, CommandError> {
    let client = desk.client().await?;
    let words = client.call(ORDINARY, WordsRequest {}, of_shop!(words)).await?;
    let trial = desk.trial()?;
    let attempt = async |rider: &str, value: Assignment| -> Result<(), CommandError> {
        let request = TakeInRequest {
            origin: Some(lockring_proto::v1::Origin { request_id: uuid::Uuid::new_v4().to_string(), ..trial.clone() }),
            rider: rider.to_owned(),
            values: vec![value],
            ..TakeInRequest::default()
        };
        let _: JobReply = client.call(ORDINARY, request, of_jobs!(take_in)).await?;
        Ok(())
    };
    ask(&mut stdin().lock(), &mut desk.out, &words, attempt).await
}
