//! What an entry of the shop as a whole may say.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::calendar::WorkingDay;
use crate::supply::recall::{CallState, FindText};
use crate::supply::supplier::{self, Supplier};

/// What an entry of no job says. As with those of a job, a new meaning gets a new variant or a
/// new optional field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum ShopEvent {
    /// These days of the week are worked, and no others.
    WorkingDays {
        /// Days of the week.
        days: BTreeSet<WorkingDay>,
    },
    /// The shop is shut on these days.
    Shut {
        /// Days.
        days: BTreeSet<Date>,
        /// Why.
        why: String,
    },
    /// The shop is not shut on these days after all.
    Open {
        /// Days.
        days: BTreeSet<Date>,
    },
    /// A limit of the rule sheet is the shop's own from now on.
    RuleSet {
        /// The rule's word.
        key: String,
        /// The value as typed, with its unit.
        value: String,
        /// Why, with its source if it has one.
        why: String,
    },
    /// A limit of the rule sheet is the shipped one again.
    RuleRestored {
        /// The rule's word.
        key: String,
        /// Why.
        why: String,
    },
    /// A supplier as it is from now on.
    Supplier {
        /// The supplier.
        supplier: Supplier,
    },
    /// A recall was opened.
    RecallOpened {
        /// Its number.
        number: u32,
        /// What it is called.
        name: String,
        /// Why.
        why: String,
        /// Which pieces.
        find: FindText,
    },
    /// How far a rider is with a recall.
    RecallCalled {
        /// The recall.
        number: u32,
        /// The job.
        job: u32,
        /// What it came to.
        state: CallState,
        /// In words.
        note: String,
    },
}

impl ShopEvent {
    /// The word of the entry's kind, as stored and shown.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::WorkingDays { .. } => "working-days",
            Self::Shut { .. } => "shut",
            Self::Open { .. } => "open",
            Self::RuleSet { .. } => "rule-set",
            Self::RuleRestored { .. } => "rule-restored",
            Self::Supplier { .. } => "supplier",
            Self::RecallOpened { .. } => "recall-opened",
            Self::RecallCalled { .. } => "recall-called",
        }
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        match self {
            Self::WorkingDays { days } => {
                let words: Vec<&str> = days.iter().map(|day| day.word()).collect();
                format!("worked: {}", words.join(", "))
            }
            Self::Shut { days, why } => format!("shut on {}: {why}", listed(days)),
            Self::Open { days } => format!("not shut on {}", listed(days)),
            Self::RuleSet { key, value, why } => format!("{key} is {value}: {why}"),
            Self::RuleRestored { key, why } => format!("{key} as shipped: {why}"),
            Self::Supplier { supplier } => format!("supplier {}", supplier::line(supplier)),
            Self::RecallOpened {
                number, name, why, ..
            } => format!("recall {number} opened, {name}: {why}"),
            Self::RecallCalled {
                number,
                job,
                state,
                note,
            } => {
                let note = if note.is_empty() {
                    String::new()
                } else {
                    format!(": {note}")
                };
                format!("recall {number}, job {job}: {}{note}", state.word())
            }
        }
    }
}

fn listed(days: &BTreeSet<Date>) -> String {
    let days: Vec<String> = days.iter().map(Date::to_string).collect();
    days.join(", ")
}
