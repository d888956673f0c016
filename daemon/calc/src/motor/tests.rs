//! Tests of the motor and controller: independent solves, conservation, data sheets met.

mod printed;

use super::*;
use crate::quantity::{Acceleration, Area, Density, Grade, Inertia, Length, Mass, Speed};
use crate::road::RoadLoad;
use crate::solve::root;
use crate::solve::table::{Row, close, near, rows};

const MACHINES: &str = include_str!("../../../../tests/reference/drive/machines.csv");
const GRID: &str = include_str!("../../../../tests/reference/drive/grid.csv");

fn machine(row: &Row<'_>) -> (Motor, Supply, f64) {
    let motor = Motor {
        resistance: Resistance::ohms(row.number("R_ohm")),
        kt: row.number("Kt"),
        reduction: row.number("N"),
        gear_efficiency: row.number("gear_eff"),
        drag_torque: Torque::newton_metres(row.number("T_drag_Nm")),
        viscous: row.number("c_Nms"),
        phase_limit: Current::amperes(row.number("I_phase_A")),
    };
    let supply = Supply {
        open_circuit: Voltage::volts(row.number("U0_V")),
        resistance: Resistance::ohms(row.number("Rp_ohm")),
        battery_limit: Current::amperes(row.number("I_batt_A")),
        controller_efficiency: 1.0,
    };
    (motor, supply, row.number("radius_m"))
}

fn limit_name(limit: MotorLimit) -> &'static str {
    match limit {
        MotorLimit::PhaseCurrent => "phase",
        MotorLimit::BatteryCurrent => "battery",
        MotorLimit::Voltage => "full_duty",
    }
}

#[test]
fn reference_grid() {
    // Independent solve, two ways, printed to 8 digits; 1e-7 relative.
    for row in rows(GRID) {
        let name = row.text("machine");
        let machines = rows(MACHINES);
        let of = machines.iter().find(|m| m.text("machine") == name).unwrap();
        let (motor, supply, radius) = machine(of);
        let v = row.number("speed_mps");
        let point = motor.full_assist(AngularSpeed::from_si(v / radius), &supply);
        assert_eq!(limit_name(point.limit), row.text("limit"), "{name} at {v}");
        close(point.phase_current.si(), row.number("phase_A"), 1e-7);
        close(point.battery_current.si(), row.number("batt_A"), 1e-7);
        close(point.pack_voltage.si(), row.number("batt_V"), 1e-7);
        close(point.duty, row.number("duty"), 1e-7);
        close(point.torque.si(), row.number("wheel_torque_Nm"), 1e-7);
        close(point.torque.si() / radius, row.number("thrust_N"), 1e-7);
        close(point.output.si(), row.number("p_out_W"), 1e-7);
        close(point.terminals.si(), row.number("p_terminals_W"), 1e-7);
        close(point.cells.si(), row.number("p_cell_W"), 1e-7);
        if let Ok(efficiency) = row.text("eff_cell").parse::<f64>() {
            near(point.output.si() / point.cells.si(), efficiency, 6e-7);
            near(
                point.output.si() / point.terminals.si(),
                row.number("eff_terminals"),
                6e-7,
            );
        }
        // Conservation: what leaves the terminals is output and heat (no controller loss here).
        close((point.output + point.loss).si(), point.terminals.si(), 1e-12);
    }
}

