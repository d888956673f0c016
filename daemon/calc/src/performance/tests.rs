//! Tests of the whole drive: independent solves, closed forms, workshop examples.

mod hub_gear;
mod policy;
mod reach;
mod wind;

use super::*;
use crate::assist::{Policy, Taper};
use crate::motor::DataSheet;
use crate::quantity::{Area, Inertia, Length, Mass, Resistance};
use crate::solve::table::{close, near, rows};

fn rho(v: f64) -> Density {
    Density::kilograms_per_m3(v)
}

fn road(mass: f64, cda: f64, crr: f64, radius: f64) -> RoadLoad {
    RoadLoad {
        mass: Mass::kilograms(mass),
        cda: Area::square_metres(cda),
        spoke_drag_area: Area::ZERO,
        crr,
        bearing: false,
        wheel_inertia: Inertia::ZERO,
        tyre_radius: Length::metres(radius),
        gravity: RoadLoad::STANDARD_GRAVITY,
    }
}

fn speeds_by_gear(system: &DriveSystem, rider: &Rider, road: &RoadLoad, grade: Grade) -> Vec<Climb> {
    let place = Place::still(rho(1.2), grade);
    speed_by_gear_at(system, Assist::FULL, Some(rider), road, place).unwrap()
}

fn restart(system: &DriveSystem, road: &RoadLoad, grade: Grade) -> Acceleration {
    restart_acceleration_under(system, Assist::FULL, Some(&rider(110.0)), road, grade).unwrap()
}

fn rider(watts: f64) -> Rider {
    Rider {
        power: Power::watts(watts),
        crank_torque_max: Torque::newton_metres(30.0),
        preferred_cadence: AngularSpeed::rpm(70.0),
        max_cadence: AngularSpeed::rpm(110.0),
    }
}

/// A 48 V mid-drive of 70 N·m at the crank behind a 15 A controller on a longtail.
fn longtail(ring: u32, cogs: &[u32]) -> DriveSystem {
    let motor = Motor::from_data_sheet(&DataSheet {
        nominal_voltage: Voltage::volts(46.8),
        no_load_speed: AngularSpeed::rpm(130.0),
        no_load_current: Current::amperes(0.8),
        best_efficiency: 0.82,
        max_output_torque: Torque::newton_metres(70.0),
        reduction: 22.0,
        gear_efficiency: 0.92,
    });
    DriveSystem {
        motor: Some(motor.unwrap()),
        place: DrivePlace::Mid,
        gears: Gears {
            ring_teeth: ring,
            least_ring: None,
            cogs: cogs.to_vec(),
            hub_ratios: Vec::new(),
            chain_efficiency: 0.95,
        },
        battery_limit: Current::amperes(15.0),
        fold: None,
        controller_efficiency: 0.96,
        pack: PackState {
            open_circuit: Voltage::volts(48.8),
            resistance: Resistance::ohms(0.1435),
        },
        assist_cutoff: Some(Speed::kilometres_per_hour(25.0)),
    }
}

fn teeth(engaged: Option<Engaged>) -> Option<(u32, u32)> {
    engaged.map(|engaged| (engaged.ring, engaged.cog))
}

fn longtail_road(mass: f64) -> RoadLoad {
    road(mass, 0.75, 0.010, 0.3358)
}

fn unassisted(system: &DriveSystem) -> DriveSystem {
    DriveSystem {
        motor: None,
        ..system.clone()
    }
}

const CASSETTE: [u32; 9] = [11, 13, 15, 17, 20, 23, 26, 30, 34];

