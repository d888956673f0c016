//! Tests of the list of torques.

use super::*;
use crate::checks::testing::{Bench, longtail, trekking};

const MID: [(&str, &str); 11] = [
    ("lockring", "40"),
    ("reaction", "10"),
    ("crank", "40"),
    ("chainring", "8.5"),
    ("cassette", "40"),
    ("pedal", "36"),
    ("stem", "5"),
    ("rotor-front", "5"),
    ("rotor-rear", "5"),
    ("calliper-front", "7"),
    ("calliper-rear", "7"),
];

fn tightened() -> Bench {
    longtail().torque(&MID)
}

#[test]
fn a_full_list_passes_a_finding_for_each_bolt() {
    // Worked example of the trade (common practice, no source): lock ring 40 by the kit's card.
    assert_eq!(
        tightened().expect(&CHECK, Verdict::Pass).findings.len(),
        MID.len()
    );
    // Hub motor: axle nuts 40, no lock ring.
    trekking()
        .torque(&[("axle", "40"), ("arm-bolt", "6"), ("stem", "5")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn every_missing_bolt_is_named() {
    let report = longtail().torque(&MID[..8]).expect(&CHECK, Verdict::Open);
    let named: Vec<&str> = report
        .missing
        .iter()
        .map(|missing| missing.what.as_str())
        .collect();
    assert_eq!(
        named,
        ["rear rotor bolts", "front calliper mount", "rear calliper mount"]
    );
    assert!(
        report.missing[0].how.starts_with("lockring torque 21 rotor-rear"),
        "{}",
        report.missing[0].how
    );
    assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 3);
}

#[test]
fn out_of_range_fails_but_disagreeing_sources_only_advise() {
    // 12 N m on a stem faceplate of 4 to 6 fails; on a calliper mount of 6 to 8 it advises,
    // as makers' families give up to 12.4 (common practice, no source).
    for (bolt, torque, verdict) in [
        ("stem", "6.0", Verdict::Pass),
        ("stem", "6.1", Verdict::Fail),
        ("stem", "12", Verdict::Fail),
        ("calliper-front", "12", Verdict::Caution),
        ("crank", "37", Verdict::Fail),
        ("lockring", "20", Verdict::Caution),
        ("chainring", "13", Verdict::Pass),
        ("chainring", "10.5", Verdict::Fail),
    ] {
        let bench = longtail().torque(
            &MID.iter()
                .copied()
                .filter(|(other, _)| *other != bolt)
                .collect::<Vec<_>>(),
        );
        bench.torque(&[(bolt, torque)]).expect(&CHECK, verdict);
    }
}

#[test]
fn a_wrong_torque_is_told_while_others_are_missing_and_cleared_when_redone() {
    let wrong = longtail().torque(&[("stem", "12")]);
    let report = wrong.expect(&CHECK, Verdict::Fail);
    assert_eq!(report.findings.len(), MID.len());
    let all: Vec<_> = MID.iter().copied().filter(|(bolt, _)| *bolt != "stem").collect();
    wrong
        .torque(&all)
        .torque(&[("stem", "5")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn a_changed_part_makes_its_bolt_stale() {
    let changed = tightened()
        .build(&[("chainring", "ring-38-5")])
        .expect(&CHECK, Verdict::Open);
    assert!(
        changed.missing[0]
            .what
            .contains("before the chainring was changed"),
        "{:?}",
        changed.missing
    );
}
