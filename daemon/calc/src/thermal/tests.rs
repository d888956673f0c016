//! Tests of motor heating: an independent integration, a data sheet, a textbook example.

use super::*;
use crate::motor::Motor;
use crate::quantity::{AngularSpeed, Torque};
use crate::solve::table::{Row, close, near, rows};

mod torque;

const COURSE: &str = include_str!("../../../../tests/reference/thermal/course.csv");

fn celsius(t: f64) -> Temperature {
    Temperature::celsius(t)
}

/// Data sheet of a 48 V servo motor: 1.85 and 1.3 K/W, 123 and 1060 s, 0.365 Ω at 20 °C.
fn servo() -> Nodes {
    Nodes::from_time_constants(
        ThermalResistance::kelvins_per_watt(1.85),
        ThermalResistance::kelvins_per_watt(1.3),
        Duration::seconds(123.0),
        Duration::seconds(1_060.0),
    )
    .unwrap()
}

/// Amperes that can flow through the servo for ever with the winding just at its limit, copper alone:
/// `I = √((T_limit − T_air)/((Rwc + Rca)·R(T_limit)))`.
fn continuous_current(limit: Temperature, air: Temperature) -> f64 {
    let hot = copper_resistance(Resistance::ohms(0.365), limit).si();
    ((limit.si() - air.si()) / ((1.85 + 1.3) * hot)).sqrt()
}

fn servo_motor() -> HotMotor {
    HotMotor {
        motor: Motor {
            resistance: Resistance::ohms(0.365),
            kt: 0.123,
            reduction: 1.0,
            gear_efficiency: 1.0,
            drag_torque: Torque::ZERO,
            viscous: 0.0,
            phase_limit: Current::amperes(60.0),
        },
        nodes: servo(),
        magnet: None,
        limit: celsius(125.0),
    }
}

fn copper(amperes: f64) -> Heating {
    Heating::copper(Current::amperes(amperes), Resistance::ohms(0.365), Power::ZERO)
}

fn case(row: &Row<'_>) -> (Nodes, Heating, Temperatures) {
    let nodes = Nodes {
        winding_to_case: ThermalResistance::kelvins_per_watt(row.number("Rwc")),
        case_to_air: ThermalResistance::kelvins_per_watt(row.number("Rca")),
        winding: HeatCapacity::joules_per_kelvin(row.number("Cw")),
        case: HeatCapacity::joules_per_kelvin(row.number("Cc")),
    };
    let heating = Heating {
        current: Current::amperes(row.number("I")),
        resistance: Resistance::ohms(row.number("R20")),
        in_winding: Power::watts(row.number("Pw")),
        in_case: Power::watts(row.number("Pc")),
    };
    let start = Temperatures {
        winding: celsius(row.number("Tw0")),
        case: celsius(row.number("Tc0")),
    };
    (nodes, heating, start)
}

#[test]
fn agrees_with_a_separate_integration() {
    // scipy, DOP853 at 1e-13; tolerances and their reasons stand beside the table.
    for row in rows(COURSE) {
        let (nodes, heating, start) = case(&row);
        let air = celsius(row.number("air"));
        let end = nodes.after(start, &heating, air, Duration::seconds(row.number("t")));
        for (got, column) in [(end.winding, "Tw"), (end.case, "Tc")] {
            let want = row.number(column);
            near(got.as_celsius(), want, 1e-6_f64.max(1e-8 * want.abs()));
        }
        let holds = nodes
            .holds(start, &heating, air, celsius(row.number("limit")))
            .unwrap();
        match row.text("reaches") {
            "" => assert!(holds.is_none_or(|t| t.si() > 3_600.0), "{}", row.text("name")),
            want => near(holds.unwrap().si(), want.parse().unwrap(), 1e-6),
        }
    }
}

#[test]
fn two_steps_make_one() {
    // The exact solution of a linear system: e^(A·t1)·e^(A·t2) = e^(A·(t1 + t2)).
    let (start, air) = (Temperatures::even(celsius(40.0)), celsius(10.0));
    let whole = servo().after(start, &copper(9.0), air, Duration::seconds(1_000.0));
    let half = servo().after(start, &copper(9.0), air, Duration::seconds(317.0));
    let rest = servo().after(half, &copper(9.0), air, Duration::seconds(683.0));
    near(rest.winding.si(), whole.winding.si(), 1e-9);
    near(rest.case.si(), whole.case.si(), 1e-9);
}

