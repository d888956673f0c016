//! `lockring iam`: who types at this terminal, said once.

use lockring_proto::v1::{PeopleRequest, TypingView};
use lockring_proto::v1::desk_client::DeskClient;

use crate::args;
use crate::client::{ORDINARY, iam};
use crate::command_error::{CommandError, Exit};
use crate::commands::of_desk;
use crate::desk::Desk;

/// Say who types at this terminal
///
/// Kept beside the shop's data for this terminal until its window is closed or somebody else says
/// so; for one that --terminal or LOCKRING_TERMINAL names, until somebody else says so. --by and
/// LOCKRING_BY stand before it. Without initials it tells whose terminal it is.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring iam K\n  \
    lockring iam\n  \
    lockring iam --nobody")]
pub(crate) struct Iam {
    /// Your initials
    #[arg(value_parser = args::text)]
    initials: Option<String>,
    /// Forget who it was
    #[arg(long, conflicts_with = "initials")]
    nobody: bool,
}

impl Iam {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        if self.nobody {
            let terminal = desk.terminal();
            let forgot = iam::forget(&desk.folder, &terminal)?;
            let told = if forgot { "forgotten" } else { "nobody had said so" };
            desk.out.told(&TypingView { by: String::new(), terminal }, told)?;
            return Ok(Exit::Ok);
        }
        let Some(initials) = self.initials else {
            let origin = desk.origin()?;
            let typing = TypingView { by: origin.by, terminal: origin.terminal };
            desk.out.told(&typing, format_args!("{} types at {}", typing.by, typing.terminal))?;
            return Ok(Exit::Ok);
        };
        let initials = known(desk, initials.trim()).await?;
        let (terminal, session) = (desk.terminal(), desk.session());
        if !desk.global.dry_run {
            iam::keep(&desk.folder, &terminal, &session, &initials)?;
        }
        let until = if session.is_empty() { "from now on" } else { "until this window is closed" };
        let text = format!("{initials} types at {terminal} {until}");
        desk.out.told(&TypingView { by: initials, terminal }, text)?;
        Ok(Exit::Ok)
    }
}

/// The initials as the shop's list has them; as given while the list is empty.
async fn known(desk: &Desk<'_>, initials: &str) -> Result<String, CommandError> {
    if initials.is_empty() {
        return Err(CommandError::usage("the initials are empty", "lockring iam K"));
    }
    let answer = desk.client().await?.call(ORDINARY, PeopleRequest {}, of_desk!(people)).await?;
    let present: Vec<String> = answer
        .people
        .into_iter()
        .filter(|person| person.left_us.is_none())
        .map(|person| person.initials)
        .collect();
    if present.is_empty() {
        return Ok(initials.to_owned());
    }
    let found = present.iter().find(|known| known.eq_ignore_ascii_case(initials));
    found.cloned().ok_or_else(|| {
        CommandError::new(Exit::UnknownWord, format!("`{initials}` is nobody of this shop"))
            .hint(format!("it has {}", present.join(", ")))
            .hint("the owner enters people with `lockring people add`")
    })
}
