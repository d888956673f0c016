//! The money of one job: what is quoted, what was agreed, what is paid and what is owed.
//!
//! Amounts are exact. Nothing is struck out: a correction is another entry.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::money::Money;
use crate::origin::Origin;
use crate::part::Slot;
use crate::tax::TaxRate;

mod event;
#[cfg(test)]
mod tests;

pub use event::AccountEvent;

/// What a line of a quote is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LineKind {
    /// A part.
    Part,
    /// Work, by the hour.
    Labour,
    /// Anything else, such as carriage.
    Other,
}

impl LineKind {
    /// All, in the order people are told them.
    pub const ALL: [Self; 3] = [Self::Part, Self::Labour, Self::Other];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Part => "part",
            Self::Labour => "labour",
            Self::Other => "other",
        }
    }
}

/// Why money came or went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PayKind {
    /// Paid before the parts were ordered.
    Deposit,
    /// Paid at the end.
    Balance,
    /// Given back.
    Refund,
    /// Taken off what is owed, because the shop owes it to the rider.
    Credit,
    /// Taken off what is owed, because it will not come.
    WriteOff,
}

impl PayKind {
    /// All, in the order people are told them.
    pub const ALL: [Self; 5] = [
        Self::Deposit,
        Self::Balance,
        Self::Refund,
        Self::Credit,
        Self::WriteOff,
    ];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Deposit => "deposit",
            Self::Balance => "balance",
            Self::Refund => "refund",
            Self::Credit => "credit",
            Self::WriteOff => "write-off",
        }
    }

    /// Whether it takes something off what is to be paid: nobody pays it.
    pub const fn takes_off(self) -> bool {
        matches!(self, Self::Credit | Self::WriteOff)
    }
}

/// A line of the quote.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct QuoteLine {
    /// Number within the job.
    pub number: u32,
    /// What it is for.
    pub kind: LineKind,
    /// What it is.
    pub words: String,
    /// What the rider pays.
    pub price: Money,
    /// What it costs the shop; work costs what the clock says.
    pub cost: Money,
    /// Minutes of work quoted; 0 for all but labour.
    pub minutes: u32,
    /// Charged for something that had to be done again: its cost is rework's.
    pub rework: bool,
    /// The part of the build it asks for; `None` where it names none, and of lines from before this was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<QuotedPart>,
}

/// The part of the build that a line of the quote asks for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct QuotedPart {
    /// The slot it was in when it was quoted.
    pub slot: Slot,
    /// Its id in the catalogue.
    pub part: String,
}

/// Money that came, went or was taken off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Payment {
    /// Why.
    pub kind: PayKind,
    /// How much; never negative.
    pub amount: Money,
    /// How it came, or why it is taken off.
    pub how: String,
    /// By whom it was entered.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// The entry it came in.
    #[serde(default)]
    pub seq: u64,
}

/// What was asked for in the end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Invoice {
    /// Number within the job, from 1.
    pub number: u32,
    /// The total.
    pub total: Money,
    /// When.
    pub at: Timestamp,
}

/// The money of a job.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Account {
    /// Lines that stand.
    pub lines: Vec<QuoteLine>,
    /// Number of the last line.
    pub last_line: u32,
    /// Total the rider lets the shop go to without a call.
    pub ceiling: Option<Money>,
    /// Largest total the rider agreed to since.
    pub agreed: Option<Money>,
    /// Payments, oldest first.
    pub payments: Vec<Payment>,
    /// Invoices, oldest first.
    pub invoices: Vec<Invoice>,
    /// A total that was typed without lines; lines stand before it.
    pub typed_quote: Option<Money>,
    /// Paid before the first payment was entered one by one.
    pub paid_before: Money,
    /// The tax that was entered with the lines that stand, or with the invoice of a typed total.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tax: Option<TaxRate>,
}

impl Account {
    /// Whether nothing was ever entered.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// The total: of the lines, or as typed without them.
    pub fn total(&self) -> Money {
        if self.lines.is_empty() {
            self.typed_quote.unwrap_or_default()
        } else {
            self.lines.iter().map(|line| line.price).sum()
        }
    }

    /// Sum of one kind of payment.
    pub fn sum_of(&self, kind: PayKind) -> Money {
        let these = self.payments.iter().filter(|payment| payment.kind == kind);
        these.map(|payment| payment.amount).sum()
    }

    /// What takes something off the total.
    fn taken_off(&self) -> impl Iterator<Item = &Payment> {
        self.payments.iter().filter(|payment| payment.kind.takes_off())
    }

    /// What the rider is to pay: the total less what was taken off.
    pub fn to_pay(&self) -> Money {
        self.total() - self.taken_off().map(|payment| payment.amount).sum()
    }

    /// Whether what there is to pay is what the last invoice asked for, less what was taken off since.
    pub(crate) fn invoice_stands(&self) -> bool {
        !self.invoices.is_empty() && self.still_invoiced() == self.to_pay()
    }

