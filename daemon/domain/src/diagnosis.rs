//! Prediction against measurement: what a test ride read beside what the model expects of the
//! bicycle as built, and which single cause explains the differences.
//!
//! The expectation is brought to the conditions of the ride: what was on board, the grade really
//! measured, the air, the volts at rest where somebody read them. Both sides carry their doubt;
//! doubts that move several readings together are kept together (`rank.rs`). A told hill is taken as
//! told, so that a ride alone can show it wrong.

use lockring_calc::doubt::COVERAGE;

use crate::case::{Case, Known};
use crate::finding::Halt;
use crate::job::Job;
use crate::prediction;
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::unit::{self, Kind};

mod cause;
mod doubts;
mod model;
mod quantity;
mod rank;
mod readings;
mod ridden;
mod rows;
mod settle;
mod words;

pub use cause::Cause;
pub use quantity::Quantity;
pub use rank::Ranked;
pub use rows::{Agreement, Row};
pub use settle::Settle;

use model::Model;
use readings::Readings;
use ridden::Ridden;

/// Explanations below this share of the belief are not shown.
const SHOWN: f64 = 0.01;
/// Explanations shown at most.
const MOST: usize = 5;

/// What a ride says about a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// What the expectation was brought to, in words.
    pub conditions: Vec<String>,
    /// Every figure that was both expected and measured.
    pub rows: Vec<Row>,
    /// What comes before any explanation, in words.
    pub first: Vec<String>,
    /// Explanations, the best first; empty when nothing was read that the model expects.
    pub explanations: Vec<Explanation>,
    /// The measurement that settles between the first two.
    pub settle: Option<Settle>,
    /// What else should be known, in words.
    pub remarks: Vec<String>,
}

/// One explanation.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// How it fared.
    pub ranked: Ranked,
    /// It in words.
    pub said: String,
    /// Where to look.
    pub look: &'static str,
}

/// Compares what was ridden with what was expected.
///
/// # Errors
/// A [`Refusal`] when nothing was ridden yet, or the bicycle is not known well enough.
pub fn compare(job: &Job, rules: &RuleSheet) -> Result<Comparison, Refusal> {
    let case = Case::new(job, rules, Stage::TestRide);
    let number = job.number;
    let comparison = compared(&case).map_err(|halt| halt.refuse(number))?;
    if comparison.rows.is_empty() && comparison.explanations.is_empty() {
        let refusal = Refusal::new(
            Reason::BadInput,
            format!("job {number} has no run that can be compared"),
        );
        return Err(refusal
            .with("job", number)
            .hint(format!("`lockring ride {number} plan`")));
    }
    Ok(comparison)
}

