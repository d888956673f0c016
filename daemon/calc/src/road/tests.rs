//! Tests of the road load: published examples, independent solves, monotony.

use super::*;
use crate::solve::table::{close, near, rows};

fn mps(v: f64) -> Speed {
    Speed::metres_per_second(v)
}

fn rho(v: f64) -> Density {
    Density::kilograms_per_m3(v)
}

fn plain(mass: f64, cda: f64, crr: f64) -> RoadLoad {
    RoadLoad {
        mass: Mass::kilograms(mass),
        cda: Area::square_metres(cda),
        spoke_drag_area: Area::ZERO,
        crr,
        bearing: false,
        wheel_inertia: Inertia::ZERO,
        tyre_radius: Length::metres(0.34),
        gravity: RoadLoad::STANDARD_GRAVITY,
    }
}

#[test]
fn reference_speeds() {
    // Independent solve in 40-digit arithmetic, printed to 12 digits; 1e-9 relative, zero exactly zero.
    for row in rows(include_str!(
        "../../../../tests/reference/steady_speed/speeds.csv"
    )) {
        let road = RoadLoad {
            bearing: row.number("bearing_term") != 0.0,
            ..plain(row.number("mass_kg"), row.number("cda_m2"), row.number("crr"))
        };
        let grade = Grade::ratio(row.number("grade"));
        let (wind, air) = (mps(row.number("headwind_mps")), rho(row.number("rho_kgm3")));
        let speed = road
            .steady_speed(Power::watts(row.number("power_hub_W")), grade, wind, air)
            .unwrap();
        let want = row.number("speed_mps");
        if want == 0.0 {
            assert_eq!(speed, Speed::ZERO);
        } else {
            close(speed.si(), want, 1e-9);
        }
        // The printed parts have 1e-6 W; near zero air speed they hang on the printed speed.
        let terms = road.wheel_power(speed, grade, wind, air);
        near(terms.air.si(), row.number("p_air_W"), 2e-6);
        near(terms.rolling.si(), row.number("p_roll_W"), 2e-6);
        near(terms.climbing.si(), row.number("p_grade_W"), 2e-6);
        near(terms.bearing.si(), row.number("p_bearing_W"), 2e-6);
    }
}

#[test]
fn worked_example_of_martin_1998() {
    // Martin et al. 1998, J. Appl. Biomech. 14:276, appendix I, inputs as restated publicly (paper not read).
    let road = RoadLoad {
        mass: Mass::kilograms(90.0),
        cda: Area::square_metres(0.9 * 0.285),
        spoke_drag_area: Area::square_metres(0.0044),
        crr: 0.0032,
        bearing: true,
        wheel_inertia: Inertia::kilogram_m2(0.14),
        tyre_radius: Length::metres(0.311),
        gravity: Acceleration::metres_per_second2(9.81),
    };
    let along = 2.94 * (310.0_f64 - 340.0).to_radians().cos();
    let v = mps(8.36);
    near(v.si() + along, 10.91, 0.01);
    let terms = road.wheel_power(v, Grade::ratio(0.003), mps(along), rho(1.2234));
    near(terms.air.si(), 158.8, 0.2);
    near(terms.rolling.si(), 23.6, 0.1);
    near(terms.bearing.si(), 1.4, 0.05);
    near(terms.climbing.si(), 22.1, 0.1);
    let kinetic = road.kinetic_power(mps(8.28), mps(8.45), Duration::seconds(56.42));
    near(kinetic.si(), 2.3, 0.02);
    // Published 213.3 W at the crank (213 W rounded, asked to 0.7 W) with a chain efficiency of 0.976.
    let crank = (terms.total() + kinetic).si() / 0.976;
    near(crank, 213.3, 0.3);
    near(crank, 213.0, 0.7);
}