#[test]
fn two_rings_ride_as_the_better_of_each() {
    // Definition: the rider takes whichever ring goes faster, or pulls harder from standstill.
    let with = |ring, least| {
        let mut system = longtail(ring, &CASSETTE);
        system.gears.least_ring = least;
        system
    };
    let (both, large, small) = (with(44, Some(28)), with(44, None), with(28, None));
    assert_eq!(both.gears.all().count(), 2 * CASSETTE.len());
    assert_eq!(
        (teeth(both.gears.at(0)), teeth(both.gears.at(17))),
        (Some((44, 11)), Some((28, 34)))
    );
    assert_eq!(
        (both.gears.at(18), teeth(both.gears.lowest())),
        (None, Some((28, 34)))
    );
    let (rider, road) = (rider(110.0), longtail_road(190.0));
    for percent in [0.0, 4.0, 8.0, 10.8, 14.0, 25.0] {
        let grade = Grade::ratio(percent / 100.0);
        let speed = |system: &DriveSystem| {
            steady_climb(system, Some(&rider), &road, rho(1.2), grade)
                .unwrap()
                .speed
                .si()
        };
        let start = |system: &DriveSystem| {
            restart_acceleration_under(system, Assist::FULL, Some(&rider), &road, grade)
                .unwrap()
                .si()
        };
        // Of gears within a thousandth of the fastest the comfortable one is taken.
        let fastest = speed(&large).max(speed(&small));
        assert!(
            speed(&both) >= fastest * (1.0 - 2.0 * AS_FAST)
                && speed(&both) <= fastest * (1.0 + 2.0 * AS_FAST)
        );
        assert!((start(&both) - start(&large).max(start(&small))).abs() < 1e-12);
    }
    let steep = Grade::ratio(0.25);
    let stall = steady_climb(&with(60, Some(50)), Some(&rider), &road, rho(1.2), steep).unwrap();
    assert_eq!((stall.speed, stall.gear), (Speed::ZERO, 17));
}

#[test]
fn reference_machines_alone_as_hub_motors() {
    // Independent solve of the same machines: level and 6 % speeds of 100 kg, CdA 0.50 m², Crr 0.007,
    // rho 1.225 kg/m³ without a rider; 1e-7 relative.
    for row in rows(include_str!("../../../../tests/reference/drive/machines.csv")) {
        let system = DriveSystem {
            motor: Some(Motor {
                resistance: Resistance::ohms(row.number("R_ohm")),
                kt: row.number("Kt"),
                reduction: row.number("N"),
                gear_efficiency: row.number("gear_eff"),
                drag_torque: Torque::newton_metres(row.number("T_drag_Nm")),
                viscous: row.number("c_Nms"),
                phase_limit: Current::amperes(row.number("I_phase_A")),
            }),
            place: DrivePlace::Hub,
            gears: Gears {
                ring_teeth: 42,
                least_ring: None,
                cogs: vec![16, 21],
                hub_ratios: Vec::new(),
                chain_efficiency: 0.95,
            },
            battery_limit: Current::amperes(row.number("I_batt_A")),
            fold: None,
            controller_efficiency: 1.0,
            pack: PackState {
                open_circuit: Voltage::volts(row.number("U0_V")),
                resistance: Resistance::ohms(row.number("Rp_ohm")),
            },
            assist_cutoff: None,
        };
        let road = road(100.0, 0.5, 0.007, row.number("radius_m"));
        let level = top_speed_motor_alone(&system, &road, rho(1.225)).unwrap();
        close(level.speed.si(), row.number("level_top_speed_mps"), 1e-7);
        close(level.motor_power.si(), row.number("level_p_out_W"), 1e-6);
        let battery = level.battery_current.si() * level.pack_voltage.si();
        close(battery, row.number("level_p_batt_W"), 1e-6);
        let climb = steady_climb(&system, None, &road, rho(1.225), Grade::percent(6.0)).unwrap();
        close(climb.speed.si(), row.number("grade6_speed_mps"), 1e-7);
        assert_eq!(climb.limit, Limit::BatteryCurrent);
    }
}

#[test]
fn without_a_motor_the_rider_goes_at_the_road_models_speed() {
    let system = unassisted(&longtail(42, &CASSETTE));
    let road = road(95.0, 0.5, 0.007, 0.34);
    for (watts, grade) in [(60.0, 0.0), (120.0, 0.0), (180.0, 2.0)] {
        let grade = Grade::percent(grade);
        let climb = steady_climb(&system, Some(&rider(watts)), &road, rho(1.2), grade).unwrap();
        let alone = road
            .steady_speed(Power::watts(watts * 0.95), grade, Speed::ZERO, rho(1.2))
            .unwrap();
        close(climb.speed.si(), alone.si(), 1e-9);
        assert_eq!(climb.limit, Limit::NoMotor);
        close(climb.rider_power.si(), watts, 1e-9);
        assert_eq!(climb.motor_power, Power::ZERO);
    }
}

#[test]
fn of_equal_gears_the_comfortable_one_is_named() {
    let system = unassisted(&longtail(42, &CASSETTE));
    let climb = steady_climb(
        &system,
        Some(&rider(120.0)),
        &longtail_road(100.0),
        rho(1.2),
        Grade::LEVEL,
    )
    .unwrap();
    assert!((55.0..85.0).contains(&climb.cadence.as_rpm()), "{climb:?}");
}

