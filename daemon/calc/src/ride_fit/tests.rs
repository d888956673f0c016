//! Tests of the fits: worked examples, a synthetic ride with a known truth, two real rides.

mod elevation;
mod stretch;

use super::*;
use crate::solve::table::rows;

fn reading(time: f64, speed: f64, power: f64, altitude: f64) -> Reading {
    Reading {
        time: Duration::seconds(time),
        speed: Speed::metres_per_second(speed),
        power: Power::watts(power),
        altitude: Length::metres(altitude),
        heading: None,
    }
}

fn ridden(mass: f64, rotating: f64, efficiency: f64, rho: f64, gravity: f64) -> Ridden {
    Ridden {
        mass: Mass::kilograms(mass),
        rotating: Mass::kilograms(rotating),
        efficiency,
        rho: Density::kilograms_per_m3(rho),
        gravity: Acceleration::from_si(gravity),
    }
}

/// A real ride of the scikit-cycling data set.
fn real_ride(text: &str) -> Vec<Reading> {
    rows(text)
        .iter()
        .map(|row| Reading {
            heading: Some(Angle::degrees(row.number("course_rot_deg"))),
            ..reading(
                row.number("t_s"),
                row.number("speed_mps"),
                row.number("power_W"),
                row.number("alt_m"),
            )
        })
        .collect()
}

/// The stretches another program cut from a real ride; it names the row after the last.
fn cut(text: &str) -> Vec<std::ops::Range<usize>> {
    rows(text)
        .iter()
        .map(|row| row.number("row_from") as usize..row.number("row_to") as usize)
        .collect()
}

const ROLLING: &str = include_str!("../../../../tests/reference/ride_power/rolling.csv");
const ROLLING_CUT: &str = include_str!("../../../../tests/reference/ride_power/rolling_segments.csv");
const SHORT: &str = include_str!("../../../../tests/reference/ride_power/short.csv");
const SHORT_CUT: &str = include_str!("../../../../tests/reference/ride_power/short_segments.csv");
const TRUTH: &str = include_str!("../../../../tests/reference/ride_files/ride.csv");

#[test]
fn a_figure_out_of_range_is_named() {
    let good = ridden(85.0, 0.0, 0.976, 1.2, 9.81);
    assert_eq!(good.check(), Ok(()));
    let field = |bad: Ridden| match bad.check() {
        Err(RideFitError::Input { name, .. }) => name,
        other => panic!("{other:?}"),
    };
    assert_eq!(field(ridden(0.0, 0.0, 0.976, 1.2, 9.81)), "mass");
    assert_eq!(field(ridden(85.0, -0.1, 0.976, 1.2, 9.81)), "rotating");
    assert_eq!(field(ridden(85.0, f64::INFINITY, 0.976, 1.2, 9.81)), "rotating");
    assert_eq!(field(ridden(85.0, 0.0, 0.0, 1.2, 9.81)), "efficiency");
    assert_eq!(field(ridden(85.0, 0.0, 1.01, 1.2, 9.81)), "efficiency");
    assert_eq!(field(ridden(85.0, 0.0, 0.976, 0.0, 9.81)), "rho");
    assert_eq!(field(ridden(85.0, 0.0, 0.976, 1.2, f64::NAN)), "gravity");
    assert_eq!(ridden(85.0, 0.0, 1.0, 1.2, 9.81).check(), Ok(()));
}

#[test]
fn parts_are_told_up_to_the_largest_correlation_and_not_beyond() {
    let usual = Speed::metres_per_second(8.0);
    let day = ridden(100.0, 0.0, 1.0, 1.2, 10.0);
    let at = |correlation: f64| Pair {
        crr: 0.006,
        cda: 0.5,
        variances: [1e-6, correlation * 1e-3 * 0.02, 4e-4],
    };
    let told = at(-0.95).judged(&day, usual);
    assert!(told.is_told_apart());
    let Split { crr, cda, covariance } = told.split.unwrap();
    assert_eq!((crr.value, crr.standard), (0.006, 1e-3));
    assert_eq!((cda.value, cda.standard), (0.5, 0.02));
    assert_eq!(covariance, -0.95 * 1e-3 * 0.02);
    for beyond in [-0.951, 0.951] {
        let kept = at(beyond).judged(&day, usual);
        assert!(!kept.is_told_apart());
        // The figures are the same, only not to be believed alone.
        assert_eq!(kept.split.unwrap().crr, crr);
        assert!((kept.correlation - beyond).abs() < 1e-12);
    }
    // Worked by hand: q = 1000·0.95·1e-3·0.02/4e-4 = 47.5 Pa, v² = 47.5/0.6, F = 6 + 23.75 N,
    // u² = 1 − 2·47.5·0.019 + 47.5²·4e-4 = 0.0975 N², that is (1 − r²) of the rolling part's 1 N².
    assert!((told.sum.speed.si() - (47.5_f64 / 0.6).sqrt()).abs() < 1e-12);
    assert!((told.sum.force.si() - 29.75).abs() < 1e-12);
    assert!((told.sum.standard.si() - 0.0975_f64.sqrt()).abs() < 1e-12);
    // Correlated the other way no speed is best; the usual one is taken.
    // F = 6 + 0.5·0.6·64 = 25.2 N.
    let other = at(0.5).judged(&day, usual);
    assert!((other.sum.speed.si() - 8.0).abs() < 1e-12);
    assert!((other.sum.force.si() - 25.2).abs() < 1e-12);
}
