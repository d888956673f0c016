//! Tests of the steepest grades: against the steady speeds, closed forms, both sides of each end.

use super::*;

fn wanted(system: &DriveSystem, kmh: f64, start: f64) -> Wanted {
    Wanted {
        speed: Speed::kilometres_per_hour(kmh),
        start: Acceleration::metres_per_second2(start),
        starting_pack: system.pack,
        assist: Assist::FULL,
    }
}

fn reaches(system: &DriveSystem, rider: Option<&Rider>, road: &RoadLoad, wanted: &Wanted) -> Vec<Reach> {
    reach_by_gear(system, rider, road, rho(1.2), wanted).unwrap()
}

#[test]
fn a_little_less_steep_is_held_and_a_little_steeper_is_not() {
    // Against the steady speeds, which are searched for by another way.
    for place in [DrivePlace::Mid, DrivePlace::Hub] {
        let system = DriveSystem {
            place,
            ..longtail(42, &CASSETTE)
        };
        let road = RoadLoad {
            bearing: true,
            wheel_inertia: Inertia::kilogram_m2(0.14),
            ..longtail_road(180.0)
        };
        let rider = rider(110.0);
        for kmh in [2.0, 5.0, 9.0, 20.0, 24.9] {
            let asked = wanted(&system, kmh, 0.2);
            for reach in reaches(&system, Some(&rider), &road, &asked) {
                let speed = |grade: f64| {
                    let grade = Grade::ratio(grade);
                    speeds_by_gear(&system, &rider, &road, grade)[reach.gear].speed
                };
                let held = reach.held.as_ratio();
                assert!(speed(held - 1e-6) >= asked.speed, "{place:?} {reach:?}");
                assert!(speed(held + 1e-6) < asked.speed, "{place:?} {reach:?}");
                let start = |grade: f64| {
                    restart_by_gear(&system, Assist::FULL, Some(&rider), &road, Grade::ratio(grade)).unwrap()
                        [reach.gear]
                };
                close(start(reach.started.as_ratio()).si(), 0.2, 1e-9);
            }
        }
    }
}

#[test]
fn without_drive_it_is_the_slope_that_the_bicycle_coasts_on() {
    let system = DriveSystem {
        motor: None,
        ..longtail(42, &CASSETTE)
    };
    let road = longtail_road(100.0);
    for kmh in [5.0, 20.0, 40.0] {
        let asked = wanted(&system, kmh, 0.0);
        for reach in reaches(&system, None, &road, &asked) {
            let coasting = road
                .steady_speed(Power::ZERO, reach.held, Speed::ZERO, rho(1.2))
                .unwrap();
            close(coasting.si(), asked.speed.si(), 1e-9);
            // From standstill it starts to roll where the slope is as the rolling coefficient.
            near(reach.started.as_ratio(), -0.010, 1e-15);
        }
    }
}

#[test]
fn the_longtail_starts_on_a_little_more_than_its_hill() {
    // Workshop example (no source): 42/34 starts on 10.8 % with 0.05 m/s², 38/36 with 0.26 m/s².
    let road = longtail_road(190.0);
    let of = |ring, cogs: &[u32], start| {
        let system = longtail(ring, cogs);
        let asked = wanted(&system, 5.0, start);
        steepest(&reaches(&system, Some(&rider(110.0)), &road, &asked)).unwrap()
    };
    let built = of(42, &CASSETTE, 0.05);
    assert_eq!(CASSETTE[built.gear], 34);
    near(built.started.as_percent(), 10.8, 0.15);
    assert_eq!(built.ridden(), built.started);
    near(of(38, &[36], 0.26).started.as_percent(), 10.8, 0.15);
    // More asked of the start is less steep; nothing asked of it shows what is only held.
    assert!(of(42, &CASSETTE, 0.3).ridden() < built.ridden());
    assert!(of(42, &CASSETTE, 0.0).started > built.started);
}

#[test]
fn all_gears_start_as_the_best_and_the_best_is_among_them() {
    let system = longtail(42, &CASSETTE);
    let (road, grade) = (longtail_road(150.0), Grade::percent(6.0));
    let by_gear = restart_by_gear(&system, Assist::FULL, Some(&rider(110.0)), &road, grade).unwrap();
    let best = restart(&system, &road, grade);
    assert_eq!(by_gear.len(), CASSETTE.len());
    assert_eq!(by_gear.last(), Some(&best));
    assert!(by_gear.windows(2).all(|pair| pair[0] < pair[1]));
}

#[test]
fn more_mass_or_rolling_reaches_less_and_a_weaker_pack_never_more() {
    let system = longtail(38, &CASSETTE);
    let asked = wanted(&system, 8.0, 0.1);
    let base = reaches(&system, Some(&rider(110.0)), &longtail_road(150.0), &asked);
    let heavier = reaches(&system, Some(&rider(110.0)), &longtail_road(160.0), &asked);
    let rougher = RoadLoad {
        crr: 0.015,
        ..longtail_road(150.0)
    };
    let rougher = reaches(&system, Some(&rider(110.0)), &rougher, &asked);
    let weak = PackState {
        open_circuit: Voltage::volts(38.0),
        resistance: Resistance::ohms(0.4),
    };
    let tired = DriveSystem {
        pack: weak,
        ..system.clone()
    };
    let tired = reaches(&tired, Some(&rider(110.0)), &longtail_road(150.0), &asked);
    let jaded = Wanted {
        starting_pack: PackState {
            resistance: Resistance::ohms(30.0),
            ..system.pack
        },
        ..asked
    };
    let jaded = reaches(&system, Some(&rider(110.0)), &longtail_road(150.0), &jaded);
    for (index, reach) in base.iter().enumerate() {
        for less in [&heavier[index], &rougher[index]] {
            assert!(less.held < reach.held && less.started < reach.started);
        }
        // The pack that holds does not start, and the other way round.
        assert!(tired[index].held <= reach.held);
        assert_eq!(tired[index].started, reach.started);
        assert!(jaded[index].started < reach.started);
        assert_eq!(jaded[index].held, reach.held);
    }
}

