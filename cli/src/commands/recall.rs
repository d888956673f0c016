//! `lockring recall`: call sheets.

use lockring_proto::v1::{CallRecallRequest, ListRecallsRequest, OpenRecallRequest, ShowRecallRequest};

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::lot::Which;
use crate::commands::{joined, of_supply, supplied};
use crate::desk::Desk;
use crate::output::pieces;

/// Recalls: whom to call about which pieces, and how far each rider is
///
/// Without a word, all recalls.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring recall\n  \
    lockring recall show 1")]
pub(crate) struct Recall {
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Open a recall; what it looks for is asked anew each time the sheet is shown
    #[command(after_help = "Examples:\n  \
        lockring recall open \"packs\" PK-2511-C --why \"maker's notice\"\n  \
        lockring recall open \"controllers\" \"A4*\" --from N --why \"fire\"")]
    Open {
        /// What it is called
        #[arg(value_parser = args::text)]
        name: String,
        #[command(flatten)]
        which: Which,
        /// Why, with the notice it rests on
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// The call sheet: those least far first
    #[command(after_help = "Examples:\n  \
        lockring recall show 1\n  \
        lockring recall show 1 --all")]
    Show {
        /// Number of the recall
        recall: u32,
        /// All riders, however many
        #[arg(long)]
        all: bool,
    },
    /// Note how far a rider is: to-call, tried, reached, inspected or done
    #[command(after_help = "Examples:\n  \
        lockring recall call 1 20 tried no answer, letter sent\n  \
        lockring recall call 1 20 reached stopped using it, comes on Monday")]
    Call {
        /// Number of the recall
        recall: u32,
        /// Number of the job
        job: u32,
        /// State
        #[arg(value_parser = args::text)]
        state: String,
        /// In words
        #[arg(value_name = "WORDS", value_parser = args::text)]
        note: Vec<String>,
    },
}

impl Recall {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        match self.what {
            None => {
                let request = ListRecallsRequest {};
                let answer = desk.client().await?.call(ORDINARY, request, of_supply!(list_recalls)).await?;
                if desk.out.look.json {
                    answer.recalls.iter().try_for_each(|recall| desk.out.json(recall))?;
                } else {
                    pieces::print_recalls(&mut desk.out, &answer.recalls)?;
                }
                Ok(Exit::Ok)
            }
            Some(What::Open { name, which, why }) => {
                let request =
                    OpenRecallRequest { origin: Some(desk.origin()?), name, why, find: Some(which.request()) };
                supplied(desk, request, of_supply!(open_recall)).await
            }
            Some(What::Show { recall, all }) => {
                let request = ShowRecallRequest { recall };
                let answer = desk.client().await?.call(ORDINARY, request, of_supply!(show_recall)).await?;
                if desk.out.look.json {
                    desk.out.json(&answer)?;
                } else {
                    pieces::print_sheet(&mut desk.out, &answer, all)?;
                }
                Ok(Exit::Ok)
            }
            Some(What::Call { recall, job, state, note }) => {
                let note = joined(&note);
                let request = CallRecallRequest { origin: Some(desk.origin()?), recall, job, state, note };
                supplied(desk, request, of_supply!(call_recall)).await
            }
        }
    }
}
