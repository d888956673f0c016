//! What an entry may say of what is bought: of a job's order lines and pieces, beyond ordered and received, and of
//! the shelf.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::money::Money;
use crate::part::Slot;
use crate::supply::item::Item;
use crate::supply::line::OrderLine;
use crate::supply::piece::{Fate, Off};

/// What became of an order or a piece of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "supply", rename_all = "kebab-case", deny_unknown_fields)]
pub enum SupplyEvent {
    /// The supplier promises another day.
    OrderMoved {
        /// Slot.
        slot: Slot,
        /// The day.
        due: Date,
        /// Why.
        why: String,
    },
    /// The order of a slot is no longer awaited.
    OrderCancelled {
        /// Slot.
        slot: Slot,
        /// Why.
        why: String,
    },
    /// The part of a slot went back to the supplier.
    PartReturned {
        /// Slot.
        slot: Slot,
        /// Why.
        why: String,
        /// Whether it came by way of the shelf, so that the job has no line yet under which its supplier owes for it.
        #[serde(default, skip_serializing_if = "is_not")]
        moved: bool,
    },
    /// The supplier paid for what went back.
    Credited {
        /// Slot.
        slot: Slot,
        /// How much.
        amount: Money,
        /// When the line was ordered that it is for; in old entries the last line of which something went back.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        ordered: Option<Timestamp>,
    },
    /// The part of a slot was put onto the shelf.
    PutBack {
        /// Slot.
        slot: Slot,
        /// Its item of the shelf from now on.
        item: u64,
        /// Why.
        why: String,
    },
    /// A part that was taken off the job, or the one in the slot, went where nothing above says.
    PartWent {
        /// Slot.
        slot: Slot,
        /// Which of those that were taken off; `None` for the one in the slot.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        off: Option<Off>,
        /// Where to.
        to: Fate,
        /// Its item of the shelf from now on.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        item: Option<u64>,
        /// Why.
        why: String,
        /// As in [`SupplyEvent::PartReturned`].
        #[serde(default, skip_serializing_if = "is_not")]
        moved: bool,
    },
}

/// Whether a mark is not set: it is left out of what is stored.
const fn is_not(mark: &bool) -> bool {
    !*mark
}

impl SupplyEvent {
    /// The word of the entry's kind, as stored and shown.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::OrderMoved { .. } => "order-moved",
            Self::OrderCancelled { .. } => "order-cancelled",
            Self::PartReturned { .. } => "part-returned",
            Self::Credited { .. } => "credited",
            Self::PutBack { .. } => "put-back",
            Self::PartWent { .. } => "part-went",
        }
    }

    /// The slot it speaks of.
    pub const fn slot(&self) -> Slot {
        match self {
            Self::OrderMoved { slot, .. }
            | Self::OrderCancelled { slot, .. }
            | Self::PartReturned { slot, .. }
            | Self::Credited { slot, .. }
            | Self::PutBack { slot, .. }
            | Self::PartWent { slot, .. } => *slot,
        }
    }

    /// Whether it says of a receipt made with it that the piece is one that had been taken off.
    pub const fn is_refit(&self) -> bool {
        matches!(
            self,
            Self::PartWent {
                to: Fate::Refitted,
                ..
            }
        )
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        let slot = self.slot().word();
        match self {
            Self::OrderMoved { due, why, .. } => format!("{slot} now promised for {due}: {why}"),
            Self::OrderCancelled { why, .. } => format!("order of {slot} cancelled: {why}"),
            Self::PartReturned { why, .. } => format!("{slot} returned to the supplier: {why}"),
            Self::Credited { amount, .. } => format!("{slot}: the supplier credited {amount}"),
            Self::PutBack { item, why, .. } => format!("{slot} put onto the shelf as item {item}: {why}"),
            Self::PartWent {
                off, to, item, why, ..
            } => {
                let which = off
                    .as_ref()
                    .map_or_else(String::new, |off| format!(" that was taken off ({})", off.mark()));
                let item = item.map_or_else(String::new, |item| format!(" as item {item}"));
                let went = match to {
                    Fate::Swapped => "taken off",
                    Fate::Returned => "returned to the supplier",
                    Fate::PutBack => "put onto the shelf",
                    Fate::Scrapped => "scrapped",
                    Fate::Refitted => "is on the job again",
                    Fate::Gone => "is gone",
                };
                format!("{slot}{which} {went}{item}: {why}")
            }
        }
    }
}

