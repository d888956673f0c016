//! Tests of the open-circuit curves against an independent battery library.

use super::super::tests::pack;
use super::*;
use crate::solve::table::{near, rows};

const BOTH: [Chemistry; 2] = [Chemistry::NickelRich, Chemistry::IronPhosphate];

fn iron() -> Pack {
    Pack {
        chemistry: Chemistry::IronPhosphate,
        ..pack()
    }
}

#[test]
fn open_circuit_curve_of_the_published_cell() {
    // Chen et al. 2020 in an independent battery library, printed to 1 µV; 10 µV (the end stoichiometries
    // here have 7 digits) and 0.2 mV for 13 cells.
    for row in rows(include_str!("../../../../../tests/reference/battery/ocv_soc.csv")) {
        let cell = cell_open_circuit(Chemistry::NickelRich, row.number("soc")).unwrap();
        near(cell.as_volts(), row.number("ocv_V_per_cell"), 1e-5);
        near(
            pack().open_circuit(row.number("soc")).unwrap().as_volts(),
            row.number("ocv_V_13s"),
            2e-4,
        );
    }
}

#[test]
fn open_circuit_curve_of_the_published_iron_phosphate_cell() {
    // The set named after Prada et al. 2013 in the same library, printed to 1 µV; 10 µV.
    for row in rows(include_str!(
        "../../../../../tests/reference/battery/ocv_soc_iron_phosphate.csv"
    )) {
        let cell = cell_open_circuit(Chemistry::IronPhosphate, row.number("soc")).unwrap();
        near(cell.as_volts(), row.number("ocv_V_per_cell"), 1e-5);
        near(
            iron().open_circuit(row.number("soc")).unwrap().as_volts(),
            13.0 * row.number("ocv_V_per_cell"),
            2e-4,
        );
    }
}

#[test]
fn the_curves_rise_and_their_inverse_undoes_them() {
    for pack in [pack(), iron()] {
        let mut before = Voltage::ZERO;
        for step in 0..=1_000 {
            let soc = f64::from(step) / 1_000.0;
            let volts = pack.open_circuit(soc).unwrap();
            assert!(volts > before, "{:?} at {soc}", pack.chemistry);
            before = volts;
            near(pack.state_of_charge(volts).unwrap(), soc, 1e-9);
        }
    }
}

#[test]
fn the_curves_have_the_published_means() {
    // Chen et al. 2020 integrated with the library's functions: 3.722 V; Prada set: 3.195 V.
    for (chemistry, want) in [(Chemistry::NickelRich, 3.722), (Chemistry::IronPhosphate, 3.195)] {
        let steps = 20_000;
        let sum: f64 = (0..steps)
            .map(|i| Curve::of(chemistry).volts((f64::from(i) + 0.5) / f64::from(steps)))
            .sum();
        near(sum / f64::from(steps), want, 5e-4);
    }
}

#[test]
fn another_make_lies_no_further_off_than_is_said() {
    // A published 2.15 Ah nickel-rich 18650 (open parameter set of the model of Schmalstieg et al. 2014):
    // 3.603 V at 0.24, 3.697 V at 0.50, 3.888 V at 0.72; the documentation says 54 to 84 mV.
    for (soc, volts) in [(0.24, 3.603), (0.50, 3.697), (0.72, 3.888)] {
        let here = cell_open_circuit(Chemistry::NickelRich, soc).unwrap().as_volts();
        let apart = (here - volts).abs();
        assert!((0.045..=0.085).contains(&apart), "{apart} V at {soc}");
    }
}

#[test]
fn a_table_keeps_to_its_curve_between_its_points() {
    for chemistry in BOTH {
        let pack = Pack {
            series: 14,
            chemistry,
            ..pack()
        };
        let table = CurveTable::new(&pack).unwrap();
        let mut worst = 0.0_f64;
        for step in 0..=100_000 {
            let soc = f64::from(step) / 100_000.0;
            let apart = table.open_circuit(soc) - pack.open_circuit(soc).unwrap();
            worst = worst.max(apart.as_volts().abs() / 14.0);
        }
        assert!(worst < 0.000_15, "{worst} V a cell, {chemistry:?}");
        // The bound is no wider than it must be: a straight line is off by something.
        assert!(worst > 0.000_02, "{worst} V a cell, {chemistry:?}");
    }
}

#[test]
fn a_table_holds_its_ends() {
    let table = CurveTable::new(&pack()).unwrap();
    let at = |soc| table.open_circuit(soc).as_volts();
    near(at(0.0), 32.5, 1e-4);
    near(at(-0.3), 32.5, 1e-4);
    near(at(1.0), 54.6, 1e-4);
    near(at(1.7), 54.6, 1e-4);
    let flat = CurveTable::flat(Voltage::volts(48.0));
    for soc in [0.0, 0.37, 1.0] {
        near(flat.open_circuit(soc).as_volts(), 48.0, 1e-12);
    }
    let wrong = Pack { series: 0, ..pack() };
    assert!(matches!(
        CurveTable::new(&wrong),
        Err(PackError::Input { name: "series", .. })
    ));
}

#[test]
fn no_curve_beyond_empty_and_full() {
    for chemistry in BOTH {
        for soc in [-1e-9, 1.0 + 1e-9, f64::NAN] {
            assert!(matches!(
                cell_open_circuit(chemistry, soc),
                Err(PackError::Input { name: "soc", .. })
            ));
        }
    }
}
