//! Blocks (why a job cannot move) and holds (planned waits).

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::part::Slot;
use crate::stage::Stage;

/// What kind of thing keeps the job from moving.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    /// It does not fit the bicycle.
    Fit,
    /// A part is late, wrong or missing.
    Parts,
    /// Volts, currents, charger.
    Power,
    /// Ride class, papers, ownership.
    Law,
    /// Cracks, wear, brakes.
    Safe,
    /// A test run failed.
    Ride,
    /// The rider owes an answer, money or a visit.
    Rider,
    /// No bench, tool, hand or weather.
    Shop,
}

impl Family {
    /// All families, in the order reports list them.
    pub const ALL: [Self; 8] = [
        Self::Fit,
        Self::Parts,
        Self::Power,
        Self::Law,
        Self::Safe,
        Self::Ride,
        Self::Rider,
        Self::Shop,
    ];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fit => "fit",
            Self::Parts => "parts",
            Self::Power => "power",
            Self::Law => "law",
            Self::Safe => "safe",
            Self::Ride => "ride",
            Self::Rider => "rider",
            Self::Shop => "shop",
        }
    }

    /// Reads a family from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|family| family.word() == word)
    }

    /// Who usually has to act on a block of this family (common practice, no source).
    pub const fn usual_move(self) -> Whose {
        match self {
            Self::Fit | Self::Safe | Self::Ride => Whose::Mechanic,
            Self::Parts => Whose::Supplier,
            Self::Power | Self::Law | Self::Shop => Whose::Owner,
            Self::Rider => Whose::Rider,
        }
    }
}

/// Whose move it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Whose {
    /// The mechanic at the bench.
    Mechanic,
    /// The owner.
    Owner,
    /// A supplier.
    Supplier,
    /// The rider.
    Rider,
}

impl Whose {
    /// All, in the order lists show them.
    pub const ALL: [Self; 4] = [Self::Mechanic, Self::Owner, Self::Supplier, Self::Rider];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mechanic => "mechanic",
            Self::Owner => "owner",
            Self::Supplier => "supplier",
            Self::Rider => "rider",
        }
    }

    /// Reads from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|whose| whose.word() == word)
    }
}

/// One reason why a job cannot move.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Block {
    /// Number within the job, from 1; what people type to clear it.
    pub number: u32,
    /// Family.
    pub family: Family,
    /// The gate at which it stands.
    pub gate: Stage,
    /// The check it comes from; `None` for a block opened by hand.
    pub check: Option<String>,
    /// What is wrong, with numbers.
    pub about: String,
    /// Whose move it is.
    pub whose: Whose,
    /// When somebody asks again.
    pub chase: Option<Date>,
    /// What clears it.
    pub clears_when: String,
    /// When it was opened.
    pub opened: Timestamp,
    /// Who opened it.
    pub by: String,
    /// The order line it is about, where it opened by itself because of one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<LateLine>,
    /// The slot it is about, where it opened by itself because the catalogue has another part under that id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<Slot>,
}

impl Block {
    /// What clears it, with the command that leads there where the words name a check or the arrival of an order line
    /// alone; `job` is where it stands.
    pub fn way_out(&self, job: u32) -> String {
        let clears_when = &self.clears_when;
        match (&self.line, &self.check) {
            (Some(late), _) => format!(
                "{clears_when}: `lockring order moved {job} {} DAY --why …`",
                late.slot.word()
            ),
            (None, Some(check)) if !clears_when.starts_with("lockring") => {
                format!("{clears_when}: `lockring explain {job} {check}`")
            }
            _ => clears_when.clone(),
        }
    }
}

/// An order line past its day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LateLine {
    /// Its slot.
    pub slot: Slot,
    /// The day it was due.
    pub due: Date,
}

/// A planned wait: not a block and not counted as one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hold {
    /// Why the job waits.
    pub why: String,
    /// The day it is meant to end.
    pub until: Option<Date>,
    /// When it began.
    pub since: Timestamp,
}
