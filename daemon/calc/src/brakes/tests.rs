//! Tests of stops, scaling, descent and rotors.

use super::*;

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

fn kmh(value: f64) -> Speed {
    Speed::kilometres_per_hour(value)
}

fn kg(value: f64) -> Mass {
    Mass::kilograms(value)
}

fn mean(speed: f64, metres: f64) -> f64 {
    deceleration(kmh(speed), Length::metres(metres))
        .unwrap()
        .as_metres_per_second2()
}

#[test]
fn decelerations() {
    // Computed by hand from v²/2s. The industry association names 25 km/h, 7 m as "at least
    // 3.4 m/s²"; 4.57 m is 15 ft (16 CFR 1512.5).
    for (speed, metres, expected) in [
        (25.0, 7.0, 3.445),
        (25.0, 6.0, 4.019),
        (25.0, 4.55, 5.299),
        (25.0, 5.53, 4.36),
        (16.0, 5.0, 1.975),
        (24.0, 4.57, 4.863),
        (16.0, 4.57, 2.161),
    ] {
        near(mean(speed, metres), expected, 0.0006);
    }
    assert!(mean(25.0, 7.0) >= 3.4);
    near(Length::inches(180.0).as_metres(), 4.57, 0.003);
    assert!(deceleration(kmh(25.0), Length::ZERO).is_err());
}

#[test]
fn stop_of_the_longtail() {
    // Common practice, no source: 5.9 m from 25 km/h is 4.09 m/s², 5.0 m is 4.82.
    near(mean(25.0, 5.9), 4.09, 0.005);
    near(mean(25.0, 5.0), 4.82, 0.005);
}

#[test]
fn correction_to_the_nominal_speed() {
    // EN 14766:2005, track method, computed by hand: 7.5 m at 26.2 km/h is 6.83 m at 25.
    let corrected = corrected_distance(Length::metres(7.5), kmh(26.2), kmh(25.0)).unwrap();
    near(corrected.as_metres(), 6.83, 0.005);
    assert!(run_counts(corrected, Length::metres(7.0), kmh(26.2), kmh(25.0)));
    let same = corrected_distance(Length::metres(7.5), kmh(25.0), kmh(25.0)).unwrap();
    near(same.as_metres(), 7.5, 1e-12);
}

#[test]
fn correction_does_not_change_the_deceleration() {
    for step in 0..60 {
        let measured = 23.5 + f64::from(step) * 0.05;
        let corrected = corrected_distance(Length::metres(6.4), kmh(measured), kmh(25.0)).unwrap();
        near(mean(25.0, corrected.as_metres()), mean(measured, 6.4), 1e-9);
    }
}

#[test]
fn runs_that_do_not_count() {
    let limit = Length::metres(7.0);
    let counts = |corrected, measured| run_counts(Length::metres(corrected), limit, kmh(measured), kmh(25.0));
    assert!(counts(6.5, 23.5));
    assert!(!counts(6.5, 23.4), "a pass from too slow a start");
    assert!(counts(6.5, 28.0), "a pass from a fast start is the harder test");
    assert!(counts(7.5, 26.5));
    assert!(!counts(7.5, 26.6), "a fail from too fast a start");
    assert!(counts(7.5, 22.0));
}

#[test]
fn standard_distances() {
    let city = stop_requirement(BrakeClass::City, Surface::Dry, BrakesUsed::Both);
    assert_eq!(
        (city.speed_kmh, city.distance_m, city.basis),
        (25.0, 7.0, Basis::Read)
    );
    // ISO 4210-2 (from memory), with the decelerations computed by hand.
    for (class, surface, brakes, metres, implied) in [
        (BrakeClass::Mountain, Surface::Dry, BrakesUsed::Both, 6.0, 4.019),
        (BrakeClass::City, Surface::Dry, BrakesUsed::RearOnly, 15.0, 1.608),
        (
            BrakeClass::Mountain,
            Surface::Dry,
            BrakesUsed::RearOnly,
            10.0,
            2.411,
        ),
        (
            BrakeClass::Racing,
            Surface::Dry,
            BrakesUsed::RearOnly,
            12.0,
            2.009,
        ),
        (BrakeClass::City, Surface::Wet, BrakesUsed::Both, 5.0, 1.975),
        (BrakeClass::City, Surface::Wet, BrakesUsed::RearOnly, 10.0, 0.988),
    ] {
        let row = stop_requirement(class, surface, brakes);
        assert_eq!(row.distance_m, metres);
        near(mean(row.speed_kmh, row.distance_m), implied, 0.0006);
    }
}