#[test]
fn settles_where_the_steady_state_says() {
    let air = celsius(25.0);
    let heating = Heating::copper(Current::amperes(6.0), Resistance::ohms(0.365), Power::watts(5.0));
    let steady = servo().steady(&heating, air).unwrap();
    let late = servo().after(Temperatures::even(air), &heating, air, Duration::hours(24.0));
    near(late.winding.si(), steady.winding.si(), 1e-9);
    near(late.case.si(), steady.case.si(), 1e-9);
    // In balance all heat passes the case, and the copper's passes the winding.
    let made = copper_resistance(heating.resistance, steady.winding).si() * 36.0;
    near(steady.winding.si() - steady.case.si(), made * 1.85, 1e-9);
    near(steady.case.si() - air.si(), (made + 5.0) * 1.3, 1e-9);
}

#[test]
fn data_sheet_of_a_servo_motor() {
    // 100 K over 20 °C: R hot 0.508 Ω, 100/3.15 = 31.75 W, 7.90 A, 0.972 N·m (arithmetic on the sheet's
    // figures). The sheet's own 6.8 A lies 16 % below that: copper alone is an upper bound.
    let hot = copper_resistance(Resistance::ohms(0.365), celsius(120.0));
    near(hot.as_ohms(), 0.508, 5e-4);
    let air = celsius(20.0);
    let bound = continuous_current(celsius(120.0), air);
    near(bound, 7.90, 5e-3);
    near(0.123 * bound, 0.972, 5e-4);
    // Iron loss explains the difference: 6.8 A are left when the case makes the heat it then lacks.
    let iron = (100.0 - 3.15 * hot.si() * 6.8 * 6.8) / 1.3;
    let ironed = Heating::copper(Current::amperes(6.8), Resistance::ohms(0.365), Power::watts(iron));
    near(
        servo().steady(&ironed, air).unwrap().winding.as_celsius(),
        120.0,
        1e-9,
    );
    let most = continuous_current(celsius(125.0), celsius(25.0));
    // At that current the winding settles exactly at the limit.
    let steady = servo().steady(&copper(most), celsius(25.0)).unwrap();
    near(steady.winding.as_celsius(), 125.0, 1e-9);
    // 6.8 A: dT = k/(1 − a·k) with k = I²·R·Rth at the air's temperature.
    let k = 6.8 * 6.8 * 0.365 * 3.15;
    let own = |k: f64| k / (1.0 - COPPER * k);
    let at_20 = servo().steady(&copper(6.8), celsius(20.0)).unwrap();
    near(at_20.winding.as_celsius() - 20.0, own(k), 1e-9);
    // The rise worked by hand for this motor is 67.2 K (printed to 0.1).
    near(own(k), 67.2, 0.05);
    // Copper cannot carry what heats it faster than it cools: a·I²·R·Rth = 1 at 14.88 A.
    let runaway = (1.0 / (COPPER * 0.365 * 3.15)).sqrt();
    assert!(servo().steady(&copper(runaway * 1.001), celsius(20.0)).is_none());
    assert!(servo().steady(&copper(runaway * 0.999), celsius(20.0)).is_some());
}

#[test]
fn winding_alone_at_twice_its_current() {
    // 13.6 A through R at +50 K (80.8 W) on the winding's node alone, case held cool: +100 K in 136 s by
    // t = −tau·ln(1 − dT/(P·Rth)), arithmetic on the servo's sheet.
    let loss = 13.6 * 13.6 * copper_resistance(Resistance::ohms(0.365), celsius(70.0)).si();
    near(loss, 80.8, 0.05);
    let held = Nodes {
        case: HeatCapacity::joules_per_kelvin(1e12),
        ..servo()
    };
    let start = Temperatures::even(celsius(25.0));
    let heating = Heating::fixed(Power::watts(loss), Power::ZERO);
    let time = held
        .holds(start, &heating, celsius(25.0), celsius(125.0))
        .unwrap()
        .unwrap();
    near(time.as_seconds(), 136.0, 0.5);
    close(
        time.as_seconds(),
        -123.0 * (1.0_f64 - 100.0 / (loss * 1.85)).ln(),
        1e-6,
    );
    // With the copper resisting more as it warms and the case warming too it is another figure: on the
    // separate integration it is the row servo_13.6A.
}