#[test]
fn published_code_base_uphill() {
    // Test file of a public cycling power program: 389.9 W at 5.55 m/s up 8.125 %, 4800 m in 864.865 s; 0.1 %.
    // The program carries the bearing term and the spokes of Martin et al. 1998.
    let road = RoadLoad {
        bearing: true,
        spoke_drag_area: Area::square_metres(0.0044),
        ..plain(75.0, 0.310, 0.004)
    };
    let grade = Grade::ratio(0.081_25);
    let power = road
        .wheel_power(mps(5.55), grade, Speed::ZERO, rho(1.225))
        .total();
    close(power.si() / 0.976, 389.9, 1e-4);
    let speed = road
        .steady_speed(Power::watts(389.9 * 0.976), grade, Speed::ZERO, rho(1.225))
        .unwrap();
    close(speed.si(), 5.55, 1e-3);
    close(4_800.0 / speed.si(), 864.865, 1e-3);
}

#[test]
fn published_code_base_tailwind() {
    // Same program: wind 2.7778 m/s from 180°, heading 45°: a tailwind; 333.175 W, 334.98 W with the kinetic
    // term; 0.1 %. A wrong wind sign changes the air term sevenfold.
    let road = RoadLoad {
        bearing: true,
        spoke_drag_area: Area::square_metres(0.0044),
        wheel_inertia: Inertia::kilogram_m2(0.12),
        tyre_radius: Length::metres(0.339),
        ..plain(85.0, 0.400, 0.008)
    };
    let wind = 2.777_8 * (180.0_f64 - 45.0).to_radians().cos();
    let power = road
        .wheel_power(mps(4.293), Grade::ratio(0.079), mps(wind), rho(1.192_1))
        .total();
    close(power.si() / 0.95, 333.175, 1e-3);
    let kinetic = road.kinetic_power(Speed::ZERO, mps(11.111_1), Duration::seconds(3_240.0));
    close((power + kinetic).si() / 0.95, 334.98, 1e-3);
}

#[test]
fn input_set_of_a_published_climbing_table() {
    // Inputs: Sports Engineering, doi 10.1007/s12283-021-00345-2, table 1; the result is a regression value.
    let road = RoadLoad {
        spoke_drag_area: Area::square_metres(0.0044),
        bearing: true,
        gravity: Acceleration::metres_per_second2(9.81),
        ..plain(72.0, 0.473, 0.0032)
    };
    let terms = road.wheel_power(mps(6.0), Grade::ratio(0.075), Speed::ZERO, rho(1.225));
    near(terms.total().si() / 0.98, 402.5, 0.1);
}

#[test]
fn towed_cyclists_of_di_prampero() {
    // di Prampero et al. 1979, J. Appl. Physiol. 47:201 (from memory): R = 3.2 + 0.19·v² N; at 10 m/s 22.2 N.
    let road = plain(80.0, 2.0 * 0.19 / 1.2, 3.2 / (80.0 * G));
    near(
        road.resistance(mps(10.0), Grade::LEVEL, Speed::ZERO, rho(1.2))
            .si(),
        22.2,
        1e-9,
    );
}

#[test]
fn a_climb_takes_the_height_and_not_the_slope() {
    // Worked answer: 100 m along a 1-in-10 slope lifts 100 kg by 9.95 m, 9751 J with g 9.8.
    let road = RoadLoad {
        gravity: Acceleration::metres_per_second2(9.8),
        ..plain(100.0, 0.0, 0.0)
    };
    let force = road.resistance(Speed::ZERO, Grade::ratio(0.1), Speed::ZERO, rho(1.2));
    near(force.si() * 100.0, 9_751.0, 0.5);
}

#[test]
fn the_sine_is_less_than_the_slope() {
    // Regression values of tan/sin − 1: what the slope in place of the sine would overstate, in percent.
    for (percent, over) in [
        (5.0, 0.12),
        (10.0, 0.50),
        (15.0, 1.12),
        (20.0, 1.98),
        (25.0, 3.08),
    ] {
        let grade = Grade::percent(percent);
        near(100.0 * (grade.as_ratio() / grade.sin() - 1.0), over, 0.006);
    }
    // Arithmetic of m·g·h: 100 kg up 1000 m at g 9.81 take 272.5 Wh.
    let road = RoadLoad {
        gravity: Acceleration::metres_per_second2(9.81),
        ..plain(100.0, 0.0, 0.0)
    };
    let grade = Grade::percent(8.0);
    let force = road.resistance(Speed::ZERO, grade, Speed::ZERO, rho(1.2)).si();
    near(force * 1_000.0 / grade.sin() / 3_600.0, 272.5, 0.01);
}