#[test]
fn mass_scaling() {
    // Work of a constant force, by hand: 7 m at 100 kg are 13.3 m at 190 kg.
    let longer = same_force_distance(Length::metres(7.0), kg(STANDARD_MASS_KG), kg(190.0)).unwrap();
    near(longer.as_metres(), 13.3, 1e-9);
    assert!(same_force_distance(Length::metres(7.0), kg(0.0), kg(190.0)).is_err());
}

#[test]
fn pitch_over() {
    // Wilson, Bicycling Science (from memory): wheelbase 1.067 m, centre of mass 0.432 m ahead
    // of the rear wheel and 1.143 m up: 0.56 g.
    let limit = |x, grade| {
        pitch_over_limit(Length::metres(x), Length::metres(1.143), grade)
            .unwrap()
            .as_metres_per_second2()
    };
    near(limit(1.067 - 0.432, Grade::LEVEL) / G, 0.56, 0.005);
    assert!(limit(0.635, Grade::percent(-10.0)) < limit(0.635, Grade::LEVEL));
    assert!(limit(0.635, Grade::percent(10.0)) > limit(0.635, Grade::LEVEL));
}

#[test]
fn descent() {
    // Arithmetic: 100 kg, 8 % down, 5 m/s, 12 N of resistance: (78.20 − 12)·5 = 331.0 W with
    // sin θ = 0.07975 and g = 9.80665.
    let power = |grade, resistance| {
        let speed = Speed::metres_per_second(5.0);
        descent_power(
            kg(100.0),
            Grade::percent(grade),
            speed,
            Force::newtons(resistance),
        )
    };
    near(power(-8.0, 12.0).unwrap().as_watts(), 331.0, 0.1);
    assert_eq!(power(8.0, 0.0).unwrap(), Power::ZERO);
    assert!(power(f64::NAN, 0.0).is_err());
}

fn steps() -> [RotorStep; 3] {
    let mm = Length::millimetres;
    [
        RotorStep {
            up_to: kg(110.0),
            front: mm(160.0),
            rear: mm(160.0),
        },
        RotorStep {
            up_to: kg(150.0),
            front: mm(180.0),
            rear: mm(160.0),
        },
        RotorStep {
            up_to: kg(200.0),
            front: mm(203.0),
            rear: mm(180.0),
        },
    ]
}

#[test]
fn rotors_by_mass() {
    // Common practice, no source.
    let beyond = (Length::millimetres(203.0), Length::millimetres(203.0));
    let sizes = |mass| {
        let (front, rear) = rotor_sizes(kg(mass), &steps(), beyond).unwrap();
        (
            front.as_millimetres().round() as i32,
            rear.as_millimetres().round() as i32,
        )
    };
    assert_eq!(sizes(110.0), (160, 160));
    assert_eq!(sizes(110.1), (180, 160));
    assert_eq!(sizes(190.0), (203, 180));
    assert_eq!(sizes(240.0), (203, 203));
    let mut last = (0, 0);
    for mass in 40..300 {
        let now = sizes(f64::from(mass));
        assert!(now.0 >= last.0 && now.1 >= last.1);
        last = now;
    }
    let mut wrong = steps();
    wrong[2].up_to = kg(120.0);
    let error = rotor_sizes(kg(100.0), &wrong, beyond).unwrap_err();
    assert_eq!(
        error.to_string(),
        "rotor step 3 ends at 120 kg; it must lie above the step before it"
    );
}

#[test]
fn a_stop_exactly_at_the_limit_passes_and_so_may_not_have_begun_too_slow() {
    // EN 14766:2005, 1.5 km/h; the direction for a pass (too slow) from memory.
    let limit = Length::metres(7.0);
    let slow = Speed::kilometres_per_hour(23.0);
    let set = Speed::kilometres_per_hour(25.0);
    assert!(!run_counts(limit, limit, slow, set));
    assert!(run_counts(Length::metres(7.01), limit, slow, set));
}

#[test]
fn the_slope_takes_its_cosine_from_the_lever_and_its_sine_from_the_road() {
    // By hand: 10 % down, cos 0.995037, sin -0.0995037; 9.80665 (0.995037 x 0.65/1.1 - 0.0995037).
    let limit = pitch_over_limit(Length::metres(0.65), Length::metres(1.1), Grade::ratio(-0.1)).unwrap();
    assert!((limit.si() - 4.79028).abs() < 1e-4, "{}", limit.si());
}
