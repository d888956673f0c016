//! `lockring settings`: what belongs to the shop as a whole.

use lockring_proto::v1::desk_client::DeskClient;
use lockring_proto::v1::{
    ReopenRequest, RulesRequest, SetDaysRequest, SetRequest, SetRuleRequest, SettingsRequest,
    ShopHistoryRequest, ShutRequest, UndoShopRequest,
};

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{LATER_IS_LAST, change_shop, of_desk};
use crate::desk::{Desk, Waits};
use crate::output::{job, settings};

/// Show or change what belongs to the shop as a whole
///
/// Calendar, limits of the rule sheet, closing time, time zone, money and the like. Each change
/// is an entry with who, when and why. Once people have been entered, changes are the owner's.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring settings\n  \
    lockring settings shut 2026-04-03..2026-04-06 --why \"spring holidays\"")]
pub(crate) struct Settings {
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Which days of the week are worked
    #[command(after_help = "Examples:\n  \
        lockring settings days mon tue wed thu fri\n  \
        lockring settings days tue wed thu fri sat --why \"market days\"")]
    Days {
        /// Days of the week, three letters at least
        #[arg(required = true, value_parser = args::text)]
        days: Vec<String>,
        /// Why
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        why: String,
    },
    /// Days the shop is shut
    #[command(after_help = "Examples:\n  \
        lockring settings shut 2026-04-03..2026-04-06 --why \"spring holidays\"\n  \
        lockring settings shut 2026-05-01 --why \"public holiday\"")]
    Shut {
        /// Days, or ranges as FIRST..LAST
        #[arg(required = true, value_name = "DAYS", value_parser = args::text)]
        days: Vec<String>,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// Days the shop is not shut after all
    #[command(after_help = "Examples:\n  \
        lockring settings open 2026-04-06\n  \
        lockring settings open 2026-04-03..2026-04-06 --why \"too much to do\"")]
    Open {
        /// Days, or ranges as FIRST..LAST
        #[arg(required = true, value_name = "DAYS", value_parser = args::text)]
        days: Vec<String>,
        /// Why
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        why: String,
    },
    /// Make a limit of the rule sheet the shop's own; shows which checks of open jobs change
    #[command(after_help = "Examples:\n  \
        lockring settings rule chainline.centre-good \"1.5 mm\" --why \"our hubs bear it\"\n  \
        lockring settings rule chainline.centre-good --shipped --why \"it was too much\"\n  \
        lockring --dry-run settings rule hill.told-factor 1.2 --why try")]
    Rule {
        /// The rule's word; `lockring settings rules` lists them
        #[arg(value_parser = args::text)]
        rule: String,
        /// Its value, in the rule's unit or any other of its kind
        #[arg(required_unless_present = "shipped", value_parser = args::text)]
        value: Option<String>,
        /// The value as shipped again
        #[arg(long, conflicts_with = "value")]
        shipped: bool,
        /// Why, with the source if it has one
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        why: String,
    },
    /// List the rule sheet: every limit with its value, basis and source
    #[command(after_help = "Examples:\n  \
        lockring settings rules\n  \
        lockring settings rules chainline --json")]
    Rules {
        /// Part of the rules' words
        #[arg(default_value = "", hide_default_value = true, value_parser = args::text)]
        word: String,
    },
    /// Set one of the settings, or back to what is shipped
    #[command(after_help = "Examples:\n  \
        lockring settings set closing-time 18:00\n  \
        lockring settings set currency EUR\n  \
        lockring settings set evening-command /usr/local/bin/print-page -2\n  \
        lockring settings set time-zone --shipped")]
    Set {
        /// The setting's word; `lockring settings` lists them
        #[arg(value_parser = args::text)]
        setting: String,
        /// Its value; the words need no quotes
        #[arg(required_unless_present = "shipped", value_parser = args::text)]
        value: Vec<String>,
        /// As shipped again
        #[arg(long)]
        shipped: bool,
        /// Why
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        why: String,
    },
    /// Who set what, when and why
    #[command(after_help = "Examples:\n  \
        lockring settings history\n  \
        lockring settings history --json")]
    History,
    /// Retract an entry of the shop: your last one, or the one named
    #[command(after_help = "Examples:\n  \
        lockring settings undo\n  \
        lockring settings undo --entry 14 --why \"wrong year\"")]
    Undo {
        /// Number of the entry, as `lockring settings history` shows it [default: your last]
        #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u64).range(1..))]
        entry: Option<u64>,
        /// Why
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        why: String,
    },
}

