//! Tests of the assist: the published Japanese rule, closed forms, both sides of every edge.

use super::*;
use crate::solve::table::{close, near};

fn watts(w: f64) -> Power {
    Power::watts(w)
}

fn kmh(v: f64) -> Speed {
    Speed::kilometres_per_hour(v)
}

fn legs(power: f64, rpm: f64) -> Legs {
    Legs::new(watts(power), Torque::newton_metres(30.0), AngularSpeed::rpm(rpm))
}

const PLENTY: Power = Power::from_si(1e9);

/// A hub in a wheel of 0.34 m behind 42/21: the crank turns half as fast as the wheel.
fn hub(v: f64) -> Output {
    Output {
        speed: AngularSpeed::from_si(v / 0.34),
        crank_turns: 0.5,
        road: Length::metres(0.34),
    }
}

fn pull(torque: f64) -> Pull {
    Pull {
        torque: Torque::newton_metres(torque),
        slope: 0.0,
    }
}

fn policies() -> [Policy; 5] {
    [
        Policy::Off,
        Policy::Full,
        Policy::TorqueSensor {
            ratio: 1.5,
            most: watts(250.0),
        },
        Policy::CadenceSensor { power: watts(200.0) },
        Policy::Throttle {
            power: watts(300.0),
            up_to: Some(kmh(20.0)),
        },
    ]
}

#[test]
fn torque_of_the_legs() {
    // Crank torque P/w from a table of rider torques (arithmetic): 75 W at 60 rpm 11.9, 150 W at 70 rpm 20.5,
    // 250 W at 80 rpm 29.8 N·m; the range-test rider of 70 W at 60 rpm 11.1 N·m.
    for (power, rpm, torque) in [
        (75.0, 60.0, 11.9),
        (150.0, 70.0, 20.5),
        (250.0, 80.0, 29.8),
        (70.0, 60.0, 11.1),
    ] {
        near(legs(power, rpm).torque.si(), torque, 0.06);
        close(legs(power, rpm).power().si(), power, 1e-14);
        assert!(legs(power, rpm).steady_power);
    }
    // Below the cadence where 30 N·m give the power the torque is held.
    let slow = legs(150.0, 40.0);
    assert_eq!(slow.torque, Torque::newton_metres(30.0));
    assert!(!slow.steady_power);
    near(
        slow.power().si(),
        30.0 * 40.0 * std::f64::consts::TAU / 60.0,
        1e-9,
    );
    assert_eq!(legs(150.0, 0.0).torque, Torque::newton_metres(30.0));
    assert_eq!(legs(0.0, 0.0), Legs::NONE);
    assert_eq!(legs(0.0, 60.0).torque, Torque::ZERO);
}

#[test]
fn the_japanese_rule_of_the_ratio() {
    // Road traffic rules of Japan as newspapers restate them (2008): the motor gives at most twice the rider's
    // power below 10 km/h and 2 − (v − 10)/7 times it up to 24 km/h: 1 at 17, 0.5 at 20.5, 0 from 24 km/h.
    let assist = Assist {
        policy: Policy::TorqueSensor {
            ratio: 2.0,
            most: watts(1_000.0),
        },
        taper: Some(Taper::new(kmh(24.0), kmh(14.0)).unwrap()),
    };
    for (v, ratio) in [
        (0.0, 2.0),
        (10.0, 2.0),
        (13.5, 1.5),
        (17.0, 1.0),
        (20.5, 0.5),
        (24.0, 0.0),
        (40.0, 0.0),
    ] {
        near(
            assist.power(legs(100.0, 60.0), kmh(v), PLENTY).si(),
            100.0 * ratio,
            1e-9,
        );
        let output = Output {
            speed: AngularSpeed::rpm(60.0),
            crank_turns: 1.0,
            road: Length::metres(kmh(v).si() / AngularSpeed::rpm(60.0).si()),
        };
        let torque = assist.torque(legs(100.0, 60.0), output, pull(1e9)).torque;
        near(torque.si() * AngularSpeed::rpm(60.0).si(), 100.0 * ratio, 1e-9);
    }
}

