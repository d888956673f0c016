//! Motors of printed data sheets, tables and text books.

use super::*;

#[test]
fn servo_motor_data_sheet() {
    // Data sheet of a 48 V permanent-magnet servo motor: 0.365 Ω, 0.123 N·m/A, I0 0.289 A; stall 131 A, 16.1 N·m;
    // no-load 3670 rpm; 0.800 N·m at 6.8 A. Electrical figures to 2 %.
    let motor = ideal(0.365, 0.123, 0.289, 1e4);
    let supply = stiff(48.0, 1e4);
    let stall = motor.full_assist(AngularSpeed::ZERO, &supply);
    close(stall.phase_current.si(), 131.0, 0.02);
    close(stall.torque.si(), 16.1, 0.02);
    close(motor.no_load_speed(&supply).as_rpm(), 3_670.0, 0.02);
    let running = root(
        |rpm| {
            motor
                .full_assist(AngularSpeed::rpm(rpm), &supply)
                .phase_current
                .si()
                - 6.8
        },
        0.0,
        4e3,
        1e-12,
    );
    let running = AngularSpeed::rpm(running.unwrap());
    close(motor.full_assist(running, &supply).torque.si(), 0.800, 0.02);
    // Sheet: 3420 rpm at the nominal point; 4 % (the sheet's loss grows with speed, the model's does not).
    close(running.as_rpm(), 3_420.0, 0.04);
    // Sheet: 0.231 rpm per mN·m of slope; 88 % at best, 3 points (the ideal machine gives 90.8 %).
    let slope = (motor.no_load_speed(&supply) - running).as_rpm()
        / (1e3 * motor.full_assist(running, &supply).torque.si());
    close(slope, 0.231, 0.02);
    let best = (1..3_700)
        .map(|rpm| motor.full_assist(AngularSpeed::rpm(f64::from(rpm)), &supply))
        .map(|point| point.output / point.terminals)
        .fold(0.0, f64::max);
    near(best, 0.88, 0.03);
}

#[test]
fn textbook_motors() {
    // Printed exercise: 120 V, 7 A, 0.720 Ω: back EMF 114.96 V, starting current 166.7 A.
    let kt = 1.0;
    let motor = ideal(0.720, kt, 0.0, 1e4);
    let supply = stiff(120.0, 1e4);
    let start = motor.full_assist(AngularSpeed::ZERO, &supply);
    near(start.phase_current.si(), 166.7, 0.05);
    let running = motor.full_assist(AngularSpeed::from_si(114.96 / kt), &supply);
    near(running.phase_current.si(), 7.0, 1e-9);
    // Printed exercise: 230 V, 0.5 Ω, 23 A: back EMF 218.5 V.
    let third = ideal(0.5, kt, 0.0, 1e4).full_assist(AngularSpeed::from_si(218.5), &stiff(230.0, 1e4));
    near(third.phase_current.si(), 23.0, 1e-9);
    // Printed exercise: 115 V, 6.5 A running, 21.5 A at the start: back EMF 80.23 V.
    let second = ideal(115.0 / 21.5, kt, 0.0, 1e4);
    let running = second.full_assist(AngularSpeed::from_si(80.23), &stiff(115.0, 1e4));
    near(running.phase_current.si(), 6.5, 1e-3);
    // Same exercise as the first: 7.28 Ω in series hold the starting current to 15 A.
    let starter = ideal(0.720 + 7.28, kt, 0.0, 1e4).full_assist(AngularSpeed::ZERO, &supply);
    near(starter.phase_current.si(), 15.0, 1e-9);
    // Hughes, Electric Motors and Drives (from memory): 500 V, 1 Ω, 1040 rpm and 0.8 A at no load; 20 A at
    // 1000 rpm, k 4.58 V·s/rad, 86.9 N·m at the shaft (9.1 kW); 2 %, as the name plate's loss at full load is
    // more than the no-load loss the model carries over.
    let k = (500.0 - 0.8) / AngularSpeed::rpm(1_040.0).si();
    near(k, 4.58, 0.005);
    let large = ideal(1.0, k, 0.8, 1e4).full_assist(AngularSpeed::rpm(1_000.0), &stiff(500.0, 1e4));
    near(large.phase_current.si(), 20.0, 0.05);
    close(large.output.si(), 9_100.0, 0.02);
    close(large.torque.si(), 86.9, 0.02);
}