#[test]
fn power_balances_on_every_climb() {
    let road = longtail_road(190.0);
    let other = DrivePlace::OtherHub {
        tyre_radius: Length::metres(0.258),
    };
    for place in [DrivePlace::Mid, DrivePlace::Hub, other] {
        for percent in [0.0, 3.0, 7.0, 9.0] {
            let system = DriveSystem {
                place,
                ..longtail(38, &CASSETTE)
            };
            let grade = Grade::percent(percent);
            for climb in speeds_by_gear(&system, &rider(110.0), &road, grade) {
                if climb.speed == Speed::ZERO {
                    continue;
                }
                let (motor, legs) = (climb.motor_power.si(), climb.rider_power.si());
                let at_wheel = match place {
                    DrivePlace::Mid => 0.95 * (motor + legs),
                    DrivePlace::Hub | DrivePlace::OtherHub { .. } => motor + 0.95 * legs,
                };
                let need = road
                    .wheel_power(climb.speed, grade, Speed::ZERO, rho(1.2))
                    .total()
                    .si();
                close(at_wheel, need, 1e-6);
            }
        }
    }
}

#[test]
fn a_motor_in_a_smaller_wheel_pulls_more_and_turns_faster() {
    // First principles: force is torque over the radius of the motor's own wheel; the same speed is a turn more often.
    let (small, large) = (0.258, 0.3345);
    let road = road(120.0, 0.5, 0.008, large);
    let in_wheel = |radius: f64| DriveSystem {
        place: DrivePlace::OtherHub {
            tyre_radius: Length::metres(radius),
        },
        assist_cutoff: None,
        ..longtail(38, &CASSETTE)
    };
    let start = |system: &DriveSystem| restart(system, &road, Grade::percent(5.0)).si();
    let hub = DriveSystem {
        place: DrivePlace::Hub,
        ..in_wheel(large)
    };
    assert_eq!(
        start(&in_wheel(large)),
        start(&hub),
        "a wheel as large as the chain's is no other"
    );
    let motor = hub.motor.as_ref().unwrap().stall_torque().si();
    let gained = motor * (1.0 / small - 1.0 / large) / road.equivalent_mass().si();
    close(start(&in_wheel(small)) - start(&hub), gained, 1e-9);
    let alone = |system: &DriveSystem| top_speed_motor_alone(system, &road, rho(1.2)).unwrap();
    let slow = alone(&in_wheel(small));
    assert!(slow.speed < alone(&hub).speed);
    close(slow.motor_speed.si() * small, slow.speed.si(), 1e-9);
    let none = in_wheel(0.0);
    assert!(top_speed_motor_alone(&none, &road, rho(1.2)).is_err());
}

#[test]
fn more_mass_grade_or_drag_is_never_faster() {
    let system = DriveSystem {
        assist_cutoff: None,
        ..longtail(38, &CASSETTE)
    };
    let speed = |road: &RoadLoad, percent: f64| {
        steady_climb(
            &system,
            Some(&rider(110.0)),
            road,
            rho(1.2),
            Grade::percent(percent),
        )
        .unwrap()
        .speed
    };
    let mut before = Speed::metres_per_second(100.0);
    for half_percent in 0..40 {
        let percent = f64::from(half_percent) * 0.5;
        let v = speed(&longtail_road(190.0), percent);
        assert!(v <= before, "{percent} %");
        assert!(speed(&longtail_road(200.0), percent) <= v);
        assert!(
            speed(
                &RoadLoad {
                    cda: Area::square_metres(0.85),
                    ..longtail_road(190.0)
                },
                percent
            ) <= v
        );
        assert!(
            speed(
                &RoadLoad {
                    crr: 0.012,
                    ..longtail_road(190.0)
                },
                percent
            ) <= v
        );
        before = v;
    }
}

#[test]
fn the_speed_is_stable() {
    let system = longtail(42, &CASSETTE);
    let road = longtail_road(190.0);
    let place = Place::still(rho(1.2), Grade::percent(8.0));
    for cog in CASSETTE {
        let rider = rider(110.0);
        let gear = Gear::new(42, cog).unwrap();
        let run = Run::new(&system, Some(&rider), &road, place, gear);
        let v = run.equilibrium();
        assert!(run.surplus(v + 0.01) < 0.0);
        assert!(v == 0.0 || run.surplus(v - 0.01) > 0.0);
    }
}

