//! All checks surveyed: what each finds of three bicycles of which everything is known, and which way
//! its verdict turns as each value it looks at is moved or taken away.
//!
//! The table in `survey.txt` holds regression values, computed by these checks themselves: it says
//! nothing about right or wrong, which the tests of each check do with figures from outside, but no
//! figure, no verdict and no branch changes without a line of it changing. A line is a bicycle, a
//! check, its verdict, the figures it tells, each value that turns it with the verdicts it turns to
//! (`F`ail, `O`pen, `C`aution, `P`ass, `N`ot applicable, in the order of [`moved`], the last without the
//! value), and a digest of the figures told on the way. Wording may change freely.
//!
//! When a rule is changed on purpose, `.ci/survey` writes the table anew; its difference shows what else
//! the change touched.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use sha2::{Digest, Sha256};

use super::ALL;
use super::testing::{Bench, hardtail, longtail, trekking};
use crate::check::{self, Check, Report, Verdict};
use crate::code;
use crate::fact::{Fact, Provenance, Value};
use crate::field::{Field, Shape};
use crate::job::Job;
use crate::part::Slot;
use crate::rules::RuleSheet;
use crate::stage::Stage;

const KEPT: &str = include_str!("survey.txt");

/// Classes that judge differently: strict and not, in miles, with a throttle, by approval, none.
const CLASSES: [&str; 6] = [
    "eu-epac",
    "us-class2",
    "us-class3",
    "ch-fast",
    "eu-l1e-b",
    "generic-private",
];

/// A bicycle of which everything is known: what nobody said is as in the example of its code, what the
/// catalogue does not give as in the example of the attribute.
fn known(bench: Bench) -> Job {
    let bench = bench.build(&[("light", "light-pack")]);
    let mut job = bench.receive_all().job;
    // A motor is told in one of several ways, which an example would mix.
    let others = job.build.iter_mut().filter(|(slot, _)| **slot != Slot::Motor);
    for (_, line) in others {
        for attribute in line.part.kind.attributes() {
            let key = attribute.field.key;
            if let (None, Ok(value)) = (
                line.part.get(key),
                attribute.field.read(&attribute.field.example(), true),
            ) {
                line.part.attributes.insert(key.to_owned(), value);
            }
        }
    }
    for row in code::all() {
        // Nobody says how many pedal where it is one.
        if !job.facts.contains_key(row.key()) && row.key() != "crew" {
            // The example's volts may be above those of this pack, which would then drive nothing.
            let own = (row.key() == "low-cutoff")
                .then(|| job.build.get(&Slot::Controller)?.part.get("low-cutoff").cloned())
                .flatten();
            let value = own.unwrap_or_else(|| row.read(&row.example(), true).unwrap());
            set(&mut job, row.key(), value);
        }
    }
    job
}

fn set(job: &mut Job, key: &str, value: Value) {
    let fact = Fact {
        value,
        provenance: Provenance::Measured,
        readings: Vec::new(),
        spread: 0.0,
        seq: job.revision,
        at: job.touched,
        stale: None,
    };
    job.facts.insert(key.into(), fact.into());
}

/// What a value is moved to: numbers through their window, the others through all there are.
fn moved(field: &Field, now: Option<&Value>) -> Vec<Value> {
    match field.shape {
        Shape::Quantity { kind, unit, window } => {
            let (low, high) = window;
            let through = [0.1, 0.6].map(|share| low + share * (high - low));
            let si = through.map(|number| crate::unit::to_si(kind, unit, number).unwrap());
            let mut all: Vec<f64> = si.into();
            all.extend(now.and_then(Value::number).map(|now| 1.07 * now));
            all.into_iter().map(Value::Number).collect()
        }
        Shape::Money => [10_000, 1_000_000].map(Value::Money).into(),
        Shape::Word(words) => words.iter().map(|word| Value::Word((*word).to_owned())).collect(),
        Shape::Flag => [false, true].map(Value::Flag).into(),
        Shape::Tally => [0, 2, 3].map(|good| Value::Tally { good, tried: 3 }).into(),
        Shape::Text if field.key == "ride-class" => CLASSES.map(|class| Value::Text(class.to_owned())).into(),
        Shape::Ratios { .. } => vec![Value::Ratios(vec![0.75, 1.0, 1.33])],
        Shape::Text | Shape::Day | Shape::Teeth => Vec::new(),
    }
}

