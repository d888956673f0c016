//! Tests of steady rides under an assist policy: closed forms, ends, tapers.

use super::*;
use crate::assist::{Policy, Taper};

fn watts(w: f64) -> Power {
    Power::watts(w)
}

fn kmh(v: f64) -> Speed {
    Speed::kilometres_per_hour(v)
}

/// A hub of plenty, so that the policy decides: 48 V, 0.1 Ω, 60 A of phase and 40 A of battery.
fn hub() -> DriveSystem {
    DriveSystem {
        motor: Some(Motor {
            resistance: Resistance::ohms(0.10),
            kt: 0.20,
            reduction: 4.5,
            gear_efficiency: 0.95,
            drag_torque: Torque::newton_metres(0.05),
            viscous: 0.0,
            phase_limit: Current::amperes(60.0),
        }),
        place: DrivePlace::Hub,
        battery_limit: Current::amperes(40.0),
        fold: None,
        assist_cutoff: None,
        ..longtail(42, &CASSETTE)
    }
}

fn mid() -> DriveSystem {
    DriveSystem {
        assist_cutoff: None,
        ..longtail(42, &CASSETTE)
    }
}

fn climb(system: &DriveSystem, assist: Assist, rider: Option<&Rider>, percent: f64) -> Climb {
    let place = Place::still(rho(1.2), Grade::percent(percent));
    steady_climb_at(system, assist, rider, &longtail_road(120.0), place).unwrap()
}

fn speed_at(power: f64, percent: f64) -> f64 {
    longtail_road(120.0)
        .steady_speed(watts(power), Grade::percent(percent), Speed::ZERO, rho(1.2))
        .unwrap()
        .si()
}

fn sensor(ratio: f64, most: f64) -> Assist {
    Assist::plain(Policy::TorqueSensor {
        ratio,
        most: watts(most),
    })
}

#[test]
fn a_torque_sensor_on_hub_and_crank_is_the_road_models_speed() {
    // Closed form: hub k·P + eta·P at the wheel, crank eta·(1 + k)·P; eta 0.95.
    for percent in [0.0, 2.0, 4.0] {
        for ratio in [0.0, 0.5, 1.5] {
            let hub = climb(&hub(), sensor(ratio, 1e4), Some(&rider(100.0)), percent);
            close(hub.speed.si(), speed_at(100.0 * (ratio + 0.95), percent), 1e-9);
            close(hub.motor_power.si(), 100.0 * ratio, 1e-7);
            close(hub.rider_power.si(), 100.0, 1e-7);
            let mid = climb(&mid(), sensor(ratio, 1e4), Some(&rider(100.0)), percent);
            close(mid.speed.si(), speed_at(95.0 * (1.0 + ratio), percent), 1e-9);
            assert_eq!((hub.limit, mid.limit), (Limit::AssistLevel, Limit::AssistLevel));
        }
    }
    // The cap counts from where the ratio would give more.
    let capped = climb(&hub(), sensor(3.0, 180.0), Some(&rider(100.0)), 0.0);
    close(capped.speed.si(), speed_at(180.0 + 95.0, 0.0), 1e-9);
    // Nobody pushes, nothing helps.
    let alone = climb(&hub(), sensor(3.0, 180.0), None, 0.0);
    assert_eq!(alone.speed, Speed::ZERO);
    // More than the drive can is all that the drive can.
    let greedy = climb(&mid(), sensor(20.0, 1e4), Some(&rider(110.0)), 10.0);
    assert_eq!(greedy, climb(&mid(), Assist::FULL, Some(&rider(110.0)), 10.0));
    assert_ne!(greedy.limit, Limit::AssistLevel);
}

#[test]
fn without_assist_it_is_a_bicycle() {
    let off = climb(&hub(), Assist::OFF, Some(&rider(120.0)), 1.0);
    close(off.speed.si(), speed_at(0.95 * 120.0, 1.0), 1e-9);
    assert_eq!(
        (off.motor_power, off.battery_current, off.limit),
        (Power::ZERO, Current::ZERO, Limit::NoMotor)
    );
}

#[test]
fn a_cadence_sensor_adds_its_power_once_it_rolls() {
    let assist = Assist::plain(Policy::CadenceSensor { power: watts(150.0) });
    let with = climb(&hub(), assist, Some(&rider(80.0)), 0.0);
    close(with.speed.si(), speed_at(150.0 + 0.95 * 80.0, 0.0), 1e-9);
    // A hill that the legs alone do not start on is still held once the bicycle rolls.
    let steep = climb(&hub(), assist, Some(&rider(80.0)), 12.0);
    close(steep.speed.si(), speed_at(150.0 + 0.95 * 80.0, 12.0), 1e-9);
    assert_eq!(
        climb(&hub(), Assist::OFF, Some(&rider(80.0)), 25.0).speed,
        Speed::ZERO
    );
}

