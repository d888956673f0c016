//! Tests of the chain's angle at the cogs.

use super::*;
use crate::checks::testing::{Bench, longtail, trekking};

fn fitted(front: &str, turns: &str) -> Bench {
    longtail().measure(&[
        ("chainline-front", front),
        ("chainline-rear", "45.0"),
        ("back-pedal", turns),
    ])
}

fn largest(bench: &Bench) -> (Verdict, f64) {
    let report = bench.report(&CHECK);
    (report.findings[0].verdict, report.findings[0].figures[0].value)
}

#[test]
fn the_rings_of_the_longtail() {
    // Worked example of the trade (common practice, no source), stay 480 mm, largest cog at
    // 27.6: 51.5 gives 2.85 degrees go; the flat ring's 55.5 gives 3.33 look; 52.5 gives
    // 2.97 go once 20 turns were back-pedalled without a drop.
    for (front, turns, degrees, verdict) in [
        ("51.5", "10/10", 2.85, Verdict::Pass),
        ("55.5", "8/10", 3.33, Verdict::Caution),
        ("52.5", "20/20", 2.97, Verdict::Pass),
    ] {
        let (found, angle) = largest(&fitted(front, turns));
        assert_eq!(found, verdict, "{front}");
        assert!((angle - degrees).abs() < 0.01, "{front}: {angle}");
    }
    fitted("51.5", "10/10").expect(&CHECK, Verdict::Pass);
    fitted("52.5", "20/20").expect(&CHECK, Verdict::Pass);
    // Two drops in ten turns stop the job.
    let report = fitted("55.5", "8/10").expect(&CHECK, Verdict::Fail);
    assert!(report.summary().contains("2 drops"), "{}", report.summary());
}

#[test]
fn doubt_is_settled_by_turns_enough_and_by_nothing_else() {
    // 2.97 +- 0.08 degrees straddles 3.0 (two rules of 0.25 mm over 480 mm).
    let report = fitted("52.5", "5/5").expect(&CHECK, Verdict::Caution);
    assert_eq!(report.findings[0].verdict, Verdict::Caution);
    // Over the limit by less than its doubt: turns do not make it smaller.
    assert_eq!(largest(&fitted("53.0", "20/20")).0, Verdict::Caution);
}

#[test]
fn the_limit_is_crossed_through_a_band_of_doubt() {
    for (front, verdict) in [
        ("51.8", Verdict::Pass),
        ("53.2", Verdict::Caution),
        ("56.0", Verdict::Caution),
        ("57.0", Verdict::Caution),
        ("58.0", Verdict::Fail),
    ] {
        assert_eq!(largest(&fitted(front, "10/10")).0, verdict, "{front}");
    }
}

#[test]
fn other_cogs_are_advice_and_never_stop_the_job() {
    // Far inboard: the smallest cog runs at atan((40 - 62.4)/480) = -2.67 degrees.
    let report = fitted("40.0", "10/10").expect(&CHECK, Verdict::Pass);
    assert!(
        report.findings[1].summary.contains("11-tooth"),
        "{}",
        report.findings[1].summary
    );
    let far = fitted("30.0", "10/10").expect(&CHECK, Verdict::Caution);
    assert!(
        far.findings[1].summary.contains("advice only"),
        "{}",
        far.findings[1].summary
    );
}

#[test]
fn it_asks_for_all_that_is_missing_and_leaves_kept_rings_alone() {
    // The angle is told without the turns, and asked for them.
    let planned = longtail().measure(&[("chainline-front", "51.5"), ("chainline-rear", "45.0")]);
    let report = planned.expect(&CHECK, Verdict::Open);
    assert_eq!(report.said(), Some(Verdict::Pass), "{:?}", report.findings);
    assert!(
        report.missing[0]
            .how
            .starts_with("lockring measure 21 back-pedal")
    );
    let far = longtail().measure(&[("chainline-front", "58.0"), ("chainline-rear", "45.0")]);
    assert!(far.expect(&CHECK, Verdict::Fail).missing.len() == 1);
    let report = longtail().expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
    trekking().expect(&CHECK, Verdict::NotApplicable);
    let single = trekking()
        .state(&[("cogs", "19")])
        .build(&[("chainring", "ring-38-5")]);
    single
        .measure(&[("chainline-rear", "45")])
        .expect(&CHECK, Verdict::NotApplicable);
}

#[test]
fn turns_without_a_drop_and_the_dish_named_clear_it() {
    fitted("51.5", "8/10").cured(&CHECK, "lockring measure 21 back-pedal 10/10", |job| {
        job.measure(&[("back-pedal", "10/10")])
    });
    // 480 mm x (tan(3.33 + 0.08) - tan 3.0) by hand: 3.5 mm and the next tenth.
    fitted("55.5", "10/10").cured(&CHECK, "a ring with 3.5 mm more dish", |job| {
        job.measure(&[("chainline-front", "52.0")])
    });
}
