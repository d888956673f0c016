//! After handover: visits, claims, parts swapped, and who paid.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::labour::Cause;
use crate::money::Money;
use crate::part::Slot;
use crate::receipt::Receipt;

/// Who pays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Payer {
    /// The shop.
    Shop,
    /// A supplier.
    Supplier,
    /// The rider.
    Rider,
}

impl Payer {
    /// All, in the order people are told them.
    pub const ALL: [Self; 3] = [Self::Shop, Self::Supplier, Self::Rider];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Shop => "shop",
            Self::Supplier => "supplier",
            Self::Rider => "rider",
        }
    }
}

/// A visit after handover.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Visit {
    /// What the rider said; empty for a first check without complaint.
    pub symptom: String,
    /// Distance ridden, km.
    pub odometer_km: Option<u32>,
    /// What was found and done.
    pub found: String,
    /// Why the bicycle came back; `None` when nothing was wrong.
    pub cause: Option<Cause>,
    /// Who pays; `None` when there was nothing to pay.
    pub payer: Option<Payer>,
    /// Whether it was the first check.
    pub first_check: bool,
}

/// An entry after handover.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum AfterEvent {
    /// The bicycle came back for a visit.
    Visited(Visit),
    /// Somebody is asked to pay for what went wrong.
    Claimed {
        /// Number within the job.
        number: u32,
        /// Who is asked.
        against: Payer,
        /// What for.
        about: String,
        /// How much; `None` when nobody knows yet.
        amount: Option<Money>,
    },
    /// A claim came to an end.
    ClaimSettled {
        /// Its number.
        number: u32,
        /// What was paid; nothing when it was turned down.
        paid: Money,
        /// How it ended.
        how: String,
    },
    /// A part was put in for another one, as it was entered before [`Self::Replaced`]: what was seen on the one that came
    /// off stands on.
    Swapped {
        /// Slot.
        slot: Slot,
        /// Serial that came off.
        serial_out: String,
        /// Serial that went on.
        serial_in: String,
        /// Lot of the one that went on; may be empty.
        lot_in: String,
        /// Who pays.
        payer: Payer,
        /// Why.
        why: String,
    },
    /// A part was put in for another one, of which nothing is known but what was seen on it.
    Replaced {
        /// Serial that came off.
        serial_out: String,
        /// What went on.
        came: Receipt,
        /// Who pays.
        payer: Payer,
        /// Why.
        why: String,
    },
    /// More was seen on a part that was put in for another one: all that is known of it now.
    LookedAt(Receipt),
}

impl AfterEvent {
    /// The word of the entry's kind, as stored and shown.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Visited(_) => "visited",
            Self::Claimed { .. } => "claimed",
            Self::ClaimSettled { .. } => "claim-settled",
            Self::Swapped { .. } => "swapped",
            Self::Replaced { .. } => "replaced",
            Self::LookedAt(_) => "looked-at",
        }
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        match self {
            Self::Visited(visit) => {
                let mut words = vec![if visit.first_check { "first check" } else { "visit" }.to_owned()];
                words.extend(visit.odometer_km.map(|km| format!("{km} km")));
                words.extend(Some(visit.symptom.clone()).filter(|symptom| !symptom.is_empty()));
                words.push(format!("found: {}", visit.found));
                words.extend(visit.cause.map(|cause| format!("because of {}", cause.word())));
                words.extend(visit.payer.map(|payer| format!("paid by {}", payer.word())));
                words.join(", ")
            }
            Self::Claimed {
                number,
                against,
                about,
                amount,
            } => {
                let amount = amount.map_or_else(String::new, |amount| format!(", {amount}"));
                format!("claim {number} against {}: {about}{amount}", against.word())
            }
            Self::ClaimSettled { number, paid, how } => format!("claim {number} settled, {paid} paid: {how}"),
            Self::Swapped {
                slot,
                serial_out,
                serial_in,
                payer,
                why,
                ..
            } => swap_line(*slot, serial_out, serial_in, *payer, why),
            Self::Replaced {
                serial_out,
                came,
                payer,
                why,
            } => {
                let serial_in = came.serial.as_deref().unwrap_or_default();
                let line = swap_line(came.slot, serial_out, serial_in, *payer, why);
                match came.seen() {
                    Some(seen) => format!("{line}; {seen}"),
                    None => line,
                }
            }
            Self::LookedAt(receipt) => {
                let words = [Some(receipt.slot.word().to_owned()), receipt.serial.clone()];
                let piece: Vec<String> = words.into_iter().flatten().collect();
                let seen = receipt.seen().unwrap_or_default();
                format!("{} looked at: {seen}", piece.join(" "))
            }
        }
    }

    /// The slot in which a part was put in for another one.
    pub const fn swapped_slot(&self) -> Option<Slot> {
        match self {
            Self::Swapped { slot, .. } => Some(*slot),
            Self::Replaced { came, .. } => Some(came.slot),
            _ => None,
        }
    }
}