impl Settings {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let Some(what) = self.what else {
            return show(desk).await;
        };
        if !matches!(what, What::Rules { .. } | What::History) {
            desk.waits_at_home_only();
        }
        let origin = || desk.origin().map(Some);
        match what {
            What::Days { days, why } => {
                let request = SetDaysRequest { origin: origin()?, days, why };
                change_shop(desk, request, of_desk!(set_days)).await
            }
            What::Shut { days, why } => {
                let request = ShutRequest { origin: origin()?, days, why };
                change_shop(desk, request, of_desk!(shut)).await
            }
            What::Open { days, why } => {
                let request = ReopenRequest { origin: origin()?, days, why };
                change_shop(desk, request, of_desk!(reopen)).await
            }
            What::Rule { rule, value, shipped, why } => {
                let value = value.unwrap_or_default();
                let request = SetRuleRequest { origin: origin()?, rule, value, shipped, why };
                change_shop(desk, request, of_desk!(set_rule)).await
            }
            What::Set { setting, value, shipped, why } => {
                let value = value.join(" ");
                let request = SetRequest { origin: origin()?, setting, value, shipped, why };
                change_shop(desk, request, of_desk!(set)).await
            }
            What::Undo { entry, why } => {
                if entry.is_none() && desk.waits == Waits::ForNothing {
                    desk.waits_not(LATER_IS_LAST);
                }
                let request = UndoShopRequest { origin: Some(desk.origin()?), seq: entry.unwrap_or_default(), why };
                change_shop(desk, request, of_desk!(undo_shop)).await
            }
            What::Rules { word } => rules(desk, word).await,
            What::History => history(desk).await,
        }
    }
}

async fn show(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let answer = desk.client().await?.call(ORDINARY, SettingsRequest {}, of_desk!(settings)).await?;
    if desk.out.look.json {
        desk.out.json(&answer)?;
    } else {
        settings::print(&mut desk.out, &answer)?;
    }
    Ok(Exit::Ok)
}

async fn rules(desk: &mut Desk<'_>, word: String) -> Result<Exit, CommandError> {
    let answer = desk.client().await?.call(ORDINARY, RulesRequest { word }, of_desk!(rules)).await?;
    if desk.out.look.json {
        answer.rules.iter().try_for_each(|rule| desk.out.json(rule))?;
    } else {
        settings::print_rules(&mut desk.out, &answer.rules)?;
    }
    Ok(Exit::Ok)
}

async fn history(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let client = desk.client().await?;
    let mut answer = client.call(ORDINARY, ShopHistoryRequest { after: 0 }, of_desk!(shop_history)).await?;
    while answer.next_after > 0 {
        let rest = ShopHistoryRequest { after: answer.next_after };
        let page = client.call(ORDINARY, rest, of_desk!(shop_history)).await?;
        answer.lines.extend(page.lines);
        answer.next_after = page.next_after;
    }
    if desk.out.look.json {
        answer.lines.iter().try_for_each(|line| desk.out.json(line))?;
    } else if answer.lines.is_empty() {
        desk.out.line("Nothing has been said of the shop yet.")?;
    } else {
        answer.lines.iter().try_for_each(|line| job::print_entry(&mut desk.out, line, false))?;
    }
    Ok(Exit::Ok)
}
