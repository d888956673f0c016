//! Checks: one rule each, run as a pure function of facts.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::sync::Arc;

use sha2::{Digest, Sha256};

use crate::block::Family;
use crate::case::Case;
use crate::code;
use crate::finding::Beside;
use crate::job::{self, Concession, Job};
use crate::rules::{Rule, RuleSheet};
use crate::stage::Stage;
use crate::uses::Uses;

pub use crate::finding::{Figure, Finding, Halt, Kept, Missing, Outcome, Verdict};

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
    /// The verdicts it can end in, from best to worst. A pass that rests on a value people
    /// assumed becomes a caution whether or not one is listed.
    pub gives: &'static [Verdict],
    /// Where the rule comes from.
    pub source: &'static str,
    /// The rule.
    pub run: fn(&Case<'_>) -> Outcome,
}

/// What a check finds of one job, without its words: all that a command needs of a check that it
/// does not show. The words, chances drawn at random among them, take most of the time.
#[derive(Debug, Clone)]
pub struct Glance {
    /// The check.
    pub check: &'static Check,
    /// The worst verdict of its findings.
    pub verdict: Verdict,
    /// What is missing.
    pub missing: Vec<Missing>,
    /// The values it looked at, as in a [`Report`].
    pub uses: Uses,
    /// Whether it looked at the job past its case, so that nobody can say when it finds the same.
    pub looked_past: bool,
}

impl Glance {
    /// Whether the job may move on as far as this check is concerned, whatever was conceded.
    pub const fn is_good(&self) -> bool {
        self.verdict.is_good()
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
    /// The thresholds it read; [`Rule::standing`] says what stands behind each.
    pub limits: Vec<Arc<Rule>>,
    /// Fingerprint of all that it said.
    pub fingerprint: String,
    /// Fingerprint of what it objects to: what a concession accepts.
    pub objection: String,
    /// The concession that stands for it, if one was given for what it says now.
    pub concession: Option<Concession>,
}

impl Report {
    /// Whether the job may move on as far as this check is concerned.
    pub fn holds(&self) -> bool {
        self.verdict.is_good() || self.concession.is_some()
    }

    /// Whether the owner may concede what it says.
    pub fn is_concedable(&self) -> bool {
        self.check.concede == Concede::Owner && self.barred().is_none()
    }

    /// What of it nobody may concede, in a check that may be conceded else.
    pub fn barred(&self) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.is_barred())
    }

    /// The line of the worst finding.
    pub fn summary(&self) -> &str {
        self.findings
            .iter()
            .find(|finding| finding.verdict == self.verdict)
            .or(self.findings.first())
            .map_or("", |finding| &finding.summary)
    }

    /// The lines of all that does not hold: what a concession accepts.
    pub fn objections(&self) -> impl Iterator<Item = &str> {
        objections(&self.findings).map(|finding| finding.summary.as_str())
    }

    /// Whether what was kept of it objects to the same. Programs before schema 9 kept the fingerprint of
    /// all that was said.
    pub fn objects_as(&self, kept: &str) -> bool {
        kept == self.objection || kept == self.fingerprint
    }

    /// The worst of what it could say; `None` when it could say nothing for want of values.
    pub fn said(&self) -> Option<Verdict> {
        let verdicts = self.findings.iter().map(|finding| finding.verdict);
        verdicts.filter(|verdict| *verdict != Verdict::Open).max()
    }

    /// What another check may ask of it.
    pub(crate) fn beside(&self) -> Beside<'_> {
        Beside {
            check: self.check.id,
            verdict: self.verdict,
            holds: self.holds(),
            summary: self.summary(),
            uses: &self.uses,
        }
    }

    /// What is kept of it in the journal.
    pub fn kept(&self) -> Kept {
        Kept {
            check: self.check.id.to_owned(),
            version: self.check.version,
            verdict: self.verdict,
            summary: self.summary().to_owned(),
            uses: self.uses.iter().cloned().collect(),
            fingerprint: self.objection.clone(),
            conceded: self.concession.is_some(),
        }
    }
}

/// Runs one check on one job, as a gate looks at it.
///
/// A check that rests on an assumption can at best be a caution that names it.
pub fn run(check: &'static Check, job: &Job, rules: &RuleSheet, gate: Stage) -> Report {
    run_beside(check, job, rules, gate, &[])
}