#[test]
fn holding_time_on_either_side_of_for_ever() {
    let air = celsius(25.0);
    let cold = Temperatures::even(air);
    let limit = celsius(125.0);
    let most = continuous_current(limit, air);
    let hold = |amperes: f64| servo().holds(cold, &copper(amperes), air, limit).unwrap();
    assert_eq!(hold(most * 0.999), None);
    assert!(hold(most * 1.001).unwrap().as_hours() > 1.0);
    // More current, warmer start or warmer air: never longer.
    let long = hold(12.0).unwrap();
    assert!(hold(12.1).unwrap() < long);
    let warm = Temperatures::even(celsius(40.0));
    assert!(servo().holds(warm, &copper(12.0), air, limit).unwrap().unwrap() < long);
    let summer = celsius(35.0);
    assert!(
        servo()
            .holds(cold, &copper(12.0), summer, limit)
            .unwrap()
            .unwrap()
            < long
    );
    // At the moment it names the winding is at the limit.
    let then = servo().after(cold, &copper(12.0), air, long);
    near(then.winding.as_celsius(), 125.0, 1e-8);
    // There already, or above.
    for start in [125.0, 130.0] {
        let time = servo().holds(Temperatures::even(celsius(start)), &copper(1.0), air, limit);
        assert_eq!(time, Ok(Some(Duration::ZERO)));
    }
}

#[test]
fn a_winding_that_cools_first_is_followed_to_the_end() {
    // Hot winding, cool case: it cools, then the rising case brings it back up to the limit.
    let air = celsius(20.0);
    let start = Temperatures {
        winding: celsius(90.0),
        case: celsius(20.0),
    };
    let heating = copper(7.0);
    let limit = celsius(95.0);
    let dip = servo().after(start, &heating, air, Duration::seconds(100.0));
    assert!(dip.winding < celsius(85.0));
    match servo().holds(start, &heating, air, limit).unwrap() {
        Some(time) => {
            near(
                servo().after(start, &heating, air, time).winding.as_celsius(),
                95.0,
                1e-8,
            );
        }
        None => assert!(servo().steady(&heating, air).unwrap().winding <= limit),
    }
    // The other way about: a hot case lifts a cool winding over the limit for a while only.
    let lifted = Temperatures {
        winding: celsius(25.0),
        case: celsius(80.0),
    };
    let time = servo()
        .holds(lifted, &copper(0.0), air, celsius(50.0))
        .unwrap()
        .unwrap();
    near(
        servo()
            .after(lifted, &copper(0.0), air, time)
            .winding
            .as_celsius(),
        50.0,
        1e-8,
    );
    assert_eq!(servo().holds(lifted, &copper(0.0), air, celsius(79.9)), Ok(None));
}

#[test]
fn a_limit_just_under_a_passing_peak_is_seen() {
    // A hot case lifts a cool winding to a peak of its own; a hair below it the limit is met, on the
    // way up, and a hair above it never.
    let air = celsius(20.0);
    let start = Temperatures {
        winding: celsius(25.0),
        case: celsius(80.0),
    };
    let at = |t: f64| {
        servo()
            .after(start, &copper(0.0), air, Duration::seconds(t))
            .winding
            .as_celsius()
    };
    let (when, peak) = (1..40_000)
        .map(|i| 0.05 * f64::from(i))
        .map(|t| (t, at(t)))
        .fold((0.0, 0.0), |best, now| if now.1 > best.1 { now } else { best });
    assert!(when > 200.0 && when < 600.0, "{when}");
    let holds = |limit: f64| servo().holds(start, &copper(0.0), air, celsius(limit)).unwrap();
    let time = holds(peak - 1e-3).unwrap().si();
    assert!(time < when && time > when - 30.0, "{time}");
    near(at(time), peak - 1e-3, 1e-8);
    assert_eq!(holds(peak + 1e-3), None);
}

#[test]
fn impossible_figures_are_refused() {
    let refused = |nodes: Nodes| nodes.check().is_err();
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let resistance = ThermalResistance::from_si(bad);
        let capacity = HeatCapacity::from_si(bad);
        assert!(refused(Nodes {
            winding_to_case: resistance,
            ..servo()
        }));
        assert!(refused(Nodes {
            case_to_air: resistance,
            ..servo()
        }));
        assert!(refused(Nodes {
            winding: capacity,
            ..servo()
        }));
        assert!(refused(Nodes {
            case: capacity,
            ..servo()
        }));
    }
    let air = celsius(25.0);
    let start = Temperatures::even(air);
    let negative = servo().holds(start, &copper(-1.0), air, celsius(100.0));
    assert_eq!(
        negative,
        Err(ThermalError::Input {
            name: "current",
            value: -1.0
        })
    );
    let nowhere = servo().holds(start, &copper(1.0), celsius(f64::NAN), celsius(100.0));
    assert!(matches!(nowhere, Err(ThermalError::Input { name: "air", .. })));
    let none = HotMotor {
        motor: Motor {
            kt: 0.0,
            ..servo_motor().motor
        },
        ..servo_motor()
    };
    assert!(matches!(
        none.check(),
        Err(ThermalError::Input { name: "kt", .. })
    ));
}
