//! The people of the shop.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// What somebody is in the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Answers for the shop: concedes, refuses, writes off, sets limits and settings.
    Owner,
    /// Works at the bench.
    Mechanic,
}

impl Role {
    /// All.
    pub const ALL: [Self; 2] = [Self::Owner, Self::Mechanic];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Owner => "owner",
            Self::Mechanic => "mechanic",
        }
    }

    /// Reads from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// Somebody of the shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// Name; may be empty.
    pub name: String,
    /// What they are.
    pub role: Role,
    /// Who entered them as that.
    pub by: String,
    /// Since when.
    pub since: Timestamp,
    /// When they left.
    pub left: Option<Timestamp>,
}
