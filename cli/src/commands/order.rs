//! `lockring order`: parts ordered.

use lockring_proto::v1::OrderRequest;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;

/// Note parts as ordered
///
/// Without a slot, every chosen part that has no order yet. An order past its due day opens a
/// block of its own.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring order 21 --from \"the wholesaler\" --due 2026-03-20\n  \
    lockring order 21 motor pack --from \"the motor maker\"")]
pub(crate) struct Order {
    /// Number of the job
    job: u32,
    /// Slots whose parts are ordered [default: all without an order]
    #[arg(value_name = "SLOT", value_parser = args::text)]
    slots: Vec<String>,
    /// Who delivers
    #[arg(long, value_name = "SUPPLIER", value_parser = args::text)]
    from: String,
    /// Promised day of arrival, such as 2026-03-20
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
    due: String,
}

impl Order {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = OrderRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            slots: self.slots,
            supplier: self.from,
            due: self.due,
        };
        change(desk, request, of_jobs!(order)).await
    }
}
