//! `lockring send`: commands that waited for the daemon.

use lockring_proto::v1::SentView;

use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use crate::output::{Out, times};
use crate::queue::{self, Queue, Waiting};

/// Send the commands that were kept with --queue
///
/// In the order they were made, each once, under the time it was made. The next change sends
/// them too. One that the daemon refuses is set aside with the reason until it is forgotten.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring send\n  \
    lockring send --list\n  \
    lockring send --forget 3")]
pub(crate) struct Send {
    /// Only show what waits and what was refused
    #[arg(long, conflicts_with = "forget")]
    list: bool,
    /// Take this command out without sending it
    #[arg(long, value_name = "NUMBER")]
    forget: Option<u64>,
}

impl Send {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let queue = Queue::of(&desk.folder)?;
        if let Some(number) = self.forget {
            let line = queue.kept()?.into_iter().find(|waiting| waiting.number == number);
            queue.remove(number)?;
            let said = line.map(|waiting| waiting.shown(&desk.out)).unwrap_or_default();
            if !desk.out.look.json {
                desk.out.wrapped("forgotten: ", "    ", &said)?;
            }
            return Ok(Exit::Ok);
        }
        if self.list {
            let kept = queue.kept()?;
            if desk.out.look.json {
                kept.iter().try_for_each(|waiting| desk.out.json(waiting))?;
            } else if kept.is_empty() {
                desk.out.line("nothing waits")?;
            } else {
                print(&mut desk.out, &kept)?;
            }
            return Ok(Exit::Ok);
        }
        let place = desk.place.clone();
        let sent = queue::send(&queue, &place, &mut desk.out).await?;
        if desk.out.look.json {
            desk.out.json(&SentView { sent: sent.done as u64, refused: sent.refused as u64 })?;
        } else {
            let done = times::count_of(sent.done as u64, "command", "commands");
            let refused = if sent.refused > 0 {
                format!(", {} refused and set aside: `lockring send --list`", sent.refused)
            } else {
                String::new()
            };
            desk.out.line(format_args!("{done} sent{refused}"))?;
        }
        Ok(if sent.refused > 0 { Exit::Refused } else { Exit::Ok })
    }
}

/// Prints what is kept.
pub(super) fn print(out: &mut Out<'_>, kept: &[Waiting]) -> Result<(), CommandError> {
    let (refused, waiting): (Vec<_>, Vec<_>) = kept.iter().partition(|one| one.refused.is_some());
    for (heading, group) in [("Waiting to be sent", waiting), ("Refused", refused)] {
        if !group.is_empty() {
            out.heading(heading)?;
        }
        for one in group {
            let shown = one.shown(out);
            out.wrapped("  ", "      ", &shown)?;
        }
    }
    Ok(())
}