/// Halving finds the same speed whatever the force does on the way: on every slope, in any wind, from any speed below it,
/// and where help, a taper or legs end.
#[test]
fn every_speed_is_the_one_that_halving_finds() {
    let road = longtail_road(150.0);
    let (strong, weak) = (rider(260.0), rider(60.0));
    let kilometres = Speed::kilometres_per_hour;
    let throttle = |up_to: f64| {
        Assist::plain(Policy::Throttle {
            power: Power::watts(180.0),
            up_to: Some(kilometres(up_to)),
        })
    };
    let tapered = Assist {
        taper: Some(Taper::new(kilometres(25.0), kilometres(2.0)).unwrap()),
        ..Assist::FULL
    };
    let mut at_an_end = 0;
    for (percent, headwind) in [
        (-4.0, 0.0),
        (0.0, 0.0),
        (0.0, -4.0),
        (1.0, 3.0),
        (3.0, 0.0),
        (6.0, -2.0),
        (12.0, 0.0),
        (30.0, 0.0),
    ] {
        let place = Place {
            headwind: Speed::metres_per_second(headwind),
            ..Place::still(rho(1.2), Grade::percent(percent))
        };
        for (assist, rider) in [
            (Assist::FULL, &strong),
            (Assist::FULL, &weak),
            (tapered, &weak),
            (throttle(12.0), &weak),
            (throttle(25.0), &weak),
        ] {
            for radius in [0.3, 0.334, 0.35, 0.358] {
                let road = RoadLoad {
                    tyre_radius: Length::metres(radius),
                    ..road
                };
                let system = longtail(42, &CASSETTE);
                for cog in CASSETTE {
                    let gear = Gear::new(42, cog).unwrap();
                    let run = Run::new(&system, Some(rider), &road, place, gear).under(assist);
                    let (found, halved) = (run.equilibrium(), run.halved());
                    let told = format!("{percent} %, {headwind} m/s, {assist:?}, {radius} m on {cog}");
                    assert!(
                        (found - halved).abs() <= 1e-11 * halved.max(1.0),
                        "{told}: {found}, {halved}"
                    );
                    if found > 0.0 {
                        let again = run.equilibrium_above(0.7 * found);
                        assert!((again - found).abs() <= 1e-12 * found, "{told}: {found}, {again}");
                        at_an_end += usize::from(run.surplus(found) > 1.0);
                    }
                }
            }
        }
    }
    assert!(at_an_end > 100, "{at_an_end} speeds at an end of help or legs");
}

#[test]
fn the_cut_off_holds_the_speed_and_the_motor_gives_what_is_missing() {
    let system = longtail(42, &CASSETTE);
    let road = longtail_road(120.0);
    let climb = steady_climb(&system, Some(&rider(90.0)), &road, rho(1.2), Grade::LEVEL).unwrap();
    near(climb.speed.as_kilometres_per_hour(), 25.0, 1e-6);
    assert_eq!(climb.limit, Limit::AssistCutoff);
    let need = road
        .wheel_power(climb.speed, Grade::LEVEL, Speed::ZERO, rho(1.2))
        .total()
        .si();
    close(0.95 * (climb.motor_power.si() + 90.0), need, 1e-6);
    assert!(climb.battery_current.si() < 15.0);
    // A strong rider goes faster than the cut-off, alone.
    let strong = steady_climb(&system, Some(&rider(300.0)), &road, rho(1.2), Grade::LEVEL).unwrap();
    let alone = road
        .steady_speed(Power::watts(285.0), Grade::LEVEL, Speed::ZERO, rho(1.2))
        .unwrap();
    close(strong.speed.si(), alone.si(), 1e-9);
    assert_eq!(strong.motor_power, Power::ZERO);
}

#[test]
fn the_riders_cadence_limits_a_low_gear() {
    let system = DriveSystem {
        assist_cutoff: None,
        ..longtail(34, &[34])
    };
    let climb = steady_climb(
        &system,
        Some(&rider(110.0)),
        &longtail_road(120.0),
        rho(1.2),
        Grade::LEVEL,
    )
    .unwrap();
    assert_eq!(climb.limit, Limit::Cadence);
    near(climb.cadence.as_rpm(), 110.0, 1e-6);
}

