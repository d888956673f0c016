//! `lockring order`: parts ordered, and what becomes of the orders.

use lockring_proto::v1::change_shelf_request::Change;
use lockring_proto::v1::{CancelOrderRequest, ChangeShelfRequest, CreditRequest, ListOrdersRequest, MoveOrderRequest, OrderRequest, ShelfOrder, SubstituteRequest};

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs, of_supply, supplied};
use crate::desk::Desk;
use crate::output::{orders, substitute};

/// Note parts as ordered; list orders, move, cancel, credit and substitute them
///
/// Without a slot, every chosen part that has no order yet. Without a day, goods of a supplier
/// on file are due after its usual lead time. An order past its due day opens a block of its
/// own; the daemon looks for those once on each working day.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
#[command(after_help = "Examples:\n  \
    lockring order 21 --from \"the wholesaler\" --due 2026-03-20\n  \
    lockring order 21 motor --from \"the motor maker\" --price 268")]
pub(crate) struct Order {
    #[command(subcommand)]
    what: Option<What>,
    /// Number of the job
    #[arg(required = true)]
    job: Option<u32>,
    /// Slots whose parts are ordered [default: all without an order]
    #[arg(value_name = "SLOT", value_parser = args::text)]
    slots: Vec<String>,
    #[command(flatten)]
    terms: Terms,
}

/// From whom, for when, at what price.
#[derive(Debug, clap::Args)]
struct Terms {
    /// Who delivers
    #[arg(long, value_name = "SUPPLIER", required = true, value_parser = args::text)]
    from: Option<String>,
    /// Promised day of arrival: 2026-03-20, 20.3.2026, friday, tomorrow
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
    due: String,
    /// Price of one
    #[arg(long, value_name = "AMOUNT", default_value = "", hide_default_value = true, value_parser = args::text)]
    price: String,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// List order lines, the longest overdue first
    #[command(after_help = "Examples:\n  \
        lockring order list --open\n  \
        lockring order list --from \"the wholesaler\" --json")]
    List {
        /// Only lines of which something is awaited or owed
        #[arg(long)]
        open: bool,
        /// Only this supplier
        #[arg(long, value_name = "SUPPLIER", default_value = "", hide_default_value = true, value_parser = args::text)]
        from: String,
        /// Only this job
        #[arg(long)]
        job: Option<u32>,
    },
    /// Order for the shelf
    #[command(after_help = "Examples:\n  \
        lockring order shelf display-60 --count 3 --from N --due 2026-03-20\n  \
        lockring order shelf display-60 --from \"the wholesaler\" --price 74")]
    Shelf {
        /// Id of the part
        #[arg(value_parser = args::text)]
        part: String,
        /// How many
        #[arg(long, default_value_t = 1)]
        count: u32,
        #[command(flatten)]
        terms: Terms,
    },
    /// The supplier promises another day; the day before is kept
    #[command(after_help = "Examples:\n  \
        lockring order moved 23 pack 2026-04-02 --why \"ship late\"\n  \
        lockring order moved 23 2026-04-02 --why \"strike at the border\"")]
    Moved {
        /// Number of the job
        job: u32,
        /// Slots [default: all that are awaited], then the day
        #[arg(value_name = "SLOT|DAY", required = true, value_parser = args::text)]
        words: Vec<String>,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// What was ordered is no longer awaited
    #[command(after_help = "Examples:\n  \
        lockring order cancel 23 shift-sensor --why \"not made any more\"\n  \
        lockring order cancel 23 --why \"rider gave up\"")]
    Cancel {
        /// Number of the job
        job: u32,
        /// Slots [default: all that are awaited]
        #[arg(value_name = "SLOT", value_parser = args::text)]
        slots: Vec<String>,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// The supplier paid for what went back
    #[command(after_help = "Examples:\n  \
        lockring order credit 23 pack 395\n  \
        lockring order credit 23 pack 357.00")]
    Credit {
        /// Number of the job
        job: u32,
        /// Slot
        #[arg(value_parser = args::text)]
        slot: String,
        /// How much
        #[arg(value_parser = args::text)]
        amount: String,
    },
    /// What another part in place of a chosen one would do to every check; with --take, take it
    ///
    /// Nothing is stored before --take: what passes then and what no longer does is read first,
    /// the supplier is answered after.
    #[command(after_help = "Examples:\n  \
        lockring order substitute 21 motor mid-48-250\n  \
        lockring order substitute 21 motor mid-48-250 --take --from N --due 2026-03-31")]
    Substitute {
        /// Number of the job
        job: u32,
        /// Slot
        #[arg(value_parser = args::text)]
        slot: String,
        /// The part
        #[arg(value_parser = args::text)]
        part: String,
        /// Take it
        #[arg(long)]
        take: bool,
        /// Who delivers it [default: not ordered yet]
        #[arg(long, value_name = "SUPPLIER", default_value = "", hide_default_value = true, value_parser = args::text)]
        from: String,
        /// Promised day of arrival
        #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
        due: String,
        /// Price
        #[arg(long, value_name = "AMOUNT", default_value = "", hide_default_value = true, value_parser = args::text)]
        price: String,
    },
}

