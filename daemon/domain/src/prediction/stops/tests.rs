//! Tests of stops: each with its own speed, what stands for several, which count.

use super::*;
use crate::checks::testing::{Bench, trekking};
use crate::rules::RuleSheet;
use crate::stage::Stage;

fn stops(bench: &Bench) -> Stops {
    let rules = RuleSheet::shipped();
    Stops::at_the_usual_speed(&Case::new(&bench.job, &rules, Stage::TestRide)).unwrap()
}

fn stop(bench: Bench, values: &[(&str, &str)]) -> Bench {
    bench.soon().ride("stop", values)
}

/// EN 14766:2005, track method, by hand: 7 x (25/35)^2 = 3.571 m; with 8 m from 25 km/h the mean of two is 5.786 m.
#[test]
fn each_stop_is_brought_from_its_own_speed() {
    let bench = stop(trekking(), &[("distance", "8 m"), ("speed", "25 km/h")]);
    let bench = stop(bench, &[("distance", "7 m"), ("speed", "35 km/h")]);
    let ridden = stops(&bench);
    assert!((ridden.together(7.0).value - 5.7857).abs() < 1e-4, "{ridden:?}");
    assert_eq!(ridden.longest(7.0).value, 8.0);
    // 6 x (25/20)^2 = 9.375 m, 5 x (25/30)^2 = 3.472 m: the middle of three is the 8 m.
    let bench = stop(trekking(), &[("distance", "8 m"), ("speed", "25 km/h")]);
    let bench = stop(bench, &[("distance", "6 m"), ("speed", "20 km/h")]);
    let bench = stop(bench, &[("distance", "5 m"), ("speed", "30 km/h")]);
    assert!((stops(&bench).together(7.0).value - 8.0).abs() < 1e-9);
    assert_eq!(
        stops(&bench).working()[1],
        "6 m from 20 km/h, brought to 25 km/h: 9.375 m"
    );
}

#[test]
fn a_stop_without_a_speed_is_not_given_that_of_another() {
    let bench = stop(trekking(), &[("distance", "7 m"), ("speed", "35 km/h")]);
    let bench = stop(bench, &[("distance", "6 m")]);
    let ridden = stops(&bench);
    assert_eq!(ridden.longest(7.0).value, 6.0);
    assert!(
        ridden.working()[1].contains("for want of the speed"),
        "{ridden:?}"
    );
    // Told afterwards, it is that stop's.
    let told = stops(&stop(bench.clone(), &[("speed", "20 km/h")]));
    assert!((told.longest(7.0).value - 9.375).abs() < 1e-9, "{told:?}");
    // Of a stop that has its own speed another makes nothing less; it is that of the next one.
    let failed = stop(trekking(), &[("distance", "8 m"), ("speed", "25 km/h")]);
    let failed = stop(failed, &[("speed", "35 km/h")]);
    assert_eq!(stops(&failed).longest(7.0).value, 8.0);
    let failed = stops(&stop(failed, &[("distance", "9.8 m")]));
    assert_eq!(failed.longest(7.0).value, 8.0);
    assert_eq!(failed.working()[1], "9.8 m from 35 km/h, brought to 25 km/h: 5 m");
    // A stop begun anew takes nothing over from those before.
    let anew = bench.again(&[("stop-distance", "6 m")]);
    assert_eq!(stops(&anew).longest(7.0).value, 6.0);
}

#[test]
fn what_counts_and_what_stands_for_none() {
    let slow = stop(trekking(), &[("distance", "4 m"), ("speed", "20 km/h")]);
    assert_eq!(stops(&slow).counting(7.0).len(), 1);
    let both = stop(slow, &[("distance", "5 m"), ("speed", "25 km/h")]);
    assert_eq!(stops(&both).count(), 2);
    assert_eq!(stops(&both).together(7.0).value, 5.0);
}