fn compared(case: &Case<'_>) -> Result<Comparison, Halt> {
    let base = Ridden::of(case)?;
    let doubts = doubts::doubts(case)?;
    let read: Vec<(Quantity, Known)> = quantity::ALL
        .into_iter()
        .filter_map(|quantity| Some((quantity, quantity.read(case)?)))
        .filter(|(quantity, _)| base.expect(&[*quantity]).iter().all(Option::is_some))
        .collect();
    let mut rows = rows::of_ride(&base, &doubts, &read, case.rule("model.error"));
    rows.extend(rows::of_the_stand(case));
    // What a stall says comes last: it is a bound and no reading.
    let stall = Quantity::HillHeld;
    let bound = stall.read(case).filter(|_| base.expect(&[stall])[0].is_some());
    let read: Vec<(Quantity, Known)> = read
        .into_iter()
        .chain(bound.map(|bound| (stall, bound)))
        .collect();
    let quantities: Vec<Quantity> = read.iter().map(|(quantity, _)| *quantity).collect();
    let values: Vec<f64> = read.iter().map(|(_, known)| known.value).collect();
    let own: Vec<f64> = read
        .iter()
        .map(|(quantity, known)| known.u.max(quantity.instrument(known.value)))
        .collect();
    let first: Vec<String> = rows::stop_over(case).into_iter().collect();
    if quantities.is_empty() {
        return Ok(Comparison {
            conditions: conditions(case, &base),
            rows,
            first,
            explanations: Vec::new(),
            settle: None,
            remarks: Vec::new(),
        });
    }
    let model = Model {
        base: &base,
        doubts: &doubts,
        quantities: &quantities,
    };
    let hypotheses = model.hypotheses(|cause| cause.met(case));
    let readings = Readings {
        values: &values,
        own: &own,
        below: bound.is_some(),
    };
    let ranked = rank::rank(&model, &hypotheses, &readings, case.rule("model.error"));
    let settle = settle::settle(case, &base, &doubts, &ranked);
    let mut remarks = remarks(case, &base);
    remarks.extend(
        ranked
            .first()
            .and_then(|first| words::fit(first.distance_squared, readings.read())),
    );
    let explanations = ranked
        .into_iter()
        .filter(|ranked| ranked.share >= SHOWN)
        .take(MOST)
        .map(|ranked| Explanation {
            said: words::said(ranked.cause, ranked.size, ranked.size_u, &base),
            look: words::look(ranked.cause),
            ranked,
        });
    Ok(Comparison {
        conditions: conditions(case, &base),
        rows,
        first,
        explanations: explanations.collect(),
        settle,
        remarks,
    })
}

/// A figure expected and measured, in SI, without their doubts.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// Code or word of the figure.
    pub key: &'static str,
    /// Its name.
    pub name: String,
    /// As expected.
    pub expected: f64,
    /// As measured.
    pub measured: f64,
    /// Whether it was read on the hill.
    pub on_hill: bool,
}

/// Every figure that was both expected and measured; none where the bicycle is not known well
/// enough.
pub fn expectations(case: &Case<'_>) -> Vec<Expected> {
    let mut found: Vec<Expected> = rows::of_the_stand(case)
        .into_iter()
        .map(|row| Expected {
            key: row.key,
            name: row.name,
            expected: row.expected.0,
            measured: row.measured.0,
            on_hill: false,
        })
        .collect();
    let Ok(base) = Ridden::of(case) else {
        return found;
    };
    let ridden = quantity::ALL.into_iter().filter_map(|quantity| {
        let measured = quantity.read(case)?.value;
        let expected = base.expect(&[quantity]).into_iter().next()??;
        Some(Expected {
            key: quantity.code(),
            name: words::name(quantity),
            expected,
            measured,
            on_hill: matches!(quantity.run(), "hill" | "restart"),
        })
    });
    found.extend(ridden);
    found
}

/// What is expected of one figure, in SI.
pub fn expect_again(case: &Case<'_>, key: &str) -> Option<f64> {
    let mut there = quantity::ALL
        .into_iter()
        .filter(|quantity| quantity.is_there(case));
    if let Some(quantity) = there.find(|quantity| quantity.code() == key) {
        return Ridden::of(case).ok()?.expect(&[quantity]).into_iter().next()?;
    }
    let rows = rows::of_the_stand(case);
    rows.into_iter()
        .find(|row| row.key == key)
        .map(|row| row.expected.0)
}

