//! Tests of what rides teach: luck, offers, and what is left alone.

use super::*;
use crate::checks::testing::{Bench, longtail};

/// A longtail whose energy run drew so much of its expected charge.
fn ridden(share: f64) -> Bench {
    let expected = 2.38 * share;
    let bicycle = longtail()
        .ride(
            "conditions",
            &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
        )
        .ride(
            "energy",
            &[
                ("distance", "9.6km"),
                ("charge", &format!("{expected:.4}Ah")),
                ("volts", "46.1V"),
            ],
        );
    let mut bicycle = bicycle;
    bicycle.job.stage = Stage::TestRide;
    bicycle
}

fn lessons(shares: &[f64]) -> Vec<Lesson> {
    let rules = RuleSheet::shipped();
    shares
        .iter()
        .map(|share| lesson(&ridden(*share).job, &rules).unwrap())
        .collect()
}

/// Two-sided sign test, from the binomial coefficients: 5 of 5 is 2/32, 8 of 8 is 2/256, 7 of 8 is
/// 18/256, an even split is certain.
#[test]
fn luck_is_the_sign_test() {
    for (most, n, chance) in [
        (5, 5, 0.062_5),
        (8, 8, 0.007_812_5),
        (7, 8, 0.070_312_5),
        (4, 8, 1.0),
    ] {
        assert!((chance_of_side(most, n) - chance).abs() < 1e-12, "{most} of {n}");
    }
}

/// Energy drawn goes with one over the efficiency: rides that draw a quarter more ask for four fifths
/// of the constant, whatever else was expected.
#[test]
fn rides_on_one_side_offer_the_constant_that_would_have_been_right() {
    let rules = RuleSheet::shipped();
    let expected = {
        let job = ridden(1.0).job;
        let case = Case::new(&job, &rules, Stage::TestRide);
        let rows = diagnosis::expectations(&case);
        let row = rows.iter().find(|row| row.key == "energy-charge").unwrap();
        row.measured / row.expected
    };
    let shares = [1.22, 1.28, 1.25, 1.24, 1.26, 1.25].map(|share| share / expected);
    let learnt = learn(&lessons(&shares), &rules);
    let [offer] = learnt.offers.as_slice() else {
        panic!("{:?}", learnt.offers);
    };
    assert_eq!(offer.rule, "model.drive-efficiency-mid");
    let offered: f64 = offer.offered.parse().unwrap();
    assert!((offered - 0.741 / 1.25).abs() < 0.003, "{offer:?}");
    assert_eq!(offer.rides, 6);
    assert!(offer.why.contains("6 of 6 rides lie below it"), "{offer:?}");
    assert!(
        offer
            .command
            .starts_with("lockring settings rule model.drive-efficiency-mid 0.59"),
        "{}",
        offer.command
    );
    let bias = learnt
        .biases
        .iter()
        .find(|bias| bias.key == "energy-charge")
        .unwrap();
    assert_eq!(
        (bias.kind.as_str(), bias.rides, bias.above),
        ("cargo, mid motor", 6, 6)
    );
    assert!((bias.mean - 0.25).abs() < 1e-3, "{bias:?}");
    // Taken by the shop, it is no longer offered.
    let taken = rules.with_override(&offer.rule, &offer.offered, "taken").unwrap();
    let again: Vec<Lesson> = shares
        .iter()
        .map(|share| lesson(&ridden(*share).job, &taken).unwrap())
        .collect();
    assert!(learn(&again, &taken).offers.is_empty());
}

#[test]
fn few_rides_or_rides_on_both_sides_offer_nothing() {
    let rules = RuleSheet::shipped();
    assert!(
        learn(&lessons(&[1.25, 1.26, 1.24, 1.25]), &rules)
            .offers
            .is_empty()
    );
    let mixed = [1.3, 0.8, 1.2, 0.75, 1.25, 0.85];
    let learnt = learn(&lessons(&mixed), &rules);
    assert!(learnt.offers.is_empty(), "{:?}", learnt.offers);
    assert_eq!(learnt.biases[0].rides, 6);
}

#[test]
fn a_job_before_its_ride_and_a_hill_nobody_measured_teach_nothing() {
    let rules = RuleSheet::shipped();
    assert_eq!(lesson(&longtail().job, &rules), None);
    let mut told = longtail().ride("hill", &[("speed", "6.0km/h")]);
    told.job.stage = Stage::TestRide;
    assert_eq!(lesson(&told.job, &rules), None);
    let mut measured = longtail().ride("hill", &[("speed", "6.0km/h"), ("grade", "10.8%")]);
    measured.job.stage = Stage::HandedOver;
    let lesson = lesson(&measured.job, &rules).unwrap();
    assert_eq!(lesson.errors[0].0, "hill-speed-ridden");
    assert!(lesson.errors[0].2.abs() < 0.15, "{lesson:?}");
}

