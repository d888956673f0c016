//! `lockring send`: commands that waited for the daemon.

use std::path::Path;

use lockring_proto::v1::SentView;

use crate::command_error::{CommandError, Exit};
use crate::desk::{Desk, Place};
use crate::line;
use crate::output::{Out, times};
use crate::queue::{Queue, Waiting};

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
        if !self.list {
            desk.cannot_be_tried("sending or forgetting what waits")?;
        }
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
        if queue.any_waits()? {
            desk.hear_the_clock().await;
        }
        let place = desk.place.clone();
        let sent = what_waits(&queue, &place, &mut desk.out).await?;
        if desk.out.look.json {
            desk.out.json(&SentView { sent: sent.done as u64, refused: sent.refused as u64 })?;
        } else {
            let done = times::count_of(sent.done as u64, "command", "commands");
            let refused = if sent.refused > 0 {
                format!(", {} refused and set aside: `lockring send --list`", sent.refused)
            } else {
                String::new()
            };
            let waits = if sent.held > 0 {
                format!(", {}", times::count_of(sent.held as u64, "waits still", "wait still"))
            } else {
                String::new()
            };
            desk.out.line(format_args!("{done} sent{refused}{waits}"))?;
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
            let shown = one.listed(out);
            out.wrapped("  ", "      ", &shown)?;
        }
    }
    Ok(())
}

/// What sending brought.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Sent {
    /// Answered by the daemon.
    pub(super) done: usize,
    /// Refused, and set aside.
    pub(super) refused: usize,
    /// Kept, because the file of its pair is not there or opens nothing any more.
    pub(super) held: usize,
}

/// Sends what waits, in order; stops at the first that does not reach the daemon.
///
/// # Errors
/// Why the daemon was not reached; what went before it is done and out of the queue.
pub(super) async fn what_waits(
    queue: &Queue,
    place: &Place,
    out: &mut Out<'_>,
) -> Result<Sent, CommandError> {
    let mut sent = Sent::default();
    if !queue.any_waits()? {
        return Ok(sent);
    }
    let Some(_turn) = queue.turn()? else {
        return Ok(sent);
    };
    // Whoever typed it may be gone, and its questions would be asked where nobody sees them.
    let place = Place {
        can_ask: false,
        from_queue: true,
        ..place.clone()
    };
    for waiting in queue
        .kept()?
        .into_iter()
        .filter(|waiting| waiting.refused.is_none())
    {
        let is_away = waiting.via.as_ref().is_some_and(|file| !Path::new(file).exists());
        let present = queue.by_present_pair(&waiting);
        if is_away && present.is_none() {
            // The pair may be on a stick; what others typed does not wait for it.
            sent.held += 1;
            if !out.look.json {
                let said = format!("{}, which is not there; if it stays away", waiting.listed(out));
                let forget = format!("lockring send --forget {}", waiting.number);
                out.words_and_command("waits for its pair: ", &said, &forget)?;
            }
            continue;
        }
        let mut answer = Vec::new();
        let first = present.as_ref().filter(|_| is_away).unwrap_or(&waiting);
        let mut done = line::perform(&place, &mut answer, queue.words_of(first)).await;
        // The owner made the bench another pair meanwhile: its file may have another name.
        if done.as_ref().is_err_and(|error| error.pair_is_over)
            && let Some(now) = present.as_ref().filter(|_| !is_away)
        {
            answer.clear();
            done = line::perform(&place, &mut answer, queue.words_of(now)).await;
        }
        let said = waiting.shown(out);
        match done {
            Ok(_) => {
                queue.remove(waiting.number)?;
                sent.done += 1;
                if !out.look.json {
                    out.wrapped("sent: ", "    ", &said)?;
                    out.passed(&answer)?;
                }
            }
            Err(error) if was_decided(&error) => {
                queue.set_aside(waiting, &error.message)?;
                sent.refused += 1;
                if !out.look.json {
                    out.wrapped("refused: ", "    ", &said)?;
                    out.raw(&error.text(out.look.colour))?;
                }
            }
            Err(error) if error.pair_is_over && !queue.is_by_present_pair(&waiting) => {
                // Somebody else's pair is used now; what they typed does not wait for this one.
                sent.held += 1;
                if !out.look.json {
                    let said = format!("{}: {}; if none comes", waiting.listed(out), error.message);
                    let forget = format!("lockring send --forget {}", waiting.number);
                    let lead = format!("waits for another pair of {}: ", waiting.by);
                    out.words_and_command(&lead, &said, &forget)?;
                }
            }
            Err(error) => {
                let left = queue
                    .kept()?
                    .iter()
                    .filter(|waiting| waiting.refused.is_none())
                    .count();
                let wait = times::count_of(left as u64, "command waits", "commands wait");
                return Err(error.hint(format!(
                    "{wait}; `lockring send` sends, `lockring send --list` shows"
                )));
            }
        }
    }
    Ok(sent)
}

/// Whether the daemon, or the line itself, has said no for good: another sending would get the same
/// answer and keep up everything behind it.
fn was_decided(error: &CommandError) -> bool {
    error.is_final
        || matches!(
            error.kind,
            Exit::Usage
                | Exit::BadInput
                | Exit::OutsideWindow
                | Exit::UnknownWord
                | Exit::NotFound
                | Exit::GateClosed
                | Exit::Refused
                | Exit::Conflict
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_would_be_refused_each_time_keeps_nothing_up() {
        let decided = |kind, is_final| {
            let mut error = CommandError::new(kind, "no");
            error.is_final = is_final;
            was_decided(&error)
        };
        assert!(decided(Exit::OutsideWindow, false));
        assert!(decided(Exit::Permission, true));
        // A full disk, a new certificate and a daemon that comes back let it through.
        for kind in [Exit::Storage, Exit::Permission, Exit::NoDaemon] {
            assert!(!decided(kind, false), "{kind:?}");
        }
    }
}