#[test]
fn a_throttle_drives_alone_to_its_last_speed_and_past_the_legs() {
    let thumb = |power, up_to: Option<f64>| {
        Assist::plain(Policy::Throttle {
            power: watts(power),
            up_to: up_to.map(kmh),
        })
    };
    let free = climb(&hub(), thumb(300.0, None), None, 0.0);
    close(free.speed.si(), speed_at(300.0, 0.0), 1e-9);
    let ended = climb(&hub(), thumb(300.0, Some(20.0)), None, 0.0);
    near(ended.speed.as_kilometres_per_hour(), 20.0, 1e-6);
    assert_eq!(ended.limit, Limit::AssistCutoff);
    assert!(ended.motor_power.si() < 300.0 && ended.motor_power.si() > 100.0);
    // In a low gear the legs spin out and the thumb goes on; a sensor stops with the legs.
    let low = DriveSystem {
        gears: Gears {
            ring_teeth: 30,
            least_ring: None,
            cogs: vec![34],
            hub_ratios: Vec::new(),
            chain_efficiency: 0.95,
        },
        ..hub()
    };
    let on = climb(&low, thumb(300.0, None), Some(&rider(80.0)), 0.0);
    close(on.speed.si(), speed_at(300.0, 0.0), 1e-9);
    assert_eq!((on.rider_power, on.limit), (Power::ZERO, Limit::AssistLevel));
    // With less of it the thumb alone falls back to the legs, and their cadence holds the speed.
    let less = climb(&low, thumb(40.0, None), Some(&rider(150.0)), 0.0);
    assert_eq!(less.limit, Limit::Cadence);
    near(less.cadence.as_rpm(), 110.0, 1e-6);
    // Downhill past the legs a sensor's motor is as still as they are; a thumb's is not.
    let falling = climb(&low, sensor(4.0, 300.0), Some(&rider(80.0)), -6.0);
    assert_eq!(
        (falling.limit, falling.motor_power),
        (Limit::Cadence, Power::ZERO)
    );
    let pushed = climb(&low, thumb(300.0, None), Some(&rider(80.0)), -6.0);
    assert_eq!(pushed.limit, Limit::AssistLevel);
    close(pushed.speed.si(), speed_at(300.0, -6.0), 1e-9);
    let stops = climb(&low, sensor(4.0, 300.0), Some(&rider(80.0)), 0.0);
    assert_eq!(stops.limit, Limit::Cadence);
    near(stops.cadence.as_rpm(), 110.0, 1e-6);
}

#[test]
fn a_taper_gives_its_share_where_the_speed_settles() {
    let taper = Taper::new(kmh(25.0), kmh(6.0)).unwrap();
    let tapered = Assist {
        taper: Some(taper),
        ..sensor(2.0, 250.0)
    };
    for percent in [0.0, 1.0, 2.0] {
        let with = climb(&hub(), tapered, Some(&rider(100.0)), percent);
        let without = climb(&hub(), sensor(2.0, 250.0), Some(&rider(100.0)), percent);
        assert!(with.speed < without.speed && with.speed < kmh(25.0));
        assert!(with.speed > kmh(19.0), "inside the band: {:?}", with.speed);
        close(with.motor_power.si(), 200.0 * taper.share(with.speed), 1e-7);
        assert_eq!(with.limit, Limit::AssistLevel);
    }
    // Below the band the taper changes nothing; above the cut-off strong legs go alone.
    let steep = climb(&hub(), tapered, Some(&rider(100.0)), 6.0);
    assert_eq!(steep, climb(&hub(), sensor(2.0, 250.0), Some(&rider(100.0)), 6.0));
    let strong = climb(&hub(), tapered, Some(&rider(300.0)), 0.0);
    close(strong.speed.si(), speed_at(0.95 * 300.0, 0.0), 1e-9);
    assert!(strong.speed > kmh(25.0));
}

