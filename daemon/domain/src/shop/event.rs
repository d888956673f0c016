//! What an entry of the shop as a whole may say.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::people::Role;
use super::setting::{Setting, Units};
use crate::calendar::WorkingDay;
use crate::supply::piece::Off;
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
        /// Why; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        why: String,
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
        /// Why; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        why: String,
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
    /// A setting is this from now on.
    Set {
        /// The setting.
        setting: Setting,
        /// Its text.
        value: String,
        /// Why; may be empty.
        why: String,
    },
    /// A setting is as shipped again.
    Unset {
        /// The setting.
        setting: Setting,
        /// Why; may be empty.
        why: String,
    },
    /// Somebody works here, as this, from now on.
    Joined {
        /// Initials.
        initials: String,
        /// Name; may be empty.
        name: String,
        /// As what.
        role: Role,
    },
    /// Somebody no longer works here.
    Left {
        /// Initials.
        initials: String,
        /// Why; may be empty.
        why: String,
    },
    /// Somebody reads in this unit system from now on.
    UnitsChosen {
        /// Initials.
        initials: String,
        /// Which; none for that of the shop.
        units: Option<Units>,
    },
    /// The end-of-day report of a day was written.
    EveningWritten {
        /// The day.
        day: Date,
        /// It tells what had been made before this moment …
        as_of: Timestamp,
        /// … and was stored up to this entry of the whole journal.
        upto: u64,
    },
    /// Overdue lines, days to ask again and promises were looked through.
    Swept {
        /// The day.
        day: Date,
        /// Overdue order lines for which a block was opened.
        overdue: u32,
        /// Blocks whose day to ask again has come.
        chase: u32,
        /// Promises that cannot be kept as things stand.
        at_risk: u32,
    },
    /// A supplier as it is from now on.
    Supplier {
        /// The supplier.
        supplier: Supplier,
    },
    /// A part of the catalogue is offered no more: jobs that hold it keep it.
    PartWithdrawn {
        /// Its id.
        part: String,
        /// Why.
        why: String,
    },
    /// A part that was withdrawn is offered again.
    PartOffered {
        /// Its id.
        part: String,
        /// Why; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        why: String,
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
    /// Private texts of entries written before such texts were kept apart were put under seal, and
    /// the hashes from there on made anew.
    HistorySealed {
        /// How many entries had any.
        entries: u64,
        /// The last entry of the whole journal then.
        upto: u64,
        /// Its hash before, in hexadecimal …
        before: String,
        /// … and since.
        after: String,
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
        /// The pieces that are meant and were on the job then; `None` where an earlier version did not write it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        there: Option<Vec<Off>>,
    },
    /// A certificate was made for a bench and a person; its key is kept nowhere here.
    Paired {
        /// Its number.
        number: u32,
        /// The bench.
        bench: String,
        /// Initials of who works with it.
        person: String,
        /// SHA-256 of the certificate, hexadecimal.
        fingerprint: String,
        /// From this moment on it counts no longer.
        until: Timestamp,
    },
    /// A certificate counts no longer.
    PairRevoked {
        /// Its number.
        number: u32,
        /// Why; may be empty.
        why: String,
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
            Self::Set { .. } => "set",
            Self::Unset { .. } => "unset",
            Self::Joined { .. } => "joined",
            Self::Left { .. } => "left",
            Self::UnitsChosen { .. } => "units-chosen",
            Self::EveningWritten { .. } => "evening-written",
            Self::Swept { .. } => "swept",
            Self::Supplier { .. } => "supplier",
            Self::PartWithdrawn { .. } => "part-withdrawn",
            Self::PartOffered { .. } => "part-offered",
            Self::RecallOpened { .. } => "recall-opened",
            Self::RecallCalled { .. } => "recall-called",
            Self::Paired { .. } => "paired",
            Self::PairRevoked { .. } => "pair-revoked",
            Self::HistorySealed { .. } => "history-sealed",
        }
    }

    /// Whether the owner may retract it: what a person said, not what the daemon did. A pair is
    /// revoked instead, and stays revoked.
    pub const fn can_be_undone(&self) -> bool {
        !matches!(
            self,
            Self::EveningWritten { .. }
                | Self::Swept { .. }
                | Self::Paired { .. }
                | Self::PairRevoked { .. }
                | Self::HistorySealed { .. }
        )
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        match self {
            Self::WorkingDays { days, why } => {
                let words: Vec<&str> = days.iter().map(|day| day.word()).collect();
                format!("worked: {}{}", words.join(", "), because(why))
            }
            Self::Shut { days, why } => format!("shut on {}{}", listed(days), because(why)),
            Self::Open { days, why } => format!("not shut on {}{}", listed(days), because(why)),
            Self::RuleSet { key, value, why } => format!("{key} is {value}: {why}"),
            Self::RuleRestored { key, why } => format!("{key} as shipped{}", because(why)),
            Self::Set { setting, value, why } => {
                format!("{} is {value}{}", setting.word(), because(why))
            }
            Self::Unset { setting, why } => format!("{} as shipped{}", setting.word(), because(why)),
            Self::Joined { initials, name, role } => {
                let named = if name.is_empty() {
                    String::new()
                } else {
                    format!(" ({name})")
                };
                format!("{initials}{named} works here as {}", role.word())
            }
            Self::Left { initials, why } => format!("{initials} no longer works here{}", because(why)),
            Self::UnitsChosen { initials, units } => match units {
                Some(units) => format!("{initials} reads {} units first", units.word()),
                None => format!("{initials} reads units as the shop does"),
            },
            Self::EveningWritten { day, .. } => format!("end-of-day report of {day} written"),
            Self::Swept {
                day,
                overdue,
                chase,
                at_risk,
            } => format!(
                "looked through on {day}: overdue lines blocked {overdue}, to ask again {chase}, \
                 promises at risk {at_risk}"
            ),
            Self::Supplier { supplier } => format!("supplier {}", supplier::line(supplier)),
            Self::PartWithdrawn { part, why } => format!("{part} is offered no more: {why}"),
            Self::PartOffered { part, why } => format!("{part} is offered again{}", because(why)),
            Self::RecallOpened {
                number, name, why, ..
            } => format!("recall {number} opened, {name}: {why}"),
            Self::Paired {
                number,
                bench,
                person,
                fingerprint,
                until,
            } => format!(
                "pair {number}: {bench} for {person} until {}, certificate {}",
                until.strftime("%Y-%m-%d"),
                fingerprint.get(..16).unwrap_or(fingerprint)
            ),
            Self::PairRevoked { number, why } => format!("pair {number} revoked{}", because(why)),
            Self::HistorySealed {
                entries,
                upto,
                before,
                after,
            } => format!(
                "names and words of {entries} older entries put under seal; entry {upto} of the journal had the \
                 hash {before} and has {after}"
            ),
            Self::RecallCalled {
                number,
                job,
                state,
                note,
                ..
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

/// `: why`, or nothing.
fn because(why: &str) -> String {
    if why.is_empty() {
        String::new()
    } else {
        format!(": {why}")
    }
}

/// Days in words: each run of days as `first..last`.
pub(super) fn listed(days: &BTreeSet<Date>) -> String {
    let mut runs: Vec<(Date, Date)> = Vec::new();
    for day in days {
        match runs.last_mut() {
            Some((_, last)) if last.tomorrow().is_ok_and(|next| next == *day) => *last = *day,
            _ => runs.push((*day, *day)),
        }
    }
    let words: Vec<String> = runs
        .into_iter()
        .map(|(first, last)| {
            if first == last {
                first.to_string()
            } else {
                format!("{first}..{last}")
            }
        })
        .collect();
    words.join(", ")
}
