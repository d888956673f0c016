//! `lockring quote`: what the rider is to pay, and up to where nobody has to call.

use lockring_proto::v1::enter_request::Entry;
use lockring_proto::v1::{Agreed, Ceiling, QuoteAdd, QuoteStrike};

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::money::{enter, show};
use crate::desk::Desk;

/// Quote a job: lines, the ceiling, and what the rider agreed to
///
/// Without more words it shows the job's money. A total over the ceiling needs the rider's yes,
/// entered with `agreed`, before an invoice goes out.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring quote 21 add part \"new chain\" --price 22 --cost 12\n  \
    lockring quote 21 add labour fitting --hours 5.4\n  \
    lockring quote 21 ceiling 1900\n  \
    lockring quote 21 agreed --how \"by phone\"")]
pub(crate) struct Quote {
    /// Number of the job
    job: u32,
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Add a line: part, labour or other
    #[command(after_help = "Examples:\n  \
        lockring quote 21 add part --slot pack --cost 498\n  \
        lockring quote 21 add labour \"fitting\" --hours 5.4 --rate 58")]
    Add(Add),
    /// Strike a line
    #[command(after_help = "Examples:\n  \
        lockring quote 21 strike 3 --why \"not needed\"\n  \
        lockring quote 21 strike 1 --why \"entered twice\"")]
    Strike {
        /// Number of the line
        number: u32,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// Name the total up to which nobody has to call the rider
    #[command(after_help = "Examples:\n  \
        lockring quote 21 ceiling 1900\n  \
        lockring quote 21 ceiling 1.900,00")]
    Ceiling {
        /// The total
        #[arg(value_parser = args::text)]
        amount: String,
    },
    /// The rider agreed to a total
    #[command(after_help = "Examples:\n  \
        lockring quote 21 agreed --how \"by phone\"\n  \
        lockring quote 21 agreed 2050 --how \"at the counter\"")]
    Agreed {
        /// The total [default: the present one]
        #[arg(default_value = "", hide_default_value = true, value_parser = args::text)]
        total: String,
        /// How it was said
        #[arg(long, value_parser = args::text)]
        how: String,
    },
}

#[derive(Debug, clap::Args)]
struct Add {
    /// part, labour or other
    #[arg(value_parser = args::text)]
    kind: String,
    /// What it is [default: the part's name]
    #[arg(default_value = "", hide_default_value = true, value_parser = args::text)]
    words: String,
    /// Slot of the build: its part's catalogue price is taken
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    slot: String,
    /// What the rider pays
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    price: String,
    /// What it costs the shop
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    cost: String,
    /// Hours of labour, such as 5.4 or 90min
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    hours: String,
    /// Charge for an hour [default: the shop's]
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
    rate: String,
    /// Bought or done again
    #[arg(long)]
    rework: bool,
}

impl Quote {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let entry = match self.what {
            None => return show(desk, self.job, false).await,
            Some(What::Add(add)) => Entry::QuoteAdd(QuoteAdd {
                kind: add.kind,
                words: add.words,
                slot: add.slot,
                price: desk.amount("price", add.price)?,
                cost: desk.amount("cost", add.cost)?,
                hours: add.hours,
                rate: desk.amount("rate", add.rate)?,
                rework: add.rework,
            }),
            Some(What::Strike { number, why }) => Entry::QuoteStrike(QuoteStrike { number, why }),
            Some(What::Ceiling { amount }) => Entry::Ceiling(Ceiling { amount: desk.amount("ceiling", amount)? }),
            Some(What::Agreed { total, how }) => Entry::Agreed(Agreed { total: desk.amount("total", total)?, how }),
        };
        enter(desk, self.job, entry).await
    }
}