#[test]
fn reference_hand_overs_and_top_speeds() {
    // Hand-over speeds to 0.01 m/s; others as printed (7 to 8 digits). The level and 6 % speeds are those of
    // 100 kg, CdA 0.50 m², Crr 0.007, rho 1.225 kg/m³ without a rider.
    let road = RoadLoad {
        mass: Mass::kilograms(100.0),
        cda: Area::square_metres(0.5),
        spoke_drag_area: Area::ZERO,
        crr: 0.007,
        bearing: false,
        wheel_inertia: Inertia::ZERO,
        tyre_radius: Length::metres(0.349),
        gravity: Acceleration::from_si(crate::quantity::G),
    };
    for row in rows(MACHINES) {
        let (motor, supply, radius) = machine(&row);
        let at = |v: f64| motor.full_assist(AngularSpeed::from_si(v / radius), &supply);
        close(motor.stall_torque().si(), row.number("stall_torque_Nm"), 1e-7);
        close(
            motor.no_load_speed(&supply).si() * radius,
            row.number("speed_no_load_mps"),
            1e-7,
        );
        let zero_current = root(
            |v| supply.open_circuit.si() - motor.kt * motor.reduction * v / radius,
            0.0,
            50.0,
            1e-14,
        );
        close(zero_current.unwrap(), row.number("speed_zero_current_mps"), 1e-7);

        for (hand_over, after) in row
            .text("hand_over")
            .split(' ')
            .zip([MotorLimit::BatteryCurrent, MotorLimit::Voltage])
        {
            let v: f64 = hand_over.split('@').nth(1).unwrap().parse().unwrap();
            assert_ne!(at(v - 0.01).limit, after, "{hand_over}");
            assert_eq!(at(v + 0.01).limit, after, "{hand_over}");
        }
        let peak = at(row.number("speed_peak_power_mps")).output.si();
        close(peak, row.number("peak_power_W"), 2e-5);
        for v in [0.5, 0.9, 0.98, 0.995, 1.01, 1.05] {
            assert!(
                at(v * row.number("speed_peak_power_mps")).output.si()
                    <= row.number("peak_power_W") * (1.0 + 1e-7)
            );
        }

        let balance = |grade: f64| {
            let rho = Density::kilograms_per_m3(1.225);
            let surplus = |v: f64| {
                let need = road
                    .resistance(Speed::from_si(v), Grade::ratio(grade), Speed::ZERO, rho)
                    .si();
                at(v).torque.si() / radius - need
            };
            root(surplus, 0.0, 20.0, 1e-14).unwrap()
        };
        let level = balance(0.0);
        close(level, row.number("level_top_speed_mps"), 1e-7);
        close(at(level).output.si(), row.number("level_p_out_W"), 1e-6);
        close(at(level).terminals.si(), row.number("level_p_batt_W"), 1e-6);
        close(balance(0.06), row.number("grade6_speed_mps"), 1e-7);
    }
}

fn ideal(resistance: f64, kt: f64, no_load: f64, phase: f64) -> Motor {
    Motor {
        resistance: Resistance::ohms(resistance),
        kt,
        reduction: 1.0,
        gear_efficiency: 1.0,
        drag_torque: Torque::newton_metres(kt * no_load),
        viscous: 0.0,
        phase_limit: Current::amperes(phase),
    }
}

fn stiff(volts: f64, amperes: f64) -> Supply {
    Supply {
        open_circuit: Voltage::volts(volts),
        resistance: Resistance::ZERO,
        battery_limit: Current::amperes(amperes),
        controller_efficiency: 1.0,
    }
}

#[test]
fn envelope_regression() {
    // Regression values from the equations: 36 V, 0.20 Ω, 0.90 N·m/A, I0 0.6 A, limits 40 A and 15 A.
    let motor = ideal(0.20, 0.90, 0.6, 40.0);
    let supply = stiff(36.0, 15.0);
    use MotorLimit::{BatteryCurrent, PhaseCurrent, Voltage};
    for (rpm, limit, amperes, torque, watts, battery) in [
        (0.0, PhaseCurrent, 40.0, 35.46, 0.0, 8.89),
        (50.0, PhaseCurrent, 40.0, 35.46, 185.7, 14.12),
        (100.0, BatteryCurrent, 33.492, 29.60, 310.0, 15.0),
        (150.0, BatteryCurrent, 27.499, 24.21, 380.3, 15.0),
        (200.0, BatteryCurrent, 23.024, 20.18, 422.7, 15.0),
        (250.0, BatteryCurrent, 19.643, 17.14, 448.7, 15.0),
        (300.0, BatteryCurrent, 17.044, 14.80, 464.9, 15.0),
        (370.0, Voltage, 5.642, 4.54, 175.8, 5.64),
    ] {
        let point = motor.full_assist(AngularSpeed::rpm(rpm), &supply);
        assert_eq!(point.limit, limit, "{rpm} rpm");
        near(point.phase_current.si(), amperes, 6e-4);
        near(point.torque.si(), torque, 6e-3);
        near(point.output.si(), watts, 0.06);
        near(point.battery_current.si(), battery, 6e-3);
    }
    near(motor.no_load_speed(&supply).as_rpm(), 380.70, 0.006);
}

#[test]
fn reduction_identity() {
    // Identity: G 4.4, eta 0.95, 5 N·m at the rotor is 20.9 N·m at the output.
    let motor = Motor {
        reduction: 4.4,
        gear_efficiency: 0.95,
        ..ideal(0.1, 0.5, 0.0, 10.0)
    };
    near(motor.stall_torque().si(), 20.9, 1e-12);
}

