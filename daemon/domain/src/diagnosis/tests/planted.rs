//! Faults planted in the forward model and looked for again.
//!
//! Each ride draws everything that may be off without a fault (the same doubts, normally
//! distributed, that the expectation carries) and the error of each instrument (its standard
//! uncertainty in the table of codes: workshop judgement), rounded to what a display or a watt
//! meter shows. Sizes of the faults are those a shop would look for; judgement.

use lockring_calc::sampling::{Draws, Shape};

use super::super::Cause;
use super::super::doubts::{Doubt, doubts};
use super::super::quantity::{self, Quantity};
use super::super::rank::{self, Hypothesis, Ranked, Readings};
use super::super::ridden::Ridden;
use crate::case::Case;
use crate::checks::testing::{Bench, longtail, trekking};
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// A fault as a shop meets it.
const FAULTS: [(Cause, f64); 12] = [
    (Cause::WheelSetting, 0.05),
    (Cause::BrakeDrag, 15.0),
    (Cause::TyrePressure, 0.7),
    (Cause::HillGrade, 0.35),
    (Cause::PackResistance, 2.0),
    (Cause::CurrentLimit, 0.3),
    (Cause::AssistLevel, 0.4),
    (Cause::Winding, 0.25),
    (Cause::Wind, 3.5),
    (Cause::Mass, 25.0),
    (Cause::RiderPower, -0.6),
    (Cause::AssistLimit, 0.08),
];

/// The sheet kept in full: wheel rolled out and set, air in the tyres, everything weighed, strip and
/// volts at rest read. Only the hill is as the brief has it.
fn by_the_sheet(bench: Bench, set: &str, rest: [&str; 2]) -> Bench {
    bench
        .measure(&[("circumference", set)])
        .measure(&[("circumference-setting", set)])
        .measure(&[("mass-after", "40kg"), ("tyre-pressure", "3.5bar")])
        .ride(
            "conditions",
            &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
        )
        .ride("speed", &[("grade", "0.2%"), ("rest", rest[0])])
        .ride("hill", &[("rest", rest[1])])
}

fn cargo() -> Range {
    Range::of(&by_the_sheet(longtail(), "2110mm", ["51.5V", "46.5V"]))
}

fn city() -> Range {
    Range::of(&by_the_sheet(trekking(), "2170mm", ["39.8V", "35.9V"]))
}

/// A bicycle with its hypotheses worked out once.
struct Range {
    base: Ridden,
    doubts: Vec<Doubt>,
    quantities: Vec<Quantity>,
    hypotheses: Vec<Hypothesis>,
    model_error: f64,
}

impl Range {
    fn of(bench: &Bench) -> Self {
        let rules = RuleSheet::shipped();
        let case = Case::new(&bench.job, &rules, Stage::TestRide);
        let base = Ridden::of(&case).unwrap();
        let doubts = doubts(&case).unwrap();
        // The sheet filled in: the mean current is left out where both ways are read.
        let quantities: Vec<Quantity> = quantity::ALL
            .into_iter()
            .filter(|quantity| *quantity != Quantity::SpeedAmps)
            .collect();
        let hypotheses = rank::hypotheses(&base, &doubts, &quantities, |cause| cause.met(&case));
        Self {
            base,
            doubts,
            quantities,
            hypotheses,
            model_error: case.rule("model.error"),
        }
    }

