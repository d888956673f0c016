//! Tests of voltages, charger, wire, fuse and pre-charge.

use super::*;
use crate::quantity::{Area, Length, Temperature};

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

fn volts(value: f64) -> Voltage {
    Voltage::volts(value)
}

fn amperes(value: f64) -> Current {
    Current::amperes(value)
}

fn awg(number: u8) -> Gauge {
    Gauge::new(number).unwrap()
}

#[test]
fn a_cross_section_is_taken_as_the_gauge_that_is_no_thicker() {
    // Handbook table, restated: AWG 16 1.31, 14 2.08, 12 3.31, 10 5.26, 8 8.37, 6 13.3 mm2; the sizes are IEC 60228's.
    for (mm2, gauge) in [
        (1.5, 16),
        (2.5, 14),
        (4.0, 12),
        (6.0, 10),
        (10.0, 8),
        (16.0, 6),
        (3.31, 12),
        (0.823, 18),
        (13.3, 6),
    ] {
        assert_eq!(
            Gauge::within(Area::square_millimetres(mm2)),
            Ok(awg(gauge)),
            "{mm2}"
        );
    }
    assert!(Gauge::within(Area::square_millimetres(0.001)).is_err());
    assert!(Gauge::within(Area::square_millimetres(f64::NAN)).is_err());
}

#[test]
fn pack_voltages_by_series_count() {
    // Arithmetic on 4.20, 3.6, 3.0 and 2.75 V a cell; read in pack and charger sheets: 13 cells
    // 54.6 V full, 10 cells 42.0 V full and 27.5 V cut, 16 cells 67.2 V full.
    for (series, full, nominal, cut, low) in [
        (7, 29.4, 25.2, 21.0, 19.25),
        (10, 42.0, 36.0, 30.0, 27.5),
        (12, 50.4, 43.2, 36.0, 33.0),
        (13, 54.6, 46.8, 39.0, 35.75),
        (14, 58.8, 50.4, 42.0, 38.5),
        (16, 67.2, 57.6, 48.0, 44.0),
        (20, 84.0, 72.0, 60.0, 55.0),
    ] {
        for (cell, pack) in [(4.20, full), (3.6, nominal), (3.0, cut), (2.75, low)] {
            near(pack_voltage(series, volts(cell)).unwrap().as_volts(), pack, 1e-9);
            near(per_cell(volts(pack), series).unwrap().as_volts(), cell, 1e-9);
        }
    }
    // Lithium iron phosphate, 3.65 V full (from memory).
    near(pack_voltage(12, volts(3.65)).unwrap().as_volts(), 43.8, 1e-9);
    near(pack_voltage(16, volts(3.65)).unwrap().as_volts(), 58.4, 1e-9);
    assert!(pack_voltage(0, volts(4.2)).is_err());
}

#[test]
fn device_windows() {
    // Common practice, no source: 54.6 V on a 55.0 V display lies above 0.98 of it and below it;
    // 58.8 V is over it, and exactly 0.98 of 60 V.
    let margin = |full, max| {
        window_margin(
            volts(full),
            volts(30.0),
            &InputWindow {
                min: None,
                max: volts(max),
            },
        )
        .unwrap()
    };
    let display = margin(54.6, 55.0);
    assert!(display.fraction_of_max > 0.98 && display.fraction_of_max <= 1.0);
    assert!(margin(58.8, 55.0).headroom < 0.0);
    near(margin(58.8, 60.0).fraction_of_max, 0.98, 1e-9);
    let low = window_margin(
        volts(54.6),
        volts(39.0),
        &InputWindow {
            min: Some(volts(41.0)),
            max: volts(60.0),
        },
    )
    .unwrap();
    near(low.above_min.unwrap().as_volts(), -2.0, 1e-9);
    assert!(
        window_margin(
            volts(54.6),
            volts(60.0),
            &InputWindow {
                min: None,
                max: volts(60.0)
            }
        )
        .is_err()
    );
}

#[test]
fn chargers() {
    // Arithmetic: 58.8 V on 13 cells is 4.523 V a cell; 54.6 V on 14 is 3.90.
    let over = charger_match(volts(58.8), volts(54.6), 13).unwrap();
    near(over.per_cell.as_volts(), 4.523, 0.0005);
    near(over.difference.as_volts(), 4.2, 1e-9);
    let under = charger_match(volts(54.6), volts(58.8), 14).unwrap();
    near(under.per_cell.as_volts(), 3.90, 1e-9);
    near(under.difference.as_volts(), -4.2, 1e-9);
    // Common practice, no source: a charger measured at 41.9 V for 42.0 V is within 0.3.
    let found = charger_match(volts(41.9), volts(42.0), 10).unwrap();
    assert!(found.difference.abs().as_volts() <= 0.3);
}

#[test]
fn low_voltage_per_cell() {
    // Arithmetic: 41 V is 3.15 V a cell on 13, 2.93 on 14; 31.0 V is 3.10 on 10.
    for (pack, series, cell) in [(41.0, 13, 3.15), (41.0, 14, 2.93), (31.0, 10, 3.10)] {
        near(per_cell(volts(pack), series).unwrap().as_volts(), cell, 0.005);
    }
}

