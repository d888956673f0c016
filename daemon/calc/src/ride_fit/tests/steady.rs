//! Two speeds and regression against worked examples and an independent solve.

use super::super::steady::{Steady, regress, two_speeds};
use super::*;
use crate::quantity::Grade;
use crate::solve::table::{close, near, rows};

fn run(power: f64, speed: f64) -> (Power, Speed) {
    (Power::watts(power), Speed::metres_per_second(speed))
}

fn level(power: f64, speed: f64) -> Steady {
    Steady {
        power: Power::watts(power),
        speed: Speed::metres_per_second(speed),
        acceleration: Acceleration::from_si(0.0),
        grade: Grade::LEVEL,
        headwind: Speed::ZERO,
    }
}

#[test]
fn two_speeds_give_drag_and_rolling_back() {
    // m 90 kg, Crr 0.005, CdA 0.35 m², rho 1.2 kg/m³, g 9.81 m/s²: 5 m/s needs 48.3225 W and
    // 10 m/s needs 254.145 W. Worked from P = (m·g·Crr + 0.5·rho·CdA·v²)·v by hand; the method is
    // that of the Human Power eJournal, issue 5, equations 1 to 5.
    let day = ridden(90.0, 1.0, 1.0, 1.2, 9.81);
    for pair in [
        (run(48.3225, 5.0), run(254.145, 10.0)),
        (run(254.145, 10.0), run(48.3225, 5.0)),
    ] {
        let (crr, cda) = two_speeds(pair.0, pair.1, &day).unwrap();
        close(crr, 0.005, 1e-12);
        close(cda.si(), 0.35, 1e-12);
    }
    // The same behind a drive that loses a fifth.
    let day = ridden(90.0, 1.0, 0.8, 1.2, 9.81);
    let (crr, cda) = two_speeds(run(48.3225 / 0.8, 5.0), run(254.145 / 0.8, 10.0), &day).unwrap();
    close(crr, 0.005, 1e-12);
    close(cda.si(), 0.35, 1e-12);
}

#[test]
fn two_speeds_that_are_one_or_none_are_refused() {
    let day = ridden(90.0, 1.0, 1.0, 1.2, 9.81);
    assert_eq!(
        two_speeds(run(50.0, 5.0), run(60.0, 5.0), &day),
        Err(RideFitError::Undetermined)
    );
    for bad in [run(50.0, 0.0), run(50.0, f64::NAN)] {
        assert!(matches!(
            two_speeds(bad, run(60.0, 5.0), &day),
            Err(RideFitError::Input { name: "speed", .. })
        ));
    }
    assert!(matches!(
        two_speeds(run(60.0, 5.0), run(f64::NAN, 6.0), &day),
        Err(RideFitError::Input { name: "power", .. })
    ));
}

#[test]
fn regression_of_independently_solved_steady_speeds() {
    // The seven rows of one bicycle (100 kg, CdA 0.5 m², Crr 0.007, 1.225 kg/m³) on grades and in
    // winds, from a separate solve in 40-digit arithmetic, 12 digits printed.
    let day = ridden(100.0, 1.5, 1.0, 1.225, 9.80665);
    let points: Vec<Steady> = rows(include_str!(
        "../../../../../tests/reference/steady_speed/speeds.csv"
    ))
    .iter()
    .filter(|row| row.number("mass_kg") == 100.0 && row.number("cda_m2") == 0.5)
    .filter(|row| row.number("crr") == 0.007 && row.number("rho_kgm3") == 1.225)
    .map(|row| Steady {
        grade: Grade::ratio(row.number("grade")),
        headwind: Speed::metres_per_second(row.number("headwind_mps")),
        ..level(row.number("power_hub_W"), row.number("speed_mps"))
    })
    .filter(|point| point.speed > Speed::ZERO)
    .collect();
    assert!(points.len() >= 6, "{points:?}");
    let found = regress(&points, &day).unwrap();
    assert!(found.is_told_apart());
    let Split { crr, cda, .. } = found.split.unwrap();
    close(crr.value, 0.007, 1e-8);
    close(cda.value, 0.5, 1e-8);
}

#[test]
fn covariance_is_that_of_ordinary_least_squares() {
    // With m·g 1000 N and rho 2 kg/m³ the columns are 1000 and v². v² = 1, 2, 3, 4 m²/s² and
    // forces 1, 3, 4, 4 N: the line 0.5 + 1·v² leaves 1.0/2 N²; XᵀX = [[4e6, 1e4], [1e4, 30]] has
    // determinant 2e7, so var(Crr) = 0.5·30/2e7, cov = −0.5·1e4/2e7, var(CdA) = 0.5·4e6/2e7.
    // Worked by hand.
    let day = ridden(100.0, 0.0, 1.0, 2.0, 10.0);
    let points: Vec<Steady> = [(1.0_f64, 1.0), (2.0, 3.0), (3.0, 4.0), (4.0, 4.0)]
        .map(|(square, force)| level(force * square.sqrt(), square.sqrt()))
        .to_vec();
    let found = regress(&points, &day).unwrap();
    assert!(found.is_told_apart());
    let Split { crr, cda, covariance } = found.split.unwrap();
    close(crr.value, 0.0005, 1e-10);
    close(cda.value, 1.0, 1e-12);
    close(crr.standard, (0.5 * 30.0 / 2e7_f64).sqrt(), 1e-10);
    close(cda.standard, (0.5 * 4e6 / 2e7_f64).sqrt(), 1e-10);
    close(covariance, -0.5e4 / 2e7, 1e-10);
    close(found.correlation, -1e4 / (30.0 * 4e6_f64).sqrt(), 1e-10);
}

