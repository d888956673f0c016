//! `lockring people`: who works here.

use lockring_proto::v1::desk_client::DeskClient;
use lockring_proto::v1::{AddPersonRequest, ChooseUnitsRequest, PeopleRequest, PersonLeavesRequest};

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change_shop, of_desk};
use crate::desk::Desk;
use crate::output::settings;

/// Show or change who works here
///
/// As long as nobody has been entered, everybody may do everything. From the first person on,
/// who must be an owner, initials that are not in the list are refused, and concessions, limits,
/// settings and ends without a handover are the owner's.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring people\n  \
    lockring people add K --role owner --name \"Kim\"")]
pub(crate) struct People {
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Enter somebody, or change what they are
    #[command(after_help = "Examples:\n  \
        lockring people add K --role owner --name \"Kim\"\n  \
        lockring people add M")]
    Add {
        /// Initials, 1 to 8 letters
        #[arg(value_parser = args::text)]
        initials: String,
        /// owner or mechanic [default: mechanic]
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        role: String,
        /// Name
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        name: String,
    },
    /// Whether somebody reads metric or imperial units first
    ///
    /// Kept in the shop and obeyed by every answer on a screen; --json, files and the
    /// arithmetic of `explain` stay metric. A value without a unit is read in its own unit all
    /// the same. Everybody chooses for themselves, the owner for anybody.
    #[command(after_help = "Examples:\n  \
        lockring people units K imperial\n  \
        lockring people units K --as-shop")]
    Units {
        /// Initials
        #[arg(value_parser = args::text)]
        initials: String,
        /// metric or imperial
        #[arg(required_unless_present = "as_shop", value_parser = args::text)]
        units: Option<String>,
        /// As the shop reads them again
        #[arg(long, conflicts_with = "units")]
        as_shop: bool,
    },
    /// Somebody no longer works here; what they did stays in the history
    #[command(after_help = "Examples:\n  \
        lockring people leave M\n  \
        lockring people leave M --why \"moved away\"")]
    Leave {
        /// Initials
        #[arg(value_parser = args::text)]
        initials: String,
        /// Why
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        why: String,
    },
}

impl People {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        if matches!(self.what, Some(What::Add { .. } | What::Leave { .. })) {
            desk.waits_at_home_only();
        }
        match self.what {
            None => show(desk).await,
            Some(What::Add { initials, role, name }) => {
                let request = AddPersonRequest { origin: Some(desk.origin()?), initials, name, role };
                change_shop(desk, request, of_desk!(add_person)).await
            }
            Some(What::Units { initials, units, as_shop: _ }) => {
                let units = units.unwrap_or_default();
                let request = ChooseUnitsRequest { origin: Some(desk.origin()?), initials, units };
                change_shop(desk, request, of_desk!(choose_units)).await
            }
            Some(What::Leave { initials, why }) => {
                let request = PersonLeavesRequest { origin: Some(desk.origin()?), initials, why };
                change_shop(desk, request, of_desk!(person_leaves)).await
            }
        }
    }
}

async fn show(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let answer = desk.client().await?.call(ORDINARY, PeopleRequest {}, of_desk!(people)).await?;
    if desk.out.look.json {
        answer.people.iter().try_for_each(|person| desk.out.json(person))?;
    } else {
        settings::print_people(&mut desk.out, &answer.people)?;
    }
    Ok(Exit::Ok)
}
