//! Pieces: the very parts that are, or ever were, on a job.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::money::Money;
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::supply::line::Goods;

/// A part that came to a job, marked or not, and how it left.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// The slot it came for.
    pub slot: Slot,
    /// The part.
    pub goods: Goods,
    /// Serial number.
    pub serial: Option<String>,
    /// Lot mark.
    pub lot: Option<String>,
    /// Who delivered it, as far as known.
    pub supplier: Option<String>,
    /// When it came to the job.
    pub came: Timestamp,
    /// The item of the shelf it came from; `None` straight from the supplier.
    pub item: Option<u64>,
    /// How it left the job; `None` while it is there.
    pub left: Option<Left>,
    /// What it cost, where it came from the shelf; read it by `Job::paid_for`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid: Option<Money>,
}

/// How a piece left a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Left {
    /// When.
    pub at: Timestamp,
    /// Where to.
    pub fate: Fate,
    /// Why.
    pub why: String,
}

/// Where a piece that left a job went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fate {
    /// Another took its place on the job; it lies in the shop.
    Swapped,
    /// Back to the supplier.
    Returned,
    /// Onto the shelf.
    PutBack,
    /// Thrown away.
    Scrapped,
    /// On the job again, where it is a piece of its own.
    Refitted,
    /// To whoever paid for the one in its place, as far as anybody knows: it was taken off when nobody was asked yet.
    Gone,
}

impl Fate {
    /// All.
    pub const ALL: [Self; 6] = [
        Self::Swapped,
        Self::Returned,
        Self::PutBack,
        Self::Scrapped,
        Self::Refitted,
        Self::Gone,
    ];

    /// The word as stored and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Swapped => "swapped",
            Self::Returned => "returned",
            Self::PutBack => "put-back",
            Self::Scrapped => "scrapped",
            Self::Refitted => "refitted",
            Self::Gone => "gone",
        }
    }

    /// Reads a fate from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|fate| fate.word() == word)
    }
}

/// Which of the pieces that were taken off a job is meant: by what it is, not by its place in the
/// list, so that it is still meant when an earlier entry no longer counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Off {
    /// Id of the part in the catalogue.
    pub part: String,
    /// Serial number, if it bears one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// When it came to the job, where nothing else tells it from another that was taken off the same slot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub came: Option<Timestamp>,
}

impl From<&Piece> for Off {
    fn from(piece: &Piece) -> Self {
        Self {
            part: piece.goods.part.clone(),
            serial: piece.serial.clone(),
            came: None,
        }
    }
}

impl Off {
    /// How it is called.
    pub fn mark(&self) -> &str {
        self.serial.as_deref().unwrap_or(&self.part)
    }

    /// One piece and no other of the same kind, by when it came to the job.
    pub fn that_came(piece: &Piece) -> Self {
        Self {
            came: Some(piece.came),
            ..Self::from(piece)
        }
    }

    /// Whether it is the one of this part that came then; a serial that was read off it since makes no other of it.
    pub fn is_of(&self, part: &str, serial: Option<&str>, came: Timestamp) -> bool {
        let known = self.serial.as_deref();
        self.part == part && self.came == Some(came) && (known.is_none() || known == serial)
    }

    /// Whether it means this piece.
    pub fn means(&self, piece: &Piece) -> bool {
        piece.goods.part == self.part
            && piece.serial == self.serial
            && self.came.is_none_or(|came| came == piece.came)
    }
}

impl Piece {
    /// Whether it was taken off the job and nobody said yet where it went.
    pub fn is_loose(&self) -> bool {
        self.left.as_ref().is_some_and(|left| left.fate == Fate::Swapped)
    }
}

/// Whether a further receipt, as it is stored, speaks of the part on file: it tells something,
/// and no other serial.
pub fn is_same(before: &Receipt, now: &Receipt) -> bool {
    let other = matches!((&before.serial, &now.serial), (Some(old), Some(new)) if old != new);
    now.tells() && !other && (now.shelf.is_none() || now.shelf == before.shelf)
}

/// Where a piece with a serial number is now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// Id of the part in the catalogue.
    pub part: String,
    /// The job it is on; `None` on the shelf.
    pub job: Option<u32>,
    /// The slot it is in, on a job.
    pub slot: Option<Slot>,
    /// The item of the shelf.
    pub item: Option<u64>,
}

impl Holder {
    /// The place in words.
    pub fn place(&self) -> String {
        match (self.job, self.slot, self.item) {
            (Some(job), Some(slot), _) => format!("on job {job} as its {}", slot.word()),
            (Some(job), None, _) => format!("on job {job}"),
            (None, _, Some(item)) => format!("on the shelf as item {item}"),
            (None, _, None) => "on the shelf".to_owned(),
        }
    }
}
