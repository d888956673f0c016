//! The motor's warmth along a tour against the two-node law and the steady answers.

use super::limits::{last_speed, steady};
use super::*;
use crate::performance::steady_climb;
use crate::thermal::{Heating, HotMotor};

#[test]
fn a_long_climb_warms_the_winding_by_the_two_node_law() {
    // Held at its motor-current limit the hub's current is constant, and so is the law's heating.
    let mut rig = steady(hub(), 34);
    rig.heat = hub().heat.map(|heat| Heat { magnet: None, ..heat });
    let mut motor = rig.system.motor.unwrap();
    motor.phase_limit = Current::amperes(24.0);
    rig.system.motor = Some(motor);
    let steps = slope(4_000.0, 400, 0.06);
    let outcome = rig.ride(&steps);
    let v = last_speed(&rig, &steps);
    let turn = AngularSpeed::from_si(v / 0.34);
    let rest = motor.idle_loss(motor.stall_torque(), turn);
    let heat = rig.heat.unwrap();
    let heating = Heating::copper(motor.phase_limit, motor.resistance, rest);
    let law = heat.nodes.after(heat.start, &heating, heat.air, outcome.time);
    let hottest = outcome.hottest.unwrap();
    near(hottest.winding.as_celsius(), law.winding.as_celsius(), 0.6);
    near(hottest.case.as_celsius(), law.case.as_celsius(), 0.6);
    // The place where it passes a limit is where the holding time ends.
    let limit = Temperature::celsius(50.0);
    rig.heat = Some(Heat { limit, ..heat });
    let over = rig.ride(&steps).hottest.unwrap().over_limit.unwrap();
    let hot = HotMotor {
        motor,
        nodes: heat.nodes,
        magnet: None,
        limit,
    };
    let held = hot
        .nodes
        .holds(heat.start, &heating, heat.air, hot.limit)
        .unwrap()
        .unwrap();
    near(over.si() / v, held.si(), 10.0);
}

#[test]
fn a_hill_is_held_as_long_as_the_steady_answer_says() {
    // 12 % from cold at 25 °C: the steady climb's torque, held until the winding's limit, against the
    // place where the tour passes it. The battery's limit leaves less current for warm copper and the legs
    // take over, while the steady answer keeps the torque: the tour lasts longer, by less than 15 %.
    let mut rig = steady(hub(), 34);
    let air = Temperature::celsius(25.0);
    let heat = Heat {
        magnet: None,
        air,
        start: Temperatures::even(air),
        ..hub().heat.unwrap()
    };
    let motor = rig.system.motor.unwrap();
    let grade = Grade::percent(12.0);
    let climb = steady_climb(&rig.system, rig.rider.as_ref(), &rig.road, rig.rho, grade).unwrap();
    close(
        climb.motor_power.si(),
        climb.motor_torque.si() * climb.motor_speed.si(),
        1e-12,
    );
    let hot = HotMotor {
        motor,
        nodes: heat.nodes,
        magnet: None,
        limit: heat.limit,
    };
    let held = hot
        .holds(climb.motor_torque, climb.motor_speed, heat.start, air)
        .unwrap()
        .unwrap();
    assert!(
        held.as_seconds() > 60.0 && held.as_seconds() < 1_800.0,
        "{held:?}"
    );
    rig.heat = Some(heat);
    let (mut over, mut time, mut at, mut before) = (None, 0.0, 0.0, 0.0);
    let track = Track::new(&slope(6_000.0, 600, 0.12)).unwrap();
    ride_observed(&track, &rig.tourer(), |m| {
        time += 2.0 * (m.at.si() - at) / (m.speed.si() + before);
        (at, before) = (m.at.si(), m.speed.si());
        if m.winding.unwrap() > heat.limit && over.is_none() {
            over = Some(time);
        }
    })
    .unwrap();
    let longer = over.unwrap() / held.si();
    assert!(longer > 1.0 && longer < 1.15, "{longer}");
}
