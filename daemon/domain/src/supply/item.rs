//! What lies on the shelf, what was seen on it, and where it went.

use std::collections::BTreeMap;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::fact::Value;
use crate::money::Money;
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::supply::goods_in;
use crate::supply::line::{Goods, OrderLine};

/// Something on the shelf: one piece with a serial number, or several alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Item {
    /// Its number.
    pub number: u64,
    /// The part.
    pub goods: Goods,
    /// Serial number.
    pub serial: Option<String>,
    /// Lot mark.
    pub lot: Option<String>,
    /// Who delivered it.
    pub supplier: Option<String>,
    /// The line it was ordered with.
    pub line: Option<u64>,
    /// The job it came back from.
    pub from_job: Option<u32>,
    /// When it came onto the shelf.
    pub came: Timestamp,
    /// How many lie there.
    pub count: u32,
    /// What was seen when it came.
    pub seen: Seen,
    /// The job it is kept for.
    pub kept_for: Option<u32>,
    /// What left the shelf, oldest first.
    pub gone: Vec<Gone>,
    /// What one of them cost, as far as it was known when it came.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid: Option<Money>,
}

/// What was seen on goods that came in.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Seen {
    /// Attributes as read off the part.
    pub found: BTreeMap<String, Value>,
    /// Pack volts at rest, V.
    pub volts: Option<f64>,
    /// Spread between cell groups, V.
    pub group_spread: Option<f64>,
    /// Papers on file, in words.
    pub papers: Option<String>,
    /// Damage seen, in words, as in [`Receipt::damage`].
    pub damage: Option<String>,
}

/// What left the shelf.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gone {
    /// How many.
    pub count: u32,
    /// When.
    pub at: Timestamp,
    /// Where to.
    pub to: Whither,
    /// Why.
    pub why: String,
}

/// Where something that left the shelf went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Whither {
    /// Onto a job.
    Job(u32),
    /// Back to the supplier.
    Supplier,
    /// It was not there when the shelf was counted.
    Counted,
}

impl Item {
    /// The line under which its supplier owes for so many that go back, where it came to the shelf without one.
    pub fn owed(&self, number: u64, count: u32, why: &str) -> OrderLine {
        let supplier = self.supplier.clone().unwrap_or_default();
        let line = OrderLine::new(number, None, self.goods.clone(), count, supplier, self.came);
        line.owed(self.paid, why)
    }

    /// The receipt that says it came to a slot.
    pub fn receipt(&self, slot: Slot) -> Receipt {
        Receipt {
            slot,
            found: self.seen.found.clone(),
            serial: self.serial.clone(),
            lot: self.lot.clone(),
            volts: self.seen.volts,
            group_spread: self.seen.group_spread,
            papers: self.seen.papers.clone(),
            damage: self.seen.damage.clone(),
            shelf: Some(self.number),
            supplier: self.supplier.clone(),
            paid: self.paid,
        }
    }
}

impl Seen {
    /// The damage seen on it, in words; `None` when nobody saw any.
    pub fn damaged(&self) -> Option<&str> {
        self.damage.as_deref().filter(|words| !goods_in::is_whole(words))
    }

    /// What a receipt says was seen.
    pub fn of(receipt: &Receipt) -> Self {
        Self {
            found: receipt.found.clone(),
            volts: receipt.volts,
            group_spread: receipt.group_spread,
            papers: receipt.papers.clone(),
            damage: receipt.damage.clone(),
        }
    }
}
