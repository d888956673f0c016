//! A log as the journal keeps it, and what of it the job knows.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::packed::Packed;
use super::study::{Meter, Study};

/// A ride's log that was read: what it showed then, and the file itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Logged {
    /// Number within the job.
    pub number: u32,
    /// Name of the file.
    pub file: String,
    /// Columns named by hand, as typed.
    pub columns: String,
    /// Where the power meter was said to sit.
    pub meter: Meter,
    /// The file's bytes and their hash.
    pub packed: Packed,
    /// What it showed.
    pub study: Study,
}

/// What the job knows of a log: all but the file's bytes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// Number within the job.
    pub number: u32,
    /// The entry that holds it.
    pub seq: u64,
    /// When it was read.
    pub at: Timestamp,
    /// Who read it.
    pub by: String,
    /// Name of the file.
    pub file: String,
    /// SHA-256 of the file's bytes, in hexadecimal.
    pub sha256: String,
    /// Where the power meter was said to sit.
    pub meter: Meter,
    /// What it showed.
    pub study: Study,
}

impl Logged {
    /// What was read, in a line.
    pub fn line(&self) -> String {
        let study = &self.study;
        let climb = study
            .climb_m
            .map_or_else(String::new, |(up, _)| format!(", {up:.0} m up"));
        format!(
            "log {}: {} ({}, {} samples, {:.0} min, {:.2} km{climb})",
            self.number,
            self.file,
            study.format,
            study.samples,
            study.time_s / 60.0,
            study.distance_m / 1_000.0
        )
    }
}
