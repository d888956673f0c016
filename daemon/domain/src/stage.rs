//! Stages of a job and the gates that close them.

use serde::{Deserialize, Serialize};

/// Where a job stands. The first five have a gate at their end; the last three are ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Brief, donor and build are settled; fit is predicted.
    Intake,
    /// Parts are ordered and received.
    Parts,
    /// Parts are on the bicycle; fit is proved.
    Fitting,
    /// The finished bicycle is ridden and measured.
    TestRide,
    /// Papers, charge, balance and signature.
    Handover,
    /// The rider has the bicycle.
    HandedOver,
    /// The bicycle went back as it came, without a motor.
    Returned,
    /// The job was given up before the bicycle was touched.
    Cancelled,
}

impl Stage {
    /// The five stages that end in a gate, in order.
    pub const GATED: [Self; 5] = [
        Self::Intake,
        Self::Parts,
        Self::Fitting,
        Self::TestRide,
        Self::Handover,
    ];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Intake => "intake",
            Self::Parts => "parts",
            Self::Fitting => "fitting",
            Self::TestRide => "test-ride",
            Self::Handover => "handover",
            Self::HandedOver => "handed-over",
            Self::Returned => "returned",
            Self::Cancelled => "cancelled",
        }
    }

    /// Reads a stage from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        let all = [Self::HandedOver, Self::Returned, Self::Cancelled];
        Self::GATED
            .into_iter()
            .chain(all)
            .find(|stage| stage.word() == word)
    }

    /// The stage that a passed gate leads to; `None` for ends.
    pub const fn next(self) -> Option<Self> {
        match self {
            Self::Intake => Some(Self::Parts),
            Self::Parts => Some(Self::Fitting),
            Self::Fitting => Some(Self::TestRide),
            Self::TestRide => Some(Self::Handover),
            Self::Handover => Some(Self::HandedOver),
            Self::HandedOver | Self::Returned | Self::Cancelled => None,
        }
    }

    /// Whether the job is over.
    pub const fn is_end(self) -> bool {
        self.next().is_none()
    }
}
