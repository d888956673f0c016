//! Tests of a figure beside its expectation: how it is shown, what its doubt holds, when it differs.

use super::*;
use crate::checks::testing::longtail;
use crate::diagnosis::doubts::doubts;
use crate::rules::RuleSheet;
use crate::stage::Stage;

#[test]
fn a_doubt_is_a_difference_also_where_the_unit_has_an_offset() {
    let row = |kind, unit| Row::new("x", "x".to_owned(), (kind, unit), (0.0, 1.0), (0.0, 1.0));
    let warm = row(Kind::Temperature, "C");
    // 293.15 K are 20 °C; a doubt of 1.5 K at k = 2 is one of 3 °C.
    assert!((warm.shown(293.15) - 20.0).abs() < 1e-9);
    assert!((warm.expanded(1.5) - 3.0).abs() < 1e-9);
    let fast = row(Kind::Speed, "km/h");
    assert!((fast.shown(5.0) - 18.0).abs() < 1e-9);
    assert!((fast.expanded(0.25) - 1.8).abs() < 1e-9);
}

/// Two and three standard uncertainties of the difference, 3 and 4 by Pythagoras 5.
#[test]
fn a_pair_agrees_up_to_two_and_differs_from_three_spreads_on() {
    let of = |measured: f64| {
        Row::new(
            "x",
            "x".to_owned(),
            (Kind::Length, "m"),
            (100.0, 3.0),
            (measured, 4.0),
        )
    };
    for (measured, spreads, agreement) in [
        (100.0, 0.0, Agreement::Agrees),
        (110.0, 2.0, Agreement::Agrees),
        (90.0, -2.0, Agreement::Agrees),
        (110.1, 2.02, Agreement::AtTheEdge),
        (115.0, 3.0, Agreement::AtTheEdge),
        (85.0, -3.0, Agreement::AtTheEdge),
        (115.1, 3.02, Agreement::Differs),
        (84.9, -3.02, Agreement::Differs),
    ] {
        let row = of(measured);
        assert!((row.spreads - spreads).abs() < 1e-9, "{row:?}");
        assert_eq!(row.agreement, agreement, "{row:?}");
    }
}

/// Two runs at 9.1 and 31 km/h are 20 km/h on average and say nothing; two at 9.1 and 9.5 km/h do.
#[test]
fn readings_that_scatter_over_half_of_their_value_agree_with_nothing() {
    let agreement = |again: &str| {
        let bench = longtail()
            .ride(
                "conditions",
                &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
            )
            .ride("hill", &[("speed", "9.1 km/h"), ("grade", "8 %")])
            .soon()
            .measure(&[("hill-speed-ridden", &format!("{again}!"))]);
        let rules = RuleSheet::shipped();
        let found = crate::diagnosis::compare(&bench.job, &rules).unwrap();
        let hill = found
            .rows
            .iter()
            .find(|row| row.key == "hill-speed-ridden")
            .unwrap();
        hill.agreement
    };
    assert_eq!(agreement("31 km/h"), Agreement::TooDoubtful);
    assert_ne!(agreement("9.5 km/h"), Agreement::TooDoubtful);
}

#[test]
fn the_model_s_own_error_joins_the_doubt_of_what_is_expected() {
    let bench = longtail()
        .ride(
            "conditions",
            &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
        )
        .ride(
            "speed",
            &[("out", "24 km/h"), ("back", "25 km/h"), ("volts", "46 V")],
        );
    let rules = RuleSheet::shipped();
    let case = Case::new(&bench.job, &rules, Stage::TestRide);
    let (base, doubts) = (Ridden::of(&case).unwrap(), doubts(&case).unwrap());
    let read: Vec<(Quantity, Known)> = [Quantity::SpeedOut, Quantity::SpeedVolts]
        .into_iter()
        .map(|quantity| (quantity, quantity.read(&case).unwrap()))
        .collect();
    let (exact, rough) = (
        of_ride(&base, &doubts, &read, 0.0),
        of_ride(&base, &doubts, &read, 0.1),
    );
    assert_eq!(exact.len(), 2);
    for (exact, rough) in exact.iter().zip(&rough) {
        assert_eq!(exact.expected.0, rough.expected.0);
        let joined = exact.expected.1.hypot(0.1 * exact.expected.0);
        assert!((rough.expected.1 - joined).abs() < 1e-9 * joined, "{rough:?}");
        assert!(doubts.iter().any(|doubt| doubt.name == exact.mostly), "{exact:?}");
    }
    // The doubts one by one: squares add up, and the largest is named.
    let moved = moved(&base, &doubts, &[Quantity::SpeedOut]).unwrap();
    let sum: f64 = moved.iter().map(|by| by[0].powi(2)).sum();
    assert!((exact[0].expected.1 - sum.sqrt()).abs() < 1e-12);
    let most = moved
        .iter()
        .zip(&doubts)
        .max_by(|a, b| a.0[0].abs().total_cmp(&b.0[0].abs()))
        .unwrap();
    assert_eq!(exact[0].mostly, most.1.name);
    // With nothing in doubt nothing is named.
    let certain = of_ride(&base, &[], &read, 0.1);
    assert!(certain.iter().all(|row| row.mostly.is_empty()));
}

#[test]
fn the_stand_gives_mass_and_stop_once_they_are_known() {
    let rules = RuleSheet::shipped();
    let keys = |bench: &crate::checks::testing::Bench| -> Vec<&'static str> {
        let case = Case::new(&bench.job, &rules, Stage::TestRide);
        of_the_stand(&case).iter().map(|row| row.key).collect()
    };
    let bench = longtail().receive_all();
    assert!(keys(&bench).is_empty());
    let bench = bench.measure(&[("mass-after", "44 kg")]);
    assert_eq!(keys(&bench), ["mass-after"]);
    let bench = bench
        .ride(
            "conditions",
            &[("mass", "150kg"), ("wind", "1m/s"), ("air", "12C")],
        )
        .ride("stop", &[("distance", "6 m"), ("speed", "25 km/h")]);
    assert_eq!(keys(&bench), ["mass-after", "stop-distance"]);
}

/// ISO 4210-2: 7 m from 25 km/h with both brakes; expected of 190 kg by hand 4.1 m x 1.9 = 7.8 m.
#[test]
fn a_failed_brake_agrees_with_nothing_and_comes_before_the_drive() {
    let rules = RuleSheet::shipped();
    let ridden = |distance: &str| {
        let bench = longtail()
            .ride("conditions", &[("mass", "150kg")])
            .ride("stop", &[("distance", distance), ("speed", "25 km/h")]);
        let case = Case::new(&bench.job, &rules, Stage::TestRide);
        let row = stop(&case).unwrap();
        (row.agreement, stop_over(&case).unwrap_or_default())
    };
    let (agreement, said) = ridden("9 m");
    assert_eq!(agreement, Agreement::OverLimit);
    assert!(
        said.starts_with("the brakes first: stopped in 9 m, over the 7 m"),
        "{said}"
    );
    assert!(said.contains("expected are over the 7 m"), "{said}");
    assert!(ridden("6 m").1.contains("over the 5.5 m that are good"));
    let (agreement, said) = ridden("5.2 m");
    assert!(agreement != Agreement::OverLimit && said.is_empty(), "{said}");
}
