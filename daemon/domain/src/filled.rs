//! What checks say of a copy of a job on which every box is filled in: what a sheet allows comes
//! out of the checks themselves.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use crate::check::Report;
use crate::code::{self, Code};
use crate::fact::{Fact, Value};
use crate::field::Shape;
use crate::finding::{Figure, Verdict};
use crate::fit::Bench;
use crate::gate;
use crate::job::Job;
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::unit::{self, Kind};

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

/// A figure of a check, by the check's id and its own name.
pub(crate) type FigureOf = (&'static str, String);

/// How much one box's value is moved off the next one's, as a share of it: far below what any instrument reads, far
/// above what arithmetic rounds.
const APART: f64 = 1e-6;

/// Which figures are the value of a box itself, and of which: on a copy of the job no two boxes hold the same number,
/// so that a figure which shows one of them was read from there.
pub(crate) fn own_figures(
    job: &Job,
    now: Timestamp,
    rules: &RuleSheet,
    gate: Stage,
    keys: &BTreeSet<&'static str>,
) -> BTreeMap<FigureOf, &'static str> {
    let mut bench = Bench::of(job, now);
    let mut held: Vec<(&'static str, Kind, f64)> = Vec::new();
    for (at, row) in (1u32..).zip(keys.iter().copied().filter_map(code::find)) {
        let key = row.field.key;
        let known = job.facts.get(key).filter(|fact| fact.stale.is_none());
        let value = known.map(|fact| fact.value.clone());
        let Some(value) = value.or_else(|| row.read(&row.example(), true).ok()) else {
            continue;
        };
        let value = match (row.field.shape, value) {
            (Shape::Quantity { kind, .. }, Value::Number(si)) => {
                let moved = si + si.abs().max(APART) * APART * f64::from(at);
                held.push((key, kind, moved));
                Value::Number(moved)
            }
            (_, value) => value,
        };
        bench.set(key, value);
    }
    let mut own = BTreeMap::new();
    for report in gate::run(gate, &bench.job, rules) {
        for figure in report.findings.iter().flat_map(|finding| &finding.figures) {
            let is_shown = |(_, kind, si): &&(&str, Kind, f64)| {
                let shown = unit::to_si(*kind, &figure.unit, figure.value);
                shown.is_some_and(|shown| (shown - si).abs() <= 1e-3 * APART * si.abs())
            };
            if let Some((key, ..)) = held.iter().find(is_shown) {
                own.insert((report.check.id, named(figure)), *key);
            }
        }
    }
    own
}

/// A figure's name; some are the beginning of a sentence and end in its comma.
fn named(figure: &Figure) -> String {
    figure.name.trim_end_matches(',').to_owned()
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
        .map(|figure| (named(figure), figure.limit.clone(), figure.unit.clone()))
        .collect()
}
