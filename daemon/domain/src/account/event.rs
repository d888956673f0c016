//! What an entry about a job's money may say.

use serde::{Deserialize, Serialize};

use super::{LineKind, PayKind, QuoteLine};
use crate::money::Money;
use crate::tax::TaxRate;

/// An entry about money.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum AccountEvent {
    /// A line was put into the quote.
    Quoted(QuoteLine),
    /// What the rider pays holds this tax, from here on until no line stands; of a total typed without lines, as long as
    /// its invoice does.
    Taxed {
        /// The rate.
        rate: TaxRate,
    },
    /// A line does not stand any more.
    Struck {
        /// Its number.
        number: u32,
        /// Why.
        why: String,
    },
    /// The rider named the total up to which nobody has to call.
    Ceiling {
        /// The total.
        amount: Money,
    },
    /// The rider agreed to a higher total.
    Agreed {
        /// The total.
        total: Money,
        /// How it was said.
        how: String,
    },
    /// Money came, went or was taken off.
    Paid {
        /// Why.
        kind: PayKind,
        /// How much.
        amount: Money,
        /// How it came, or why it is taken off.
        how: String,
    },
    /// The rider was asked for the total.
    Invoiced {
        /// Number within the job.
        number: u32,
        /// The total.
        total: Money,
    },
}

impl AccountEvent {
    /// The word of the entry's kind, as stored and shown.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Quoted(_) => "quoted",
            Self::Taxed { .. } => "taxed",
            Self::Struck { .. } => "struck",
            Self::Ceiling { .. } => "ceiling",
            Self::Agreed { .. } => "agreed",
            Self::Paid { .. } => "paid",
            Self::Invoiced { .. } => "invoiced",
        }
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        match self {
            Self::Quoted(line) => {
                let mark = if line.rework { ", rework" } else { "" };
                let hours = match line.kind {
                    LineKind::Labour => format!(" ({}:{:02} h)", line.minutes / 60, line.minutes % 60),
                    LineKind::Part | LineKind::Other => String::new(),
                };
                format!(
                    "quote line {} ({}{mark}): {}{hours}, {}",
                    line.number,
                    line.kind.word(),
                    line.words,
                    line.price
                )
            }
            Self::Taxed { rate } => format!("prices hold {rate} % tax"),
            Self::Struck { number, why } => format!("quote line {number} struck: {why}"),
            Self::Ceiling { amount } => format!("no call needed up to {amount}"),
            Self::Agreed { total, how } => format!("rider agreed to {total}: {how}"),
            Self::Paid { kind, amount, how } if how.is_empty() => format!("{} {amount}", kind.word()),
            Self::Paid { kind, amount, how } => format!("{} {amount}: {how}", kind.word()),
            Self::Invoiced { number, total } => format!("invoice {number}: {total}"),
        }
    }
}
