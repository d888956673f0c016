//! Tests of the comparison: planted faults, rides told in the trade, refusals.

mod planted;

use super::*;
use crate::checks::testing::{Bench, longtail, trekking};

fn compared_by(bench: &Bench) -> Comparison {
    compare(&bench.job, &RuleSheet::shipped()).unwrap()
}

/// Worked example of the trade (common practice, no source): a hill told as 8 % that was 10.8 %;
/// 42/34 with 70 N·m made 6.0 km/h there, no start of three came off, the pack stood at 44.9 V.
#[test]
fn the_told_hill_is_found_by_the_ride_alone() {
    let ridden = longtail()
        .ride("conditions", &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")])
        .ride("hill", &[("speed", "6.0km/h"), ("volts", "44.9V")])
        .ride("restart", &[("starts", "0/3")]);
    let found = compared_by(&ridden);
    let first = &found.explanations[0];
    assert_eq!(first.ranked.cause, Some(Cause::HillGrade), "{found:#?}");
    let grade = 8.0 * (1.0 + first.ranked.size);
    assert!((grade - 10.8).abs() < 0.6, "{grade}: {}", first.said);
    assert!(
        first.said.contains("steeper than the brief has it"),
        "{}",
        first.said
    );
    let settle = found.settle.unwrap();
    assert!(settle.command.contains("grade="), "{settle:?}");
}