#[test]
fn braking_finds_the_largest_speed_or_stops() {
    let road = plain(100.0, 0.5, 0.007);
    let (grade, air) = (Grade::ratio(-0.05), rho(1.225));
    let coasting = road.steady_speed(Power::ZERO, grade, Speed::ZERO, air).unwrap();
    let braked = road
        .steady_speed(Power::watts(-150.0), grade, Speed::ZERO, air)
        .unwrap();
    close(
        road.wheel_power(braked, grade, Speed::ZERO, air).total().si(),
        -150.0,
        1e-9,
    );
    // The largest root lies above the speed of the greatest braking need, coasting/sqrt(3).
    assert!(braked < coasting && braked > coasting / 3f64.sqrt());
    assert_eq!(
        road.steady_speed(Power::watts(-5_000.0), grade, Speed::ZERO, air),
        Ok(Speed::ZERO)
    );
    assert_eq!(
        road.steady_speed(Power::watts(-10.0), Grade::LEVEL, Speed::ZERO, air),
        Ok(Speed::ZERO)
    );
}

#[test]
fn worst_braking_speed_on_a_descent() {
    // Derivation in a brake-heat discussion: the need peaks at coasting/sqrt(3). 120 kg, 10 %, CdA 0.55,
    // Crr 0.006, rho 1.2: coasting 65.9 km/h, worst 38.1 km/h, 780 W (computed with sin ≈ s; so 1 %).
    let road = plain(120.0, 0.55, 0.006);
    let (grade, air) = (Grade::ratio(-0.10), rho(1.2));
    let coasting = road.steady_speed(Power::ZERO, grade, Speed::ZERO, air).unwrap();
    close(coasting.as_kilometres_per_hour(), 65.9, 1e-2);
    let worst = road
        .wheel_power(coasting / 3f64.sqrt(), grade, Speed::ZERO, air)
        .total();
    close(-worst.si(), 780.0, 1e-2);
}

#[test]
fn more_load_is_never_faster() {
    let base = plain(100.0, 0.5, 0.007);
    let speed = |road: &RoadLoad, grade: f64, wind: f64| {
        road.steady_speed(Power::watts(250.0), Grade::percent(grade), mps(wind), rho(1.2))
            .unwrap()
    };
    for grade in [-4.0, 0.0, 3.0, 12.0] {
        for wind in [-9.0, -2.0, 0.0, 4.0] {
            let v = speed(&base, grade, wind);
            assert!(speed(&base, grade + 0.5, wind) < v);
            assert!(speed(&base, grade, wind + 0.5) <= v);
            assert!(speed(&RoadLoad { crr: 0.009, ..base }, grade, wind) < v);
        }
    }
}

#[test]
fn impossible_loads_are_refused() {
    let refused =
        |road: RoadLoad| match road.steady_speed(Power::watts(100.0), Grade::LEVEL, Speed::ZERO, rho(1.2)) {
            Err(RoadError::Input { name, .. }) => name,
            other => panic!("{other:?}"),
        };
    assert_eq!(refused(plain(0.0, 0.5, 0.007)), "mass");
    assert_eq!(refused(plain(100.0, -0.5, 0.007)), "cda");
    assert_eq!(refused(plain(100.0, 0.5, f64::NAN)), "crr");
    let weightless = plain(100.0, 0.0, 0.0);
    let runaway = weightless.steady_speed(Power::watts(100.0), Grade::LEVEL, Speed::ZERO, rho(1.2));
    assert!(matches!(
        runaway,
        Err(RoadError::Solve(SolveError::NoBracket { .. }))
    ));
}