#[test]
fn an_operator_of_170_pounds_on_motor_alone() {
    // 15 U.S.C. 2085(b): less than 20 mph on the level, motor alone, operator of 170 lb. Worked out apart, 238 W at
    // the wheel for CdA 0.45, Crr 0.005; 308 W for 0.55, 0.008; 350 W for 0.65, 0.008; bicycle 20 to 30 kg, rho
    // 1.2, so 1 %.
    for (power, cda, crr) in [(238.0, 0.45, 0.005), (308.0, 0.55, 0.008), (350.0, 0.65, 0.008)] {
        let mass = Mass::pounds(170.0).as_kilograms() + 25.0;
        let road = road(mass, cda, crr, 0.34);
        let thumb = Assist::plain(Policy::Throttle {
            power: watts(power),
            up_to: None,
        });
        let alone =
            steady_climb_at(&hub(), thumb, None, &road, Place::still(rho(1.2), Grade::LEVEL)).unwrap();
        close(alone.speed.as_miles_per_hour(), 20.0, 0.01);
        // With all it has this motor goes faster, and at a fifth of the charge slower than when full.
        let full = top_speed_motor_alone(&hub(), &road, rho(1.2)).unwrap();
        let low = DriveSystem {
            pack: PackState {
                open_circuit: Voltage::volts(45.3),
                resistance: Resistance::ohms(0.16),
            },
            ..hub()
        };
        let low = top_speed_motor_alone(&low, &road, rho(1.2)).unwrap();
        assert!(full.speed > alone.speed && low.speed < full.speed);
    }
}

#[test]
fn more_mass_grade_or_drag_is_never_faster_under_any_policy() {
    let taper = Some(Taper::new(kmh(25.0), Taper::USUAL_BAND).unwrap());
    let throttle = Policy::Throttle {
        power: watts(300.0),
        up_to: Some(kmh(20.0)),
    };
    for policy in [
        sensor(1.5, 250.0).policy,
        Policy::CadenceSensor { power: watts(200.0) },
        throttle,
    ] {
        for taper in [None, taper] {
            let assist = Assist { policy, taper };
            let speed = |road: &RoadLoad, percent: f64| {
                let grade = Grade::percent(percent);
                steady_climb_at(
                    &hub(),
                    assist,
                    Some(&rider(100.0)),
                    road,
                    Place::still(rho(1.2), grade),
                )
                .unwrap()
                .speed
                .si()
            };
            let mut before = f64::INFINITY;
            for percent in -4..20 {
                let percent = f64::from(percent);
                let base = longtail_road(120.0);
                let v = speed(&base, percent);
                // The best gear is named within a thousandth.
                assert!(v <= before * (1.0 + 1e-3), "{assist:?} at {percent} %");
                let (heavy, bluff) = (longtail_road(130.0), road(120.0, 0.85, 0.010, 0.3358));
                assert!(percent < -1.0 || speed(&heavy, percent) <= v * (1.0 + 1e-3));
                assert!(speed(&bluff, percent) <= v * (1.0 + 1e-3));
                before = v;
            }
        }
    }
}

#[test]
fn an_assist_out_of_range_is_refused() {
    let place = Place::still(rho(1.2), Grade::LEVEL);
    let refused = steady_climb_at(&hub(), sensor(21.0, 250.0), None, &longtail_road(120.0), place);
    assert!(matches!(refused, Err(PerformanceError::Assist(_))));
}

#[test]
fn a_wind_counts_like_the_speed_it_adds_to_the_air() {
    let at = |headwind: f64| {
        let place = Place {
            headwind: Speed::from_si(headwind),
            ..Place::still(rho(1.2), Grade::LEVEL)
        };
        let assist = sensor(1.0, 250.0);
        steady_climb_at(&hub(), assist, Some(&rider(100.0)), &longtail_road(120.0), place)
    };
    let speed = |headwind: f64| at(headwind).unwrap().speed.si();
    // More wind never raises the speed (standard physics test).
    for step in -6..6 {
        let (less, more) = (f64::from(step), f64::from(step + 1));
        assert!(speed(more) <= speed(less) + 1e-9, "{less}");
    }
    assert!(speed(3.0) < speed(0.0) - 0.5 && speed(-3.0) > speed(0.0) + 0.5);
    // The forces balance: what the wheel gets is what the road asks in that wind.
    let found = at(3.0).unwrap();
    let asked = longtail_road(120.0).wheel_power(found.speed, Grade::LEVEL, Speed::from_si(3.0), rho(1.2));
    let given = found.motor_power + found.rider_power * hub().gears.chain_efficiency;
    close(given.si(), asked.total().si(), 1e-6);
    assert!(matches!(
        at(f64::NAN),
        Err(PerformanceError::Input { name: "headwind", .. })
    ));
}