#[test]
fn rates() {
    // Arithmetic: 25 A on 17.5 Ah is 1.43, on 14 Ah 1.79; 14 A on 10.4 Ah 1.35; 20 A for 25 A 0.80.
    let rate = |a, ah| c_rate(amperes(a), Charge::ampere_hours(ah)).unwrap();
    near(rate(25.0, 17.5), 1.43, 0.005);
    near(rate(25.0, 14.0), 1.79, 0.005);
    near(rate(14.0, 10.4), 1.35, 0.005);
    near(current_ratio(amperes(20.0), amperes(25.0)).unwrap(), 0.80, 1e-12);
    assert!(current_ratio(amperes(20.0), amperes(0.0)).is_err());
    near(input_power(volts(36.0), amperes(14.0)).as_watts(), 504.0, 1e-9);
}

#[test]
fn charging_time() {
    // Arithmetic: 12 Ah at 2 A from 20 % to 100 %, factor 1.2: 5.76 h. Read in a pack sheet:
    // 10 to 12 Ah at 3 A in about 300 min, a factor of 1.25 to 1.5.
    let time = |ah, from, to, a, factor| {
        charge_time(Charge::ampere_hours(ah), from, to, amperes(a), factor)
            .unwrap()
            .as_hours()
    };
    near(time(12.0, 0.2, 1.0, 2.0, 1.2), 5.76, 1e-9);
    near(time(12.0, 0.0, 1.0, 3.0, 1.25), 5.0, 1e-9);
    near(time(10.0, 0.0, 1.0, 3.0, 1.5), 5.0, 1e-9);
    assert!(charge_time(Charge::ampere_hours(12.0), 0.9, 0.2, amperes(2.0), 1.2).is_err());
}

#[test]
fn precharge_of_a_controller() {
    // Arithmetic: 54.6 V, 100 Ω, 1000 µF: 0.55 A, 0.1 s, wait 0.5 s, 1.49 J.
    let found = precharge(
        volts(54.6),
        Resistance::ohms(100.0),
        Capacitance::microfarads(1000.0),
    )
    .unwrap();
    near(found.peak.as_amperes(), 0.55, 0.005);
    near(found.time_constant.as_seconds(), 0.1, 1e-12);
    near(found.wait.as_seconds(), 0.5, 1e-12);
    near(found.stored.as_joules(), 1.49, 0.005);
}

#[test]
fn contact() {
    // Arithmetic: 0.5 mΩ at 25 A is 0.31 W.
    near(
        contact_heat(amperes(25.0), Resistance::milliohms(0.5)).as_watts(),
        0.31,
        0.005,
    );
}

#[test]
fn wire_table() {
    // Columns and tolerances are described in the table's README.
    const TABLE: &str = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../tests/reference/tables/awg.csv"
    ));
    let mut rows = 0;
    for line in TABLE.lines().skip(1) {
        let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let [number, measured, definition, _, area, cold, hot, drop] = cells[..] else {
            panic!("{line}")
        };
        let gauge = awg(number as u8);
        let diameter = gauge.diameter().as_millimetres();
        near(diameter, measured, 0.004 * measured);
        near(diameter, definition, 6e-6);
        near(gauge.area().as_square_millimetres(), area, 6e-6);
        let kilometre = Length::kilometres(1.0);
        let ohms = |celsius| {
            gauge
                .resistance(kilometre, Temperature::celsius(celsius))
                .unwrap()
                .as_ohms()
        };
        near(ohms(20.0), cold, 2e-5 * cold);
        near(ohms(60.0), hot, 2e-5 * hot);
        let found = voltage_drop(
            gauge,
            Length::metres(1.0),
            amperes(20.0),
            Temperature::celsius(60.0),
        )
        .unwrap();
        near(found.as_millivolts(), drop, 3e-5 * drop);
        rows += 1;
    }
    assert_eq!(rows, 18);
}

#[test]
fn wire_currents() {
    // Handbook tables (common practice): in free air 12 AWG 41 A, 10 AWG 55 A, 14 AWG 32 A.
    for (number, free_air) in [(12, 41.0), (10, 55.0), (14, 32.0)] {
        near(awg(number).free_air().unwrap().as_amperes(), free_air, 1e-9);
    }
    assert!(awg(11).free_air().is_none());
    assert!(Gauge::new(41).is_err());
}

#[test]
fn drops_and_losses() {
    // Computed by hand from 2·L·R'·I: 12 AWG 1.2 m 25 A 0.3126 V and 7.82 W at 20 °C, 0.3618 V at
    // 60 °C; 14 AWG 1.0 m 15 A 0.2485 V; 16 AWG 1.5 m 10 A 0.395 V.
    let drop = |number, metres, current, celsius| {
        let temperature = Temperature::celsius(celsius);
        voltage_drop(awg(number), Length::metres(metres), amperes(current), temperature)
            .unwrap()
            .as_volts()
    };
    near(drop(12, 1.2, 25.0, 20.0), 0.3126, 0.0001);
    near(drop(12, 1.2, 25.0, 60.0), 0.3618, 0.0001);
    near(drop(14, 1.0, 15.0, 20.0), 0.2485, 0.0001);
    near(drop(16, 1.5, 10.0, 20.0), 0.395, 0.0005);
    near(drop(12, 1.2, 25.0, 20.0) / 36.0, 0.0087, 0.00005);
    near(drop(16, 1.5, 10.0, 20.0) / 36.0, 0.0110, 0.00005);
    let loss = wire_loss(
        awg(12),
        Length::metres(1.2),
        amperes(25.0),
        Temperature::celsius(20.0),
    )
    .unwrap();
    near(loss.as_watts(), 7.82, 0.005);
}

