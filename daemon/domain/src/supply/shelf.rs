//! The shelf: what lies there, for whom it is kept, and the order lines that fill it.
//!
//! A pure fold over the stock's entries, which belong to no job. It is folded item by item: a
//! decision needs only what lies on the shelf now and the lines that are not settled.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use crate::entry::{Entry, Event};
use crate::money::Money;
use crate::origin::Origin;
use crate::supply::event::StockEvent;
use crate::supply::item::{Gone, Item, Whither};
use crate::supply::line::OrderLine;

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

    /// What one of an item cost: as it was known when it came, or by the line it was ordered with, where it came before
    /// items kept their price. `None` where nobody typed a price.
    pub fn paid_for(&self, item: &Item) -> Option<Money> {
        let line = || item.line.and_then(|line| self.lines.get(&line));
        item.paid.or_else(|| line()?.price)
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
            StockEvent::Returned {
                item,
                count,
                why,
                owed,
            } => {
                if let (Some(number), Some(item)) = (owed, self.items.get(item)) {
                    self.last_line = self.last_line.max(*number);
                    self.lines.insert(*number, item.owed(*number, *count, why));
                }
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
            StockEvent::Returned { item, owed, .. } => {
                lines.extend(before.items.get(item).and_then(|item| item.line));
                lines.extend(owed);
            }
            StockEvent::Taken { .. } | StockEvent::Counted { .. } | StockEvent::Kept { .. } => {}
        }
    }
    (items, lines)
}
