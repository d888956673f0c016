//! Tests of voltage windows, chargers and accessory supply.

use super::*;
use crate::electrics::pack_voltage;
use crate::pack::Chemistry;

const NMC: Chemistry = Chemistry::NickelRich;
const LFP: Chemistry = Chemistry::IronPhosphate;

fn volts(value: f64) -> Voltage {
    Voltage::volts(value)
}

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9, "{found} is not {expected}");
}

fn window(min: Option<f64>, max: f64) -> InputWindow {
    InputWindow {
        min: min.map(volts),
        max: volts(max),
    }
}

fn lamp(min: Option<f64>, max: f64, watts: f64) -> Accessory {
    Accessory {
        window: window(min, max),
        power: Power::watts(watts),
    }
}

#[test]
fn windows_by_series_count() {
    let of = |series, cell| pack_voltage(series, cell).unwrap().as_volts();
    // Pack and charger sheets: 13 cells 54.6 V full and cut about 39 V, 10 cells 42.0 V full and
    // 16 cells 67.2 V full; the other rows are arithmetic on 4.20, 3.6 and 3.0 V a cell.
    for (series, full, nominal, label, cut) in [
        (7, 29.4, 25.2, 25.9, 21.0),
        (10, 42.0, 36.0, 37.0, 30.0),
        (12, 50.4, 43.2, 44.4, 36.0),
        (13, 54.6, 46.8, 48.1, 39.0),
        (14, 58.8, 50.4, 51.8, 42.0),
        (16, 67.2, 57.6, 59.2, 48.0),
        (20, 84.0, 72.0, 74.0, 60.0),
    ] {
        near(of(series, NMC.full()), full);
        near(of(series, NMC.nominal()), nominal);
        near(of(series, NMC.cutoff()), cut);
        // Labels that count 3.7 V a cell.
        near(of(series, volts(3.7)), label);
    }
    // Iron phosphate, 3.65, 3.2 and 2.5 V a cell (from memory).
    for (series, full, nominal, cut) in [(12, 43.8, 38.4, 30.0), (16, 58.4, 51.2, 40.0)] {
        near(of(series, LFP.full()), full);
        near(of(series, LFP.nominal()), nominal);
        near(of(series, LFP.cutoff()), cut);
    }
    for series in [0, 31] {
        assert!(pack_voltage(series, NMC.full()).is_err());
    }
}

#[test]
fn devices_hold_the_range_or_not() {
    let judge = |full, cut, min, max| judge_device(volts(full), volts(cut), &window(min, max)).unwrap();
    // Common practice: 58.8 V on a 55.0 V display is a stop, 54.6 V leaves 0.4 V.
    let fourteen = judge(58.8, 42.0, Some(24.0), 55.0);
    assert_eq!(fourteen.standing, WindowStanding::Over);
    near(fourteen.headroom.as_volts(), -3.8);
    near(fourteen.above_min.unwrap().as_volts(), 18.0);
    let thirteen = judge(54.6, 39.0, Some(24.0), 55.0);
    assert_eq!(thirteen.standing, WindowStanding::Inside);
    near(thirteen.headroom.as_volts(), 0.4);
    for (min, max, standing) in [
        (Some(39.0), 54.6, WindowStanding::Inside),
        (Some(39.01), 54.6, WindowStanding::GivesUpFirst),
        (Some(39.0), 54.59, WindowStanding::Over),
        (Some(39.01), 54.59, WindowStanding::Both),
        (None, 54.6, WindowStanding::LowerUnknown),
        (None, 54.59, WindowStanding::Over),
    ] {
        assert_eq!(judge(54.6, 39.0, min, max).standing, standing, "{min:?} to {max}");
    }
    assert_eq!(judge(54.6, 39.0, None, 60.0).above_min, None);
    // Rounding of 14 times 4.2 V does not count against a device of exactly 58.8 V.
    let of = |cell| pack_voltage(14, cell).unwrap();
    let exact = judge_device(of(NMC.full()), of(NMC.cutoff()), &window(Some(42.0), 58.8)).unwrap();
    assert_eq!(exact.standing, WindowStanding::Inside);
}

#[test]
fn devices_of_impossible_figures_are_refused() {
    let judge = |full, cut, min, max| judge_device(volts(full), volts(cut), &window(min, max));
    for (full, cut, min, max) in [
        (0.9, 0.9, None, 60.0),
        (150.1, 39.0, None, 60.0),
        (54.6, 54.7, None, 60.0),
        (54.6, 0.9, None, 60.0),
        (54.6, 39.0, None, 0.9),
        (54.6, 39.0, None, 150.1),
        (54.6, 39.0, Some(60.1), 60.0),
        (54.6, 39.0, Some(-0.1), 60.0),
        (f64::NAN, 39.0, None, 60.0),
    ] {
        assert!(judge(full, cut, min, max).is_err(), "{full} {cut} {min:?} {max}");
    }
    assert!(judge(54.6, 54.6, Some(0.0), 60.0).is_ok());
    assert!(judge(1.0, 1.0, None, 1.0).is_ok());
    assert!(judge(150.0, 1.0, Some(150.0), 150.0).is_ok());
}

