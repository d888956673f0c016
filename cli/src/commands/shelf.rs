//! `lockring shelf`: what lies in the shop and on no job.

use lockring_proto::v1::change_shelf_request::Change;
use lockring_proto::v1::{
    ChangeShelfRequest, ListShelfRequest, PutOnShelfRequest, ReturnPartRequest, ShelfItemChange,
    ShelfLineChange, ShelfReceipt, TakeFromShelfRequest,
};

use crate::args::{self, Pair, assignments};
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::receive::Seen;
use crate::commands::{change, of_supply, supplied};
use crate::desk::Desk;
use crate::output::shelf;

/// The shelf: what lies there, received, taken for jobs, put back, counted
///
/// Without a word, all that lies there. `lockring order shelf` orders for it and `lockring order
/// list` shows its lines.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring shelf\n  \
    lockring shelf take 21 display")]
pub(crate) struct Shelf {
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Note goods for the shelf as received: of an order line, or by the part's id
    #[command(after_help = "Examples:\n  \
        lockring shelf receive 4 --count 2\n  \
        lockring shelf receive pack-13s4p --serial P-31 --lot 26-07 --volts 46,8")]
    Receive(Received),
    /// Take one for the slot of a job
    #[command(after_help = "Examples:\n  \
        lockring shelf take 21 display\n  \
        lockring shelf take 21 pack 17")]
    Take {
        /// Number of the job
        job: u32,
        /// Slot
        #[arg(value_parser = args::text)]
        slot: String,
        /// Item of the shelf [default: the oldest that fits]
        item: Option<u64>,
    },
    /// Put what came for a slot of a job, or was taken off it, onto the shelf
    #[command(after_help = "Examples:\n  \
        lockring shelf put 21 chainring ring-36-2 --why \"re-geared\"\n  \
        lockring shelf put 21 display --why \"rider wants the larger one\"\n  \
        lockring shelf put 22 pack --why \"bicycle returned unconverted\"")]
    Put {
        /// Number of the job
        job: u32,
        /// Slot
        #[arg(value_parser = args::text)]
        slot: String,
        /// Serial or part id of the one meant, or `on` or `off` the bicycle [default: the only one there is]
        #[arg(value_parser = args::text, default_value = "", hide_default_value = true)]
        piece: String,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// Throw away what came for a slot of a job, or was taken off it
    ///
    /// The piece stays in the records; a slot it was in waits for a part again.
    #[command(after_help = "Examples:\n  \
        lockring shelf scrap 21 chainring ring-36-2 --why \"teeth worn\"\n  \
        lockring shelf scrap 21 pack --why \"dropped\"")]
    Scrap {
        /// Number of the job
        job: u32,
        /// Slot
        #[arg(value_parser = args::text)]
        slot: String,
        /// Serial or part id of the one meant, or `on` or `off` the bicycle [default: the only one there is]
        #[arg(value_parser = args::text, default_value = "", hide_default_value = true)]
        piece: String,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// Correct how many of an item lie there
    #[command(after_help = "Examples:\n  \
        lockring shelf count 12 4 --why \"two used without a note\"\n  \
        lockring shelf count 17 0 --why \"not found\"")]
    Count {
        /// Item of the shelf
        item: u64,
        /// How many are there
        count: u32,
        /// Why it differs
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// Keep an item for a job, or for nobody
    #[command(after_help = "Examples:\n  \
        lockring shelf keep 17 21\n  \
        lockring shelf keep 17 none")]
    Keep {
        /// Item of the shelf
        item: u64,
        /// Number of the job, or none
        #[arg(value_name = "JOB|none", value_parser = job_or_none)]
        job: u32,
    },
    /// Send an item back to its supplier
    #[command(after_help = "Examples:\n  \
        lockring shelf return 17 --why \"dead on arrival\"\n  \
        lockring shelf return 12 --count 2 --why \"bent\"")]
    Return {
        /// Item of the shelf
        item: u64,
        /// How many [default: all]
        #[arg(long, default_value_t = 0, hide_default_value = true)]
        count: u32,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// The supplier promises another day for an order line of the shelf
    #[command(after_help = "Examples:\n  \
        lockring shelf moved 4 2026-04-02 --why \"ship late\"\n  \
        lockring shelf moved 5 2026-03-30 --why \"sent earlier\"")]
    Moved {
        /// Order line of the shelf
        line: u64,
        /// The day
        #[arg(value_parser = args::text)]
        due: String,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// The rest of an order line of the shelf is no longer awaited
    #[command(after_help = "Examples:\n  \
        lockring shelf cancel 4 --why \"not made any more\"\n  \
        lockring shelf cancel 5 --why \"found cheaper\"")]
    Cancel {
        /// Order line of the shelf
        line: u64,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// The supplier paid for what went back of an order line of the shelf
    #[command(after_help = "Examples:\n  \
        lockring shelf credit 4 74\n  \
        lockring shelf credit 5 148.00")]
    Credit {
        /// Order line of the shelf
        line: u64,
        /// How much
        #[arg(value_parser = args::text)]
        amount: String,
    },
}

