//! Tests of doubt and guarded decisions.

use super::*;

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

#[test]
fn twenty_temperatures_of_the_guide() {
    // JCGM 100:2008, 4.4.3 and Table 1 (readings from memory): mean 100.145 °C, s 1.489 °C.
    let readings = Readings::new(&[
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68,
        100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ])
    .unwrap();
    near(readings.mean(), 100.145, 0.0005);
    near(readings.standard_deviation().unwrap(), 1.489, 0.0005);
}

#[test]
fn rectangular_half_width_of_the_guide() {
    // JCGM 100:2008, 4.4.5 (from memory): bounds 96 °C and 104 °C give u = 2.3 °C.
    near(standard_from_half_width(4.0), 2.3, 0.05);
}

#[test]
fn gauge_block_components_of_the_guide_combine() {
    // JCGM 100:2008, H.1.4 and Table H.1 (from memory): 25, 9.7, 2.9 and 16.6 nm give 32 nm.
    near(combined(&[25.0, 9.7, 2.9, 16.6]), 32.0, 0.5);
}

#[test]
fn repeat_rule() {
    // Common practice, no source: two within the agreement, or a third and the middle.
    let settle = |values: &[f64], agree| Readings::new(values).unwrap().settle(agree);
    assert_eq!(settle(&[47.5], 0.5), Settled::Single(47.5));
    assert_eq!(settle(&[47.5, 48.0], 0.5), Settled::Agreed(47.75));
    assert_eq!(
        settle(&[134.8, 135.1], 0.3),
        Settled::Agreed((134.8 + 135.1) / 2.0)
    );
    assert!(matches!(settle(&[47.5, 48.5], 0.5), Settled::NeedsThird { spread } if spread == 1.0));
    assert_eq!(settle(&[47.5, 48.5], 0.5).value(), None);
    assert_eq!(settle(&[47.5, 48.5, 47.6], 0.5), Settled::Middle(47.6));
}

#[test]
fn no_or_impossible_readings_are_refused() {
    assert!(Readings::new(&[]).is_err());
    let error = Readings::new(&[f64::NAN]).unwrap_err();
    assert!(error.to_string().contains("reading is NaN"));
    let error = in_range("pitch", 9.0, 3.0, 6.0, "mm").unwrap_err();
    assert_eq!(error.to_string(), "pitch is 9 mm; the range is 3 to 6 mm");
}

#[test]
fn guard_bands_decide() {
    let decision = |v, u, l| decide(v, u, l).decision;
    assert_eq!(decision(2.9, 0.1, Limit::AtMost(3.0)), Decision::Meets);
    assert_eq!(decision(2.95, 0.1, Limit::AtMost(3.0)), Decision::InDoubt);
    assert_eq!(decision(3.05, 0.1, Limit::AtMost(3.0)), Decision::InDoubt);
    assert_eq!(decision(3.11, 0.1, Limit::AtMost(3.0)), Decision::Misses);
    assert_eq!(decision(3.2, 0.1, Limit::AtLeast(3.0)), Decision::Meets);
    assert_eq!(decision(2.8, 0.1, Limit::AtLeast(3.0)), Decision::Misses);
    assert_eq!(decision(70.0, 0.1, Limit::Within(68.0, 73.0)), Decision::Meets);
    assert_eq!(decision(73.05, 0.1, Limit::Within(68.0, 73.0)), Decision::InDoubt);
    assert_eq!(decision(73.2, 0.1, Limit::Within(68.0, 73.0)), Decision::Misses);
    // Doubt wider than the window can never be a pass.
    assert_eq!(decision(70.5, 3.0, Limit::Within(68.0, 73.0)), Decision::InDoubt);
}

#[test]
fn exactly_on_the_limit() {
    let decision = |v, u, l| decide(v, u, l).decision;
    assert_eq!(
        decision(14.0 * 4.2, 0.0, Limit::AtMost(0.98 * 60.0)),
        Decision::Meets
    );
    assert_eq!(decision(750.0, 0.0, Limit::AtMost(750.0)), Decision::Meets);
    assert_eq!(decision(750.0, 0.0, Limit::Below(750.0)), Decision::Misses);
    assert_eq!(decision(749.0, 0.0, Limit::Below(750.0)), Decision::Meets);
    assert_eq!(decision(749.0, 2.0, Limit::Below(750.0)), Decision::InDoubt);
}

#[test]
fn margin_is_positive_inside() {
    assert_eq!(decide(2.0, 0.0, Limit::AtMost(3.0)).margin, 1.0);
    assert_eq!(decide(2.0, 0.0, Limit::AtLeast(3.0)).margin, -1.0);
    assert_eq!(decide(72.0, 0.0, Limit::Within(68.0, 73.0)).margin, 1.0);
}

#[test]
fn not_a_number_never_passes_or_fails() {
    for limit in [
        Limit::AtMost(1.0),
        Limit::AtLeast(1.0),
        Limit::Within(0.0, 1.0),
        Limit::Below(1.0),
    ] {
        assert_eq!(decide(f64::NAN, 0.0, limit).decision, Decision::InDoubt);
        assert_eq!(decide(0.5, f64::NAN, limit).decision, Decision::InDoubt);
        assert_eq!(
            grade(f64::NAN, 0.0, limit, None),
            Graded::Caution { in_doubt: true }
        );
    }
}