#[test]
fn acceleration_slope_and_wind_are_taken_out() {
    // 100 kg and 2 kg of rotation at 0.1 m/s² take 10.2 N; 3 m/s against 1 m/s of wind over
    // CdA 0.5 m² at 1.2 kg/m³ takes 4.8 N; a wind from behind that is faster pushes.
    let day = ridden(100.0, 2.0, 1.0, 1.2, 9.80665);
    let point = |speed: f64, wind: f64, acceleration: f64, grade: f64| {
        let grade = Grade::ratio(grade);
        let weight = 100.0 * 9.80665;
        let air = 0.3 * (speed + wind) * (speed + wind).abs();
        let force = weight * (0.006 * grade.cos() + grade.sin()) + air + 102.0 * acceleration;
        Steady {
            acceleration: Acceleration::from_si(acceleration),
            grade,
            headwind: Speed::metres_per_second(wind),
            ..level(force * speed, speed)
        }
    };
    let points = [
        point(3.0, 1.0, 0.1, 0.0),
        point(7.0, 0.0, -0.2, 0.05),
        point(2.0, -4.0, 0.0, -0.01),
        point(11.0, 2.0, 0.0, 0.0),
    ];
    let found = regress(&points, &day).unwrap();
    assert!(found.is_told_apart());
    let Split { crr, cda, .. } = found.split.unwrap();
    near(crr.value, 0.006, 1e-12);
    near(cda.value, 0.5, 1e-12);
}

#[test]
fn one_speed_gives_the_sum_alone() {
    let day = ridden(90.0, 0.0, 1.0, 1.2, 9.81);
    let points = [level(119.0, 7.0), level(126.0, 7.0), level(133.0, 7.0)];
    let found = regress(&points, &day).unwrap();
    assert_eq!((found.split, found.is_told_apart()), (None, false));
    assert_eq!(found.correlation, -1.0);
    near(found.sum.speed.si(), 7.0, 1e-12);
    near(found.sum.force.si(), 18.0, 1e-12);
    // 17, 18 and 19 N: standard deviation 1 N, of the mean 1/√3 N.
    near(found.sum.standard.si(), 1.0 / 3.0_f64.sqrt(), 1e-12);
}

#[test]
fn speeds_too_close_together_are_not_split() {
    // Column angles do it, not the noise: speeds 8 % apart from one another.
    let day = ridden(90.0, 0.0, 1.0, 1.2, 9.81);
    let point = |v: f64, off: f64| level((90.0 * 9.81 * 0.006 + 0.3 * v * v + off) * v, v);
    let near_speeds = [
        point(7.0, 0.2),
        point(7.3, -0.2),
        point(7.6, 0.2),
        point(7.3, -0.1),
    ];
    let found = regress(&near_speeds, &day).unwrap();
    assert!(!found.is_told_apart());
    assert!(found.correlation < -0.95);
    // Summed where it is known best, inside the range ridden, to the noise put in.
    assert!((7.0..=7.6).contains(&found.sum.speed.si()), "{found:?}");
    let v = found.sum.speed.si();
    near(found.sum.force.si(), 90.0 * 9.81 * 0.006 + 0.3 * v * v, 0.2);
    assert!(found.sum.standard.si() < 0.2);
}

#[test]
fn too_few_or_bad_stretches_are_named() {
    let day = ridden(90.0, 0.0, 1.0, 1.2, 9.81);
    assert_eq!(
        regress(&[level(50.0, 5.0), level(60.0, 6.0)], &day),
        Err(RideFitError::TooFew {
            readings: 2,
            least: 3
        })
    );
    let good = level(50.0, 5.0);
    let named = |bad: Steady| match regress(&[good, good, bad], &day) {
        Err(RideFitError::Input { name, .. }) => name,
        other => panic!("{other:?}"),
    };
    assert_eq!(named(level(1.0, 0.0)), "speed");
    assert_eq!(named(level(f64::NAN, 1.0)), "power");
    let acceleration = Acceleration::from_si(f64::NAN);
    assert_eq!(named(Steady { acceleration, ..good }), "acceleration");
    let grade = Grade::ratio(f64::NAN);
    assert_eq!(named(Steady { grade, ..good }), "grade");
    let headwind = Speed::from_si(f64::INFINITY);
    assert_eq!(named(Steady { headwind, ..good }), "headwind");
}
