//! How far long work is, on a terminal's error stream; nothing where nobody looks.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use lockring_proto::v1::{PredictReply, PredictUpdate, RangeReply, RangeUpdate};
use tonic::{Status, Streaming};

use crate::client::{ORDINARY, within};
use crate::command_error::{CommandError, Exit};

/// An update of long work: how much is done of how much, or the answer.
pub(crate) trait Update {
    /// What the work answers in the end.
    type Reply;

    /// Done, of, and the answer with the last update.
    fn parts(self) -> (u32, u32, Option<Self::Reply>);
}

impl Update for PredictUpdate {
    type Reply = PredictReply;

    fn parts(self) -> (u32, u32, Option<PredictReply>) {
        (self.done, self.draws, self.reply)
    }
}

impl Update for RangeUpdate {
    type Reply = RangeReply;

    fn parts(self) -> (u32, u32, Option<RangeReply>) {
        (self.done, self.draws, self.reply)
    }
}

/// Follows long work to its answer, with a bar where one is to be drawn; Ctrl-C goes away, and the daemon breaks the work off.
///
/// # Errors
/// What the daemon answered; [`Exit::NoDaemon`] when it ended on the way; [`Exit::Interrupted`].
pub(crate) async fn follow<U: Update>(
    begun: impl Future<Output = Result<tonic::Response<Streaming<U>>, Status>>,
    drawn: bool,
) -> Result<U::Reply, CommandError> {
    let refused = |status: Status| CommandError::from_status(&status);
    let mut updates = within(ORDINARY, Box::pin(begun)).await.map_err(refused)?;
    let target = if drawn {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(Some(0), target);
    bar.set_style(
        ProgressStyle::with_template("{pos} of {len} draws [{bar:30}] {eta} left, Ctrl-C breaks off")
            .expect("the template is checked by a test")
            .progress_chars("=> "),
    );
    let answer = loop {
        let update = tokio::select! {
            update = updates.message() => update.map_err(refused),
            pressed = tokio::signal::ctrl_c() => Err(broken_off(pressed)),
        };
        match update.map(|update| update.map(U::parts)) {
            Ok(Some((_, _, Some(reply)))) => break Ok(reply),
            Ok(Some((done, of, None))) => {
                bar.set_length(u64::from(of));
                bar.set_position(u64::from(done));
            }
            Ok(None) => {
                break Err(
                    CommandError::new(Exit::NoDaemon, "lockringd ended before it had answered")
                        .hint("start it with `lockring daemon start` and ask again"),
                );
            }
            Err(error) => break Err(error),
        }
    };
    bar.finish_and_clear();
    answer
}

fn broken_off(pressed: std::io::Result<()>) -> CommandError {
    match pressed {
        Ok(()) => CommandError::new(Exit::Interrupted, "broken off; nothing was stored"),
        Err(error) => CommandError::new(Exit::Unexpected, "Ctrl-C cannot be waited for").caused_by(&error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_update_is_progress_until_it_carries_the_answer() {
        let update = PredictUpdate {
            done: 25,
            draws: 500,
            reply: None,
        };
        assert_eq!(update.parts(), (25, 500, None));
        let last = PredictUpdate {
            done: 500,
            draws: 500,
            reply: Some(PredictReply::default()),
        };
        assert_eq!(last.parts(), (500, 500, Some(PredictReply::default())));
    }
}
