//! Tests of the comparison: planted faults, rides told in the trade, refusals.

mod planted;

use super::*;
use crate::checks::testing::{Bench, longtail};

fn compared_by(bench: &Bench) -> Comparison {
    compare(&bench.job, &RuleSheet::shipped()).unwrap()
}

/// Worked example of the trade (common practice, no source): a hill told as 8 % that was 10.8 %;
/// 42/34 with 70 N·m made 6.0 km/h there, no start of three came off, the pack stood at 44.9 V.
#[test]
fn the_told_hill_is_found_by_the_ride_alone() {
    let ridden = longtail()
        .ride(
            "conditions",
            &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
        )
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
    // Both explanations it tells apart are named, though the second is too unlikely to be listed.
    let [one, other] = &settle.between;
    assert_eq!(*one, found.explanations[0].said);
    assert!(!other.is_empty() && other != one, "{other}");
}

#[test]
fn a_hill_measured_on_the_ride_is_the_briefs_error_and_not_the_builds() {
    let ridden = longtail()
        .ride(
            "conditions",
            &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
        )
        .ride(
            "hill",
            &[("speed", "6.0km/h"), ("grade", "10.8%"), ("volts", "44.9V")],
        );
    let found = compared_by(&ridden);
    assert!(found.remarks.iter().any(|remark| remark.contains("8 %")
        && remark.contains("10.8 %")
        && remark.contains("the brief's and not the build's")));
    let hill = found
        .rows
        .iter()
        .find(|row| row.key == "hill-speed-ridden")
        .unwrap();
    // The trade's example expects 6.3 km/h there, and 6.0 was ridden.
    assert!((3.6 * hill.expected.0 - 6.3).abs() < 0.4, "{hill:?}");
    assert_eq!(hill.agreement, Agreement::Agrees);
    assert_eq!(found.explanations[0].ranked.cause, None);
    assert!(
        found
            .explanations
            .iter()
            .all(|one| one.ranked.cause != Some(Cause::HillGrade))
    );
}

/// A hill told as 8 % that wins over a build which holds some 10 %: the stall alone speaks for the hill,
/// and with the watt meter's highest current it does not speak for a low limit.
#[test]
fn a_stall_is_weighed_without_a_speed() {
    let conditions = [("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")];
    let stalled = |most: &str| {
        let hill = [("climbed", "no"), ("amps-most", most)];
        let ridden = longtail().ride("conditions", &conditions).ride("hill", &hill);
        compared_by(&ridden.ride("restart", &[("starts", "0/3")]))
    };
    let full = stalled("15.0A");
    assert_eq!(
        full.explanations[0].ranked.cause,
        Some(Cause::HillGrade),
        "{full:#?}"
    );
    assert!(full.remarks.iter().any(|remark| remark.contains("not climbed")));
    assert!(
        full.rows
            .iter()
            .all(|row| row.key != "hill-climbed" && row.key != "hill-speed-ridden")
    );
    let weak = stalled("9A");
    let first = weak.explanations[0].ranked.cause;
    assert!(
        matches!(first, Some(Cause::AssistLevel | Cause::CurrentLimit)),
        "{weak:#?}"
    );
    // Nobody can read a steady speed there.
    for found in [full, weak] {
        let command = found.settle.unwrap().command;
        assert!(!command.contains("hill speed="), "{command}");
    }
}

#[test]
fn without_volts_at_rest_a_lower_charge_is_not_laid_at_the_packs_door() {
    // The sheet lets the speed runs be ridden from three fifths to full: 13 cells in series at three fifths are some
    // 49 V, which a few amperes hardly pull down, and a hill ridden after it begins lower as well. That alone calls
    // no pack weak; with the usual volts read at rest before both runs it does.
    let rode = |speed_rest: &[(&str, &str)], hill_rest: &[(&str, &str)]| {
        let level = [
            ("out", "25km/h"),
            ("back", "25km/h"),
            ("volts", "49V"),
            ("amps", "6A"),
        ];
        let hill = [("speed", "6.3km/h"), ("grade", "10.8%"), ("volts", "43V")];
        let bench = longtail()
            .ride(
                "conditions",
                &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
            )
            .ride("speed", &[&level[..], speed_rest].concat())
            .ride("hill", &[&hill[..], hill_rest].concat());
        compared_by(&bench)
    };
    let share = |found: &Comparison| {
        let pack = |one: &&Explanation| one.ranked.cause == Some(Cause::PackResistance);
        found
            .explanations
            .iter()
            .find(pack)
            .map_or(0.0, |one| one.ranked.share)
    };
    let found = rode(&[], &[]);
    assert!(share(&found) < 0.6, "{found:#?}");
    let settle = found.settle.as_ref().unwrap();
    assert_eq!(settle.command, "lockring ride 21 speed rest=VOLTS");
    let weak = rode(&[("rest", "52.5V")], &[("rest", "47.5V")]);
    assert!(share(&weak) > 0.9, "{weak:#?}");
}

