//! `lockring status`: the daemon and its data file.

use lockring_proto::v1::{StatusReply, StatusRequest};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{of_shop, send};
use crate::desk::Desk;
use crate::output::{Out, times};
use crate::queue::Queue;

/// Show the daemon, its data folder and socket, what it keeps, and what waits to be sent
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring status\n  \
    lockring status --json")]
pub(crate) struct Status {}

impl Status {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let kept = Queue::of(&desk.folder).and_then(|queue| queue.kept());
        let asked = async { desk.client().await?.call(ORDINARY, StatusRequest {}, of_shop!(status)).await };
        let answer = asked.await;
        if let Ok(status) = &answer {
            print(&mut desk.out, status)?;
        }
        // What waits is told even when nobody serves: then most of all.
        match kept {
            Ok(_) if desk.out.look.json => {}
            Ok(kept) => send::print(&mut desk.out, &kept)?,
            // Why nobody serves comes first.
            Err(error) if answer.is_ok() => return Err(error),
            Err(error) => desk.out.wrapped("! ", "  ", &error.message)?,
        }
        answer.map(|_| Exit::Ok)
    }
}

/// Prints the status, as text or JSON.
pub(super) fn print(out: &mut Out<'_>, status: &StatusReply) -> Result<(), CommandError> {
    if out.look.json {
        return out.json(status);
    }
    let zone = out.look.zone.clone();
    let started = times::moment(status.started_us, &zone);
    let backup = status.last_backup_us.map_or_else(|| "never".to_owned(), |us| times::moment(us, &zone));
    let version = format!("{} (protocol {}, schema {})", status.program_version, status.protocol, status.schema);
    let jobs = format!("{} under way, {} over", status.jobs_open, status.jobs_over);
    for (label, text) in [
        ("lockringd", format!("{version}, process {}", status.pid)),
        ("serving since", started),
        ("data folder", status.data_folder.clone()),
        ("socket", status.socket.clone()),
        ("jobs", jobs),
        ("entries", status.entries.to_string()),
        ("parts in the catalogue", status.parts.to_string()),
        ("last backup", backup),
    ] {
        out.labelled(label, &text)?;
    }
    for trouble in &status.troubles {
        out.wrapped("! ", "  ", trouble)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::text;

    #[test]
    fn the_status_names_folder_socket_and_last_backup() {
        let status = StatusReply {
            program_version: "0.1.0".to_owned(),
            protocol: 1,
            schema: 3,
            data_folder: "/home/shop/data".to_owned(),
            socket: "/home/shop/data/run/lockringd.sock".to_owned(),
            pid: 77,
            entries: 412,
            jobs_open: 7,
            jobs_over: 30,
            ..StatusReply::default()
        };
        let shown = text(80, |out| print(out, &status));
        assert!(shown.contains("data folder: /home/shop/data\nsocket: /home/shop/data/run/lockringd.sock\n"), "{shown}");
        assert!(shown.contains("jobs: 7 under way, 30 over\nentries: 412\n"), "{shown}");
        assert!(shown.ends_with("last backup: never\n"), "{shown}");
    }
}