/// What an entry of the stock says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "stock", rename_all = "kebab-case", deny_unknown_fields)]
pub enum StockEvent {
    /// Ordered for the shelf.
    Ordered {
        /// The line as it begins.
        line: OrderLine,
    },
    /// The supplier promises another day.
    Moved {
        /// The line.
        line: u64,
        /// The day.
        due: Date,
        /// Why.
        why: String,
    },
    /// The rest of a line is no longer awaited.
    Cancelled {
        /// The line.
        line: u64,
        /// Why.
        why: String,
    },
    /// The supplier paid for what went back.
    Credited {
        /// The line.
        line: u64,
        /// How much.
        amount: Money,
    },
    /// Something came onto the shelf.
    Came {
        /// The item as it begins.
        item: Item,
    },
    /// One was taken for a job.
    Taken {
        /// The item.
        item: u64,
        /// The job.
        job: u32,
        /// The slot.
        slot: Slot,
    },
    /// So many went back to the supplier.
    Returned {
        /// The item.
        item: u64,
        /// How many.
        count: u32,
        /// Why.
        why: String,
        /// The line under which the supplier owes for it from now on, where it came back from a job and has none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        owed: Option<u64>,
    },
    /// So many were there when the shelf was counted.
    Counted {
        /// The item.
        item: u64,
        /// How many.
        count: u32,
        /// Why it differs.
        why: String,
    },
    /// It is kept for a job, or for nobody any more.
    Kept {
        /// The item.
        item: u64,
        /// The job.
        job: Option<u32>,
    },
}

impl StockEvent {
    /// The word of the entry's kind, as stored and shown.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Ordered { .. } => "stock-ordered",
            Self::Moved { .. } => "stock-moved",
            Self::Cancelled { .. } => "stock-cancelled",
            Self::Credited { .. } => "stock-credited",
            Self::Came { .. } => "stock-came",
            Self::Taken { .. } => "stock-taken",
            Self::Returned { .. } => "stock-returned",
            Self::Counted { .. } => "stock-counted",
            Self::Kept { .. } => "stock-kept",
        }
    }

    /// The item it is about, if it is about one.
    pub const fn item(&self) -> Option<u64> {
        match self {
            Self::Came { item } => Some(item.number),
            Self::Taken { item, .. }
            | Self::Returned { item, .. }
            | Self::Counted { item, .. }
            | Self::Kept { item, .. } => Some(*item),
            _ => None,
        }
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        match self {
            Self::Ordered { line } => format!(
                "line {}: {} x {} ordered for the shelf from {}",
                line.number, line.count, line.goods.name, line.supplier
            ),
            Self::Moved { line, due, why } => format!("line {line} now promised for {due}: {why}"),
            Self::Cancelled { line, why } => format!("line {line} no longer awaited: {why}"),
            Self::Credited { line, amount } => format!("line {line}: the supplier credited {amount}"),
            Self::Came { item } => format!("item {}: {} x {}", item.number, item.count, item.goods.name),
            Self::Taken { item, job, slot } => {
                format!("item {item}: one taken for job {job}, {}", slot.word())
            }
            Self::Returned { item, count, why, .. } => format!("item {item}: {count} returned: {why}"),
            Self::Counted { item, count, why } => format!("item {item}: {count} counted: {why}"),
            Self::Kept { item, job: Some(job) } => format!("item {item} kept for job {job}"),
            Self::Kept { item, job: None } => format!("item {item} kept for nobody"),
        }
    }
}