fn swap_line(slot: Slot, serial_out: &str, serial_in: &str, payer: Payer, why: &str) -> String {
    format!(
        "{} {serial_out} swapped for {serial_in}, paid by {}: {why}",
        slot.word(),
        payer.word()
    )
}

/// A visit with its day and hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Visited {
    /// When.
    pub at: Timestamp,
    /// Who looked at it.
    pub by: String,
    /// What it was.
    pub visit: Visit,
}

/// A claim.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Claim {
    /// Number within the job.
    pub number: u32,
    /// Who is asked.
    pub against: Payer,
    /// What for.
    pub about: String,
    /// How much.
    pub amount: Option<Money>,
    /// When it was opened.
    pub opened: Timestamp,
    /// When it ended, what was paid and how; `None` while it is open.
    pub settled: Option<(Timestamp, Money, String)>,
}

/// A part put in for another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Swap {
    /// When.
    pub at: Timestamp,
    /// Slot.
    pub slot: Slot,
    /// Serial that came off.
    pub serial_out: String,
    /// Lot of the one that came off; empty when nobody knew it.
    pub lot_out: String,
    /// Serial that went on.
    pub serial_in: String,
    /// Lot of the one that went on.
    pub lot_in: String,
    /// Who pays.
    pub payer: Payer,
    /// Why.
    pub why: String,
}

/// What happened after handover.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct After {
    /// Visits, oldest first.
    pub visits: Vec<Visited>,
    /// Claims, oldest first.
    pub claims: Vec<Claim>,
    /// Parts swapped, oldest first.
    pub swaps: Vec<Swap>,
}

impl After {
    /// Whether nothing was ever entered.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Whether the first check was made.
    pub fn first_check_made(&self) -> bool {
        self.visits.iter().any(|visited| visited.visit.first_check)
    }
}

/// The day a first check is due: the day agreed at handover, or so many days after it.
pub fn first_check_due(agreed: Option<Date>, handed_over: Date, days: u32) -> Date {
    let after = jiff::Span::new().days(i64::from(days.min(3_650)));
    agreed.unwrap_or_else(|| handed_over.saturating_add(after))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    /// Scenario of the trade (common practice, no source): handed over on Friday 13 March 2026,
    /// first check on 12 April 2026 or after 150 km.
    #[test]
    fn the_first_check_is_due_thirty_days_after_handover_or_when_it_was_agreed() {
        let handed_over = date(2026, 3, 13);
        assert_eq!(first_check_due(None, handed_over, 30), date(2026, 4, 12));
        assert_eq!(
            first_check_due(Some(date(2026, 4, 1)), handed_over, 30),
            date(2026, 4, 1)
        );
        // Across the leap day of 2028.
        assert_eq!(first_check_due(None, date(2028, 2, 10), 30), date(2028, 3, 11));
    }
}
