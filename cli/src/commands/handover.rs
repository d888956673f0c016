//! `lockring handover`: the last gate.

use lockring_proto::v1::{AdvanceRequest, Origin, ShowJobRequest};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{first_what_waits, of_jobs, reach};
use crate::desk::Desk;
use crate::output::reply;

/// The stage whose gate this is.
const STAGE: &str = "handover";

/// The stage after it.
const OVER: &str = "handed-over";

/// Hand the finished bicycle over: pass the last gate, and no other
///
/// Refused while the job stands before another gate, so that nothing is passed by mistake; else as
/// `advance`: what is missing is listed with the command that supplies it, and what may never be
/// conceded keeps the bicycle here. `lockring print handover JOB` makes the papers to be signed.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring handover 21\n  \
    lockring handover 21 --dry-run")]
pub(crate) struct Handover {
    /// Number of the job
    job: u32,
}

impl Handover {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let Self { job } = self;
        desk.waits_not("the last gate is decided while the bicycle stands here");
        first_what_waits(desk).await?;
        let view = desk.client().await?.call(ORDINARY, ShowJobRequest { job, at_us: None }, of_jobs!(show)).await?;
        let stage = view.line.map(|line| line.stage).unwrap_or_default();
        if stage != STAGE {
            return Err(if stage == OVER {
                CommandError::new(Exit::Refused, format!("job {job} was handed over already"))
                    .hint(format!("`lockring print handover {job}` prints its papers"))
            } else {
                let refusal = CommandError::new(Exit::Refused, format!("job {job} is at {stage}, not at {STAGE}"));
                match stage.as_str() {
                    "returned" | "cancelled" => refusal.hint(format!("it is over; its history: `lockring history {job}`")),
                    _ => refusal.hint(format!("`lockring advance {job}` tries the gate it stands before")),
                }
            });
        }
        let origin = desk.origin()?;
        // Nothing comes between the look and the gate.
        let expected_revision = origin.expected_revision.or(Some(view.revision));
        let request = AdvanceRequest { origin: Some(Origin { expected_revision, ..origin }), job, not_the_last: false };
        let answer = reach(desk, request, of_jobs!(advance)).await?;
        if desk.out.look.json {
            desk.out.json(&answer)?;
        } else {
            reply::print_advance(&mut desk.out, &answer, desk.global.dry_run)?;
            if answer.passed {
                let papers = format!("lockring print handover {job}");
                desk.out.words_and_command("", "papers for the rider", &papers)?;
            }
        }
        Ok(if answer.passed { Exit::Ok } else { Exit::GateClosed })
    }
}