#[test]
fn torque_and_power_never_rise_past_their_limits() {
    let motor = Motor {
        viscous: 0.001,
        ..ideal(0.20, 0.90, 0.6, 40.0)
    };
    let supply = Supply {
        resistance: Resistance::ohms(0.1),
        controller_efficiency: 0.95,
        ..stiff(36.0, 15.0)
    };
    let mut before = f64::INFINITY;
    for step in 0..420 {
        let point = motor.full_assist(AngularSpeed::rpm(f64::from(step)), &supply);
        assert!(point.torque.si() <= before);
        assert!(point.phase_current.si() <= 40.0 && point.battery_current.si() <= 15.0 + 1e-12);
        assert!(point.duty <= 1.0 + 1e-12 && point.loss.si() >= -1e-9);
        before = point.torque.si();
    }
}

#[test]
fn a_weak_pack_gives_its_most_power_and_no_more() {
    // 36 V behind 2 Ω: at most 9 A and 162 W, whatever the controller allows.
    let supply = Supply {
        resistance: Resistance::ohms(2.0),
        ..stiff(36.0, 30.0)
    };
    let point = ideal(0.2, 0.9, 0.6, 60.0).full_assist(AngularSpeed::rpm(60.0), &supply);
    assert_eq!(point.limit, MotorLimit::BatteryCurrent);
    close(point.terminals.si(), 162.0, 1e-9);
    close(point.battery_current.si(), 9.0, 1e-6);
}

#[test]
fn part_load_meets_the_torque_asked_for() {
    let motor = Motor {
        reduction: 4.5,
        gear_efficiency: 0.96,
        ..ideal(0.12, 0.23, 0.3, 35.0)
    };
    let supply = Supply {
        resistance: Resistance::ohms(0.16),
        controller_efficiency: 0.95,
        ..stiff(36.0, 15.0)
    };
    let speed = AngularSpeed::rpm(150.0);
    let full = motor.full_assist(speed, &supply);
    let half = motor.part_load(full.torque * 0.5, speed, &supply);
    close(half.torque.si(), full.torque.si() * 0.5, 1e-12);
    assert!(half.battery_current < full.battery_current && half.pack_voltage > full.pack_voltage);
    assert_eq!(motor.part_load(full.torque * 2.0, speed, &supply), full);
}

fn sheet() -> DataSheet {
    DataSheet {
        nominal_voltage: Voltage::volts(36.0),
        no_load_speed: AngularSpeed::rpm(270.0),
        no_load_current: Current::amperes(0.9),
        best_efficiency: 0.82,
        max_output_torque: Torque::newton_metres(32.0),
        reduction: 4.4,
        gear_efficiency: 0.95,
    }
}

#[test]
fn a_data_sheet_is_met_by_the_motor_made_from_it() {
    let sheet = sheet();
    let motor = Motor::from_data_sheet(&sheet).unwrap();
    let supply = stiff(36.0, 1e4);
    close(motor.no_load_speed(&supply).as_rpm(), 270.0, 1e-12);
    close(motor.stall_torque().si(), 32.0, 1e-12);
    let idle = motor.full_assist(AngularSpeed::rpm(270.0), &supply);
    close(idle.phase_current.si(), 0.9, 1e-9);
    // The best efficiency over all speeds at the nominal voltage is the sheet's.
    let free = Motor {
        phase_limit: Current::amperes(1e4),
        ..motor
    };
    let best = (1..2_700)
        .map(|step| free.full_assist(AngularSpeed::rpm(f64::from(step) * 0.1), &supply))
        .map(|point| point.output / point.terminals)
        .fold(0.0, f64::max);
    near(best, 0.82, 1e-5);
}

#[test]
fn impossible_sheets_are_refused() {
    let refuse = |change: fn(&mut DataSheet)| {
        let mut sheet = sheet();
        change(&mut sheet);
        Motor::from_data_sheet(&sheet).unwrap_err()
    };
    assert!(matches!(
        refuse(|s| s.best_efficiency = 0.96),
        MotorError::EfficiencyTooHigh { .. }
    ));
    assert!(matches!(
        refuse(|s| s.best_efficiency = 1.2),
        MotorError::Input {
            name: "best_efficiency",
            ..
        }
    ));
    assert!(matches!(
        refuse(|s| s.no_load_current = Current::ZERO),
        MotorError::Input {
            name: "no_load_current",
            ..
        }
    ));
    assert!(matches!(
        refuse(|s| s.no_load_speed = AngularSpeed::ZERO),
        MotorError::Input {
            name: "no_load_speed",
            ..
        }
    ));
    assert!(matches!(
        refuse(|s| s.max_output_torque = Torque::newton_metres(900.0)),
        MotorError::TorqueAboveStall { .. }
    ));
    assert!(matches!(
        refuse(|s| s.nominal_voltage = Voltage::volts(f64::NAN)),
        MotorError::Input { .. }
    ));
}
