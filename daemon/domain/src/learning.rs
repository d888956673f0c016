//! What the shop's own rides teach: how far each expectation was off, by kind of bicycle, and which
//! constant of the model would have been right.
//!
//! Derived from the jobs every time it is asked for; nothing is stored and nothing changes by
//! itself. For a constant that a reading hangs on, each ride gives the value that would have made the
//! expectation true. When enough rides lie on one side, and their mean is further off than luck
//! allows, the shop is offered that mean with the command that takes it; jobs judged before keep what
//! they were judged with.

use std::collections::BTreeMap;

use crate::case::Case;
use crate::diagnosis::{self, Expected};
use crate::job::Job;
use crate::prediction;
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::unit;

/// What one job's ride teaches.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// Kind of bicycle, such as `cargo, mid motor`.
    pub kind: String,
    /// Each figure: its code, its name, measured over expected less one.
    pub errors: Vec<(&'static str, String, f64)>,
    /// Rules with the value that would have made the expectation true, in the rule's unit.
    pub constants: Vec<(String, f64)>,
}

/// How far a figure was off on one kind of bicycle.
#[derive(Debug, Clone, PartialEq)]
pub struct Bias {
    /// Kind of bicycle.
    pub kind: String,
    /// Code of the figure.
    pub key: &'static str,
    /// Its name.
    pub name: String,
    /// Rides.
    pub rides: u32,
    /// Mean of measured over expected less one.
    pub mean: f64,
    /// Standard deviation of one ride; `None` for a single one.
    pub spread: Option<f64>,
    /// Rides that measured more than expected.
    pub above: u32,
}

/// A constant the shop is offered.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The rule.
    pub rule: String,
    /// As it stands, with its unit.
    pub stands: String,
    /// As the rides have it, with its unit.
    pub offered: String,
    /// Rides behind it.
    pub rides: u32,
    /// Why, in words.
    pub why: String,
    /// The command that takes it.
    pub command: String,
}

/// What all rides teach.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Learnt {
    /// By kind of bicycle and figure.
    pub biases: Vec<Bias>,
    /// Constants that should be thought about.
    pub offers: Vec<Offer>,
}

/// What a job's ride teaches; `None` before its test ride, or when nothing can be compared.
pub fn lesson(job: &Job, rules: &RuleSheet) -> Option<Lesson> {
    let case = Case::new(job, rules, Stage::TestRide);
    let (compared, lesson) = compare(&case, job.stage)?;
    let hangs_on = constants(&case);
    let constants = hangs_on
        .into_iter()
        .filter_map(|(figure, rule)| {
            let row = compared.iter().find(|row| row.key == figure)?;
            let value = would_be_right(job, rules, row, &rule)?;
            Some((rule, value))
        })
        .collect();
    Some(Lesson { constants, ..lesson })
}

/// As [`lesson`], without the constants, which are the work.
pub fn errors(job: &Job, rules: &RuleSheet) -> Option<Lesson> {
    let case = Case::new(job, rules, Stage::TestRide);
    compare(&case, job.stage).map(|(_, lesson)| lesson)
}

fn compare(case: &Case<'_>, stage: Stage) -> Option<(Vec<Expected>, Lesson)> {
    if stage < Stage::TestRide {
        return None;
    }
    let kind = kind(case)?;
    let compared = diagnosis::expectations(case);
    let errors: Vec<_> = compared
        .iter()
        // A hill nobody measured teaches nothing about the build.
        .filter(|row| !row.on_hill || case.knows("hill-grade-ridden"))
        .filter(|row| row.expected.abs() > 0.0)
        .map(|row| (row.key, row.name.clone(), row.measured / row.expected - 1.0))
        .collect();
    let lesson = Lesson {
        kind,
        errors,
        constants: Vec::new(),
    };
    (!lesson.errors.is_empty()).then_some((compared, lesson))
}