    /// A ride of the bicycle with a fault, read with real instruments.
    fn ride(&self, fault: Option<(Cause, f64)>, seed: u64) -> (Vec<f64>, Vec<f64>) {
        let standard = Shape::Normal { mean: 0.0, u: 1.0 };
        let count = self.doubts.len() + self.quantities.len();
        let draw = Draws::new(&vec![standard; count], seed).unwrap().draw();
        let (of_inputs, of_readings) = draw.split_at(self.doubts.len());
        let mut truth = self.base.clone();
        for (doubt, by) in self.doubts.iter().zip(of_inputs) {
            (doubt.push)(&mut truth, by * doubt.u);
        }
        if let Some((cause, size)) = fault {
            cause.apply(&mut truth, size);
        }
        let expected = truth.expect(&self.quantities);
        let read = |((quantity, expected), by): ((&Quantity, Option<f64>), &f64)| {
            let value = expected.unwrap();
            if *quantity == Quantity::Starts {
                // Three tries: as many come off as the share says, by one draw.
                let quantile = 0.5 * (1.0 + (by / 1.5).tanh());
                let good = (0..3).filter(|n| binomial_below(*n, value) < quantile).count();
                let share = good as f64 / 3.0;
                return (share, quantity.instrument(share));
            }
            let u = quantity.instrument(value);
            ((value + by * u).max(0.0), u)
        };
        self.quantities
            .iter()
            .zip(expected)
            .zip(of_readings)
            .map(read)
            .unzip()
    }

    fn rank(&self, fault: Option<(Cause, f64)>, seed: u64) -> Vec<Ranked> {
        let (values, own) = self.ride(fault, seed);
        let readings = Readings {
            values: &values,
            own: &own,
        };
        rank::rank(&self.hypotheses, &readings, self.model_error)
    }

    /// How many of so many rides put each cause first.
    fn first(&self, fault: Option<(Cause, f64)>, seeds: u64) -> Vec<(Option<Cause>, usize)> {
        let mut counted: Vec<(Option<Cause>, usize)> = Vec::new();
        for seed in 0..seeds {
            let first = self.rank(fault, 1000 + seed)[0].cause;
            match counted.iter_mut().find(|(cause, _)| *cause == first) {
                Some((_, count)) => *count += 1,
                None => counted.push((first, 1)),
            }
        }
        counted.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        counted
    }
}

/// Probability of at most `n` good starts of three.
fn binomial_below(n: u32, p: f64) -> f64 {
    let q = 1.0 - p;
    let terms = [q.powi(3), 3.0 * p * q * q, 3.0 * p * p * q];
    terms.iter().take(n as usize + 1).sum()
}

fn rate(counted: &[(Option<Cause>, usize)], cause: Option<Cause>) -> usize {
    counted
        .iter()
        .find(|(found, _)| *found == cause)
        .map_or(0, |(_, count)| *count)
}

#[allow(clippy::print_stdout, reason = "the table is what it is for")]
fn table(name: &str, range: &Range, seeds: u64) -> Vec<(Cause, usize)> {
    println!("{name}: cause put first, rides of {seeds}");
    println!("  nothing: {:?}", range.first(None, seeds));
    FAULTS
        .iter()
        .map(|(cause, size)| {
            let counted = range.first(Some((*cause, *size)), seeds);
            let right = rate(&counted, Some(*cause));
            println!(
                "  {:<16} {size:>5}  {right:>3}/{seeds}  {counted:?}",
                cause.word()
            );
            (*cause, right)
        })
        .collect()
}

/// The same for a motor in the wheel, whose tyre and current limit show less: printed, not asked.
#[test]
#[ignore = "prints a table: run with --ignored --nocapture"]
fn the_table_of_planted_faults_with_a_hub_motor() {
    table("trekking, hub motor", &city(), 50);
}

/// The bar: of fifty rides with one of the ten faults asked for, at least forty put it first. A wrong
/// mass shows too little in the readings and is left to the scale.
#[test]
fn planted_faults_are_found_in_four_rides_of_five() {
    let counted = table("longtail, mid motor", &cargo(), 50);
    let asked = counted
        .iter()
        .filter(|(cause, _)| !matches!(cause, Cause::Mass | Cause::AssistLimit));
    let missed: Vec<_> = asked.clone().filter(|(_, right)| *right < 40).collect();
    assert_eq!(asked.count(), 10);
    assert!(missed.is_empty(), "{counted:?}");
}

#[test]
fn a_sound_bicycle_is_left_in_peace() {
    let counted = cargo().first(None, 20);
    assert!(rate(&counted, None) >= 16, "{counted:?}");
}