#[test]
fn a_torque_sensor_multiplies_up_to_its_cap() {
    // A published range-test rider: 70 W with 200 % assist is 140 W from the motor.
    let assist = Assist::plain(Policy::TorqueSensor {
        ratio: 2.0,
        most: watts(250.0),
    });
    let power = |w: f64| assist.power(legs(w, 60.0), kmh(20.0), PLENTY).si();
    close(power(70.0), 140.0, 1e-14);
    close(power(125.0), 250.0, 1e-14);
    close(power(180.0), 250.0, 1e-14);
    assert_eq!(power(0.0), 0.0);
    close(
        assist.power(legs(70.0, 60.0), kmh(20.0), watts(90.0)).si(),
        90.0,
        1e-14,
    );
    // At standstill the torque still follows the pedal: 2 × 30 N·m through half the crank's turns.
    let standing = assist.torque(legs(70.0, 0.0), hub(0.0), pull(1e3));
    close(standing.torque.si(), 30.0, 1e-14);
    let weak = assist.torque(legs(70.0, 0.0), hub(0.0), pull(12.0));
    close(weak.torque.si(), 12.0, 1e-14);
}

#[test]
fn a_cadence_sensor_gives_its_power_only_while_pedalling() {
    let assist = Assist::plain(Policy::CadenceSensor { power: watts(200.0) });
    let at = |legs| assist.power(legs, kmh(15.0), PLENTY).si();
    assert_eq!(at(legs(1.0, 60.0)), 200.0);
    assert_eq!(at(legs(150.0, 60.0)), 200.0);
    assert_eq!(at(legs(0.0, 60.0)), 0.0);
    assert_eq!(at(Legs::NONE), 0.0);
    assert_eq!(at(legs(150.0, 0.0)), 0.0, "at standstill it waits");
    assert_eq!(assist.torque(legs(0.0, 60.0), hub(3.0), pull(50.0)), Pull::NONE);
    assert_eq!(assist.torque(legs(90.0, 0.0), hub(0.0), pull(50.0)), Pull::NONE);
    close(
        assist.torque(legs(90.0, 60.0), hub(3.4), pull(50.0)).torque.si(),
        20.0,
        1e-12,
    );
}

#[test]
fn a_throttle_needs_no_legs_and_ends_after_its_last_speed() {
    let assist = Assist::plain(Policy::Throttle {
        power: watts(300.0),
        up_to: Some(kmh(6.0)),
    });
    assert_eq!(assist.power(Legs::NONE, kmh(6.0), PLENTY), watts(300.0));
    assert_eq!(assist.power(Legs::NONE, kmh(6.001), PLENTY), Power::ZERO);
    assert_eq!(assist.torque(Legs::NONE, hub(1.66), pull(40.0)), pull(40.0));
    assert_eq!(assist.torque(Legs::NONE, hub(1.67), pull(40.0)), Pull::NONE);
    assert_eq!(assist.torque(Legs::NONE, hub(0.0), pull(40.0)), pull(40.0));
    let anywhere = Assist::plain(Policy::Throttle {
        power: watts(300.0),
        up_to: None,
    });
    assert_eq!(anywhere.power(Legs::NONE, kmh(60.0), PLENTY), watts(300.0));
    let idle = Assist::plain(Policy::Throttle {
        power: Power::ZERO,
        up_to: None,
    });
    assert_eq!(idle.torque(Legs::NONE, hub(0.0), pull(40.0)), Pull::NONE);
    assert_eq!((assist.ends_at(), anywhere.ends_at()), (Some(kmh(6.0)), None));
}

#[test]
fn the_taper_is_whole_below_its_band_and_nothing_from_the_cut_off() {
    let taper = Taper::new(kmh(25.0), Taper::USUAL_BAND).unwrap();
    for (v, share) in [
        (0.0, 1.0),
        (22.9, 1.0),
        (23.0, 1.0),
        (24.0, 0.5),
        (24.5, 0.25),
        (25.0, 0.0),
        (30.0, 0.0),
    ] {
        near(taper.share(kmh(v)), share, 1e-12);
    }
    assert_eq!(taper.cut_off(), kmh(25.0));
    let full = Assist {
        taper: Some(taper),
        ..Assist::FULL
    };
    near(full.power(Legs::NONE, kmh(24.0), watts(400.0)).si(), 200.0, 1e-9);
    assert_eq!(full.ends_at(), Some(kmh(25.0)));
    // The nearer of the two ends counts, whichever it is.
    for (last, end) in [(20.0, 20.0), (28.0, 25.0)] {
        let policy = Policy::Throttle {
            power: watts(300.0),
            up_to: Some(kmh(last)),
        };
        let assist = Assist {
            policy,
            taper: Some(taper),
        };
        assert_eq!(assist.ends_at(), Some(kmh(end)));
    }
    assert_eq!(Assist::FULL.ends_at(), None);
}

