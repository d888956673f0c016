//! Tests of the torque table and of recorded torques.

use super::*;

fn nm(value: f64) -> Torque {
    Torque::newton_metres(value)
}

fn stands(id: &str, value: f64) -> Standing {
    judge(fastener(id).unwrap(), nm(value), None, Clamped::Metal)
        .unwrap()
        .standing
}

fn on_carbon(id: &str, value: f64) -> TorqueJudged {
    judge(fastener(id).unwrap(), nm(value), None, Clamped::Carbon).unwrap()
}

fn with_mark(id: &str, value: f64, mark: Mark) -> TorqueJudged {
    judge(fastener(id).unwrap(), nm(value), Some(mark), Clamped::Metal).unwrap()
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
    assert_eq!(stands("bottom-bracket-cup", 32.9), Standing::Outside);
    assert_eq!(stands("bottom-bracket-cup", 33.9), Standing::Inside);
    let set = Torque::pound_force_inches(300.0).as_newton_metres();
    assert_eq!(stands("bottom-bracket-cup", set), Standing::Inside);
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
fn sources_that_disagree_are_marked() {
    let agreement = |id| fastener(id).unwrap().agreement();
    assert_eq!(agreement("stem-faceplate"), Agreement::One);
    assert_eq!(agreement("crank-bolt-m8"), Agreement::Overlap);
    assert_eq!(agreement("chainring-bolt-aluminium"), Agreement::Overlap);
    assert_eq!(agreement("cassette-lockring"), Agreement::Overlap);
    assert_eq!(agreement("chainring-bolt-steel"), Agreement::Apart);
    assert_eq!(agreement("disc-caliper-mount"), Agreement::Apart);
    let touching = Fastener {
        id: "touching",
        ranges: &[
            Published {
                min_nm: 4.0,
                max_nm: 6.0,
                basis: Basis::Read,
                source: "made up to touch",
            },
            Published {
                min_nm: 6.0,
                max_nm: 8.0,
                basis: Basis::Read,
                source: "made up to touch",
            },
        ],
    };
    assert_eq!(touching.agreement(), Agreement::Overlap);
}

#[test]
fn recorded_torques_stand_where_the_sources_put_them() {
    // Two tables disagree on calliper mounts: 6 to 8 N·m and 11.3 to 12.4 N·m.
    assert_eq!(stands("disc-caliper-mount", 12.0), Standing::InsideOther);
    assert_eq!(stands("stem-faceplate", 12.0), Standing::Outside);
    for (value, standing) in [
        (5.94, Standing::Outside),
        (5.95, Standing::Inside),
        (8.05, Standing::Inside),
        (8.06, Standing::Outside),
        (11.24, Standing::Outside),
        (11.25, Standing::InsideOther),
        (12.45, Standing::InsideOther),
        (12.46, Standing::Outside),
    ] {
        assert_eq!(stands("disc-caliper-mount", value), standing, "{value}");
    }
    for (value, standing) in [
        (29.9, Standing::OutsideUnproven),
        (30.0, Standing::Inside),
        (40.0, Standing::Inside),
        (40.1, Standing::OutsideUnproven),
    ] {
        assert_eq!(stands("motor-lock-ring", value), standing, "{value}");
    }
    assert!(Standing::Outside.may_stop());
    for standing in [
        Standing::Inside,
        Standing::InsideOther,
        Standing::OutsideUnproven,
        Standing::NeedsMark,
    ] {
        assert!(!standing.may_stop());
    }
}

#[test]
fn the_range_and_the_margin_are_those_judged_by() {
    let other = judge(
        fastener("disc-caliper-mount").unwrap(),
        nm(12.0),
        None,
        Clamped::Metal,
    )
    .unwrap();
    assert_eq!(other.range.unwrap().min, nm(11.3));
    near(other.margin.unwrap().as_newton_metres(), 0.4, 1e-9);
    let over = judge(
        fastener("stem-faceplate").unwrap(),
        nm(12.0),
        None,
        Clamped::Metal,
    )
    .unwrap();
    assert_eq!(over.range.unwrap().max, nm(6.0));
    near(over.margin.unwrap().as_newton_metres(), -6.0, 1e-9);
    let memory = judge(
        fastener("motor-lock-ring").unwrap(),
        nm(35.0),
        None,
        Clamped::Metal,
    )
    .unwrap();
    assert_eq!(memory.range.unwrap().basis, Basis::Memory);
    near(memory.margin.unwrap().as_newton_metres(), 5.0, 1e-9);
}

#[test]
fn each_row_changes_once_at_each_end() {
    for row in FASTENERS.iter().filter(|row| row.ranges.len() == 1) {
        let range = row.ranges[0];
        let outside = if range.basis.may_stop() {
            Standing::Outside
        } else {
            Standing::OutsideUnproven
        };
        assert_eq!(stands(row.id, range.min_nm - 0.06), outside, "{}", row.id);
        assert_eq!(stands(row.id, range.min_nm), Standing::Inside, "{}", row.id);
        assert_eq!(stands(row.id, range.max_nm), Standing::Inside, "{}", row.id);
        assert_eq!(stands(row.id, range.max_nm + 0.06), outside, "{}", row.id);
        // The same torque said in lbf·in stands where it stood in N·m.
        for value in [
            range.min_nm - 0.06,
            range.min_nm,
            range.max_nm,
            range.max_nm + 0.06,
        ] {
            let said = Torque::pound_force_inches(nm(value).as_pound_force_inches());
            let again = judge(row, said, None, Clamped::Metal).unwrap().standing;
            assert_eq!(again, stands(row.id, value), "{} at {value}", row.id);
        }
    }
}

#[test]
fn the_parts_mark_overrides() {
    let between = Mark::Between(nm(11.0), nm(13.0));
    for (value, standing) in [
        (7.0, Standing::Outside),
        (10.99, Standing::Outside),
        (11.0, Standing::Inside),
        (13.0, Standing::Inside),
        (13.01, Standing::Outside),
    ] {
        assert_eq!(
            with_mark("disc-caliper-mount", value, between).standing,
            standing,
            "{value}"
        );
    }
    let up_to = Mark::UpTo(nm(5.0));
    for (value, standing) in [
        (3.99, Standing::OutsideUnproven),
        (4.0, Standing::Inside),
        (5.0, Standing::Inside),
        (5.01, Standing::Outside),
    ] {
        assert_eq!(
            with_mark("stem-faceplate", value, up_to).standing,
            standing,
            "{value}"
        );
    }
    let single = Mark::Single(nm(40.0));
    for (value, standing) in [
        (35.99, Standing::Outside),
        (36.0, Standing::Inside),
        (44.0, Standing::Inside),
        (44.01, Standing::Outside),
    ] {
        assert_eq!(
            with_mark("motor-lock-ring", value, single).standing,
            standing,
            "{value}"
        );
    }
    let judged = with_mark("motor-lock-ring", 41.0, single);
    assert_eq!(judged.range.unwrap().basis, Basis::Read);
    near(judged.margin.unwrap().as_newton_metres(), 3.0, 1e-9);
    // A mark holds on carbon too: it is the maker's own figure.
    let row = fastener("stem-faceplate").unwrap();
    let carbon = judge(row, nm(4.5), Some(up_to), Clamped::Carbon).unwrap();
    assert_eq!(carbon.standing, Standing::Inside);
}

#[test]
fn carbon_gets_less() {
    // From memory: 2 to 3 N·m lower. 4 to 6 N·m becomes 1 to 4 N·m.
    let range = fastener("stem-faceplate").unwrap().ranges[0].on_carbon().unwrap();
    assert_eq!(
        (range.min, range.max, range.basis),
        (nm(1.0), nm(4.0), Basis::Memory)
    );
    for (value, standing) in [
        (0.9, Standing::OutsideUnproven),
        (1.0, Standing::Inside),
        (4.0, Standing::Inside),
        (4.1, Standing::OutsideUnproven),
        (6.0, Standing::OutsideUnproven),
        (6.1, Standing::Outside),
    ] {
        assert_eq!(on_carbon("stem-faceplate", value).standing, standing, "{value}");
    }
    near(
        on_carbon("stem-faceplate", 5.0)
            .margin
            .unwrap()
            .as_newton_metres(),
        -1.0,
        1e-9,
    );
    // 3 to 4 N·m leaves nothing; above every read range it fails all the same.
    let bare = on_carbon("shifter-clamp", 3.5);
    assert_eq!(
        (bare.standing, bare.range, bare.margin),
        (Standing::NeedsMark, None, None)
    );
    assert_eq!(on_carbon("shifter-clamp", 2.0).standing, Standing::NeedsMark);
    assert_eq!(on_carbon("shifter-clamp", 4.1).standing, Standing::Outside);
    assert_eq!(
        on_carbon("hub-motor-cover-m5", 7.0).standing,
        Standing::OutsideUnproven
    );
}

#[test]
fn bad_input_is_refused() {
    let row = fastener("pedal").unwrap();
    for value in [-0.1, 200.1, f64::NAN] {
        assert!(judge(row, nm(value), None, Clamped::Metal).is_err(), "{value}");
    }
    assert!(judge(row, nm(0.0), None, Clamped::Metal).is_ok());
    assert!(judge(row, nm(200.0), None, Clamped::Metal).is_ok());
    for mark in [
        Mark::UpTo(nm(0.05)),
        Mark::Single(nm(201.0)),
        Mark::Between(nm(8.0), nm(7.9)),
        Mark::Between(nm(0.05), nm(7.9)),
    ] {
        assert!(mark.range().is_err(), "{mark:?}");
        assert!(judge(row, nm(35.0), Some(mark), Clamped::Metal).is_err());
    }
    assert!(Mark::Between(nm(8.0), nm(8.0)).range().is_ok());
}