impl Order {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        match self.what {
            None => {
                let request = OrderRequest {
                    origin: Some(desk.origin()?),
                    job: self.job.unwrap_or_default(),
                    slots: self.slots,
                    supplier: self.terms.from.unwrap_or_default(),
                    due: desk.day("due", &self.terms.due).await?,
                    price: desk.amount("price", self.terms.price)?,
                };
                change(desk, request, of_jobs!(order)).await
            }
            Some(What::List { open, from, job }) => {
                let mut request =
                    ListOrdersRequest { open, supplier: from, job: job.unwrap_or_default(), page_token: String::new() };
                let client = desk.client().await?;
                let mut answer = client.call(ORDINARY, request.clone(), of_supply!(list_orders)).await?;
                while !answer.next_page_token.is_empty() {
                    request.page_token = std::mem::take(&mut answer.next_page_token);
                    let page = client.call(ORDINARY, request.clone(), of_supply!(list_orders)).await?;
                    answer.lines.extend(page.lines);
                    answer.next_page_token = page.next_page_token;
                }
                if desk.out.look.json {
                    answer.lines.iter().try_for_each(|line| desk.out.json(line))?;
                } else {
                    orders::print(&mut desk.out, &answer)?;
                }
                Ok(Exit::Ok)
            }
            Some(What::Shelf { part, count, terms }) => {
                let ordered = ShelfOrder {
                    part,
                    count,
                    supplier: terms.from.unwrap_or_default(),
                    due: desk.day("due", &terms.due).await?,
                    price: desk.amount("price", terms.price)?,
                };
                let changed = Some(Change::Order(ordered));
                let request = ChangeShelfRequest { origin: Some(desk.origin()?), change: changed };
                supplied(desk, request, of_supply!(change_shelf)).await
            }
            Some(What::Moved { job, mut words, why }) => {
                let due = desk.day("due", &words.pop().unwrap_or_default()).await?;
                let request = MoveOrderRequest { origin: Some(desk.origin()?), job, slots: words, due, why };
                change(desk, request, of_supply!(move_order)).await
            }
            Some(What::Cancel { job, slots, why }) => {
                let request = CancelOrderRequest { origin: Some(desk.origin()?), job, slots, why };
                change(desk, request, of_supply!(cancel_order)).await
            }
            Some(What::Credit { job, slot, amount }) => {
                let amount = desk.amount("amount", amount)?;
                let request = CreditRequest { origin: Some(desk.origin()?), job, slot, amount };
                change(desk, request, of_supply!(credit)).await
            }
            Some(What::Substitute { job, slot, part, take, from, due, price }) => {
                let origin = if take { desk.origin()? } else { desk.trial()? };
                let (due, price) = (desk.day("due", &due).await?, desk.amount("price", price)?);
                let request =
                    SubstituteRequest { origin: Some(origin), job, slot, part, supplier: from, due, price };
                let answer = desk.client().await?.call(ORDINARY, request, of_supply!(substitute)).await?;
                if desk.out.look.json {
                    desk.out.json(&answer)?;
                } else {
                    substitute::print(&mut desk.out, &answer, take && !desk.global.dry_run)?;
                }
                Ok(Exit::Ok)
            }
        }
    }
}
