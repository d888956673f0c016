//! `lockring suppliers`: who delivers.

use lockring_proto::v1::{ListSuppliersRequest, SetSupplierRequest};

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{of_supply, supplied};
use crate::desk::Desk;
use crate::output::table::Table;
use crate::output::times;

/// Who delivers: usual lead time, contact, terms
///
/// Without a word, all of them. An order from a supplier on file that promises no day is due
/// after the usual lead time.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring suppliers\n  \
    lockring suppliers add \"wholesaler N\" --lead 5 --contact \"orders desk\"")]
pub(crate) struct Suppliers {
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Put a supplier on file
    #[command(after_help = "Examples:\n  \
        lockring suppliers add \"wholesaler N\" --lead 5\n  \
        lockring suppliers add \"motor maker\" --terms \"claims within 24 h\"")]
    Add(About),
    /// Change what is on file of a supplier; what is not given stays
    #[command(after_help = "Examples:\n  \
        lockring suppliers change \"wholesaler N\" --lead 8\n  \
        lockring suppliers change \"wholesaler N\" --contact \"new orders desk\"")]
    Change(About),
}

/// What is said of a supplier.
#[derive(Debug, clap::Args)]
struct About {
    /// The shop's own name for it
    #[arg(value_parser = args::text)]
    name: String,
    /// Usual lead time in working days
    #[arg(long, value_name = "DAYS", value_parser = args::text)]
    lead: Option<String>,
    /// Whom to call or write to
    #[arg(long, value_name = "WORDS", value_parser = args::text)]
    contact: Option<String>,
    /// Terms of payment, returns and claims
    #[arg(long, value_name = "WORDS", value_parser = args::text)]
    terms: Option<String>,
}

impl Suppliers {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        match self.what {
            None => list(desk).await,
            Some(What::Add(about)) => set(desk, about, true).await,
            Some(What::Change(about)) => set(desk, about, false).await,
        }
    }
}

async fn set(desk: &mut Desk<'_>, about: About, is_new: bool) -> Result<Exit, CommandError> {
    let request = SetSupplierRequest {
        origin: Some(desk.origin()?),
        name: about.name,
        is_new,
        lead: about.lead,
        contact: about.contact,
        terms: about.terms,
    };
    supplied(desk, request, of_supply!(set_supplier)).await
}

async fn list(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let answer = desk.client().await?.call(ORDINARY, ListSuppliersRequest {}, of_supply!(list_suppliers)).await?;
    if desk.out.look.json {
        answer.suppliers.iter().try_for_each(|supplier| desk.out.json(supplier))?;
        return Ok(Exit::Ok);
    }
    if answer.suppliers.is_empty() {
        desk.out.words_and_command("", "No suppliers on file", "lockring suppliers add NAME")?;
        return Ok(Exit::Ok);
    }
    let mut table = Table::new(["supplier", "takes", "contact", "terms"]);
    for supplier in answer.suppliers {
        let takes = supplier.lead_days.map_or_else(String::new, times::days);
        table.row([supplier.name.into(), takes.into(), supplier.contact.into(), supplier.terms.into()]);
    }
    table.print(&mut desk.out)?;
    Ok(Exit::Ok)
}
