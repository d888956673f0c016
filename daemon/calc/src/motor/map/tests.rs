//! Tests of the map: exact where a straight line is, close where the motor is known, silent outside.

use super::*;
use crate::quantity::{Current, Resistance, Voltage};
use crate::solve::table::{close, near};

fn rpm(values: &[f64]) -> Vec<AngularSpeed> {
    values.iter().map(|v| AngularSpeed::rpm(*v)).collect()
}

fn rad(v: f64) -> AngularSpeed {
    AngularSpeed::from_si(v)
}

fn nm(v: f64) -> Torque {
    Torque::newton_metres(v)
}

fn torques(values: &[f64]) -> Vec<Torque> {
    values.iter().map(|v| nm(*v)).collect()
}

fn hub() -> (Motor, Supply) {
    let motor = Motor {
        resistance: Resistance::ohms(0.12),
        kt: 0.23,
        reduction: 4.5,
        gear_efficiency: 0.96,
        drag_torque: nm(0.069),
        viscous: 0.0,
        phase_limit: Current::amperes(35.0),
    };
    let supply = Supply {
        open_circuit: Voltage::volts(38.0),
        resistance: Resistance::ohms(0.16),
        battery_limit: Current::amperes(15.0),
        controller_efficiency: 0.95,
    };
    (motor, supply)
}

#[test]
fn a_loss_that_is_a_twisted_plane_is_met_exactly() {
    // Bilinear interpolation is exact for a + b·w + c·T + d·w·T (any numerical analysis text).
    let loss = |w: f64, t: f64| 12.0 + 0.7 * w + 1.1 * t + 0.03 * w * t;
    let speeds = [5.0, 11.0, 20.0];
    let (ws, ts) = (speeds.map(rad), [4.0, 10.0, 30.0].map(nm));
    let efficiency = |w: AngularSpeed, t: Torque| {
        let output = w.si() * t.si();
        Some(output / (output + loss(w.si(), t.si())))
    };
    let points: Vec<_> = ws
        .iter()
        .flat_map(|w| ts.iter().map(move |t| efficiency(*w, *t)))
        .collect();
    let map = EfficiencyMap::from_efficiencies(&ws, &ts, &points).unwrap();
    for w in [5.0, 6.3, 10.9, 11.0, 11.1, 17.0, 20.0] {
        for t in [4.0, 4.1, 9.9, 10.0, 12.0, 29.0, 30.0] {
            close(map.loss(rad(w), nm(t)).unwrap().si(), loss(w, t), 1e-12);
            close(map.input(rad(w), nm(t)).unwrap().si(), loss(w, t) + w * t, 1e-12);
            close(
                map.efficiency(rad(w), nm(t)).unwrap(),
                w * t / (w * t + loss(w, t)),
                1e-12,
            );
        }
    }
}

#[test]
fn a_map_of_a_motor_is_the_motor_at_its_points_and_near_it_between() {
    let (motor, supply) = hub();
    let speeds = rpm(&[0.0, 60.0, 120.0, 180.0, 240.0]);
    let grid = torques(&[0.0, 4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 28.0, 32.0]);
    let map = EfficiencyMap::of_motor(&motor, &supply, &speeds, &grid).unwrap();
    let mut seen = 0;
    for rpm in [0.0, 30.0, 60.0, 100.0, 120.0, 170.0, 180.0, 200.0] {
        let speed = AngularSpeed::rpm(rpm);
        for torque in [0.0, 2.0, 4.0, 7.0, 12.0, 14.5, 20.0, 26.0] {
            let Ok(loss) = map.loss(speed, nm(torque)) else {
                continue;
            };
            let point = motor.part_load(nm(torque), speed, &supply);
            let exact = (point.terminals - point.output).si();
            // Never below, and above by at most R·(ΔI/2)²/eta of the copper loss's curve; ΔI of 4 N·m is
            // 4/(4.5·0.96·0.23) = 4.03 A, so 0.51 W.
            assert!(loss.si() >= exact - 1e-9, "{rpm} rpm {torque} N·m");
            near(loss.si(), exact, 0.12 * 4.026_f64.powi(2) / 4.0 / 0.95 + 1e-9);
            if rpm % 60.0 == 0.0 && torque % 4.0 == 0.0 {
                near(loss.si(), exact, 1e-9);
            }
            seen += 1;
        }
    }
    assert!(seen > 40, "{seen}");
    // No torque, no output: no efficiency, but a loss from the drag.
    let idle = AngularSpeed::rpm(120.0);
    assert_eq!(map.efficiency(idle, Torque::ZERO), Ok(0.0));
    assert!(map.loss(idle, Torque::ZERO).unwrap().si() > 1.0);
    assert_eq!(map.efficiency(AngularSpeed::ZERO, nm(8.0)), Ok(0.0));
}