#[test]
fn accessories_find_their_feed() {
    let how = |accessory: Accessory, outlet: Option<f64>| {
        feed(&accessory, volts(54.6), volts(39.0), outlet.map(volts)).unwrap()
    };
    assert_eq!(how(lamp(Some(12.0), 60.0, 5.0), None), Feed::Pack);
    assert_eq!(how(lamp(Some(39.0), 54.6, 5.0), None), Feed::Pack);
    assert_eq!(how(lamp(Some(39.1), 54.6, 5.0), None), Feed::Converter);
    assert_eq!(how(lamp(Some(39.0), 54.5, 5.0), None), Feed::Converter);
    assert_eq!(how(lamp(None, 60.0, 5.0), None), Feed::Converter);
    assert_eq!(how(lamp(Some(12.0), 60.0, 5.0), Some(12.0)), Feed::Outlet);
    assert_eq!(how(lamp(Some(12.0), 60.0, 5.0), Some(6.0)), Feed::Pack);
    assert_eq!(how(lamp(Some(5.0), 7.0, 3.0), Some(6.0)), Feed::Outlet);
    assert_eq!(how(lamp(Some(5.0), 7.0, 3.0), Some(12.0)), Feed::Converter);
    assert_eq!(how(lamp(None, 7.0, 3.0), Some(6.0)), Feed::Outlet);
}

#[test]
fn an_accessory_takes_a_voltage_in_its_window() {
    let six = lamp(Some(5.0), 7.0, 3.0);
    for (voltage, takes) in [
        (4.99, false),
        (5.0, true),
        (6.0, true),
        (7.0, true),
        (7.01, false),
    ] {
        assert_eq!(six.takes(volts(voltage)), takes, "{voltage}");
    }
    assert!(lamp(None, 7.0, 3.0).takes(volts(0.5)));
    assert!(!lamp(None, 7.0, 3.0).takes(volts(7.01)));
}

#[test]
fn accessory_currents_add_up() {
    // Arithmetic: 6 W and 3 W at 6 V are 1.5 A; at 36 V 0.25 A.
    let lamps = [lamp(Some(5.0), 60.0, 6.0), lamp(Some(6.5), 60.0, 3.0)];
    near(accessory_current(&lamps, volts(6.0)).unwrap().as_amperes(), 1.5);
    near(accessory_current(&lamps, volts(36.0)).unwrap().as_amperes(), 0.25);
    assert_eq!(accessory_current(&[], volts(6.0)).unwrap(), Current::ZERO);
    let load = outlet_load(&lamps, volts(6.0), Current::amperes(1.2)).unwrap();
    near(load.current.as_amperes(), 1.5);
    near(load.margin.as_amperes(), -0.3);
    assert_eq!(load.unsuited, 1);
    let load = outlet_load(&lamps, volts(6.5), Current::amperes(2.0)).unwrap();
    assert_eq!(load.unsuited, 0);
    near(load.margin.as_amperes(), 2.0 - 9.0 / 6.5);
}

#[test]
fn converters_carry_their_load() {
    // Arithmetic: 18 W at 12 V is 1.5 A; at 0.9 it takes 20 W, 0.5 A from 40 V.
    let converter = Converter {
        input: window(Some(36.0), 60.0),
        output: volts(12.0),
        output_current: Current::amperes(2.0),
        efficiency: 0.9,
    };
    let lamps = [lamp(Some(10.0), 14.0, 10.0), lamp(Some(10.0), 14.0, 8.0)];
    let load = converter_load(&lamps, &converter, volts(58.8), volts(40.0)).unwrap();
    near(load.output.current.as_amperes(), 1.5);
    near(load.output.margin.as_amperes(), 0.5);
    assert_eq!(load.output.unsuited, 0);
    near(load.output_power.as_watts(), 18.0);
    near(load.input_power.as_watts(), 20.0);
    near(load.input_current.as_amperes(), 0.5);
    assert_eq!(load.input, WindowStanding::Inside);
    let over = converter_load(&lamps, &converter, volts(67.2), volts(40.0)).unwrap();
    assert_eq!(over.input, WindowStanding::Over);
    for efficiency in [0.49, 1.01] {
        let wrong = Converter {
            efficiency,
            ..converter
        };
        assert!(converter_load(&lamps, &wrong, volts(58.8), volts(40.0)).is_err());
    }
    let ideal = Converter {
        efficiency: 1.0,
        ..converter
    };
    let load = converter_load(&lamps, &ideal, volts(58.8), volts(40.0)).unwrap();
    assert_eq!(load.input_power, load.output_power);
}

#[test]
fn accessories_of_impossible_figures_are_refused() {
    for wrong in [
        lamp(Some(5.0), 0.9, 3.0),
        lamp(None, 150.1, 3.0),
        lamp(Some(7.1), 7.0, 3.0),
        lamp(Some(-0.1), 7.0, 3.0),
        lamp(None, 7.0, -0.1),
        lamp(None, 7.0, 1000.1),
    ] {
        assert!(accessory_current(&[wrong], volts(6.0)).is_err(), "{wrong:?}");
        assert!(feed(&wrong, volts(54.6), volts(39.0), None).is_err(), "{wrong:?}");
    }
    let right = [lamp(None, 7.0, 1000.0)];
    assert!(accessory_current(&right, volts(1.0)).is_ok());
    assert!(accessory_current(&right, volts(0.9)).is_err());
    assert!(accessory_current(&right, volts(150.1)).is_err());
    assert!(outlet_load(&right, volts(6.0), Current::amperes(-0.1)).is_err());
    assert!(outlet_load(&right, volts(6.0), Current::amperes(100.1)).is_err());
    assert!(outlet_load(&right, volts(6.0), Current::amperes(100.0)).is_ok());
}