/// As [`run`], given what other checks said of the same job at the same gate: one that asks them
/// need not run them again.
pub(crate) fn run_beside(
    check: &'static Check,
    job: &Job,
    rules: &RuleSheet,
    gate: Stage,
    others: &[Beside<'_>],
) -> Report {
    let case = Case::new(job, rules, gate).beside(others);
    let (mut findings, missing) = found(check, &case);
    let assumed = case.assumptions();
    // A cure for what does not ail reads like a complaint.
    for finding in findings
        .iter_mut()
        .filter(|finding| finding.verdict == Verdict::Pass)
    {
        finding.remedies.clear();
    }
    let verdict = worst(&findings);
    debug_assert!(
        check.gives.contains(&verdict) || (verdict == Verdict::Caution && !assumed.is_empty()),
        "{} is not said to give {verdict:?}: {findings:?}",
        check.id
    );
    let uses = case.uses();
    if let Some(bad) = findings.iter_mut().find(|finding| !finding.verdict.is_good()) {
        bad.remedies.extend(slips(job, &uses));
    }
    let mut report = Report {
        check,
        verdict,
        fingerprint: fingerprint(check, verdict, findings.iter()),
        objection: fingerprint(check, verdict, objections(&findings)),
        findings,
        missing,
        uses,
        assumed,
        limits: case.limits(),
        concession: None,
    };
    if report.is_concedable() {
        let given = job.concessions.get(check.id);
        report.concession = given
            .filter(|concession| report.objects_as(&concession.fingerprint))
            .cloned();
    }
    report
}

/// Of readings that a check looked at, those that stand so far apart that measuring again cures nothing while they count.
fn slips(job: &Job, uses: &BTreeSet<String>) -> Vec<String> {
    let slip = |key: &String| {
        let odd = job::odd_one(job.facts.get(key.as_str())?)?;
        let row = code::find(key)?;
        Some(format!(
            "if {} {} was a slip, take it back: lockring undo {} --entry {}",
            row.field.name,
            row.field.show(&odd.value),
            job.number,
            odd.seq
        ))
    };
    uses.iter().filter_map(slip).collect()
}

/// The findings that somebody would have to accept.
fn objections(findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(|finding| !finding.verdict.is_good())
}

/// What a check says of a job without its words: the lines of its findings, each with its verdict.
pub(crate) fn lines(
    check: &'static Check,
    job: &Job,
    rules: &RuleSheet,
    gate: Stage,
) -> Vec<(Verdict, String)> {
    let (findings, _) = found(check, &Case::without_words(job, rules, gate));
    let lines = findings
        .into_iter()
        .map(|finding| (finding.verdict, finding.summary));
    lines.collect()
}

/// The findings of a check on a case, and what is missing for more.
///
/// A finding that rests on an assumption can at best be a caution that names it.
fn found(check: &Check, case: &Case<'_>) -> (Vec<Finding>, Vec<Missing>) {
    let (mut findings, missing) = match (check.run)(case) {
        Ok(findings) => (findings, case.lacking()),
        Err(Halt::NotApplicable(why)) => (vec![Finding::new(Verdict::NotApplicable, why)], Vec::new()),
        Err(Halt::Open(missing)) => {
            let names: Vec<&str> = missing.iter().map(|item| item.what.as_str()).collect();
            let summary = format!("missing: {}", names.join(", "));
            (vec![Finding::new(Verdict::Open, summary)], missing)
        }
    };
    let assumed = case.assumptions();
    if !assumed.is_empty() {
        let ends = case.ends_of_assumptions();
        for finding in &mut findings {
            match finding.verdict {
                Verdict::Pass => {
                    finding.verdict = Verdict::Caution;
                    let _infallible = write!(
                        finding.summary,
                        "; rests on an assumption: {}",
                        assumed.join(", ")
                    );
                    // Its own cures are for what does not ail.
                    if !ends.is_empty() {
                        finding.remedies.clone_from(&ends);
                    }
                }
                Verdict::Caution | Verdict::Fail => finding.remedies.extend(ends.iter().cloned()),
                Verdict::NotApplicable | Verdict::Open => {}
            }
        }
    }
    (findings, missing)
}

fn worst(findings: &[Finding]) -> Verdict {
    let verdicts = findings.iter().map(|finding| finding.verdict);
    verdicts.max().unwrap_or(Verdict::NotApplicable)
}

/// What a check finds without its words: verdict, what is missing and what it looked at are those
/// of [`run`].
pub(crate) fn glance(check: &'static Check, job: &Job, rules: &RuleSheet, gate: Stage) -> Glance {
    let case = Case::without_words(job, rules, gate);
    let (findings, missing) = found(check, &case);
    Glance {
        check,
        verdict: worst(&findings),
        missing,
        uses: Uses::of(&case.uses()),
        looked_past: case.looked_past(),
    }
}

/// The gate at which a check speaks about a job that stands at a stage: the stage itself,
/// else the last gate of the check before it, else its first.
pub fn gate_of(check: &Check, stage: Stage) -> Stage {
    let before = check.gates.iter().copied().filter(|gate| *gate <= stage).max();
    before.or(check.gates.first().copied()).unwrap_or(stage)
}

/// Fingerprint of findings of a check: rule, version, verdict and every line with its numbers.
/// A value that changes nothing of what is said changes nothing that was conceded.
fn fingerprint<'f>(check: &Check, verdict: Verdict, findings: impl Iterator<Item = &'f Finding>) -> String {
    let mut image = Sha256::new();
    image.update(format!("{} {} {}", check.id, check.version, verdict.word()));
    for finding in findings {
        image.update(format!("|{} {}", finding.verdict.word(), finding.summary));
    }
    image
        .finalize()
        .iter()
        .take(8)
        .flat_map(|byte| [byte >> 4, byte & 0xf])
        .filter_map(|digit| char::from_digit(digit.into(), 16))
        .collect()
}