#[test]
fn thinner_and_hotter_drops_more() {
    for number in 4..30 {
        let ohms = |n: u8, celsius| {
            awg(n)
                .resistance(Length::metres(1.0), Temperature::celsius(celsius))
                .unwrap()
                .as_ohms()
        };
        assert!(ohms(number + 1, 20.0) > ohms(number, 20.0));
        assert!(ohms(number, 60.0) > ohms(number, 20.0));
    }
}

#[test]
fn fuses() {
    // Common practice (fuse makers' guides): 80 A on wire for 150 A: from 100, choose 125.
    let window = fuse_window(amperes(80.0), amperes(150.0)).unwrap();
    near(window.min.as_amperes(), 100.0, 1e-9);
    assert_eq!(window.middle, Some(amperes(125.0)));

    // Arithmetic with free air × 0.6: 25 A asks 31.25, so 35 A; 12 AWG (24.6 A) and 10 AWG (33 A)
    // cannot carry it, 8 AWG (43.8 A) can; 24 A on 10 AWG takes a 30 A fuse.
    let derated = |number| awg(number).free_air().unwrap() * DERATING;
    near(derated(12).as_amperes(), 24.6, 1e-9);
    near(derated(8).as_amperes(), 43.8, 1e-9);
    assert_eq!(fuse_window(amperes(25.0), derated(12)).unwrap().smallest, None);
    assert_eq!(fuse_window(amperes(25.0), derated(10)).unwrap().smallest, None);
    assert_eq!(
        fuse_window(amperes(25.0), derated(8)).unwrap().smallest,
        Some(amperes(35.0))
    );
    assert_eq!(
        fuse_window(amperes(24.0), derated(10)).unwrap().smallest,
        Some(amperes(30.0))
    );
}

#[test]
fn a_chosen_fuse_always_lies_in_its_window() {
    for load in 1..120 {
        for wire in 1..220 {
            let window = fuse_window(amperes(f64::from(load)), amperes(f64::from(wire))).unwrap();
            for fuse in [window.smallest, window.middle].into_iter().flatten() {
                assert!(fuse.as_amperes() >= window.min.as_amperes() - 1e-9);
                assert!(fuse.as_amperes() <= window.max.as_amperes() + 1e-9);
            }
            assert_eq!(window.smallest.is_none(), window.middle.is_none());
        }
    }
}

#[test]
fn the_thinnest_wire_that_a_fuse_protects() {
    // Handbook table, restated: 25 A asks for 31.25 A and so for 35 A: 10 AWG (33 A) has no
    // common size in its window, 8 AWG (43.8 A) has. 15 A asks for 18.75: 20 A on 12 AWG (24.6 A);
    // 24 A asks for 30 A, which 10 AWG carries.
    for (current, gauge) in [(25.0, 8), (15.0, 12), (24.0, 10), (64.0, 6)] {
        let found = thinnest_for(amperes(current)).unwrap();
        let expected = (current < 50.0).then(|| awg(gauge));
        assert_eq!(found, expected, "{current}");
    }
    assert!(thinnest_for(amperes(0.0)).is_err());
}

#[test]
fn a_short_is_held_by_the_source_alone() {
    // Ohm's law, by hand: 54.6 V over 54.6 mΩ and over 0.1 Ω; 42 V held to 5 A asks for 8.4 Ω.
    let short = |v, r| short_circuit(volts(v), Resistance::ohms(r)).map(Current::as_amperes);
    assert!((short(54.6, 0.0546).unwrap() - 1000.0).abs() < 1e-9);
    assert!((short(54.6, 0.1).unwrap() - 546.0).abs() < 1e-9);
    for (v, r) in [(0.9, 0.1), (150.1, 0.1), (54.6, 0.00009), (54.6, 100.1)] {
        assert!(short(v, r).is_err(), "{v} V, {r} ohm");
    }
    for (v, r) in [(1.0, 100.0), (150.0, 0.0001)] {
        assert!(short(v, r).is_ok(), "{v} V, {r} ohm");
    }
    let least = |v, i| least_resistor(volts(v), Current::amperes(i)).map(Resistance::as_ohms);
    assert!((least(42.0, 5.0).unwrap() - 8.4).abs() < 1e-12);
    for (v, i) in [(0.9, 5.0), (150.1, 5.0), (42.0, 0.009), (42.0, 500.1)] {
        assert!(least(v, i).is_err(), "{v} V, {i} A");
    }
}