#[test]
fn torque_and_power_tell_the_same() {
    let taper = Some(Taper::new(kmh(25.0), kmh(6.0)).unwrap());
    for policy in policies() {
        for taper in [None, taper] {
            let assist = Assist { policy, taper };
            for step in 1..100 {
                let v = 0.1 * f64::from(step);
                let output = hub(v);
                let cadence = output.speed * output.crank_turns;
                let legs = Legs::new(watts(110.0), Torque::newton_metres(30.0), cadence);
                let by_torque = assist.torque(legs, output, pull(35.0)).torque.si() * output.speed.si();
                let full = Power::from_si(35.0 * output.speed.si());
                close(assist.power(legs, Speed::from_si(v), full).si(), by_torque, 1e-12);
            }
        }
    }
}

#[test]
fn the_slope_is_the_difference_quotient_and_never_positive() {
    let taper = Some(Taper::new(kmh(25.0), kmh(6.0)).unwrap());
    let full = |speed: AngularSpeed| Pull {
        torque: Torque::from_si(45.0 - 0.9 * speed.si()),
        slope: -0.9,
    };
    for policy in policies() {
        for taper in [None, taper] {
            let assist = Assist { policy, taper };
            let at = |v: f64| {
                let output = hub(v);
                let legs = Legs::new(
                    watts(110.0),
                    Torque::newton_metres(30.0),
                    output.speed * output.crank_turns,
                );
                assist.torque(legs, output, full(output.speed))
            };
            // Speeds in the middle of the stretches between corners.
            for v in [0.7, 2.3, 3.9, 4.7, 5.45, 6.0, 6.6, 7.5] {
                const SMALL: f64 = 1e-6;
                let quotient = (at(v + SMALL).torque - at(v - SMALL).torque).si() / (2.0 * SMALL / 0.34);
                near(at(v).slope, quotient, 1e-6);
                assert!(at(v).slope <= 0.0, "{policy:?} at {v}");
            }
        }
    }
}

#[test]
fn figures_out_of_range_are_refused() {
    let of = |policy| Assist::plain(policy).check().is_ok();
    let sensor = |ratio, most| Policy::TorqueSensor {
        ratio,
        most: watts(most),
    };
    assert!(of(sensor(20.0, 1e4)) && of(sensor(0.0, 0.0)));
    assert!(!of(sensor(20.1, 250.0)) && !of(sensor(-0.1, 250.0)) && !of(sensor(2.0, 1.1e4)));
    assert!(!of(sensor(f64::NAN, 250.0)) && !of(sensor(2.0, -1.0)));
    assert!(of(Policy::CadenceSensor { power: watts(1e4) }));
    assert!(!of(Policy::CadenceSensor { power: watts(-1.0) }));
    let throttle = |power, up_to: f64| Policy::Throttle {
        power: watts(power),
        up_to: Some(Speed::from_si(up_to)),
    };
    assert!(of(throttle(300.0, 0.1)) && of(throttle(300.0, 50.0)));
    assert!(!of(throttle(300.0, 0.0)) && !of(throttle(300.0, 51.0)) && !of(throttle(-1.0, 5.0)));
    assert!(of(Policy::Full) && of(Policy::Off));
    assert!(Taper::new(kmh(25.0), Speed::from_si(0.009)).is_err());
    assert!(Taper::new(kmh(25.0), kmh(25.0)).is_ok());
    assert!(Taper::new(kmh(25.0), kmh(25.1)).is_err());
    assert!(Taper::new(Speed::from_si(0.9), Speed::from_si(0.5)).is_err());
    assert!(Taper::new(Speed::from_si(51.0), Speed::from_si(0.5)).is_err());
}