#[test]
fn go_look_stop() {
    let good = Limit::AtMost(3.0);
    let tolerable = Some(Limit::AtMost(3.5));
    let graded = |v| grade(v, 0.1, good, tolerable);
    assert_eq!(graded(2.85), Graded::Pass);
    assert_eq!(graded(2.95), Graded::Caution { in_doubt: true });
    assert_eq!(graded(3.25), Graded::Caution { in_doubt: false });
    assert_eq!(graded(3.55), Graded::Caution { in_doubt: true });
    assert_eq!(graded(3.61), Graded::Fail);
    assert_eq!(grade(3.05, 0.1, good, None), Graded::Caution { in_doubt: true });
    assert_eq!(grade(3.2, 0.1, good, None), Graded::Fail);
}

#[test]
fn a_worse_value_never_grades_better() {
    let rank = |graded| match graded {
        Graded::Pass => 0,
        Graded::Caution { .. } => 1,
        Graded::Fail => 2,
    };
    for doubt in [0.0, 0.05, 0.3, 1.0] {
        let mut last = 0;
        for step in 0..400 {
            let value = 1.0 + f64::from(step) * 0.01;
            let now = rank(grade(value, doubt, Limit::AtMost(3.0), Some(Limit::AtMost(3.5))));
            assert!(
                now >= last,
                "value {value} with doubt {doubt} grades better than a smaller one"
            );
            last = now;
        }
        assert!(doubt >= 1.0 || last == 2);
    }
}

#[test]
fn the_unit_does_not_change_the_verdict() {
    for step in 0..400 {
        let mm = 60.0 + f64::from(step) * 0.05;
        let in_mm = grade(
            mm,
            0.1,
            Limit::Within(68.0, 73.0),
            Some(Limit::Within(67.5, 73.5)),
        );
        let inch = |v: f64| v / 25.4;
        let in_inches = grade(
            inch(mm),
            inch(0.1),
            Limit::Within(inch(68.0), inch(73.0)),
            Some(Limit::Within(inch(67.5), inch(73.5))),
        );
        assert_eq!(in_mm, in_inches, "at {mm} mm");
    }
}

#[test]
fn memory_and_judgement_only_advise() {
    assert!(Basis::Read.may_stop() && Basis::Computed.may_stop());
    assert!(!Basis::Memory.may_stop() && !Basis::Judgement.may_stop());
}

#[test]
fn the_middle_of_any_count_of_readings_is_the_middle_one_or_midway_between_two() {
    // By hand.
    for (readings, middle) in [
        (&[7.0][..], 7.0),
        (&[9.0, 4.0], 6.5),
        (&[9.0, 1.0, 4.0], 4.0),
        (&[9.0, 1.0, 4.0, 6.0], 5.0),
        (&[9.0, 1.0, 4.0, 6.0, 30.0], 6.0),
        (&[9.0, 1.0, 4.0, 6.0, 30.0, 7.0], 6.5),
    ] {
        let kept = Readings::new(readings).unwrap();
        assert_eq!(
            (kept.median(), kept.count()),
            (middle, readings.len()),
            "{readings:?}"
        );
        assert_eq!(kept.values().len(), readings.len());
    }
}

#[test]
fn two_readings_that_differ_by_just_what_is_allowed_agree() {
    let settle = |second: f64, agree: f64| Readings::new(&[10.0, second]).unwrap().settle(agree);
    assert_eq!(settle(10.5, 0.5), Settled::Agreed(10.25));
    assert!(matches!(settle(10.51, 0.5), Settled::NeedsThird { .. }));
    assert_eq!(settle(10.5, 0.5).value(), Some(10.25));
    assert_eq!(settle(12.0, 0.5).value(), None);
}

#[test]
fn the_margin_of_a_range_is_the_distance_to_its_nearer_end() {
    let range = Limit::Within(2.0, 10.0);
    for (value, margin) in [(3.0, 1.0), (6.0, 4.0), (9.5, 0.5), (1.0, -1.0), (13.0, -3.0)] {
        assert!((range.margin(value) - margin).abs() < 1e-12, "{value}");
    }
}

#[test]
fn just_on_a_limit_meets_unless_the_limit_itself_is_out() {
    assert_eq!(decide(10.0, 0.0, Limit::AtMost(10.0)).decision, Decision::Meets);
    assert_eq!(decide(9.0, 1.0, Limit::AtMost(10.0)).decision, Decision::Meets);
    assert_eq!(decide(10.0, 0.0, Limit::Below(10.0)).decision, Decision::Misses);
    assert_eq!(decide(9.0, 1.0, Limit::Below(10.0)).decision, Decision::InDoubt);
    assert_eq!(decide(11.0, 1.0, Limit::Below(10.0)).decision, Decision::Misses);
    assert_eq!(decide(11.0, 1.0, Limit::AtMost(10.0)).decision, Decision::InDoubt);
    assert_eq!(decide(11.1, 1.0, Limit::AtMost(10.0)).decision, Decision::Misses);
}
