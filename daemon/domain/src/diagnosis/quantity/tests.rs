//! Tests of the readings: how each is taken from what was ridden, with its doubt worked by hand.

use super::*;
use crate::checks::testing::{Bench, longtail};
use crate::rules::RuleSheet;
use crate::stage::Stage;

fn with<T>(bench: &Bench, work: impl FnOnce(&Case<'_>) -> T) -> T {
    let rules = RuleSheet::shipped();
    work(&Case::new(&bench.job, &rules, Stage::TestRide))
}

/// Rule of succession: of 2 in 3 the next is expected at 3/5, with the variance 3/5 * 2/5 / 6.
#[test]
fn starts_are_a_share_with_the_doubt_of_few_tries() {
    for (typed, share, u) in [
        ("2/3", 2.0 / 3.0, 0.2),
        ("3/3", 1.0, (0.8f64 * 0.2 / 6.0).sqrt()),
        ("0/1", 0.0, ((1.0 / 3.0) * (2.0 / 3.0) / 4.0f64).sqrt()),
    ] {
        let found = with(&longtail().ride("restart", &[("starts", typed)]), |case| {
            Starts.read(case)
        })
        .unwrap();
        assert!(
            (found.value - share).abs() < 1e-12 && (found.u - u).abs() < 1e-12,
            "{typed}: {found:?}"
        );
    }
    assert!(with(&longtail(), |case| Starts.read(case)).is_none());
}

/// 2.2 Ah at 46.1 V over 9.6 km: 2.2 * 3600 * 46.1 / 9600 = 38.0325 J/m; shares of doubt in quadrature.
#[test]
fn energy_is_charge_times_volts_over_the_distance() {
    let values = [("distance", "9.6km"), ("charge", "2.2Ah"), ("volts", "46.1V")];
    let bench = longtail().ride("energy", &values);
    let (found, shares) = with(&bench, |case| {
        let known = ["energy-charge", "energy-volts", "energy-distance"].map(|key| case.number(key).unwrap());
        (
            Energy.read(case).unwrap(),
            known.map(|known| known.u / known.value),
        )
    });
    assert!((found.value - 38.0325).abs() < 1e-9, "{found:?}");
    let u = 38.0325 * shares.iter().map(|share| share * share).sum::<f64>().sqrt();
    assert!(u > 0.0 && (found.u - u).abs() < 1e-9, "{found:?}");
    for missing in 0..3 {
        let some: Vec<_> = values
            .iter()
            .enumerate()
            .filter(|(at, _)| *at != missing)
            .map(|(_, value)| *value)
            .collect();
        assert!(with(&longtail().ride("energy", &some), |case| Energy.read(case)).is_none());
    }
}

#[test]
fn a_hill_that_won_has_a_last_pull_and_no_steady_speed() {
    let steady = longtail().ride(
        "hill",
        &[("speed", "8 km/h"), ("volts", "44 V"), ("amps", "12 A")],
    );
    let won = longtail().ride(
        "hill",
        &[("climbed", "no"), ("amps-most", "15 A"), ("volts", "43 V")],
    );
    for (bench, stalled) in [(&steady, false), (&won, true)] {
        with(bench, |case| {
            for quantity in [HillSpeed, HillVolts, HillAmps] {
                assert_eq!(quantity.is_there(case), !stalled, "{quantity:?}");
                assert_eq!(quantity.read(case).is_some(), !stalled, "{quantity:?}");
            }
            for quantity in [PullAmps, PullVolts, HillHeld] {
                assert_eq!(quantity.is_there(case), stalled, "{quantity:?}");
                assert_eq!(quantity.read(case).is_some(), stalled, "{quantity:?}");
            }
            assert!(SpeedOut.is_there(case) && SpeedOut.read(case).is_none());
        });
    }
    // Tried again and climbed: the speed counts, what was read on the try before does not.
    let again = won.ride("hill", &[("speed", "5 km/h")]);
    with(&again, |case| {
        assert!(HillSpeed.read(case).is_some() && HillVolts.read(case).is_none());
        assert!(!HillHeld.is_there(case));
    });
}

/// The speed shown is brought to the road by what was rolled over what is set: 2150 over 2100 mm.
#[test]
fn each_reading_has_the_doubt_of_its_instrument() {
    for quantity in ALL {
        let of = |expected| quantity.instrument(expected);
        match quantity {
            Energy => assert!((of(50.0) - 0.7).abs() < 1e-12),
            // 3 of 3 tries: 4/5 and 1/5 over 6.
            Starts => assert!((of(1.0) - (0.16f64 / 6.0).sqrt()).abs() < 1e-12),
            _ => {
                let u = crate::code::find(quantity.code()).unwrap().uncertainty_si();
                assert_eq!(of(7.0), u, "{quantity:?}");
            }
        }
    }
    assert_eq!(HillHeld.instrument(1.0), 0.03);
}
