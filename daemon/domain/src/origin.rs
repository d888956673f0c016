//! Who made an entry, where and when.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// Who made an entry and from where.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Origin {
    /// Initials or name.
    pub by: String,
    /// Terminal or bench.
    pub terminal: String,
    /// When it was made; may be earlier than when it was stored.
    pub made: Timestamp,
}
