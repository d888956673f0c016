//! Each figure as expected beside itself as measured, with both doubts.

use lockring_calc::doubt::COVERAGE;

use super::doubts::Doubt;
use super::model::moved;
use super::quantity::Quantity;
use super::ridden::Ridden;
use super::words;
use crate::case::{Case, Known};
use crate::code;
use crate::prediction;
use crate::unit::{self, Kind};

/// How a pair of figures agrees.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    /// Within twice the doubt of the difference.
    Agrees,
    /// Within three times.
    AtTheEdge,
    /// Beyond.
    Differs,
    /// The readings scatter so much that nearly any expectation would be within them.
    TooDoubtful,
    /// Over a limit that stops the ride, whatever was expected.
    OverLimit,
}

impl Agreement {
    /// The word people read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::AtTheEdge => "at the edge",
            Self::Differs => "differs",
            Self::TooDoubtful => "too doubtful to tell",
            Self::OverLimit => "over the limit",
        }
    }

    fn of(spreads: f64) -> Self {
        match spreads.abs() {
            far if far > 3.0 => Self::Differs,
            far if far > COVERAGE => Self::AtTheEdge,
            _ => Self::Agrees,
        }
    }
}

/// A figure expected and measured, in SI with standard uncertainties.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Code or word of the figure; stable.
    pub key: &'static str,
    /// Its name.
    pub name: String,
    /// What is measured.
    pub kind: Kind,
    /// The unit shown.
    pub unit: &'static str,
    /// Expected, and its doubt.
    pub expected: (f64, f64),
    /// Measured, and its doubt.
    pub measured: (f64, f64),
    /// Measured less expected, in standard uncertainties of the difference.
    pub spreads: f64,
    /// The verdict on that.
    pub agreement: Agreement,
    /// The doubt that weighs most in the expectation; empty where there is only one.
    pub mostly: &'static str,
}

impl Row {
    /// A figure of this row in the unit shown.
    pub fn shown(&self, si: f64) -> f64 {
        unit::from_si(self.kind, self.unit, si)
    }

    /// The expanded uncertainty to a standard one, in the unit shown.
    pub fn expanded(&self, u: f64) -> f64 {
        // A doubt is a difference: where the unit has an offset it must not be added.
        self.shown(COVERAGE * u) - self.shown(0.0)
    }

    fn new(
        key: &'static str,
        name: String,
        unit: (Kind, &'static str),
        expected: (f64, f64),
        measured: (f64, f64),
    ) -> Self {
        let spreads = (measured.0 - expected.0) / expected.1.hypot(measured.1).max(f64::MIN_POSITIVE);
        Self {
            key,
            name,
            kind: unit.0,
            unit: unit.1,
            expected,
            measured,
            spreads,
            agreement: Agreement::of(spreads),
            mostly: "",
        }
    }
}

/// Readings whose doubt is more than this share of their value, by their scatter and not by their instrument, tell
/// nothing of an expectation (judgement; it stops nothing).
const SCATTERED: f64 = 0.25;

/// Whether readings scatter too much to agree with anything. What is tried and counted has no instrument; its doubt is that
/// of few tries.
fn is_scattered(code: &str, known: &Known) -> bool {
    let by_instrument = code::find(code).map_or(0.0, code::Code::uncertainty_si);
    by_instrument > 0.0
        && known.expanded() > SCATTERED * known.value.abs()
        && known.expanded() > 2.0 * COVERAGE * by_instrument
}

/// The readings of the ride.
pub(super) fn of_ride(
    base: &Ridden,
    doubts: &[Doubt],
    read: &[(Quantity, Known)],
    model_error: f64,
) -> Vec<Row> {
    let quantities: Vec<Quantity> = read.iter().map(|(quantity, _)| *quantity).collect();
    let Some(together) = moved(base, doubts, &quantities) else {
        return Vec::new();
    };
    let expected = base.expect(&quantities);
    let row = |(index, ((quantity, known), expected)): (usize, (&(Quantity, Known), Option<f64>))| {
        let expected = expected?;
        let shared: f64 = together.iter().map(|moved| moved[index] * moved[index]).sum();
        let by = together.iter().map(|moved| moved[index].abs()).zip(doubts);
        let most = by.max_by(|a, b| a.0.total_cmp(&b.0));
        let row = Row::new(
            quantity.code(),
            words::name(*quantity),
            quantity.unit(),
            (expected, shared.sqrt().hypot(model_error * expected)),
            (known.value, known.u),
        );
        Some(Row {
            mostly: most
                .filter(|(moved, _)| *moved > 0.0)
                .map_or("", |(_, doubt)| doubt.name),
            agreement: match row.agreement {
                Agreement::Agrees | Agreement::AtTheEdge if is_scattered(row.key, known) => {
                    Agreement::TooDoubtful
                }
                told => told,
            },
            ..row
        })
    };
    read.iter().zip(expected).enumerate().filter_map(row).collect()
}

/// Figures that are not a matter of the drive: mass as summed and as weighed, the stop as everyday
/// bicycles do it and as ridden.
pub(super) fn of_the_stand(case: &Case<'_>) -> Vec<Row> {
    let mut rows = Vec::new();
    let weighed = case.optional_number("mass-after");
    if let (Some(weighed), Ok(summed)) = (weighed, prediction::summed_mass(case)) {
        rows.push(Row::new(
            "mass-after",
            "mass of the bicycle with the kit".to_owned(),
            (Kind::Mass, "kg"),
            (summed.value, summed.u),
            (weighed.value, weighed.u),
        ));
    }
    if case.knows("stop-distance") {
        rows.extend(stop(case));
    }
    rows
}

/// A stop from the set speed: everyday bicycles hold a deceleration, heavier ones stop later with
/// the same force.
fn stop(case: &Case<'_>) -> Option<Row> {
    let most = case.rule("brake.stop-most");
    let stops = prediction::Stops::at_the_usual_speed(case).ok()?;
    let stop = stops.together(most);
    let usual = prediction::usual_stop(case).ok()?;
    let row = Row::new(
        "stop-distance",
        "stopping distance, both brakes, brought to the set speed".to_owned(),
        (Kind::Length, "m"),
        (usual.value, usual.u),
        (stop.value, stop.u),
    );
    // That a heavy bicycle is expected to stop late makes no good brake of one that fails.
    Some(if stops.longest(most).value > most {
        Row {
            agreement: Agreement::OverLimit,
            ..row
        }
    } else {
        row
    })
}

/// The longest stop beside what is allowed, where it is over that: the brakes come before anything the drive may have.
pub(super) fn stop_over(case: &Case<'_>) -> Option<String> {
    if !case.knows("stop-distance") {
        return None;
    }
    let stops = prediction::Stops::at_the_usual_speed(case).ok()?;
    let longest = stops.longest(case.rule("brake.stop-most")).value;
    let over = prediction::stop_over(case, longest)?;
    let shown = |si| unit::show_about(Kind::Length, "m", si);
    let usual = prediction::usual_stop(case).ok()?.value;
    let expected = match prediction::stop_over(case, usual) {
        Some(over) => format!(", and the {} expected are {over} too", shown(usual)),
        None => String::new(),
    };
    Some(format!(
        "the brakes first: stopped in {}, {over}{expected}. Weak brakes: oil on the pads, air in the line, a loose anchor, \
         pads not bedded in, or too small for the mass",
        shown(longest)
    ))
}

#[cfg(test)]
mod tests;
