//! What checks say of a copy of a job on which every box is filled in: what a sheet allows comes
//! out of the checks themselves.

use std::collections::BTreeSet;

use jiff::Timestamp;

use crate::check::Report;
use crate::code::{self, Code};
use crate::fact::{Fact, Value};
use crate::finding::Verdict;
use crate::fit::Bench;
use crate::gate;
use crate::job::Job;
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// The reports of a gate when each of these codes that is not known has its example value.
pub(crate) fn reports<'k>(
    job: &Job,
    now: Timestamp,
    rules: &RuleSheet,
    gate: Stage,
    keys: impl Iterator<Item = &'k str>,
) -> Vec<Report> {
    let mut bench = Bench::of(job, now);
    for row in keys.filter_map(code::find) {
        let key = row.field.key;
        // A `no` says what is wrong and not what is allowed.
        let counts = |fact: &Fact| fact.stale.is_none() && fact.value != Value::Flag(false);
        let known = job.facts.get(key).is_some_and(|fact| counts(fact));
        if let (false, Ok(value)) = (known, row.read(&row.example(), true)) {
            bench.set(key, value);
        }
    }
    gate::run(gate, &bench.job, rules)
}

/// How often the checks of a gate are asked again what they still miss: some ask for one value
/// only when they have another.
const ROUNDS: usize = 12;

/// What the checks of a gate ask this job to have recorded, and their reports once all of it has
/// its example value.
pub(crate) fn asked(
    job: &Job,
    now: Timestamp,
    rules: &RuleSheet,
    gate: Stage,
    rows: &[&'static Code],
) -> (BTreeSet<&'static str>, Vec<Report>) {
    let mut bench = Bench::of(job, now);
    let mut asked = BTreeSet::new();
    let mut reports = gate::run(gate, &bench.job, rules);
    for _ in 0..ROUNDS {
        let missing: BTreeSet<&str> = reports
            .iter()
            .filter(|report| report.verdict != Verdict::NotApplicable)
            .flat_map(|report| &report.missing)
            .map(|missing| missing.how.as_str())
            .collect();
        let before = asked.len();
        for row in rows {
            let key = row.field.key;
            if missing.contains(row.how_to_record(job.number).as_str())
                && asked.insert(key)
                && let Ok(value) = row.read(&row.example(), true)
            {
                bench.set(key, value);
            }
        }
        if asked.len() == before {
            break;
        }
        reports = gate::run(gate, &bench.job, rules);
    }
    (asked, reports)
}

/// What a report allows: each figure that has a limit, by name.
pub(crate) fn limits(report: &Report) -> Vec<(String, String)> {
    let with_units = limits_with_units(report).into_iter();
    with_units.map(|(name, limit, _)| (name, limit)).collect()
}

/// The same, each with its unit.
pub(crate) fn limits_with_units(report: &Report) -> Vec<(String, String, String)> {
    let figures = report.findings.iter().flat_map(|finding| &finding.figures);
    figures
        .filter(|figure| !figure.limit.is_empty())
        .map(|figure| {
            let name = figure.name.trim_end_matches(',').to_owned();
            (name, figure.limit.clone(), figure.unit.clone())
        })
        .collect()
}