#[test]
fn the_brushed_motor_table_gives_its_resistance() {
    // Published 12 V motor: free 5310 rpm, 2.7 A, stall 133 A: an ideal machine of that free and stall current
    // has a best efficiency of (1 − sqrt(2.7/133))² = 73.5 % and 0.0902 Ω, 0.02114 V·s/rad.
    let motor = Motor::from_data_sheet(&DataSheet {
        nominal_voltage: Voltage::volts(12.0),
        no_load_speed: AngularSpeed::rpm(5_310.0),
        no_load_current: Current::amperes(2.7),
        best_efficiency: 0.7353,
        max_output_torque: Torque::newton_metres(1.0),
        reduction: 1.0,
        gear_efficiency: 1.0,
    })
    .unwrap();
    close(motor.resistance.si(), 0.0902, 2e-3);
    close(motor.kt, 0.021_14, 1e-3);
}

#[test]
fn brushed_motor_table_on_the_straight_line() {
    // Published 12 V motor table: free 5310 rpm 2.7 A, stall 343.4 oz·in 133.0 A (1 oz·in = 0.00706155 N·m);
    // rows to the printed digits: torque oz·in, rpm, A, W, efficiency %.
    const OUNCE_INCH: f64 = 0.007_061_55;
    let sheet = LinearSheet {
        voltage: Voltage::volts(12.0),
        no_load_speed: AngularSpeed::rpm(5_310.0),
        no_load_current: Current::amperes(2.7),
        stall_torque: Torque::newton_metres(343.4 * OUNCE_INCH),
        stall_current: Current::amperes(133.0),
    };
    for (torque, rpm, amperes, watts, efficiency) in [
        (64.0, 4_320.0, 27.0, 205.0, 63.0),
        (45.0, 4_614.0, 19.8, 154.0, 65.0),
        (171.7, 2_655.0, 67.9, 337.0, 41.0),
    ] {
        let point = sheet.at(Torque::newton_metres(torque * OUNCE_INCH)).unwrap();
        near(point.speed.as_rpm(), rpm, 0.6);
        near(point.current.si(), amperes, 0.06);
        near(point.output.si(), watts, 0.6);
        near(point.efficiency * 100.0, efficiency, 0.6);
    }
    assert!(sheet.at(Torque::newton_metres(3.0)).is_err());
    // Its best efficiency, printed 65 % (64.7 % by (Kt/Ke)·(1 − sqrt(I0/Is))²).
    let best = (1..2_424)
        .map(|step| sheet.at(Torque::newton_metres(1e-3 * f64::from(step))).unwrap())
        .map(|point| point.efficiency)
        .fold(0.0, f64::max);
    near(best, 0.647, 1e-3);
}

#[test]
fn a_later_test_of_the_brushed_motor() {
    // Row of a later published test of the same motor, free 5330 rpm, stall 2.41 N·m 131 A: at 1.2065 N·m
    // 2665 rpm, 66.878 A, 802.5 W in, 336.7 W out, 41.96 %; its most power 337 W. 0.3 %: the ends are rounded and the
    // free current is the earlier table's.
    let sheet = LinearSheet {
        voltage: Voltage::volts(12.0),
        no_load_speed: AngularSpeed::rpm(5_330.0),
        no_load_current: Current::amperes(2.7),
        stall_torque: Torque::newton_metres(2.41),
        stall_current: Current::amperes(131.0),
    };
    let point = sheet.at(Torque::newton_metres(1.206_5)).unwrap();
    close(point.speed.as_rpm(), 2_665.0, 3e-3);
    close(point.current.si(), 66.878, 3e-3);
    close(12.0 * point.current.si(), 802.5, 3e-3);
    close(point.output.si(), 336.7, 3e-3);
    close(point.efficiency, 0.419_6, 3e-3);
}

#[test]
fn an_exercise_without_a_printed_answer() {
    // Exercise: 50 V, 1800 rpm without load, 2 Ω, 2 N·m. Regression values by hand from the equations: 7.540 A,
    // 34.92 V back EMF, 1257.1 rpm, 263.3 W, 69.84 %.
    let kt = 50.0 / AngularSpeed::rpm(1_800.0).si();
    let motor = ideal(2.0, kt, 0.0, 1e4);
    let point = motor.full_assist(AngularSpeed::rpm(1_257.1), &stiff(50.0, 1e4));
    near(point.phase_current.si(), 7.540, 1e-3);
    near(kt * AngularSpeed::rpm(1_257.1).si(), 34.92, 5e-3);
    near(point.torque.si(), 2.0, 1e-3);
    near(point.output.si(), 263.3, 0.1);
    near(point.output / point.terminals, 0.698_4, 1e-4);
}
