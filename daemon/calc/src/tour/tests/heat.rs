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

#[test]
fn at_its_limit_the_motor_gives_no_more_than_holds_it_there() {
    // 12 % for 12 km, far past the limit: without one the winding goes on to its steady state.
    let mut rig = steady(hub(), 34);
    let air = Temperature::celsius(25.0);
    let limit = Temperature::celsius(110.0);
    let heat = Heat {
        magnet: None,
        air,
        start: Temperatures::even(air),
        limit,
        ..hub().heat.unwrap()
    };
    let steps = slope(12_000.0, 1_200, 0.12);
    rig.heat = Some(Heat {
        limit: Temperature::celsius(226.0),
        ..heat
    });
    let unheld = rig.ride(&steps);
    let free = unheld.hottest.unwrap();
    assert!(free.winding > Temperature::celsius(130.0), "{free:?}");
    rig.heat = Some(heat);
    let mut late: f64 = 0.0;
    let track = Track::new(&steps).unwrap();
    let held = ride_observed(&track, &rig.tourer(), |m| {
        if m.at.as_kilometres() > 11.0 {
            late = late.max((m.winding.unwrap().si() - limit.si()).abs());
        }
    })
    .unwrap();
    let hottest = held.hottest.unwrap();
    assert!(hottest.over_limit.is_some());
    assert!(hottest.winding.as_celsius() < 120.0, "{hottest:?}");
    // Once it is there it stays there, but for what a piece of road of up to 100 m lets by.
    assert!(late < 5.0, "{late}");
    assert!(held.time > unheld.time, "less current is a slower climb");
    assert!(held.ledger.copper < unheld.ledger.copper);
    assert!(held.ledger.electric_gap().abs() < 1e-9 && held.ledger.road_gap().abs() < 1e-9);
    // The current itself, by hand: (110 - 60) K / 0.45 K/W = 111.1 W in copper of 0.11 x (1 + 0.00393 x 90) ohm.
    let motor = rig.system.motor.unwrap();
    let hot = HotMotor {
        motor,
        nodes: heat.nodes,
        magnet: None,
        limit,
    };
    let mut now = Temperatures::even(limit);
    assert_eq!(hot.holding(now).si(), 0.0);
    now.case = Temperature::celsius(60.0);
    near(
        hot.holding(now).si(),
        (50.0_f64 / 0.45 / (0.11 * (1.0 + 0.00393 * 90.0))).sqrt(),
        1e-9,
    );
}