/// What the expectation was brought to.
fn conditions(case: &Case<'_>, base: &Ridden) -> Vec<String> {
    let on_board = if case.knows("test-mass") {
        "as weighed for the ride"
    } else {
        "as in the brief"
    };
    let mut said = vec![format!(
        "mass on the road {}, {on_board}",
        unit::show(Kind::Mass, "kg", base.road.mass.si())
    )];
    if let Some(grade) = base.grade {
        let source = if case.knows("hill-grade-ridden") {
            "as measured on the ride".to_owned()
        } else {
            format!(
                "by the brief ({})",
                case.optional_word("hill-source").unwrap_or("source not given")
            )
        };
        said.push(format!("hill {}, {source}", unit::show(Kind::Grade, "%", grade)));
    }
    for (drive, rest, what) in [
        (&base.level, "speed-rest", "speed runs"),
        (&base.hill, "hill-rest", "hill"),
    ] {
        let volts = unit::show(
            Kind::Voltage,
            "V",
            (10.0 * drive.pack.open_circuit.si()).round() / 10.0,
        );
        let how = if case.knows(rest) {
            "as read"
        } else {
            "at a usual charge"
        };
        said.push(format!("pack at rest {volts} before the {what}, {how}"));
    }
    match case.optional_number("test-wind") {
        Some(wind) => said.push(format!(
            "wind {} from anywhere",
            unit::show(Kind::Speed, "m/s", wind.value)
        )),
        None => said.push("wind not measured".to_owned()),
    }
    said
}

/// What is certain without any ranking.
fn remarks(case: &Case<'_>, base: &Ridden) -> Vec<String> {
    let mut said = Vec::new();
    let told = case.optional_number("hill-grade");
    let ridden = case.optional_number("hill-grade-ridden");
    if let (Some(told), Some(ridden)) = (told, ridden) {
        let doubt = ridden.u.hypot(told.u);
        if (ridden.value - told.value).abs() > 2.0 * doubt {
            let grade = |si: f64| unit::show(Kind::Grade, "%", si);
            said.push(format!(
                "the brief has the hill at {} ({}), it measured {}: that difference is the brief's and not the build's",
                grade(told.value),
                case.optional_word("hill-source").unwrap_or("source not given"),
                grade(ridden.value)
            ));
        }
    }
    if prediction::stalled(case) {
        let held = base.expect(&[Quantity::HillHeld]).into_iter().next().flatten();
        let grades = held.zip(base.grade).map(|(held, grade)| (held * grade, grade));
        said.extend(grades.map(|(held, grade)| words::hill_won(held, grade)));
    }
    said.extend(at_the_cutoff(case, base));
    if !case.knows("test-mass") {
        said.push("what was on board was not weighed: `conditions` records it".to_owned());
    }
    said
}

/// A pack at the controller's cut-off, a line for each run: what was read under load, else at rest, else what
/// the model draws it down to. What is expected reckons with full help, so this stands beside every cause.
fn at_the_cutoff(case: &Case<'_>, base: &Ridden) -> Vec<String> {
    let Ok(cutoff) = prediction::low_cutoff(case) else {
        return Vec::new();
    };
    let is_there = |known: &Known| known.value < cutoff.value + COVERAGE * known.u.hypot(cutoff.u);
    let of_hill = if prediction::stalled(case) {
        Quantity::PullVolts
    } else {
        Quantity::HillVolts
    };
    let runs = [("speed-rest", Quantity::SpeedVolts), ("hill-rest", of_hill)];
    let of_run = |(rest, loaded): (&str, Quantity)| {
        // That a hill won is a reading, too.
        let was_ridden = quantity::ALL
            .into_iter()
            .chain([Quantity::HillHeld])
            .any(|quantity| quantity.run() == loaded.run() && quantity.read(case).is_some());
        if !was_ridden {
            return None;
        }
        let line = |volts, how| words::at_the_cutoff(loaded.run(), volts, cutoff.value, how);
        let under_load = loaded.read(case);
        let read = under_load
            .filter(is_there)
            .map(|known| line(known.value, words::Low::Read));
        let at_rest = || {
            let known = case.optional_number(rest).filter(is_there)?;
            Some(line(known.value, words::Low::AtRest))
        };
        let expected = || {
            let volts = base.expect(&[loaded]).into_iter().next().flatten()?;
            (under_load.is_none() && volts < cutoff.value).then(|| line(volts, words::Low::Expected))
        };
        read.or_else(at_rest).or_else(expected)
    };
    runs.into_iter().filter_map(of_run).collect()
}

#[cfg(test)]
mod tests;
