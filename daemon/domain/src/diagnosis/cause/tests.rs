//! Tests of the causes: what each changes, and how it is met.

use super::*;
use crate::checks::testing::longtail;
use crate::rules::RuleSheet;
use crate::stage::Stage;

fn base() -> Ridden {
    let (job, rules) = (longtail().job, RuleSheet::shipped());
    Ridden::of(&Case::new(&job, &rules, Stage::TestRide)).unwrap()
}

/// All that a cause may change, as figures.
fn figures(ridden: &Ridden) -> Vec<(&'static str, f64)> {
    let mut found = vec![
        ("wheel", ridden.wheel),
        ("brake", ridden.brake),
        ("crr", ridden.road.crr),
        ("mass", ridden.road.mass.si()),
        ("grade", ridden.grade.unwrap()),
        ("headwind", ridden.headwind),
        ("cruising", ridden.cruising.power.si()),
        ("climbing", ridden.climbing.power.si()),
        ("push cruising", ridden.cruising.crank_torque_max.si()),
        ("push climbing", ridden.climbing.crank_torque_max.si()),
    ];
    for (drive, names) in [
        (
            &ridden.level,
            [
                "level resistance",
                "level limit",
                "level cut-off",
                "level phase",
                "level kt",
                "level copper",
            ],
        ),
        (
            &ridden.hill,
            [
                "hill resistance",
                "hill limit",
                "hill cut-off",
                "hill phase",
                "hill kt",
                "hill copper",
            ],
        ),
    ] {
        let motor = drive.motor.as_ref().unwrap();
        let values = [
            drive.pack.resistance.si(),
            drive.battery_limit.si(),
            drive.assist_cutoff.unwrap().si(),
            motor.phase_limit.si(),
            motor.kt,
            motor.resistance.si(),
        ];
        found.extend(names.into_iter().zip(values));
    }
    found
}