/// The job with a value moved, each way it can be, and last without it.
fn variants(job: &Job, word: &str) -> Vec<Job> {
    let mut found = Vec::new();
    if let Some(row) = code::find(word) {
        let now = job.facts.get(word).map(|fact| &fact.value);
        for value in moved(&row.field, now) {
            let mut job = job.clone();
            set(&mut job, word, value);
            found.push(job);
        }
        let mut without = job.clone();
        without.facts.remove(word);
        found.push(without);
    } else if let Some((slot, key)) = word.split_once('.')
        && let Some(slot) = Slot::from_word(slot)
        && let Some(attribute) = slot.kind().attribute(key)
        && let Some(line) = job.build.get(&slot)
    {
        let change = |value: Option<Value>| {
            let mut job = job.clone();
            let attributes = &mut job.build.get_mut(&slot).unwrap().part.attributes;
            match value {
                Some(value) => attributes.insert(key.to_owned(), value),
                None => attributes.remove(key),
            };
            job
        };
        found.extend(
            moved(&attribute.field, line.part.get(key))
                .into_iter()
                .map(|value| change(Some(value))),
        );
        found.push(change(None));
    }
    found
}

/// Figures of a report, as they are told.
fn figures(report: &Report) -> String {
    let mut told = String::new();
    for finding in &report.findings {
        let lines = std::iter::once(&finding.summary)
            .chain(&finding.arithmetic)
            .chain(&finding.remedies);
        for line in lines {
            let pieces = line.split(|letter: char| !(letter.is_ascii_digit() || letter == '.'));
            for piece in pieces
                .map(|piece| piece.trim_matches('.'))
                .filter(|piece| !piece.is_empty())
            {
                let _infallible = write!(told, " {piece}");
            }
        }
        for figure in &finding.figures {
            let _infallible = write!(
                told,
                " [{:.4e} {:.3e} {:.3e}]",
                figure.value,
                figure.margin.unwrap_or_default(),
                figure.uncertainty.unwrap_or_default()
            );
        }
    }
    told
}

const fn letter(verdict: Verdict) -> char {
    match verdict {
        Verdict::NotApplicable => 'N',
        Verdict::Pass => 'P',
        Verdict::Caution => 'C',
        Verdict::Open => 'O',
        Verdict::Fail => 'F',
    }
}

/// What a check finds of a bicycle and of what it becomes.
fn surveyed(check: &'static Check, job: &Job, rules: &RuleSheet) -> String {
    let gate = check.gates.iter().copied().max().unwrap().max(Stage::Parts);
    let report = check::run(check, job, rules, gate);
    let mut image = Sha256::new();
    let mut line = format!("{} {} {}", job.number, check.id, letter(report.verdict));
    let base = figures(&report);
    // Many bolts have many figures: the digest has all of them.
    line.extend(base.split_inclusive(' ').take(24));
    image.update(&base);
    let findings: Vec<char> = report.findings.iter().map(|one| letter(one.verdict)).collect();
    image.update(findings.iter().collect::<String>());
    let words: BTreeSet<&str> = report.uses.iter().map(String::as_str).collect();
    for word in words {
        let mut letters = String::new();
        for variant in variants(job, word) {
            let report = check::run(check, &variant, rules, gate);
            letters.push(letter(report.verdict));
            image.update(figures(&report));
            image.update(
                report
                    .missing
                    .iter()
                    .map(|one| one.how.as_str())
                    .collect::<String>(),
            );
        }
        if letters.chars().any(|other| other != letter(report.verdict)) {
            let _infallible = write!(line, " {word}:{letters}");
        }
    }
    let _infallible = write!(line, " #{}", crate::survey::digest(image));
    line
}

/// The lines of a bicycle, against those kept.
#[track_caller]
fn hold(bench: Bench) {
    let job = known(bench);
    let rules = RuleSheet::shipped();
    let found: Vec<String> = ALL.iter().map(|check| surveyed(check, &job, &rules)).collect();
    crate::survey::hold("checks/survey.txt", KEPT, &format!("{} ", job.number), &found);
}

#[test]
fn no_figure_of_a_hub_motor_changes_unseen() {
    hold(trekking());
}

#[test]
fn no_figure_of_a_mid_motor_changes_unseen() {
    hold(longtail());
}

#[test]
fn no_figure_of_a_strong_motor_changes_unseen() {
    hold(hardtail());
}
