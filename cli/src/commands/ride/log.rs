//! `lockring ride JOB import|logs|log`: rides as the bicycle's computer wrote them.

use std::path::Path;

use lockring_proto::v1::ride_logs_client::RideLogsClient;
use lockring_proto::v1::{ImportRideLogRequest, ListRideLogsRequest, ShowRideLogRequest};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{FILE_MAY_CHANGE, change, read_file};
use crate::desk::Desk;
use crate::output::ride_log;

/// Largest file sent, bytes; the daemon's own limit says the same in words.
const LARGEST: u64 = 64 * 1024 * 1024;

/// Sends a ride's file to be kept with the job.
pub(super) async fn import(
    desk: &mut Desk<'_>,
    job: u32,
    file: &str,
    columns: String,
    meter: String,
) -> Result<Exit, CommandError> {
    desk.waits_not(FILE_MAY_CHANGE);
    let (name, content) = read_file(Path::new(file), LARGEST, "the log of one ride")?;
    let request = ImportRideLogRequest { origin: Some(desk.origin()?), job, file: name, content, columns, meter };
    let send = |channel, request| async move { RideLogsClient::new(channel).import_ride_log(request).await };
    change(desk, request, send).await
}

/// Lists the logs of a job.
pub(super) async fn list(desk: &mut Desk<'_>, job: u32) -> Result<Exit, CommandError> {
    let ask = |channel, request| async move { RideLogsClient::new(channel).list_ride_logs(request).await };
    let reply = desk.client().await?.call(ORDINARY, ListRideLogsRequest { job }, ask).await?;
    if desk.out.look.json {
        desk.out.json(&reply)?;
    } else {
        ride_log::print_list(&mut desk.out, &reply)?;
    }
    Ok(Exit::Ok)
}

/// Shows one log.
pub(super) async fn show(desk: &mut Desk<'_>, job: u32, number: &str, anew: bool) -> Result<Exit, CommandError> {
    let Ok(log) = number.parse() else {
        return Err(CommandError::new(
            Exit::BadInput,
            format!("`{number}` is no number of a log; expected one such as `lockring ride {job} log 1`"),
        ));
    };
    let ask = |channel, request| async move { RideLogsClient::new(channel).show_ride_log(request).await };
    let reply = desk.client().await?.call(ORDINARY, ShowRideLogRequest { job, log, anew }, ask).await?;
    if desk.out.look.json {
        desk.out.json(&reply)?;
    } else {
        ride_log::print(&mut desk.out, &reply)?;
    }
    Ok(Exit::Ok)
}

/// The complaint about a word that takes one more.
pub(super) fn misused(job: u32, word: &str) -> CommandError {
    let example = match word {
        "import" => format!("lockring ride {job} import sunday.fit"),
        _ => format!("lockring ride {job} log 1"),
    };
    CommandError::new(Exit::BadInput, format!("`{word}` takes one value; expected for example `{example}`"))
}