/// Goods for the shelf.
#[derive(Debug, clap::Args)]
#[command(mut_args(|arg| match arg.get_id().as_str() {
    "volts" => arg.help("Volts of a pack at rest"),
    "group_spread" => arg.help("Spread between a pack's cell groups"),
    _ => arg,
}))]
struct Received {
    /// Number of the order line, or id of the part
    #[arg(value_name = "LINE|PART", value_parser = args::text)]
    what: String,
    /// Attributes as read off the part
    #[arg(value_name = "KEY=VALUE")]
    found: Vec<Pair>,
    /// How many
    #[arg(long, default_value_t = 1)]
    count: u32,
    /// Serial number
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    serial: String,
    /// Mark of the batch
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    lot: String,
    #[command(flatten)]
    seen: Seen,
}

/// A job's number; 0 for `none`.
fn job_or_none(typed: &str) -> Result<u32, String> {
    match typed {
        "none" => Ok(0),
        number => number
            .parse()
            .ok()
            .filter(|job| *job > 0)
            .ok_or_else(|| format!("`{number}` is no job; expected its number, or none")),
    }
}

impl Shelf {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let changed = match self.what {
            None => return list(desk).await,
            Some(What::Take { job, slot, item }) => {
                let item = item.unwrap_or_default();
                let request = TakeFromShelfRequest { origin: Some(desk.origin()?), job, slot, item };
                return change(desk, request, of_supply!(take_from_shelf)).await;
            }
            Some(What::Put { job, slot, piece, why }) => {
                let request = PutOnShelfRequest { origin: Some(desk.origin()?), job, slot, why, piece };
                return change(desk, request, of_supply!(put_on_shelf)).await;
            }
            Some(What::Scrap { job, slot, piece, why }) => {
                let origin = Some(desk.origin()?);
                let request = ReturnPartRequest { origin, job, slot, why, piece, to: "scrap".into() };
                return change(desk, request, of_supply!(return_part)).await;
            }
            Some(What::Receive(received)) => Change::Receipt(received.receipt()),
            Some(What::Count { item, count, why }) => on_item(item, "count", count, 0, why),
            Some(What::Keep { item, job }) => on_item(item, "keep", 0, job, String::new()),
            Some(What::Return { item, count, why }) => on_item(item, "return", count, 0, why),
            Some(What::Moved { line, due, why }) => {
                let due = desk.day("due", &due).await?;
                on_line(ShelfLineChange { line, act: "move".into(), due, why, ..ShelfLineChange::default() })
            }
            Some(What::Cancel { line, why }) => {
                on_line(ShelfLineChange { line, act: "cancel".into(), why, ..ShelfLineChange::default() })
            }
            Some(What::Credit { line, amount }) => {
                let amount = desk.amount("amount", amount)?;
                on_line(ShelfLineChange { line, act: "credit".into(), amount, ..ShelfLineChange::default() })
            }
        };
        let request = ChangeShelfRequest { origin: Some(desk.origin()?), change: Some(changed) };
        supplied(desk, request, of_supply!(change_shelf)).await
    }
}

fn on_item(item: u64, act: &str, count: u32, job: u32, why: String) -> Change {
    Change::Item(ShelfItemChange { item, act: act.to_owned(), count, job, why })
}

const fn on_line(change: ShelfLineChange) -> Change {
    Change::Line(change)
}

impl Received {
    fn receipt(self) -> ShelfReceipt {
        let Seen { volts, group_spread, papers, damage } = self.seen;
        ShelfReceipt {
            what: self.what,
            count: self.count,
            found: assignments(self.found),
            serial: self.serial,
            lot: self.lot,
            volts,
            group_spread,
            papers,
            damage,
        }
    }
}

async fn list(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let answer = desk.client().await?.call(ORDINARY, ListShelfRequest {}, of_supply!(list_shelf)).await?;
    if desk.out.look.json {
        answer.items.iter().try_for_each(|item| desk.out.json(item))?;
    } else {
        shelf::print(&mut desk.out, &answer.items)?;
    }
    Ok(Exit::Ok)
}
