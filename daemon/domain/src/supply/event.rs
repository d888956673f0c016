//! What an entry of a job may say of its order lines and pieces, beyond ordered and received.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::money::Money;
use crate::part::Slot;
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
    },
    /// The supplier paid for what went back.
    Credited {
        /// Slot.
        slot: Slot,
        /// How much.
        amount: Money,
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
    },
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