#[test]
fn a_hill_too_steep_stalls_without_an_error() {
    let system = longtail(42, &CASSETTE);
    let grade = Grade::percent(20.0);
    let climb = steady_climb(
        &system,
        Some(&rider(110.0)),
        &longtail_road(190.0),
        rho(1.2),
        grade,
    )
    .unwrap();
    assert_eq!(climb.speed, Speed::ZERO);
    assert_eq!(CASSETTE[climb.gear], 34);
    assert_eq!(climb.limit, Limit::PhaseCurrent);
    assert!(climb.motor_loss.si() > 0.0 && climb.motor_power == Power::ZERO);
    let start = restart(&system, &longtail_road(190.0), grade);
    assert!(start.si() < 0.0);
}

#[test]
fn restart_is_the_surplus_force_over_the_mass() {
    // Workshop arithmetic (no source, g 9.81): 70 + 30 N·m through 42/34, 0.95, 0.3358 m is 229.0 N; 8 % and Crr
    // 0.010 of 190 kg is 167.2 N; 61.8/190 = 0.33 m/s²; on 10.8 % only 0.05 m/s².
    let system = longtail(42, &CASSETTE);
    let road = longtail_road(190.0);
    let at = |percent: f64| restart(&system, &road, Grade::percent(percent)).si();
    near(at(8.0), 0.33, 0.01);
    near(at(10.8), 0.05, 0.01);
    // Wheels that must be spun up take part of the force.
    let heavy = RoadLoad {
        wheel_inertia: Inertia::kilogram_m2(0.25),
        ..road
    };
    let slower = restart(&system, &heavy, Grade::percent(8.0));
    close(
        slower.si() / at(8.0),
        190.0 / (190.0 + 0.25 / 0.3358f64.powi(2)),
        1e-12,
    );
}

#[test]
fn regearing_a_longtail_on_a_measured_hill() {
    // Workshop example (no source; fixed efficiencies there, the motor map here), 190 kg on 10.8 %, 110 W rider:
    // 42/34 6.3 km/h torque-limited, 38/34 8.5, 38/36 10.3 power-limited; restart 0.05, 0.18, 0.26, 0.34 (36/36),
    // 0.43 (34/36) m/s². Torque-limited speeds to 2 % (the same balance),
    // power-limited ones to 15 % (efficiencies differ).
    let road = longtail_road(190.0);
    let grade = Grade::percent(10.8);
    let of = |ring: u32, cog: u32| {
        let system = longtail(ring, &[cog]);
        let climb = steady_climb(&system, Some(&rider(110.0)), &road, rho(1.2), grade).unwrap();
        let restart = restart(&system, &road, grade);
        (climb, restart.si())
    };
    let (built, restart_built) = of(42, 34);
    assert_eq!(built.limit, Limit::PhaseCurrent);
    close(built.speed.as_kilometres_per_hour(), 6.3, 0.02);
    near(restart_built, 0.05, 0.01);
    let (ring, restart_ring) = of(38, 34);
    let (both, restart_both) = of(38, 36);
    assert!(built.speed < ring.speed && ring.speed < both.speed);
    close(ring.speed.as_kilometres_per_hour(), 8.5, 0.02);
    close(both.speed.as_kilometres_per_hour(), 10.3, 0.15);
    near(restart_ring, 0.18, 0.01);
    near(restart_both, 0.26, 0.01);
    near(of(36, 36).1, 0.34, 0.01);
    near(of(34, 36).1, 0.43, 0.01);
}

#[test]
fn a_told_hill_of_eight_percent_looks_easy() {
    // Workshop example: 42/34 on 8 % 13.3 km/h power-limited, on 10.4 % 7.1 km/h torque-limited; to 15 % and 2 %.
    let system = longtail(42, &CASSETTE);
    let at = |percent: f64| {
        steady_climb(
            &system,
            Some(&rider(110.0)),
            &longtail_road(190.0),
            rho(1.2),
            Grade::percent(percent),
        )
        .unwrap()
    };
    close(at(8.0).speed.as_kilometres_per_hour(), 13.3, 0.15);
    close(at(10.4).speed.as_kilometres_per_hour(), 7.1, 0.02);
    assert_eq!(at(10.4).limit, Limit::PhaseCurrent);
}

