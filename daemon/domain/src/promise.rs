//! What was promised to a rider: every day that was named, and what the rider was told of it.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// The code of the promised day.
pub const PROMISE: &str = "promise";
/// The code of how fixed it is.
pub const PROMISE_KIND: &str = "promise-kind";

/// A day that was promised.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Promise {
    /// The day.
    pub day: Date,
    /// Why; may be empty for the first.
    pub why: String,
    /// By whom; empty for one stated with the brief.
    pub by: String,
    /// When it was promised.
    pub at: Timestamp,
}

/// What the rider was told about the promise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Told {
    /// The words.
    pub words: String,
    /// By whom.
    pub by: String,
    /// When.
    pub at: Timestamp,
}