    /// The tax in what the rider pays, in a shop with this rate. Lines hold one rate as long as one stands; those quoted
    /// before a rate was named hold the shop's until they are asked for without. A total typed without lines holds what
    /// its invoice did.
    pub fn rate(&self, of_shop: Option<TaxRate>) -> Option<TaxRate> {
        let is_open = if self.lines.is_empty() {
            !self.invoice_stands()
        } else {
            self.tax.is_none() && self.invoices.is_empty()
        };
        if is_open { of_shop } else { self.tax }
    }

    /// What of it is the shop's once a tax is out: each line and each amount taken off parted by itself, so that a price
    /// typed without the tax comes out as it was typed.
    pub fn net(&self, rate: Option<TaxRate>) -> Money {
        let Some(rate) = rate else { return self.to_pay() };
        let off: Money = self.taken_off().map(|payment| rate.net_in(payment.amount)).sum();
        let quoted = if self.lines.is_empty() {
            rate.net_in(self.total())
        } else {
            self.lines.iter().map(|line| rate.net_in(line.price)).sum()
        };
        quoted - off
    }

    /// What the rider has paid, refunds taken off.
    pub fn paid(&self) -> Money {
        self.paid_before + self.sum_of(PayKind::Deposit) + self.sum_of(PayKind::Balance)
            - self.sum_of(PayKind::Refund)
    }

    /// What the rider was last asked for, less what was taken off since; nothing without an invoice.
    pub fn still_invoiced(&self) -> Money {
        let Some(last) = self.invoices.last() else {
            return Money::ZERO;
        };
        let since = self.taken_off().filter(|payment| payment.at > last.at);
        last.total - since.map(|payment| payment.amount).sum()
    }

    /// Cost of the parts and other lines, those of rework left out.
    pub fn parts_cost(&self) -> Money {
        let these = self.lines.iter().filter(|line| !line.rework);
        these.map(|line| line.cost).sum()
    }

    /// Cost of the lines for parts and other things, those of rework among them: a kit may be quoted as either.
    pub fn quoted_parts_cost(&self) -> Money {
        let these = self.lines.iter().filter(|line| line.kind != LineKind::Labour);
        these.map(|line| line.cost).sum()
    }

    /// Cost of the parts that had to be bought again.
    pub fn rework_parts_cost(&self) -> Money {
        let these = self.lines.iter().filter(|line| line.rework);
        these.map(|line| line.cost).sum()
    }

    /// Price of the parts and other lines, the tax taken out, less their cost.
    pub fn parts_margin(&self, rate: Option<TaxRate>) -> Money {
        let these = self.lines.iter().filter(|line| line.kind != LineKind::Labour);
        let net = |price| rate.map_or(price, |rate| rate.net_in(price));
        these.map(|line| net(line.price) - line.cost).sum()
    }

    /// How far the total lies above what the rider agreed to; `None` when it does not, or when
    /// nobody named a ceiling.
    pub fn over_ceiling(&self) -> Option<Money> {
        let limit = self.ceiling.max(self.agreed)?;
        let over = self.total() - limit;
        (over > Money::ZERO).then_some(over)
    }

    /// What the rider has for it, given the budget of the brief: more where more was agreed to since.
    pub fn purse(&self, budget: Money) -> Money {
        budget.max(self.ceiling.max(self.agreed).unwrap_or(budget))
    }

    /// Takes what an entry says.
    pub fn take(&mut self, seq: u64, origin: &Origin, event: &AccountEvent) {
        match event {
            AccountEvent::Quoted(line) => {
                self.last_line = line.number;
                self.lines.push(line.clone());
            }
            AccountEvent::Taxed { rate } => self.tax = Some(*rate),
            AccountEvent::Struck { number, .. } => {
                self.lines.retain(|line| line.number != *number);
                if self.lines.is_empty() && !self.invoice_stands() {
                    self.tax = None;
                }
            }
            AccountEvent::Ceiling { amount } => self.ceiling = Some(*amount),
            AccountEvent::Agreed { total, .. } => self.agreed = self.agreed.max(Some(*total)),
            AccountEvent::Paid { kind, amount, how } => self.payments.push(Payment {
                kind: *kind,
                amount: *amount,
                how: how.clone(),
                by: origin.by.clone(),
                at: origin.made,
                seq,
            }),
            AccountEvent::Invoiced { number, total } => self.invoices.push(Invoice {
                number: *number,
                total: *total,
                at: origin.made,
            }),
        }
    }

    /// Takes a total typed as a fact.
    pub fn take_typed_quote(&mut self, total: Money) {
        self.typed_quote = Some(total);
    }

    /// Takes all that is paid, typed as a fact: what was not entered one by one came before.
    pub fn take_typed_paid(&mut self, paid: Money) {
        self.paid_before = self.paid_before + paid - self.paid();
    }
}
