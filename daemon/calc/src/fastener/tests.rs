//! Tests of the torque table and of recorded torques.

use super::*;

fn nm(value: f64) -> Torque {
    Torque::newton_metres(value)
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

#[test]
fn pound_inches_convert_as_published() {
    // 1 lbf·in = 0.112985 N·m (from the exact pound, inch and standard gravity); the pairs are
    // those of a shop table in lbf·in and of an owner's manual.
    near(
        Torque::pound_force_inches(1.0).as_newton_metres(),
        0.112_985,
        5e-7,
    );
    for (pounds, newtons) in [
        (300.0, 33.90),
        (360.0, 40.67),
        (350.0, 39.54),
        (45.0, 5.08),
        (55.0, 6.21),
        (106.0, 11.98),
        (124.0, 14.01),
        (71.0, 8.02),
        (79.0, 8.93),
        (174.0, 19.66),
        (347.0, 39.21),
    ] {
        near(
            Torque::pound_force_inches(pounds).as_newton_metres(),
            newtons,
            0.005,
        );
        near(nm(newtons).as_pound_force_inches(), pounds, 0.05);
    }
}

#[test]
fn rows_agree_with_their_pound_inches() {
    // Shop table in lbf·in (common practice); rounded there to 0.1 or whole N·m.
    for (id, index, low, high, tolerance) in [
        ("bottom-bracket-cup", 0, 300.0, 360.0, 0.05),
        ("chainring-bolt-steel", 0, 106.0, 124.0, 0.05),
        ("chainring-bolt-aluminium", 0, 71.0, 79.0, 0.08),
        ("saddle-rail-single-binder", 0, 174.0, 347.0, 0.05),
    ] {
        let range = fastener(id).unwrap().ranges[index];
        near(
            range.min_nm,
            Torque::pound_force_inches(low).as_newton_metres(),
            tolerance,
        );
        near(
            range.max_nm,
            Torque::pound_force_inches(high).as_newton_metres(),
            tolerance,
        );
    }
    near(
        fastener("rotor-lock-ring").unwrap().ranges[0].min_nm,
        Torque::pound_force_inches(350.0).as_newton_metres(),
        0.05,
    );
}

#[test]
fn a_printed_slip_of_conversion_is_not_repeated() {
    // One shop table prints 32.9 N·m beside 300 lbf·in; 300 lbf·in is 33.9 N·m.
    let cup = fastener("bottom-bracket-cup").unwrap().ranges[0];
    near(
        cup.min_nm,
        Torque::pound_force_inches(300.0).as_newton_metres(),
        PRINTED_NM,
    );
    for row in FASTENERS {
        assert!(row.ranges.iter().all(|r| r.min_nm != 32.9), "{}", row.id);
    }
}

#[test]
fn rows_are_whole() {
    for (at, row) in FASTENERS.iter().enumerate() {
        assert_eq!(fastener(row.id), Some(&FASTENERS[at]), "{} occurs twice", row.id);
        assert!(!row.ranges.is_empty(), "{}", row.id);
        for range in row.ranges {
            assert!(range.min_nm > 0.0 && range.min_nm <= range.max_nm, "{}", row.id);
            assert!(!range.source.is_empty(), "{}", row.id);
        }
    }
    assert_eq!(FASTENERS.len(), 40);
    assert_eq!(fastener("stem"), None);
}

#[test]
fn a_mark_is_a_range() {
    let range = |mark: Mark| {
        let range = mark.range().unwrap();
        assert_eq!(range.basis, Basis::Read);
        (range.min.as_newton_metres(), range.max.as_newton_metres())
    };
    let same = |found: (f64, f64), expected: (f64, f64)| {
        near(found.0, expected.0, 1e-9);
        near(found.1, expected.1, 1e-9);
    };
    // Judgement: four fifths of a greatest torque at least, a tenth either way of one figure.
    same(range(Mark::Between(nm(11.0), nm(13.0))), (11.0, 13.0));
    same(range(Mark::UpTo(nm(5.0))), (4.0, 5.0));
    same(range(Mark::Single(nm(40.0))), (36.0, 44.0));
}

#[test]
fn carbon_gets_less() {
    // From memory: 2 to 3 N·m lower. 4 to 6 N·m becomes 1 to 4 N·m; 3 to 4 N·m leaves nothing.
    let range = fastener("stem-faceplate").unwrap().ranges[0].on_carbon().unwrap();
    assert_eq!(
        (range.min, range.max, range.basis),
        (nm(1.0), nm(4.0), Basis::Memory)
    );
    assert_eq!(fastener("shifter-clamp").unwrap().ranges[0].on_carbon(), None);
}

#[test]
fn marks_that_cannot_be_are_refused() {
    for mark in [
        Mark::UpTo(nm(0.05)),
        Mark::Single(nm(201.0)),
        Mark::Between(nm(8.0), nm(7.9)),
        Mark::Between(nm(0.05), nm(7.9)),
    ] {
        assert!(mark.range().is_err(), "{mark:?}");
    }
    assert!(Mark::Between(nm(8.0), nm(8.0)).range().is_ok());
    assert!(Mark::UpTo(nm(0.1)).range().is_ok() && Mark::Single(nm(200.0)).range().is_ok());
}