/// Posture and place of the motor: what the constants go by.
fn kind(case: &Case<'_>) -> Option<String> {
    let posture = case.optional_word("posture")?;
    let motor = if prediction::is_mid(case).ok()? {
        "mid motor"
    } else {
        "hub motor"
    };
    Some(format!("{posture}, {motor}"))
}

/// Figures and the constant each hangs on most.
fn constants(case: &Case<'_>) -> Vec<(&'static str, String)> {
    let efficiency = match prediction::is_mid(case) {
        Ok(true) => "model.drive-efficiency-mid",
        _ => "model.drive-efficiency-hub",
    };
    let mut constants = vec![
        ("energy-charge", efficiency.to_owned()),
        ("mass-after", "mass.small-parts".to_owned()),
        ("stop-distance", "brake.stop-usual".to_owned()),
    ];
    if let Some(rolling) = case.optional_word("rolling") {
        constants.push(("coast-out", format!("crr.{rolling}")));
        constants.push(("coast-back", format!("crr.{rolling}")));
    }
    if let Some(posture) = case.optional_word("posture") {
        constants.push(("legs-out", format!("cda.{posture}")));
        constants.push(("legs-back", format!("cda.{posture}")));
    }
    constants
}

/// Steps of the search; readings hang on their constants almost straight or as one over them.
const STEPS: usize = 12;
/// How far from its value a constant is looked for, as a factor either way. A ride that asks for more
/// counts with this much: it lies on its side all the same.
const WIDEST: f64 = 3.0;

/// The value of a rule, in its unit, at which the expectation is what was measured: by secants.
fn would_be_right(job: &Job, rules: &RuleSheet, row: &Expected, rule: &str) -> Option<f64> {
    let stands = rules.get(rule).ok()?;
    let short_by = |value: f64| -> Option<f64> {
        // All digits: what is shown to people is rounded.
        let text = format!("{value:.9} {}", stands.unit);
        let changed = rules.clone().with_override(rule, &text, "tried").ok()?;
        let case = Case::new(job, &changed, Stage::TestRide);
        Some(diagnosis::expect_again(&case, row.key)? - row.measured)
    };
    let within = |value: f64| value.clamp(stands.value / WIDEST, stands.value * WIDEST);
    let (mut last, mut value) = (stands.value, 1.05 * stands.value);
    let mut last_short = row.expected - row.measured;
    for _ in 0..STEPS {
        // Beyond what the sheet takes, such as an efficiency over one, half as far is tried.
        let Some(short) = short_by(value) else {
            value = f64::midpoint(last, value);
            continue;
        };
        let slope = (short - last_short) / (value - last);
        // A constant the reading does not hang on here teaches nothing.
        if !slope.is_finite() || slope == 0.0 {
            return (short == 0.0).then_some(value);
        }
        (last, last_short) = (value, short);
        value = within(value - short / slope);
        if (value - last).abs() <= 1e-6 * stands.value {
            return Some(value);
        }
    }
    None
}

