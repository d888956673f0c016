//! `lockring propose`: complete builds from the catalogue, and one of them taken.

use lockring_proto::v1::{BuildRequest, ProposeReply, ProposeRequest};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;
use crate::output::propose;

/// Propose complete builds from the catalogue that fit and meet the brief
///
/// Motor, controller, pack, charger, display, gears and sensors, with rotors where the bicycle
/// needs them. What does not fit is left out; of the rest only builds are shown that no other
/// beats on price, mass, range, hill and days together. Brakes, tyres and lights that the build
/// has stay. Nothing is stored; `--pick` makes one of them the build.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring propose 21\n  \
    lockring propose 21 --pick 2")]
pub(crate) struct Propose {
    /// Number of the job
    job: u32,
    /// Make the proposal with this number the build
    #[arg(long, value_name = "NUMBER")]
    pick: Option<usize>,
}

impl Propose {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        if self.pick.is_some() {
            desk.waits_not("the number means a proposal that was shown, and later ones are others");
        }
        let request = ProposeRequest { job: self.job };
        let reply = desk.client().await?.call(ORDINARY, request, of_jobs!(propose)).await?;
        if let Some(number) = self.pick {
            return pick(desk, reply, number).await;
        }
        if desk.out.look.json {
            desk.out.json(&reply)?;
        } else {
            propose::print(&mut desk.out, &reply)?;
        }
        Ok(Exit::Ok)
    }
}

/// Makes a proposal the build, unless the job has changed since it was made.
async fn pick(desk: &mut Desk<'_>, mut reply: ProposeReply, number: usize) -> Result<Exit, CommandError> {
    let count = reply.proposals.len();
    let Some(index) = number.checked_sub(1).filter(|index| *index < count) else {
        let message = format!("there is no proposal {number} for job {}: there are {count}", reply.job);
        let hint = format!("`lockring propose {}` shows them with their numbers", reply.job);
        return Err(CommandError::new(Exit::BadInput, message).hint(hint));
    };
    let mut origin = desk.origin()?;
    origin.expected_revision = origin.expected_revision.or(Some(reply.revision));
    let parts = reply.proposals.swap_remove(index).parts;
    let request = BuildRequest {
        origin: Some(origin),
        job: reply.job,
        parts,
    };
    change(desk, request, of_jobs!(build)).await
}
