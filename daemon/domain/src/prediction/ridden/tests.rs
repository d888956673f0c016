//! Tests of what was ridden: which try of a hill counts, and a speed beside the one predicted.

use super::*;
use crate::checks::testing::{Bench, longtail};
use crate::rules::RuleSheet;
use crate::stage::Stage;

fn with<T>(bench: &Bench, work: impl FnOnce(&Case<'_>) -> T) -> T {
    let rules = RuleSheet::shipped();
    work(&Case::new(&bench.job, &rules, Stage::TestRide))
}

#[test]
fn a_speed_is_beside_its_prediction_above_or_below_and_within_the_rule() {
    with(&longtail(), |case| {
        let most = case.rule("hill.speed-error");
        assert!(most > 0.0 && most < 0.5);
        for (share, side, agrees, look) in [
            (1.0 + 0.99 * most, "above", true, "stronger than its sheet"),
            (1.0 - 0.99 * most, "below", true, "tyre pressure"),
            (1.0 + 1.01 * most, "above", false, "stronger than its sheet"),
            (1.0 - 1.01 * most, "below", false, "tyre pressure"),
        ] {
            let found = compare_speeds(case, 2.0 * share, 2.0);
            assert_eq!(found.agrees, agrees, "{found:?}");
            let told = format!(
                "predicted 7.2 km/h, measured {:.1} % {side} that",
                100.0 * (share - 1.0).abs()
            );
            assert_eq!(found.words, told);
            assert!(found.points_to.contains(look), "{found:?}");
        }
        for stall in [0.0, -1.0] {
            let found = compare_speeds(case, 2.0, stall);
            assert!(!found.agrees && found.words.contains("stall"), "{found:?}");
        }
        assert!(!compare_speeds(case, 2.0, 0.1).words.contains("stall"));
    });
}

#[test]
fn the_last_try_of_a_hill_counts_and_what_was_read_on_it() {
    let bench = longtail();
    with(&bench, |case| {
        assert!(!stalled(case) && is_of_the_last_try(case, "hill-volts"));
    });
    // Climbed, then lost with what was read on the same try.
    let bench = bench.ride("hill", &[("speed", "8 km/h"), ("volts", "44 V")]);
    with(&bench, |case| {
        assert!(!stalled(case) && is_of_the_last_try(case, "hill-volts"))
    });
    let lost = bench
        .clone()
        .ride("hill", &[("climbed", "no"), ("amps-most", "15 A")]);
    with(&lost, |case| {
        assert!(stalled(case));
        assert!(is_of_the_last_try(case, "hill-amps-most"), "of the same entry");
        assert!(!is_of_the_last_try(case, "hill-volts"), "read before");
    });
    let later = lost.clone().ride("hill", &[("volts", "42 V")]);
    with(&later, |case| {
        assert!(stalled(case) && is_of_the_last_try(case, "hill-volts"))
    });
    // Climbed again: what was read on the try that was lost belongs to it.
    let climbed = lost.ride("hill", &[("speed", "6 km/h")]);
    with(&climbed, |case| {
        assert!(!stalled(case));
        assert!(!is_of_the_last_try(case, "hill-amps-most") && !is_of_the_last_try(case, "hill-volts"));
        assert!(is_of_the_last_try(case, "hill-speed-ridden"));
    });
    let won = longtail().ride("hill", &[("climbed", "yes"), ("amps-most", "15 A")]);
    with(&won, |case| {
        assert!(!stalled(case) && is_of_the_last_try(case, "hill-amps-most"))
    });
}