#[test]
fn a_force_that_no_slope_takes_and_one_that_only_a_fall_gives() {
    let road = longtail_road(100.0);
    let grade = |newtons| {
        road.steepest_for(crate::quantity::Force::newtons(newtons))
            .as_ratio()
    };
    assert_eq!(grade(1e4), f64::INFINITY);
    assert_eq!(grade(-1e4), f64::NEG_INFINITY);
    near(grade(0.0), -0.010, 1e-15);
    near(grade(0.010 * 100.0 * crate::quantity::G), 0.0, 1e-15);
    // At 45° climbing and rolling take (1 + 0.010)/√2 of the weight.
    near(
        grade(1.01 / 2.0_f64.sqrt() * 100.0 * crate::quantity::G),
        1.0,
        1e-12,
    );
}

#[test]
fn the_steepest_of_equal_gears_is_the_first_and_of_none_none() {
    let reach = |gear, held: f64, started: f64| Reach {
        gear,
        held: Grade::percent(held),
        started: Grade::percent(started),
    };
    assert_eq!(steepest(&[]), None);
    let gears = [reach(0, 9.0, 4.0), reach(1, 6.0, 8.0), reach(2, 8.0, 6.0)];
    assert_eq!(steepest(&gears), Some(gears[1]));
    assert_eq!(gears[0].ridden(), Grade::percent(4.0));
    assert_eq!(gears[1].ridden(), Grade::percent(6.0));
}

#[test]
fn wishes_out_of_range_are_refused() {
    let system = longtail(42, &CASSETTE);
    let refused = |asked: Wanted| match reach_by_gear(&system, None, &longtail_road(120.0), rho(1.2), &asked)
    {
        Err(PerformanceError::Input { name, .. }) => name,
        other => panic!("{other:?}"),
    };
    assert_eq!(refused(wanted(&system, 0.35, 0.1)), "wanted.speed");
    assert_eq!(refused(wanted(&system, f64::NAN, 0.1)), "wanted.speed");
    assert_eq!(refused(wanted(&system, 5.0, -0.01)), "wanted.start");
    let dead = Wanted {
        starting_pack: PackState {
            open_circuit: Voltage::ZERO,
            ..system.pack
        },
        ..wanted(&system, 5.0, 0.0)
    };
    assert_eq!(refused(dead), "pack.open_circuit");
    assert!(
        reach_by_gear(
            &system,
            None,
            &longtail_road(120.0),
            rho(1.2),
            &wanted(&system, 0.361, 0.0)
        )
        .is_ok()
    );
}

/// Steady on the grade a gear just holds, the motor gives all it has: the other way to the same point.
#[test]
fn the_full_pull_is_what_the_steepest_grade_takes() {
    for place in [DrivePlace::Mid, DrivePlace::Hub] {
        let system = DriveSystem {
            place,
            ..longtail(42, &CASSETTE)
        };
        let (road, rider) = (longtail_road(180.0), rider(110.0));
        for kmh in [2.0, 5.0, 9.0] {
            let asked = wanted(&system, kmh, 0.0);
            for reach in reaches(&system, Some(&rider), &road, &asked) {
                let climb = &speeds_by_gear(&system, &rider, &road, reach.held)[reach.gear];
                let pull = full_pull(&system, Some(&rider), &road, reach.gear, asked.speed).unwrap();
                let pull = pull.unwrap();
                close(pull.torque.si(), climb.motor_torque.si(), 1e-6);
                close(pull.battery_current.si(), climb.battery_current.si(), 1e-6);
                close(pull.pack_voltage.si(), climb.pack_voltage.si(), 1e-6);
            }
        }
    }
}

#[test]
fn there_is_no_pull_without_a_motor_beyond_the_legs_or_in_no_gear() {
    let (system, road, rider) = (longtail(42, &CASSETTE), longtail_road(100.0), rider(110.0));
    let at = |gear, kmh| {
        full_pull(
            &system,
            Some(&rider),
            &road,
            gear,
            Speed::kilometres_per_hour(kmh),
        )
    };
    let least = CASSETTE.len() - 1;
    assert!(at(least, 3.0).unwrap().is_some());
    assert_eq!(at(least, 60.0), Ok(None));
    for (gear, kmh, named) in [
        (CASSETTE.len(), 3.0, "gear"),
        (0, -1.0, "speed"),
        (0, f64::NAN, "speed"),
    ] {
        assert!(matches!(at(gear, kmh), Err(PerformanceError::Input { name, .. }) if name == named));
    }
    let bare = DriveSystem {
        motor: None,
        ..system.clone()
    };
    assert_eq!(
        full_pull(&bare, Some(&rider), &road, 0, Speed::kilometres_per_hour(9.0)),
        Ok(None)
    );
}
