//! Tests of a motor with its heat: torques held for a while, and the heat itself.

use super::*;

#[test]
fn a_torque_held_for_a_while() {
    let air = celsius(25.0);
    let cold = Temperatures::even(air);
    let motor = servo_motor();
    let still = AngularSpeed::ZERO;
    // Without magnets in play it is the current's own holding time.
    let torque = Torque::newton_metres(0.123 * 13.6);
    let time = motor.holds(torque, still, cold, air).unwrap().unwrap();
    let by_current = motor
        .nodes
        .holds(cold, &copper(13.6), air, motor.limit)
        .unwrap()
        .unwrap();
    close(time.si(), by_current.si(), 1e-12);
    // Fading magnets ask for more current, ferrite more than neodymium.
    let with = |magnet| HotMotor {
        magnet: Some(magnet),
        ..motor
    };
    let hold = |m: HotMotor, nm: f64| m.holds(Torque::newton_metres(nm), still, cold, air).unwrap();
    let (strong, weak) = (with(Magnet::Neodymium), with(Magnet::Ferrite));
    let (a, b) = (hold(strong, 1.2).unwrap(), hold(weak, 1.2).unwrap());
    assert!(b < a && a < hold(motor, 1.2).unwrap());
    // From memory: 0.11 and 0.20 % per kelvin.
    close(Magnet::Neodymium.strength(celsius(120.0)), 0.89, 1e-12);
    close(Magnet::Ferrite.strength(celsius(70.0)), 0.90, 1e-12);
    assert_eq!(Magnet::Ferrite.strength(REFERENCE), 1.0);
}

#[test]
fn what_is_sure_to_stay_cool_does_so_step_by_step() {
    let air = celsius(25.0);
    let cold = Temperatures::even(air);
    let ridden = Temperatures {
        winding: celsius(110.0),
        case: celsius(60.0),
    };
    let still = AngularSpeed::ZERO;
    for (start, magnet) in [
        (cold, Magnet::Neodymium),
        (cold, Magnet::Ferrite),
        (ridden, Magnet::Ferrite),
    ] {
        let motor = HotMotor {
            magnet: Some(magnet),
            ..servo_motor()
        };
        // Every torque to twice what copper alone, unfaded, could give for ever.
        let (mut surely, mut ever) = (0, 0);
        for hundredth in 0..=200 {
            let torque = 0.123 * continuous_current(motor.limit, air) * f64::from(hundredth) / 100.0;
            let torque = Torque::newton_metres(torque);
            let stepped = motor.step_by_step(torque, still, start, air).unwrap();
            if motor.stays_below(torque, still, start, air) {
                assert_eq!(stepped, None, "{hundredth} %");
                surely = hundredth;
            }
            if stepped.is_none() {
                ever = hundredth;
            }
        }
        assert!(
            (80..100).contains(&ever) && ever - surely <= 1,
            "{surely} of {ever} %"
        );
    }
    let hot = Temperatures::even(celsius(126.0));
    assert!(!servo_motor().stays_below(Torque::ZERO, still, hot, air));
}

#[test]
fn heat_of_a_motor_is_what_it_does_not_deliver() {
    // Electric power less output, by the motor's own balance at part load.
    let motor = HotMotor {
        motor: Motor {
            reduction: 4.4,
            gear_efficiency: 0.95,
            drag_torque: Torque::newton_metres(0.05),
            viscous: 1e-4,
            ..servo_motor().motor
        },
        magnet: Some(Magnet::Ferrite),
        ..servo_motor()
    };
    let now = Temperatures {
        winding: celsius(90.0),
        case: celsius(60.0),
    };
    let (torque, speed) = (Torque::newton_metres(8.0), AngularSpeed::rpm(500.0));
    let heating = motor.heating(torque, speed, now);
    let supply = crate::motor::Supply {
        open_circuit: crate::quantity::Voltage::volts(60.0),
        resistance: Resistance::ohms(0.1),
        battery_limit: Current::amperes(30.0),
        controller_efficiency: 0.95,
    };
    let point = motor.at(now).part_load(torque, speed, &supply);
    close(point.torque.si(), 8.0, 1e-12);
    let copper = copper_resistance(heating.resistance, now.winding).si() * heating.current.si().powi(2);
    close(copper + heating.in_case.si(), point.loss.si(), 1e-12);
    close(motor.at(now).kt, 0.123 * 0.92, 1e-12);
}
