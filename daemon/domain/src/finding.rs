//! What checks find: verdicts, findings with their figures, what is missing, what is kept.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::refusal::{Reason, Refusal};

/// What a check says, from best to worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The rule does not concern this job.
    NotApplicable,
    /// It holds, doubt included.
    Pass,
    /// It may be accepted by the owner: short of good, inside the doubt, or on an assumption.
    Caution,
    /// Something is missing.
    Open,
    /// It does not hold.
    Fail,
}

impl Verdict {
    /// Whether nobody need accept anything.
    pub const fn is_good(self) -> bool {
        matches!(self, Self::Pass | Self::NotApplicable)
    }

    /// The word people read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotApplicable => "not applicable",
            Self::Pass => "pass",
            Self::Caution => "caution",
            Self::Open => "open",
            Self::Fail => "fail",
        }
    }
}

/// What running a check gives: findings, or the reason why there are none.
pub type Outcome = Result<Vec<Finding>, Halt>;

/// Why a check gives no finding.
#[derive(Debug, Clone, PartialEq)]
pub enum Halt {
    /// Values are missing.
    Open(Vec<Missing>),
    /// The rule does not concern this job; why.
    NotApplicable(String),
}

impl Halt {
    /// The same as a refusal, for a reading that cannot be given: what is missing, and the
    /// command that records the first of it.
    pub fn refuse(self, job: u32) -> Refusal {
        match self {
            Self::NotApplicable(why) => Refusal::new(Reason::BadInput, why).with("job", job),
            Self::Open(missing) => {
                let what: Vec<&str> = missing.iter().map(|item| item.what.as_str()).collect();
                let refusal = Refusal::new(Reason::BadInput, format!("job {job} lacks {}", what.join(", ")))
                    .with("job", job);
                match missing.first() {
                    Some(first) => refusal.hint(format!("`{}`", first.how)),
                    None => refusal,
                }
            }
        }
    }

    /// The rule does not concern this job.
    pub fn not_applicable<T>(why: impl Into<String>) -> Result<T, Self> {
        Err(Self::NotApplicable(why.into()))
    }
}

/// A value a check needs and does not have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// What is missing.
    pub what: String,
    /// The command that supplies it.
    pub how: String,
}

/// A number behind a finding, in the unit shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it is.
    pub name: String,
    /// Value in `unit`.
    pub value: f64,
    /// Unit.
    pub unit: String,
    /// Limit in words, such as `at most 5 mm`; empty when it has none.
    pub limit: String,
    /// Distance to the limit in `unit`, positive on the good side.
    pub margin: Option<f64>,
    /// Expanded uncertainty (k = 2) in `unit`.
    pub uncertainty: Option<f64>,
}

/// One thing a check found.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Verdict.
    pub verdict: Verdict,
    /// One line with the numbers.
    pub summary: String,
    /// The numbers.
    pub figures: Vec<Figure>,
    /// The arithmetic with the numbers put in, a line each.
    pub arithmetic: Vec<String>,
    /// What would cure it.
    pub remedies: Vec<String>,
    /// Where it fails nobody may concede it, whatever else of its check may be conceded.
    pub never: bool,
}

impl Finding {
    /// A finding with a verdict and its line; add the rest with the methods below.
    pub fn new(verdict: Verdict, summary: impl Into<String>) -> Self {
        Self {
            verdict,
            summary: summary.into(),
            figures: Vec::new(),
            arithmetic: Vec::new(),
            remedies: Vec::new(),
            never: false,
        }
    }

    /// The same, and nobody may concede it where it fails: parts that do not go together, a brake that failed.
    #[must_use]
    pub fn never_conceded(mut self) -> Self {
        self.never = true;
        self
    }

    /// The same, and nobody may concede it where a room, in SI with its doubt, is less than nothing: metal stands in metal.
    #[must_use]
    pub fn not_into_metal(self, room: f64, doubt: f64) -> Self {
        if room + doubt < 0.0 {
            self.never_conceded()
        } else {
            self
        }
    }

    /// Whether it fails and nobody may concede that.
    pub fn is_barred(&self) -> bool {
        self.never && self.verdict == Verdict::Fail
    }

    /// Adds a line of arithmetic.
    #[must_use]
    pub fn with_arithmetic(mut self, line: impl Into<String>) -> Self {
        self.arithmetic.push(line.into());
        self
    }

    /// Adds a figure.
    #[must_use]
    pub fn with_figure(mut self, figure: Figure) -> Self {
        self.figures.push(figure);
        self
    }

    /// Adds a remedy; one is only shown where the finding does not pass.
    #[must_use]
    pub fn with_remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedies.push(remedy.into());
        self
    }
}

/// What a check said of a job, for another one that asks.
#[derive(Debug, Clone, Copy)]
pub struct Beside<'r> {
    /// The check.
    pub check: &'static str,
    /// The worst verdict of its findings.
    pub verdict: Verdict,
    /// Whether the job may move on as far as this check is concerned.
    pub holds: bool,
    /// The line of the worst finding.
    pub summary: &'r str,
    /// The values it looked at.
    pub uses: &'r BTreeSet<String>,
}

/// What the journal keeps of a check that was run at a gate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// Check.
    pub check: String,
    /// Version of its rule.
    pub version: u32,
    /// Verdict.
    pub verdict: Verdict,
    /// The line of the worst finding.
    pub summary: String,
    /// The values it looked at.
    pub uses: Vec<String>,
    /// Fingerprint of what it objected to.
    pub fingerprint: String,
    /// Whether it stood by concession.
    pub conceded: bool,
}