#[test]
fn outside_the_map_and_in_its_holes_it_says_so() {
    let (motor, supply) = hub();
    let (speeds, grid) = (rpm(&[60.0, 200.0, 300.0]), torques(&[4.0, 16.0, 32.0]));
    let map = EfficiencyMap::of_motor(&motor, &supply, &speeds, &grid).unwrap();
    let at = |rpm, t| map.loss(AngularSpeed::rpm(rpm), nm(t));
    assert!(at(60.0, 4.0).is_ok() && at(60.0, 32.0).is_ok());
    for rpm in [59.9, 300.1, f64::NAN] {
        assert!(matches!(at(rpm, 4.0), Err(MapError::Speed { .. })), "{rpm}");
    }
    for torque in [3.9, 32.1, -1.0] {
        assert!(
            matches!(at(60.0, torque), Err(MapError::Torque { .. })),
            "{torque}"
        );
    }
    let wide = Err(MapError::Torque {
        asked: nm(40.0),
        range: [nm(4.0), nm(32.0)],
    });
    assert_eq!(at(60.0, 40.0), wide);
    // 32 N·m at 300 rpm is 1 kW, which 15 A do not give.
    assert!(matches!(at(300.0, 32.0), Err(MapError::Unmeasured { .. })));
    assert!(matches!(at(250.0, 20.0), Err(MapError::Unmeasured { .. })));
    // What the motor just reaches is part of the map.
    let just = [Torque::ZERO, motor.stall_torque()];
    let stalled = EfficiencyMap::of_motor(&motor, &supply, &[0.0, 1.0].map(rad), &just).unwrap();
    assert!(stalled.loss(AngularSpeed::ZERO, motor.stall_torque()).is_ok());
    // On an edge whose own ends are known the hole beside it does not matter.
    assert!(at(60.0, 20.0).is_ok());
}

#[test]
fn impossible_maps_are_refused() {
    let (ws, ts) = ([10.0, 20.0].map(rad), [5.0, 9.0].map(nm));
    let of = |points: &[Option<f64>]| EfficiencyMap::from_efficiencies(&ws, &ts, points);
    assert!(of(&[Some(0.7), Some(1.0), None, Some(0.8)]).is_ok());
    let few = of(&[Some(0.7), Some(0.7), Some(0.8)]);
    assert_eq!(few, Err(MapError::Points { wanted: 4, given: 3 }));
    for value in [0.0, -0.1, 1.01, f64::NAN] {
        let refused = of(&[Some(0.7), Some(value), Some(0.8), Some(0.8)]);
        assert!(matches!(refused, Err(MapError::Efficiency { .. })), "{value}");
    }
    let standing = EfficiencyMap::from_efficiencies(&[0.0, 20.0].map(rad), &ts, &[Some(0.5); 4]);
    assert!(matches!(standing, Err(MapError::Efficiency { .. })));
    let (motor, supply) = hub();
    for axis in [
        vec![10.0],
        vec![10.0, 10.0],
        vec![20.0, 10.0],
        vec![-1.0, 10.0],
        vec![0.0, f64::INFINITY],
    ] {
        let speeds: Vec<_> = axis.iter().map(|v| rad(*v)).collect();
        let refused = EfficiencyMap::of_motor(&motor, &supply, &speeds, &ts);
        assert_eq!(refused, Err(MapError::Axis { name: "speeds" }));
        let refused = EfficiencyMap::of_motor(&motor, &supply, &ws, &torques(&axis));
        assert_eq!(refused, Err(MapError::Axis { name: "torques" }));
    }
}