#[test]
fn volts_at_rest_are_asked_for_before_the_pack_is_blamed() {
    let bench = longtail()
        .ride(
            "conditions",
            &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
        )
        .ride(
            "hill",
            &[("speed", "6.3km/h"), ("grade", "10.8%"), ("volts", "38V")],
        );
    let found = compared_by(&bench);
    let blamed = found.explanations.iter().take(2);
    if blamed
        .clone()
        .any(|one| one.ranked.cause == Some(Cause::PackResistance))
    {
        let settle = found.settle.unwrap();
        assert_eq!(settle.command, "lockring ride 21 hill rest=VOLTS");
    } else {
        panic!("{found:#?}");
    }
}

#[test]
fn shares_add_up_and_spreads_are_signed() {
    let found = compared_by(&longtail().ride("hill", &[("speed", "6.0km/h")]));
    assert!(found.rows[0].spreads < -3.0);
    assert_eq!(found.rows[0].agreement, Agreement::Differs);
    let sum: f64 = found.explanations.iter().map(|one| one.ranked.share).sum();
    assert!(sum > 0.9 && sum <= 1.0 + 1e-9, "{sum}");
    assert!(found.remarks.iter().any(|remark| remark.contains("not weighed")));
}

#[test]
fn without_a_ride_or_a_build_there_is_nothing_to_compare() {
    let rules = RuleSheet::shipped();
    let refused = compare(&longtail().job, &rules).unwrap_err();
    assert!(refused.message.contains("no run"), "{refused:?}");
    let bare = longtail().build(&[("motor", "none")]);
    let bare = bare.ride("hill", &[("speed", "6.0km/h")]);
    assert!(compare(&bare.job, &rules).unwrap_err().message.contains("motor"));
}

/// The longtail's controller cuts off at 40 V (its sheet) and the model expects 2.2 V of sag at 15 A on the hill; what
/// was on board is weighed or not.
#[test]
fn a_pack_at_the_cut_off_is_named_whatever_was_weighed() {
    let named = |weighed: bool, hill: &[(&str, &str)]| {
        let bench = if weighed {
            longtail().ride(
                "conditions",
                &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
            )
        } else {
            longtail()
        };
        let remarks = compared_by(&bench.ride("hill", hill)).remarks;
        let mut named = remarks.into_iter().filter(|remark| remark.contains("cut-off"));
        let line = named.next();
        assert_eq!(named.next(), None, "once for a run");
        line
    };
    for weighed in [true, false] {
        for climbed in [("speed", "6.0km/h"), ("climbed", "no")] {
            let seen = |words: &str, more: &[(&str, &str)]| {
                let line = named(weighed, &[&[climbed], more].concat()).unwrap_or_default();
                assert!(line.contains(words), "{climbed:?} {more:?}: {line}");
            };
            seen(
                "stood at 36 V before the hill, under the cut-off of 40 V",
                &[("rest", "36V")],
            );
            seen(
                "read at 37.2 V on the hill, under the cut-off of 40 V",
                &[("rest", "42V"), ("volts", "37.2V")],
            );
            // Held at its cut-off by the controller, and a meter's doubt above it.
            seen(
                "read at 40 V on the hill, at the cut-off of 40 V",
                &[("volts", "40.0V")],
            );
            seen(
                "read at 40.1 V on the hill, at the cut-off of 40 V",
                &[("volts", "40.1V")],
            );
            // Nobody read the volts under load: 41 V less some 2.2 V.
            seen(
                "asks the pack down to 38.8 V, under the cut-off of 40 V",
                &[("rest", "41V")],
            );
            for above in [&[("rest", "50V"), ("volts", "47V")][..], &[("rest", "46V")], &[]] {
                assert_eq!(named(weighed, &[&[climbed], above].concat()), None, "{above:?}");
            }
        }
    }
    // Before a run that nobody rode it is not told.
    let bench = longtail().ride("speed", &[("out", "24km/h"), ("back", "24km/h"), ("rest", "39V")]);
    let remarks = compared_by(&bench).remarks;
    let told = |run: &str| {
        remarks
            .iter()
            .any(|remark| remark.contains("cut-off") && remark.contains(run))
    };
    assert!(told("before the speed run") && !told("hill"), "{remarks:?}");
}