#[test]
fn three_digits_without_dust() {
    assert_eq!(rounded(0.592_81), 0.593);
    assert_eq!(rounded(12_345.0), 12_300.0);
    assert_eq!(rounded(4.1), 4.1);
}

/// Errors of 10, 20 and 30 % and one of nothing: mean 15 %, of which three lie above; squares about the
/// mean 0.0225 + 0.0025 * 2 + 0.0225 = 0.05, over 3.
#[test]
fn a_bias_is_the_mean_of_its_rides_with_their_spread() {
    let lesson = |kind: &str, error: f64| Lesson {
        kind: kind.into(),
        errors: vec![("energy-charge", "charge".into(), error)],
        constants: Vec::new(),
    };
    let mut lessons: Vec<Lesson> = [0.1, 0.2, 0.3, 0.0].map(|error| lesson("cargo", error)).into();
    lessons.push(lesson("city", -0.1));
    // Shown as 0.0 %, which lies on no side.
    lessons.push(lesson("folder", 0.0004));
    let learnt = learn(&lessons, &RuleSheet::shipped());
    let [cargo, city, folder] = learnt.biases.as_slice() else {
        panic!("{learnt:?}")
    };
    assert_eq!((cargo.kind.as_str(), cargo.rides, cargo.above), ("cargo", 4, 3));
    assert!((cargo.mean - 0.15).abs() < 1e-12);
    assert!((cargo.spread.unwrap() - (0.05f64 / 3.0).sqrt()).abs() < 1e-12);
    assert_eq!((city.rides, city.above, city.spread), (1, 0, None));
    assert_eq!((folder.rides, folder.above), (1, 0));
}

/// Both ways of one ride are one ride: their mean counts, once.
#[test]
fn a_constant_is_offered_only_far_enough_off_and_often_enough() {
    let rules = RuleSheet::shipped();
    let stands = rules.get("model.drive-efficiency-mid").unwrap().value;
    let least = rules.number("learn.rides-least").unwrap() as usize;
    let change = rules.number("learn.change-least").unwrap();
    let lessons = |count: usize, share: f64| -> Vec<Lesson> {
        (0..count)
            .map(|ride| Lesson {
                kind: "cargo".into(),
                errors: Vec::new(),
                // A little scatter, so that the mean has a doubt; both ways of a ride about its value.
                constants: [-0.01, 0.01]
                    .map(|way| {
                        let scatter = 1e-4 * (ride as f64 - 0.5 * (count as f64 - 1.0));
                        (
                            "model.drive-efficiency-mid".to_owned(),
                            stands * (share + scatter + way),
                        )
                    })
                    .into(),
            })
            .collect()
    };
    let offers = |count: usize, share: f64| learn(&lessons(count, share), &rules).offers;
    let many = least.max(6);
    let offered = offers(many, 1.0 - 2.0 * change);
    assert_eq!(offered.len(), 1);
    assert_eq!(offered[0].rides as usize, many);
    assert!(offered[0].why.contains("below it"), "{offered:?}");
    assert!(offers(least - 1, 1.0 - 2.0 * change).is_empty(), "too few rides");
    assert!(offers(many, 1.0 - 0.9 * change).is_empty(), "nobody cares");
    let above = offers(many, 1.0 + 1.1 * change);
    assert!(
        above.iter().all(|offer| offer.why.contains("above it")),
        "{above:?}"
    );
    let words = rule_in_words(&rules);
    for key in [
        "learn.rides-least",
        "learn.luck-most",
        "learn.errors-least",
        "learn.change-least",
    ] {
        assert!(words.contains(&rules.get(key).unwrap().show()), "{key}: {words}");
    }
}

#[test]
fn errors_are_a_lesson_without_its_constants() {
    let rules = RuleSheet::shipped();
    let job = ridden(1.2).job;
    let (all, bare) = (lesson(&job, &rules).unwrap(), errors(&job, &rules).unwrap());
    assert_eq!((&all.kind, &all.errors), (&bare.kind, &bare.errors));
    assert!(bare.constants.is_empty() && !all.constants.is_empty());
    assert_eq!(errors(&longtail().job, &rules), None);
}

#[test]
fn numbers_keep_three_digits_either_side_of_one_and_below_nothing() {
    for (value, kept) in [
        (0.0, 0.0),
        (1.0, 1.0),
        (0.099_96, 0.1),
        (9.996, 10.0),
        (-0.592_81, -0.593),
        (-12_345.0, -12_300.0),
        (123.0, 123.0),
        (123.4, 123.0),
        (0.001_234_5, 0.001_23),
    ] {
        assert!(
            (rounded(value) - kept).abs() < 1e-12,
            "{value}: {}",
            rounded(value)
        );
    }
}
