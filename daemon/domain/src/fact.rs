//! Facts: values the checks use, each with its provenance.

use std::fmt;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// A value as kept: numbers in SI (see [`crate::unit::Kind`] for each kind's SI unit).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Value {
    /// A quantity in its kind's SI unit.
    Number(f64),
    /// Money in minor units of the shop's currency.
    Money(i64),
    /// One of a fixed set of words.
    Word(String),
    /// Yes or no.
    Flag(bool),
    /// Free text.
    Text(String),
    /// A calendar day.
    Day(Date),
    /// Whole numbers in rising order, such as the teeth of a cassette.
    Teeth(Vec<u32>),
    /// Ratios in rising order, such as those of the gears inside a hub.
    Ratios(Vec<f64>),
    /// So many times out of so many.
    Tally {
        /// How often it worked.
        good: u32,
        /// How often it was tried.
        tried: u32,
    },
}

impl Value {
    /// The number, if it is one.
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(si) => Some(*si),
            _ => None,
        }
    }

    /// The word or text, if it is one.
    pub fn text(&self) -> Option<&str> {
        match self {
            Self::Word(text) | Self::Text(text) => Some(text),
            _ => None,
        }
    }
}

/// Where a value comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Provenance {
    /// Read off an instrument in the shop.
    Measured,
    /// Read off a label, a data sheet, a map, or told by the rider.
    Stated,
    /// Taken for want of anything better.
    Assumed,
}

impl fmt::Display for Provenance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Measured => "measured",
            Self::Stated => "stated",
            Self::Assumed => "assumed",
        })
    }
}

/// One reading of an instrument.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What was read.
    pub value: Value,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: String,
    /// The entry it came in.
    pub seq: u64,
}

/// A value the checks use.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fact {
    /// The value that stands: for several readings of a number, their mean, or the middle
    /// one of three or more, or the worst of what is read at its worst place; for several rounds of tries, all of them together.
    pub value: Value,
    /// Where it comes from.
    pub provenance: Provenance,
    /// The readings behind a measured value, oldest first; the last series only.
    pub readings: Vec<Reading>,
    /// Standard deviation of the readings of a number, in SI; 0 for a single reading.
    pub spread: f64,
    /// The entry that last touched it.
    pub seq: u64,
    /// When it was last touched.
    pub at: Timestamp,
    /// What was changed after this was measured, a slot or a code: the value no longer counts.
    pub stale: Option<String>,
}
