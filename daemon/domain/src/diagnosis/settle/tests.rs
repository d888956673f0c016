//! Tests of looking at a cause directly: what is read with it and without, and how it is recorded.

use super::*;
use crate::checks::testing::{Bench, longtail};
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// The longtail with what a direct look needs: wheel rolled out, tyre gauged, wind on the strip.
fn known() -> Bench {
    longtail()
        .measure(&[("circ", "2150mm"), ("tyre-pressure", "3 bar")])
        .ride(
            "conditions",
            &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
        )
}

fn with<T>(work: impl FnOnce(&Case<'_>, &Ridden) -> T) -> T {
    let (bench, rules) = (known(), RuleSheet::shipped());
    let case = Case::new(&bench.job, &rules, Stage::TestRide);
    let base = Ridden::of(&case).unwrap();
    work(&case, &base)
}

/// What is read without the cause is the bicycle as told; with it, the size is put in by hand.
#[test]
fn a_direct_look_reads_what_the_cause_would_have_changed() {
    with(|case, base| {
        let limit = base.level.battery_limit.si();
        let cut_off = base.level.assist_cutoff.unwrap().si();
        for (cause, size, code, without, with, command) in [
            (
                Cause::WheelSetting,
                0.06,
                "circumference",
                2.15,
                2.279,
                "lockring measure 21 circ MM",
            ),
            (
                Cause::TyrePressure,
                0.65,
                "tyre-pressure",
                300_000.0,
                105_000.0,
                "lockring measure 21 tyre-pressure BAR",
            ),
            (
                Cause::HillGrade,
                0.5,
                "hill-grade-ridden",
                0.08,
                0.12,
                "lockring ride 21 hill grade=PERCENT",
            ),
            (
                Cause::CurrentLimit,
                0.4,
                "current-limit",
                limit,
                0.6 * limit,
                "lockring measure 21 current-limit AMPERES",
            ),
            (
                Cause::AssistLimit,
                0.1,
                "assist-limit",
                cut_off,
                1.1 * cut_off,
                "lockring measure 21 limit KM/H",
            ),
            // 84 kg of rider and 66 kg of load, weighed as 150 kg.
            (
                Cause::Mass,
                25.0,
                "test-mass",
                150.0,
                175.0,
                "lockring ride 21 conditions mass=KG",
            ),
            (
                Cause::Wind,
                5.0,
                "strip-wind",
                0.0,
                5.0,
                "lockring ride 21 speed wind=M/S",
            ),
        ] {
            let look = direct(case, base, cause, size).unwrap();
            assert_eq!((look.code, look.command.as_str()), (code, command));
            for (got, expected) in [(look.without, without), (look.with, with)] {
                assert!(
                    (got - expected).abs() <= 1e-6 * expected.abs(),
                    "{cause:?}: {got} {expected}"
                );
            }
            // As good as the instrument, and no better than half a hundredth.
            let instrument = code::find(code).unwrap().uncertainty_si();
            assert!(
                (look.u - instrument.max(0.005 * without)).abs() < 1e-9,
                "{cause:?}"
            );
        }
        for cause in [
            Cause::BrakeDrag,
            Cause::PackResistance,
            Cause::AssistLevel,
            Cause::Winding,
            Cause::RiderPower,
        ] {
            assert!(direct(case, base, cause, 0.1).is_none(), "{cause:?}");
        }
    });
}

fn ranked(cause: Cause, size: f64) -> Ranked {
    Ranked {
        cause: Some(cause),
        share: 0.4,
        size,
        size_u: 0.0,
        distance_squared: 0.0,
        expected: Vec::new(),
    }
}

#[test]
fn the_first_explanation_stands_first_and_no_figure_is_finer_than_it_can_be_read() {
    with(|case, base| {
        let steeper = ranked(Cause::HillGrade, 0.354);
        let first = look(case, base, &steeper, 0).unwrap();
        // 8 % times 1.354 is 10.832 %: shown to half of what an inclinometer doubts.
        let u = code::find("hill-grade-ridden").unwrap().uncertainty_si();
        let step = 0.5 * u;
        let shown = 100.0 * (0.108_32 / step).round() * step;
        let number: f64 = first.expected[0].split(' ').next().unwrap().parse().unwrap();
        assert!((number - shown).abs() < 0.05, "{first:?}, {shown}");
        assert!((number - 10.8).abs() <= 50.0 * u, "{first:?}");
        assert_eq!(first.expected[1], "8 %");
        assert!((first.spreads - 0.354 * 0.08 / u).abs() < 1e-9);
        let second = look(case, base, &steeper, 1).unwrap();
        assert_eq!(second.expected[0], first.expected[1]);
        assert_eq!(second.expected[1], first.expected[0]);
        // A flatter hill is as far off as a steeper one.
        let flatter = look(case, base, &ranked(Cause::HillGrade, -0.354), 0).unwrap();
        assert!((flatter.spreads - first.spreads).abs() < 1e-9);
    });
}

#[test]
fn what_is_read_off_a_screen_is_told_as_a_number() {
    with(|case, base| {
        let told = |cause, size| look(case, base, &ranked(cause, size), 0).unwrap().expected;
        assert_eq!(told(Cause::AssistLimit, 0.1), ["27.5 km/h", "25 km/h"]);
        assert_eq!(told(Cause::CurrentLimit, 0.4), ["9 A", "15 A"]);
    });
}

#[test]
fn what_settles_nothing_is_not_proposed() {
    with(|case, base| {
        let u = code::find("hill-grade-ridden").unwrap().uncertainty_si();
        let settles = |spreads: f64| {
            // Two causes of which only the hill can be looked at, so little apart that no reading tells.
            let pair = [
                ranked(Cause::HillGrade, spreads * u / 0.08),
                ranked(Cause::PackResistance, 0.001),
            ];
            settle(case, base, &[], &pair).map(|found| found.command)
        };
        assert!(settles(2.5).is_some());
        let one = [ranked(Cause::HillGrade, 0.5)];
        assert!(settle(case, base, &[], &one).is_none(), "one alone is settled");
        assert!(settle(case, base, &[], &[]).is_none());
        let same = [ranked(Cause::PackResistance, 1e-9), ranked(Cause::Winding, 1e-9)];
        let doubts = super::super::doubts::doubts(case).unwrap();
        assert!(settle(case, base, &doubts, &same).is_none());
    });
}

#[test]
fn a_reading_is_told_to_a_tenth_of_its_unit() {
    let kmh = |number: f64| 3.6 * rounded(Kind::Speed, "km/h", number / 3.6);
    for (number, told) in [(6.26, 6.3), (6.24, 6.2), (-6.26, -6.3), (0.04, 0.0)] {
        assert!((kmh(number) - told).abs() < 1e-9, "{number}");
    }
}