/// What each cause changes at a size of one fifth, as a factor or as a sum, by the words beside
/// [`Cause::apply`]; nothing else moves.
#[test]
fn a_cause_changes_what_it_says_and_nothing_else() {
    const SIZE: f64 = 0.2;
    type Change = (&'static str, f64, f64);
    // Name, factor, addition.
    let changes: [(Cause, &[Change]); 12] = [
        (Cause::WheelSetting, &[("wheel", 1.2, 0.0)]),
        (Cause::BrakeDrag, &[("brake", 1.0, 0.2)]),
        // 0.8 to the power of -0.477 is 1.11231 (by logarithms); the wheel rolls 0.012 * 0.2 shorter.
        (
            Cause::TyrePressure,
            &[("crr", 1.112_31, 0.0), ("wheel", 0.9976, 0.0)],
        ),
        (Cause::HillGrade, &[("grade", 1.2, 0.0)]),
        (
            Cause::PackResistance,
            &[("level resistance", 1.2, 0.0), ("hill resistance", 1.2, 0.0)],
        ),
        (
            Cause::CurrentLimit,
            &[("level limit", 0.8, 0.0), ("hill limit", 0.8, 0.0)],
        ),
        (
            Cause::AssistLevel,
            &[
                ("level limit", 0.8, 0.0),
                ("hill limit", 0.8, 0.0),
                ("level phase", 0.8, 0.0),
                ("hill phase", 0.8, 0.0),
            ],
        ),
        (
            Cause::Winding,
            &[
                ("level kt", 1.0 / 1.2, 0.0),
                ("hill kt", 1.0 / 1.2, 0.0),
                ("level copper", 1.0 / 1.44, 0.0),
                ("hill copper", 1.0 / 1.44, 0.0),
            ],
        ),
        (Cause::Wind, &[("headwind", 1.0, 0.2)]),
        (Cause::Mass, &[("mass", 1.0, 0.2)]),
        (
            Cause::RiderPower,
            &[
                ("cruising", 1.2, 0.0),
                ("climbing", 1.2, 0.0),
                ("push cruising", 1.2, 0.0),
                ("push climbing", 1.2, 0.0),
            ],
        ),
        (
            Cause::AssistLimit,
            &[("level cut-off", 1.2, 0.0), ("hill cut-off", 1.2, 0.0)],
        ),
    ];
    assert_eq!(changes.map(|(cause, _)| cause), ALL);
    let before = base();
    for (cause, changed) in changes {
        let mut after = before.clone();
        cause.apply(&mut after, SIZE);
        for ((name, was), (_, is)) in figures(&before).into_iter().zip(figures(&after)) {
            let (factor, addition) = changed
                .iter()
                .find(|(changed, ..)| *changed == name)
                .map_or((1.0, 0.0), |(_, factor, addition)| (*factor, *addition));
            let expected = was * factor + addition;
            assert!(
                (is - expected).abs() <= 1e-5 * expected.abs(),
                "{cause:?} {name}: {is}, not {expected}"
            );
        }
    }
}

/// How often each is met is a judgement; regression values.
#[test]
fn a_hill_that_was_only_told_is_the_likeliest_to_be_wrong() {
    let rules = RuleSheet::shipped();
    let met = |bench: crate::checks::testing::Bench, cause: Cause| {
        cause.met(&Case::new(&bench.job, &rules, Stage::TestRide))
    };
    let source = |word: &str| longtail().state(&[("hill-source", word)]);
    assert_eq!(met(source("told"), Cause::HillGrade), 0.12);
    assert_eq!(met(source("map"), Cause::HillGrade), 0.03);
    assert_eq!(met(source("measured"), Cause::HillGrade), 0.01);
    let measured = longtail().ride("hill", &[("grade", "10.8%")]);
    assert_eq!(met(measured, Cause::HillGrade), 0.0);
    let all: f64 = ALL.into_iter().map(|cause| met(source("told"), cause)).sum();
    // 0.12 + 4 * 0.06 + 5 * 0.04 + 2 * 0.02.
    assert!((all - 0.6).abs() < 1e-12, "{all}");
}

/// Five sizes from 1 to 5, plausible up to 3: the tail is (5 - 3) / 4, so that 4 lies two and 5 four
/// standard deviations beyond (exp(-2), exp(-8)).
#[test]
fn sizes_beyond_the_plausible_fall_like_a_normal_curve() {
    let grid = sizes(1.0, 3.0, 5.0).grid(4);
    let at: Vec<f64> = grid.iter().map(|(size, _)| *size).collect();
    assert_eq!(at, [1.0, 2.0, 3.0, 4.0, 5.0]);
    let sum = 3.0 + (-2.0f64).exp() + (-8.0f64).exp();
    for ((_, weight), expected) in grid.iter().zip([1.0, 1.0, 1.0, (-2.0f64).exp(), (-8.0f64).exp()]) {
        assert!((weight - expected / sum).abs() < 1e-12, "{grid:?}");
    }
    // The other way round alike.
    let down = sizes(-1.0, -3.0, -5.0).grid(4);
    for ((one, weight), (other, same)) in grid.iter().zip(&down) {
        assert!((one + other).abs() < 1e-12 && (weight - same).abs() < 1e-12);
    }
}

#[test]
fn sizes_run_one_way_and_their_weights_add_up_to_one() {
    for cause in ALL {
        for side in cause.sizes() {
            let (least, plausible, most) = (side.least.abs(), side.plausible.abs(), side.most.abs());
            assert!(least < plausible && plausible < most, "{cause:?}");
            assert!(side.least * side.most > 0.0, "{cause:?}");
            let grid = side.grid(20);
            let sum: f64 = grid.iter().map(|(_, weight)| weight).sum();
            assert!((sum - 1.0).abs() < 1e-12);
            assert!(grid.last().unwrap().1 < 0.1 * grid[0].1, "{cause:?}");
        }
    }
}

#[test]
fn words_are_distinct() {
    let words: std::collections::HashSet<_> = ALL.iter().map(|cause| cause.word()).collect();
    assert_eq!(words.len(), ALL.len());
}