#[test]
fn impossible_systems_are_refused() {
    let system = longtail(42, &CASSETTE);
    let road = longtail_road(120.0);
    let refuse = |system: &DriveSystem, rider: &Rider, road: &RoadLoad| {
        steady_climb(system, Some(rider), road, rho(1.2), Grade::LEVEL).unwrap_err()
    };
    let none = DriveSystem {
        gears: Gears {
            cogs: vec![],
            ..system.gears.clone()
        },
        ..system.clone()
    };
    assert_eq!(refuse(&none, &rider(100.0), &road), PerformanceError::NoGears);
    let tiny = DriveSystem {
        gears: Gears {
            cogs: vec![3],
            ..system.gears.clone()
        },
        ..system.clone()
    };
    assert!(matches!(
        refuse(&tiny, &rider(100.0), &road),
        PerformanceError::Gear(_)
    ));
    let magic = DriveSystem {
        controller_efficiency: 1.1,
        ..system.clone()
    };
    assert!(matches!(
        refuse(&magic, &rider(100.0), &road),
        PerformanceError::Input {
            name: "controller_efficiency",
            ..
        }
    ));
    assert!(matches!(
        refuse(&system, &rider(-5.0), &road),
        PerformanceError::Input {
            name: "rider.power",
            ..
        }
    ));
    assert!(matches!(
        refuse(&system, &rider(100.0), &longtail_road(0.0)),
        PerformanceError::Road(_)
    ));
}

#[test]
fn gears_faster_than_a_floor_have_their_speeds_and_the_others_none() {
    let system = longtail(42, &CASSETTE);
    let road = longtail_road(187.0);
    let rider = rider(110.0);
    for percent in [0.0, 4.0, 10.8, 20.0, 40.0] {
        let grade = Grade::percent(percent);
        let by_gear = speeds_by_gear(&system, &rider, &road, grade);
        for floor in [0.0, 1.0, 1.75, 3.0, 6.0] {
            let floor = Speed::from_si(floor);
            let above = speeds_above(
                &system,
                Assist::FULL,
                Some(&rider),
                &road,
                Place::still(rho(1.2), grade),
                floor,
            )
            .unwrap();
            assert_eq!(above.len(), by_gear.len());
            for (above, climb) in above.into_iter().zip(&by_gear) {
                assert_eq!(
                    above,
                    (climb.speed > floor).then_some(climb.speed),
                    "{percent} {floor:?}"
                );
            }
        }
    }
    let toothless = DriveSystem {
        gears: Gears {
            cogs: Vec::new(),
            ..system.gears.clone()
        },
        ..system
    };
    let none = speeds_above(
        &toothless,
        Assist::FULL,
        None,
        &road,
        Place::still(rho(1.2), Grade::LEVEL),
        Speed::ZERO,
    );
    assert_eq!(none, Err(PerformanceError::NoGears));
}

#[test]
fn a_cut_off_holds_the_pack_at_its_volts_on_the_hill_and_takes_no_more_than_it_must() {
    // By hand: 48.8 V at rest less 47.5 V over 0.1435 ohm leaves 9.06 A of 15 A, and 47.5 V at the terminals; 46.5 V would
    // allow 16 A, more than the controller draws.
    let at = |cutoff: f64| {
        let system = DriveSystem {
            fold: Some(FoldBack::at_cutoff(Voltage::volts(cutoff))),
            ..longtail(42, &CASSETTE)
        };
        steady_climb(
            &system,
            Some(&rider(150.0)),
            &longtail_road(190.0),
            rho(1.2),
            Grade::percent(8.0),
        )
        .unwrap()
    };
    let free = steady_climb(
        &longtail(42, &CASSETTE),
        Some(&rider(150.0)),
        &longtail_road(190.0),
        rho(1.2),
        Grade::percent(8.0),
    )
    .unwrap();
    assert_eq!((at(46.5), free.limit), (free, Limit::BatteryCurrent));
    let held = at(47.5);
    assert_eq!(held.limit, Limit::LowVoltage);
    near(held.battery_current.as_amperes(), 9.06, 0.005);
    near(held.pack_voltage.as_volts(), 47.5, 1e-6);
    assert!(held.speed < free.speed);
    // A pack that rests below it drives nothing.
    let none = at(48.9);
    assert_eq!(
        (none.motor_power, none.battery_current),
        (Power::ZERO, Current::ZERO)
    );
    let wild = DriveSystem {
        fold: Some(FoldBack::at_cutoff(Voltage::volts(f64::NAN))),
        ..longtail(42, &CASSETTE)
    };
    let road = longtail_road(190.0);
    let refused = steady_climb(&wild, None, &road, rho(1.2), Grade::LEVEL);
    assert!(matches!(refused, Err(PerformanceError::Fold(_))));
}
