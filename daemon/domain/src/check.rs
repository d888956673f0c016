//! Checks: one rule each, run as a pure function of facts.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::block::Family;
use crate::case::Case;
use crate::job::{Concession, Job};
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::stage::Stage;

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

/// Whether the owner may accept a check that does not hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Concede {
    /// The owner may, with a reason.
    Owner,
    /// Nobody may.
    Never,
}

/// One rule.
#[derive(Debug)]
pub struct Check {
    /// Its id, `subject.point`; what people type.
    pub id: &'static str,
    /// What it asks, in a few words.
    pub title: &'static str,
    /// The gates it belongs to.
    pub gates: &'static [Stage],
    /// The family of the block it opens.
    pub family: Family,
    /// Raised whenever its rule changes; stored with every finding.
    pub version: u32,
    /// Whether it may be conceded.
    pub concede: Concede,
    /// Where the rule comes from.
    pub source: &'static str,
    /// The rule.
    pub run: fn(&Case<'_>) -> Outcome,
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
        }
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

/// What one check said about one job.
#[derive(Debug, Clone)]
pub struct Report {
    /// The check.
    pub check: &'static Check,
    /// The worst verdict of its findings.
    pub verdict: Verdict,
    /// Its findings; one that says why when it is not applicable or open.
    pub findings: Vec<Finding>,
    /// What is missing.
    pub missing: Vec<Missing>,
    /// The values it looked at: codes, and `slot.attribute` for parts.
    pub uses: BTreeSet<String>,
    /// Assumptions it rests on, in words.
    pub assumed: Vec<String>,
    /// Fingerprint of what it said.
    pub fingerprint: String,
    /// The concession that stands for it, if one was given for what it says now.
    pub concession: Option<Concession>,
}

impl Report {
    /// Whether the job may move on as far as this check is concerned.
    pub fn holds(&self) -> bool {
        matches!(self.verdict, Verdict::Pass | Verdict::NotApplicable) || self.concession.is_some()
    }

    /// The line of the worst finding.
    pub fn summary(&self) -> &str {
        self.findings
            .iter()
            .find(|finding| finding.verdict == self.verdict)
            .or(self.findings.first())
            .map_or("", |finding| &finding.summary)
    }

    /// What is kept of it in the journal.
    pub fn kept(&self) -> Kept {
        Kept {
            check: self.check.id.to_owned(),
            version: self.check.version,
            verdict: self.verdict,
            summary: self.summary().to_owned(),
            uses: self.uses.iter().cloned().collect(),
            fingerprint: self.fingerprint.clone(),
            conceded: self.concession.is_some(),
        }
    }
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
    /// Fingerprint of what it said.
    pub fingerprint: String,
    /// Whether it stood by concession.
    pub conceded: bool,
}

/// Runs one check on one job, as a gate looks at it.
///
/// A check that rests on an assumption can at best be a caution that names it.
pub fn run(check: &'static Check, job: &Job, rules: &RuleSheet, gate: Stage) -> Report {
    let case = Case::new(job, rules, gate);
    let (mut findings, missing) = match (check.run)(&case) {
        Ok(findings) => (findings, Vec::new()),
        Err(Halt::NotApplicable(why)) => (vec![Finding::new(Verdict::NotApplicable, why)], Vec::new()),
        Err(Halt::Open(missing)) => {
            let names: Vec<&str> = missing.iter().map(|item| item.what.as_str()).collect();
            (
                vec![Finding::new(
                    Verdict::Open,
                    format!("missing: {}", names.join(", ")),
                )],
                missing,
            )
        }
    };
    let assumed = case.assumptions();
    if !assumed.is_empty() {
        for finding in findings
            .iter_mut()
            .filter(|finding| finding.verdict == Verdict::Pass)
        {
            finding.verdict = Verdict::Caution;
            let _infallible = write!(
                finding.summary,
                "; rests on an assumption: {}",
                assumed.join(", ")
            );
        }
    }
    // A cure for what does not ail reads like a complaint.
    for finding in findings
        .iter_mut()
        .filter(|finding| finding.verdict == Verdict::Pass)
    {
        finding.remedies.clear();
    }
    let verdict = findings
        .iter()
        .map(|finding| finding.verdict)
        .max()
        .unwrap_or(Verdict::NotApplicable);
    let uses = case.uses();
    let fingerprint = fingerprint(check, verdict, &findings);
    let concession = match check.concede {
        Concede::Never => None,
        Concede::Owner => job
            .concessions
            .get(check.id)
            .filter(|concession| concession.fingerprint == fingerprint)
            .cloned(),
    };
    Report {
        check,
        verdict,
        findings,
        missing,
        uses,
        assumed,
        fingerprint,
        concession,
    }
}

/// Runs every check of a gate, in the order they are listed; never stops at the first fail.
pub fn run_gate(gate: Stage, job: &Job, rules: &RuleSheet) -> Vec<Report> {
    crate::checks::ALL
        .iter()
        .filter(|check| check.gates.contains(&gate))
        .map(|check| run(check, job, rules, gate))
        .collect()
}

/// The gate at which a check speaks about a job that stands at a stage: the stage itself,
/// else the last gate of the check before it, else its first.
pub fn gate_of(check: &Check, stage: Stage) -> Stage {
    let before = check.gates.iter().copied().filter(|gate| *gate <= stage).max();
    before.or(check.gates.first().copied()).unwrap_or(stage)
}

/// Fingerprint of what a check said: rule, version, verdict and every line with its numbers.
/// A value that changes nothing of what is said changes nothing that was conceded.
fn fingerprint(check: &Check, verdict: Verdict, findings: &[Finding]) -> String {
    let mut image = Sha256::new();
    image.update(format!("{} {} {}", check.id, check.version, verdict.word()));
    for finding in findings {
        image.update(format!("|{} {}", finding.verdict.word(), finding.summary));
    }
    image
        .finalize()
        .iter()
        .take(8)
        .fold(String::new(), |mut text, byte| {
            let _infallible = write!(text, "{byte:02x}");
            text
        })
}
