//! A separate solve of whole rides: other code, other method.

use super::*;

/// The bicycles of the table.
fn rig(name: &str) -> Rig {
    let full = |mut rig: Rig| {
        rig.assist = Assist::FULL;
        rig
    };
    match name {
        "hub_full" => hub(),
        "hub_following" => Rig {
            assist: Assist::torque_sensor(2.0, Power::watts(250.0)),
            ..hub()
        },
        "hub_alone" => Rig { rider: None, ..hub() },
        "mid_full" => full(mid()),
        "mid_following" => mid(),
        "cargo" => {
            let mut rig = full(mid());
            rig.road.mass = Mass::kilograms(190.0);
            rig.road.cda = Area::square_metres(0.75);
            rig.road.crr = 0.010;
            rig.system.battery_limit = Current::amperes(18.0);
            rig
        }
        other => panic!("no bicycle {other}"),
    }
}

#[test]
fn agrees_with_a_solve_in_small_steps_of_time() {
    let table = rows(include_str!("../../../../../tests/reference/tour/tour.csv"));
    assert_eq!(table.len(), 12);
    for row in table {
        let mut road = country(20, 1);
        let wind = row.number("wind") / 2.0;
        for step in &mut road {
            step.headwind = step.headwind * wind;
        }
        let name = row.text("name");
        let outcome = rig(name).ride(&road);
        // Tolerances and their reasons stand beside the table.
        close(outcome.time.si(), row.number("time_s"), 1e-3);
        close(outcome.energy().as_watt_hours(), row.number("energy_Wh"), 1e-3);
        near(outcome.lowest_voltage.si(), row.number("lowest_V"), 0.1);
        near(
            outcome.hottest.unwrap().winding.as_celsius(),
            row.number("hottest_C"),
            0.5,
        );
        near(outcome.state_of_charge, row.number("charge_left"), 5e-4);
        close(
            outcome.ledger.brakes.as_watt_hours(),
            row.number("brakes_Wh"),
            1e-2,
        );
    }
}