/// What the lessons of all jobs come to, by the shop's sheet.
pub fn learn(lessons: &[Lesson], rules: &RuleSheet) -> Learnt {
    let mut figures: BTreeMap<(String, &'static str), (String, Vec<f64>)> = BTreeMap::new();
    let mut constants: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for lesson in lessons {
        for (key, name, error) in &lesson.errors {
            let entry = figures.entry((lesson.kind.clone(), key)).or_default();
            entry.0.clone_from(name);
            entry.1.push(*error);
        }
        // Both ways of one ride are one ride.
        let mut of_job: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        for (rule, value) in &lesson.constants {
            of_job.entry(rule).or_default().push(*value);
        }
        for (rule, values) in of_job {
            constants.entry(rule.to_owned()).or_default().push(mean(&values));
        }
    }
    let bias = |((kind, key), (name, errors)): ((String, &'static str), (String, Vec<f64>))| Bias {
        kind,
        key,
        name,
        rides: count(&errors),
        mean: mean(&errors),
        spread: spread(&errors),
        above: errors
            .iter()
            .filter(|error| (1000.0 * **error).round() > 0.0)
            .count() as u32,
    };
    Learnt {
        biases: figures.into_iter().map(bias).collect(),
        offers: constants
            .iter()
            .filter_map(|(rule, values)| offer(rule, values, rules))
            .collect(),
    }
}

/// A constant worth an offer: enough rides, on one side more than luck puts there, and their mean
/// further off than its own doubt and than anybody cares.
fn offer(rule: &str, values: &[f64], rules: &RuleSheet) -> Option<Offer> {
    let limit = |key: &str| rules.number(key);
    let stands = rules.get(rule).ok()?;
    let rides = count(values);
    let above = values.iter().filter(|value| **value > stands.value).count() as u32;
    let luck = chance_of_side(above.max(rides - above), rides);
    let of_mean = spread(values)? / f64::from(rides).sqrt();
    let off = mean(values) - stands.value;
    let worth = f64::from(rides) >= limit("learn.rides-least")?
        && luck <= limit("learn.luck-most")?
        && off.abs() > limit("learn.errors-least")? * of_mean
        && off.abs() > limit("learn.change-least")? * stands.value.abs();
    if !worth {
        return None;
    }
    let value = rounded(mean(values));
    let offered = unit::with_unit(value, &stands.unit);
    let why = format!(
        "{} of {rides} rides lie {} it; they have {offered} ± {}, at {:.0} % luck",
        above.max(rides - above),
        if off > 0.0 { "above" } else { "below" },
        unit::with_unit(rounded(2.0 * of_mean), &stands.unit),
        100.0 * luck
    );
    // What the sheet would refuse is not offered.
    rules.clone().with_override(rule, &offered, &why).ok()?;
    let typed = offered.replace(' ', "");
    Some(Offer {
        rule: rule.to_owned(),
        stands: stands.show(),
        command: format!("lockring settings rule {rule} {typed} --why \"mean of {rides} rides\""),
        offered,
        rides,
        why,
    })
}

/// When a constant is offered, in words.
pub fn rule_in_words(rules: &RuleSheet) -> String {
    let shown = |key: &str| rules.get(key).map_or_else(|_| String::new(), |rule| rule.show());
    format!(
        "a constant is offered from {} rides, when luck would put so many on one side in at most {} of cases \
         and their mean is more than {} standard errors and {} away; jobs judged before keep theirs",
        shown("learn.rides-least"),
        shown("learn.luck-most"),
        shown("learn.errors-least"),
        shown("learn.change-least")
    )
}

/// Probability that luck alone puts at least so many of `n` on one side or the other: the two-sided
/// sign test.
fn chance_of_side(most: u32, n: u32) -> f64 {
    // Terms of Pascal's row over two to the n.
    let mut term = 0.5f64.powi(n as i32);
    let mut tail = 0.0;
    for k in 0..=n {
        if k >= most {
            tail += term;
        }
        term *= f64::from(n - k) / f64::from(k + 1);
    }
    (2.0 * tail).min(1.0)
}

fn count(values: &[f64]) -> u32 {
    u32::try_from(values.len()).unwrap_or(u32::MAX)
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

fn spread(values: &[f64]) -> Option<f64> {
    let about = mean(values);
    let squares: f64 = values.iter().map(|value| (value - about).powi(2)).sum();
    (values.len() > 1).then(|| (squares / (values.len() - 1) as f64).sqrt())
}

/// Three digits: no ride knows more.
fn rounded(value: f64) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let step = 10f64.powf(value.abs().log10().floor() - 2.0);
    let digits = (value / step).round();
    // A step below one is a division by a whole number, which leaves no dust behind.
    if step < 1.0 {
        digits / (1.0 / step).round()
    } else {
        digits * step
    }
}

#[cfg(test)]
mod tests;
