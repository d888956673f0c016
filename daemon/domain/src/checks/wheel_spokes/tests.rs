//! Tests of the motor wheel's spokes.

use super::*;
use crate::checks::testing::{Bench, longtail, trekking};

/// A motor flange of 123 mm in a rim of 537 mm, 36 spokes, as the trade builds it.
fn wheel(crossings: &str) -> Bench {
    trekking().measure(&[
        ("erd", "537 mm"),
        ("spoke-count", "36"),
        ("spoke-crossings", crossings),
        ("spoke-hole", "3 mm"),
        ("flange-left-diameter", "123 mm"),
        ("flange-left-distance", "25 mm"),
        ("flange-right-diameter", "123 mm"),
        ("flange-right-distance", "25 mm"),
    ])
}

#[test]
fn a_wheel_that_came_built_and_a_motor_at_the_crank_are_not_judged() {
    trekking().expect(&CHECK, Verdict::NotApplicable);
    longtail()
        .measure(&[("erd", "537 mm")])
        .expect(&CHECK, Verdict::NotApplicable);
}

#[test]
fn what_is_missing_is_asked_for() {
    let report = trekking()
        .measure(&[("erd", "537 mm")])
        .expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
    let report = wheel("1")
        .forget("flange-right-distance")
        .expect(&CHECK, Verdict::Open);
    assert!(
        report.missing[0].how.contains("flange-right-distance"),
        "{:?}",
        report.missing
    );
}

#[test]
fn one_crossing_goes_in_straight_enough() {
    // Computed by hand from the formula: d 25, r1 61.5, r2 268.5, r3 1.5, 18 a side, 1 crossing:
    // 211.73 mm, 5.70 degrees.
    let report = wheel("1").expect(&CHECK, Verdict::Pass);
    assert_eq!(report.findings.len(), 4);
    assert!((report.findings[0].figures[0].value - 5.70).abs() < 0.01);
    assert!((report.findings[1].figures[0].value - 211.73).abs() < 0.01);
    assert!(
        report.findings[1].summary.contains("order 212 mm"),
        "{:?}",
        report.findings[1]
    );
}

#[test]
fn two_crossings_bend_the_spoke_and_one_less_clears_it() {
    // By hand: 224.78 mm, 10.12 degrees.
    let bent = wheel("2");
    let report = bent.expect(&CHECK, Verdict::Caution);
    let remedy = &report.findings[0].remedies[0];
    assert!(
        remedy.contains("211.7 mm") && remedy.ends_with("spoke-crossings 1"),
        "{remedy}"
    );
    bent.measure(&[("spoke-crossings", "1")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn a_large_flange_in_a_small_rim_stays_advice_and_leaves_radial_spokes() {
    // By hand: flange 200 mm, rim 380 mm, 1 crossing: 19.60 degrees; radial 91.91 mm.
    let small = wheel("1").measure(&[
        ("erd", "380 mm"),
        ("flange-left-diameter", "200 mm"),
        ("flange-right-diameter", "200 mm"),
    ]);
    let report = small.expect(&CHECK, Verdict::Caution);
    assert!(report.summary().contains("advice only"), "{}", report.summary());
    assert!(
        report.findings[0].remedies[0].contains("91.9 mm; radial"),
        "{:?}",
        report.findings[0].remedies
    );
}

#[test]
fn the_angle_is_crossed_through_a_band_of_doubt() {
    // Law of sines by hand, rim 537 mm, 1 crossing of 18 (20 degrees): 8 degrees at a hole circle
    // of 537 x sin 8 / sin 28 = 159.2 mm; the calliper's 0.1 mm is 0.01 degrees of doubt.
    for (circle, verdict, in_doubt) in [
        ("158.6 mm", Verdict::Pass, false),
        ("159.2 mm", Verdict::Caution, true),
        ("159.8 mm", Verdict::Caution, false),
    ] {
        let report = wheel("1")
            .measure(&[("flange-left-diameter", circle)])
            .expect(&CHECK, verdict);
        let line = &report.findings[0].summary;
        assert_eq!(line.contains("measurement's doubt"), in_doubt, "{line}");
    }
}

#[test]
fn geometry_that_makes_no_wheel_fails() {
    let report = wheel("5").expect(&CHECK, Verdict::Fail);
    assert!(report.summary().contains("at most 4"), "{}", report.summary());
    wheel("1")
        .measure(&[("spoke-count", "35")])
        .expect(&CHECK, Verdict::Fail);
    wheel("1")
        .measure(&[("flange-left-diameter", "300 mm"), ("erd", "330 mm")])
        .expect(&CHECK, Verdict::Open);
}

#[test]
fn spokes_at_hand_are_held_against_the_computed_length() {
    // Common practice, no source: 0.5 mm short to 1 mm long of the computed 211.73 mm. Doubt
    // about 0.4 mm: ruler 0.15, rim 0.2 over the diameter, flange.
    for (left, verdict) in [
        ("212.0 mm", Verdict::Pass),
        ("211.3 mm", Verdict::Caution),
        ("212.6 mm", Verdict::Caution),
        ("210 mm", Verdict::Caution),
        ("214 mm", Verdict::Caution),
    ] {
        let report = wheel("1")
            .measure(&[("spoke-length-left", left)])
            .expect(&CHECK, verdict);
        let doubted = report.findings[1].summary.contains("measurement's doubt");
        assert_eq!(
            doubted,
            ["211.3 mm", "212.6 mm"].contains(&left),
            "{:?}",
            report.findings[1]
        );
    }
    let short = wheel("1").measure(&[("spoke-length-left", "205 mm")]);
    let report = short.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[1].remedies[0].contains("order 212 mm"),
        "{:?}",
        report.findings[1].remedies
    );
    short
        .measure(&[("spoke-length-left", "212 mm")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn an_unmeasured_hole_is_an_assumption_that_is_named() {
    let report = wheel("1").forget("spoke-hole").expect(&CHECK, Verdict::Caution);
    assert!(report.assumed[0].contains("2.6 mm"), "{:?}", report.assumed);
}

#[test]
fn the_motor_s_own_sheet_stands_in_for_the_calliper() {
    let mut bench = wheel("1");
    let line = bench.job.build.get_mut(&Slot::Motor).unwrap();
    for (key, mm) in [
        ("flange-diameter", 123.0),
        ("flange-left", 25.0),
        ("flange-right", 20.0),
        ("spoke-hole", 3.0),
    ] {
        line.part
            .attributes
            .insert(key.into(), crate::fact::Value::Number(mm / 1000.0));
    }
    let bench = [
        "flange-left-diameter",
        "flange-right-diameter",
        "flange-left-distance",
        "flange-right-distance",
        "spoke-hole",
    ]
    .into_iter()
    .fold(bench, Bench::forget);
    let report = bench.expect(&CHECK, Verdict::Pass);
    assert!((report.findings[1].figures[0].value - 211.73).abs() < 0.01);
    // By hand: the right flange 5 mm nearer the middle, sqrt(213.23^2 - 625 + 400) - 1.5.
    assert!((report.findings[3].figures[0].value - 211.20).abs() < 0.02);
}

#[test]
fn the_crossings_the_remedy_names_clear_it() {
    wheel("2").cured(&CHECK, "lockring measure 20 spoke-crossings 1", |job| {
        job.measure(&[("spoke-crossings", "1")])
    });
}
