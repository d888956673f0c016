//! The shelf: what lies there, for whom it is kept, and the order lines that fill it.
//!
//! A pure fold over the stock's entries, which belong to no job. It is folded item by item: a
//! decision needs only what lies on the shelf now and the lines that are not settled.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::entry::{Entry, Event, Origin, Receipt};
use crate::fact::Value;
use crate::money::Money;
use crate::part::Slot;
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
    /// Damage seen, in words.
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
            Self::Returned { item, count, why } => format!("item {item}: {count} returned: {why}"),
            Self::Counted { item, count, why } => format!("item {item}: {count} counted: {why}"),
            Self::Kept { item, job: Some(job) } => format!("item {item} kept for job {job}"),
            Self::Kept { item, job: None } => format!("item {item} kept for nobody"),
        }
    }
}

/// The stock: all of it, or as much as a decision needs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stock {
    /// Items by number.
    pub items: BTreeMap<u64, Item>,
    /// Lines by number.
    pub lines: BTreeMap<u64, OrderLine>,
    /// Number of the last item there ever was.
    pub last_item: u64,
    /// Number of the last line there ever was.
    pub last_line: u64,
}

impl Stock {
    /// Folds every entry of no job; those of other things are passed over.
    pub fn fold(entries: &[Entry]) -> Self {
        let mut stock = Self::default();
        for entry in entries {
            if let Event::Stock(event) = &entry.event {
                stock.take(&entry.origin, event);
            }
        }
        stock
    }

    /// Takes what an event says.
    pub fn take(&mut self, origin: &Origin, event: &StockEvent) {
        let at = origin.made;
        match event {
            StockEvent::Ordered { line } => {
                self.last_line = self.last_line.max(line.number);
                self.lines.insert(line.number, line.clone());
            }
            StockEvent::Moved { line, due, why } => {
                if let Some(line) = self.lines.get_mut(line) {
                    line.moved(*due, at, why);
                }
            }
            StockEvent::Cancelled { line, why } => {
                if let Some(line) = self.lines.get_mut(line) {
                    line.cancelled = Some(why.clone());
                }
            }
            StockEvent::Credited { line, amount } => {
                if let Some(line) = self.lines.get_mut(line) {
                    line.credited = line.credited + *amount;
                }
            }
            StockEvent::Came { item } => {
                self.last_item = self.last_item.max(item.number);
                if let Some(line) = item.line.and_then(|line| self.lines.get_mut(&line)) {
                    line.arrived(item.count, at);
                }
                self.items.insert(item.number, item.clone());
            }
            StockEvent::Taken { item, job, slot } => {
                self.leave(*item, 1, at, Whither::Job(*job), slot.word());
            }
            StockEvent::Returned { item, count, why } => {
                let line = self.items.get(item).and_then(|item| item.line);
                self.leave(*item, *count, at, Whither::Supplier, why);
                if let Some(line) = line.and_then(|line| self.lines.get_mut(&line)) {
                    line.went_back(*count, why);
                }
            }
            StockEvent::Counted { item, count, why } => {
                let there = self.items.get(item).map_or(0, |item| item.count);
                self.leave(*item, there.saturating_sub(*count), at, Whither::Counted, why);
                if let Some(item) = self.items.get_mut(item) {
                    item.count = *count;
                }
            }
            StockEvent::Kept { item, job } => {
                if let Some(item) = self.items.get_mut(item) {
                    item.kept_for = *job;
                }
            }
        }
    }

    fn leave(&mut self, item: u64, count: u32, at: Timestamp, to: Whither, why: &str) {
        let Some(item) = self.items.get_mut(&item) else {
            return;
        };
        item.count = item.count.saturating_sub(count);
        if item.count == 0 || matches!(to, Whither::Job(job) if item.kept_for == Some(job)) {
            item.kept_for = None;
        }
        if count > 0 {
            item.gone.push(Gone {
                count,
                at,
                to,
                why: why.to_owned(),
            });
        }
    }
}

impl Item {
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
        }
    }
}

impl Seen {
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

/// A decision on the stock: entries to append, the stock they lead to, and what to answer.
#[derive(Debug, Clone, PartialEq)]
pub struct StockDraft {
    /// The stock after the entries.
    pub stock: Stock,
    /// Who, where, when.
    pub origin: Origin,
    /// The entries, in order.
    pub events: Vec<Event>,
    /// What was understood, a line each.
    pub said: Vec<String>,
}

impl StockDraft {
    /// A decision that begins at the stock as it stands.
    pub const fn new(stock: Stock, origin: Origin) -> Self {
        Self {
            stock,
            origin,
            events: Vec::new(),
            said: Vec::new(),
        }
    }

    /// Adds an entry and takes what it says.
    pub fn push(&mut self, event: StockEvent) {
        self.stock.take(&self.origin, &event);
        self.events.push(Event::Stock(event));
    }

    /// Adds a line to the answer.
    pub fn say(&mut self, line: impl Into<String>) {
        self.said.push(line.into());
    }
}

/// Numbers of the items and lines that entries are about: the rows to be written anew.
pub fn touched(before: &Stock, events: &[Event]) -> (BTreeSet<u64>, BTreeSet<u64>) {
    let (mut items, mut lines) = (BTreeSet::new(), BTreeSet::new());
    for event in events {
        let Event::Stock(event) = event else { continue };
        items.extend(event.item());
        match event {
            StockEvent::Ordered { line } => {
                lines.insert(line.number);
            }
            StockEvent::Moved { line, .. }
            | StockEvent::Cancelled { line, .. }
            | StockEvent::Credited { line, .. } => {
                lines.insert(*line);
            }
            StockEvent::Came { item } => lines.extend(item.line),
            StockEvent::Returned { item, .. } => {
                lines.extend(before.items.get(item).and_then(|item| item.line));
            }
            StockEvent::Taken { .. } | StockEvent::Counted { .. } | StockEvent::Kept { .. } => {}
        }
    }
    (items, lines)
}
