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
        ("calliper-front", "11.3", Verdict::Caution),
        ("calliper-front", "12.4", Verdict::Caution),
        // Between the two families nobody knows which mount this is.
        ("calliper-front", "10", Verdict::Caution),
        // No source gives these.
        ("calliper-front", "12.5", Verdict::Fail),
        ("calliper-front", "5.9", Verdict::Fail),
        // 38 to 42 by one handbook, 34.5 to 44.2 by another.
        ("crank", "37", Verdict::Caution),
        ("crank", "34", Verdict::Fail),
        ("lockring", "20", Verdict::Caution),
        ("chainring", "13", Verdict::Pass),
        ("chainring", "10.5", Verdict::Caution),
        ("chainring", "4.9", Verdict::Fail),
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
fn a_quill_stem_has_a_bolt_of_its_own() {
    // An older service manual: 19.7 to 29.4 N m on the binder bolt of a quill stem, which no faceplate stands.
    let others = [("axle", "40"), ("arm-bolt", "6")];
    let quill = || trekking().state(&[("stem-kind", "quill")]).torque(&others);
    let open = quill().expect(&CHECK, Verdict::Open);
    assert_eq!(open.missing.len(), 1);
    assert!(
        open.missing[0].how.starts_with("lockring torque 20 stem-quill"),
        "{}",
        open.missing[0].how
    );
    for (torque, verdict) in [
        ("22", Verdict::Pass),
        ("29.4", Verdict::Pass),
        ("12", Verdict::Fail),
        ("31", Verdict::Fail),
    ] {
        quill().torque(&[("stem-quill", torque)]).expect(&CHECK, verdict);
    }
    let plain = trekking().torque(&others).torque(&[("stem", "22")]);
    let report = plain.expect(&CHECK, Verdict::Fail);
    let words = "lockring donor 20 stem-kind=quill, then lockring torque 20 stem-quill NM";
    assert!(
        report
            .findings
            .iter()
            .any(|one| one.remedies.concat().contains(words)),
        "{report:?}"
    );
}

#[test]
fn a_wrong_torque_is_told_while_others_are_missing_and_cleared_when_redone() {
    let wrong = longtail().torque(&[("stem", "12")]);
    let report = wrong.expect(&CHECK, Verdict::Fail);
    let [stem, missing] = report.findings.as_slice() else {
        panic!("{:?}", report.findings);
    };
    assert!(stem.summary.contains("12 N m"), "{}", stem.summary);
    assert_eq!(missing.verdict, Verdict::Open);
    assert_eq!(report.missing.len(), MID.len() - 1);
    let all: Vec<_> = MID.iter().copied().filter(|(bolt, _)| *bolt != "stem").collect();
    wrong
        .torque(&all)
        .torque(&[("stem", "5")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn the_part_s_own_mark_stands_before_the_sheet() {
    // 12 N m on a mount is disputed by the tables; its mark settles it either way.
    let mount = |torque| {
        let others: Vec<_> = MID
            .iter()
            .copied()
            .filter(|(bolt, _)| *bolt != "calliper-front")
            .collect();
        longtail().torque(&others).torque(&[("calliper-front", torque)])
    };
    let disputed = mount("12");
    let report = disputed.expect(&CHECK, Verdict::Caution);
    let finding = report
        .findings
        .iter()
        .find(|finding| finding.verdict == Verdict::Caution)
        .unwrap();
    assert!(
        finding
            .arithmetic
            .iter()
            .any(|line| line.starts_with("another source: 11.3 to 12.4 N m")),
        "{finding:?}"
    );
    assert!(
        finding.remedies[1].contains("torque-marks \"calliper-front"),
        "{finding:?}"
    );
    disputed
        .measure(&[("torque-marks", "calliper-front 11-13")])
        .expect(&CHECK, Verdict::Pass);
    let marked = mount("12").measure(&[("torque-marks", "stem 5-6; calliper-front 6-8")]);
    marked.expect(&CHECK, Verdict::Fail);
    marked
        .torque(&[("calliper-front", "7")])
        .torque(&[("calliper-front", "7")])
        .torque(&[("calliper-front", "7")])
        .expect(&CHECK, Verdict::Pass);
    for (torque, verdict) in [
        ("11", Verdict::Pass),
        ("13", Verdict::Pass),
        ("10.9", Verdict::Fail),
        ("13.1", Verdict::Fail),
    ] {
        mount(torque)
            .measure(&[("torque-marks", "calliper-front 11-13")])
            .expect(&CHECK, verdict);
    }
}

#[test]
fn a_mark_of_one_figure_has_a_band_and_of_the_most_only_a_least_that_advises() {
    // Judgement: a tenth either way of one figure; four fifths of the most.
    let stem = |torque, mark| {
        let others: Vec<_> = MID.iter().copied().filter(|(bolt, _)| *bolt != "stem").collect();
        longtail()
            .torque(&others)
            .torque(&[("stem", torque)])
            .measure(&[("torque-marks", mark)])
    };
    for (torque, mark, verdict) in [
        ("4", "stem max 5", Verdict::Pass),
        ("5.1", "stem max 5", Verdict::Fail),
        ("3.9", "stem max 5", Verdict::Caution),
        ("7.7", "stem 7", Verdict::Pass),
        ("7.8", "stem 7", Verdict::Fail),
        // Below a tenth off the mark, judgement, and over the tables' 4 to 6: nobody knows.
        ("6.2", "stem 7", Verdict::Caution),
        ("3.5", "stem 7", Verdict::Fail),
        // Within the tables, a tenth off the mark is all that speaks.
        ("5.6", "stem 5", Verdict::Caution),
        // 45 to 55 lbf in is 5.08 to 6.21 N m.
        ("6.2", "stem 45-55 lb-in", Verdict::Pass),
        ("5", "stem 45-55 lb-in", Verdict::Fail),
    ] {
        stem(torque, mark).expect(&CHECK, verdict);
    }
}

#[test]
fn another_part_makes_its_mark_stale() {
    // A mark that goes with the old callipers does not judge the new ones.
    let marked = tightened()
        .measure(&[("torque-marks", "calliper-front 11-13; calliper-rear 11-13")])
        .expect(&CHECK, Verdict::Fail);
    assert_eq!(marked.findings.len(), MID.len());
    tightened()
        .measure(&[("torque-marks", "calliper-front 11-13; calliper-rear 11-13")])
        .build(&[("brake-set", "none")])
        .build(&[("brake-set", "brakes-disc-2")])
        .torque(&[("calliper-front", "7"), ("calliper-rear", "7")])
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

#[test]
fn the_part_s_mark_as_the_remedy_says_clears_it() {
    longtail().torque(&MID).torque(&[("crank", "37")]).cured(
        &CHECK,
        "lockring measure 21 torque-marks \"crank LEAST-MOST\"",
        |job| job.measure(&[("torque-marks", "crank 34-44")]),
    );
}

#[test]
fn a_bolt_nobody_asked_for_is_judged_once_recorded() {
    // Shop table in lbf in (common practice): bottom-bracket cups 300 to 360 lbf in, 33.9 to
    // 40.7 N m; the 32.9 N m printed beside it is a slip. Rivet nuts of a rail 3 to 5 N m, memory.
    let bench = trekking().torque(&[("bottom-bracket", "30")]);
    let report = bench.expect(&CHECK, Verdict::Fail);
    assert!(report.summary().contains("33.9 N m"), "{}", report.summary());
    let verdict = |bolt, torque| {
        let report = trekking()
            .torque(&[("axle", "40"), ("arm-bolt", "6"), ("stem", "5"), (bolt, torque)])
            .report(&CHECK);
        report.verdict
    };
    assert_eq!(verdict("bottom-bracket", "33.9"), Verdict::Pass);
    // 300 lbf in are 33.895 N m; 299 are 33.78.
    assert_eq!(verdict("bottom-bracket", "300 lb in"), Verdict::Pass);
    assert_eq!(verdict("bottom-bracket", "299 lb in"), Verdict::Fail);
    assert_eq!(verdict("bottom-bracket", "32.9"), Verdict::Fail);
    assert_eq!(verdict("bottom-bracket", "41"), Verdict::Fail);
    assert_eq!(verdict("seatpost", "6"), Verdict::Pass);
    assert_eq!(verdict("seatpost", "9"), Verdict::Fail);
    assert_eq!(verdict("battery-rail", "7"), Verdict::Caution);
    for bolt in ALSO {
        assert!(stored(bolt).is_some(), "{bolt}");
        assert!(code::torque_code(bolt).is_some(), "{bolt}");
    }
    for bolt in ["reaction", "axle", "arm-bolt"] {
        assert!(stored(bolt).is_none(), "{bolt}");
    }
}

/// A hub-motor bicycle with a part of carbon, all its bolts tightened, one of them so.
fn on_carbon_part(part: (&str, &str), bolt: &str, torque: &str) -> Bench {
    let all = [("axle", "40"), ("arm-bolt", "6"), ("stem", "4")];
    let others: Vec<_> = all.into_iter().filter(|(other, _)| *other != bolt).collect();
    trekking()
        .state(&[part])
        .torque(&others)
        .torque(&[(bolt, torque)])
}

#[test]
fn a_part_of_carbon_takes_less_and_only_advises() {
    // From memory: 2 to 3 N m lower, with paste. A maintenance handbook's 4 to 6 N m of a
    // faceplate become 1 to 4; 5 to 7 of a steerer or post 2 to 5; 8 to 14 of rails 5 to 12.
    let bar = ("carbon-bar", "yes");
    for (part, bolt, torque, verdict) in [
        (bar, "stem", "1", Verdict::Pass),
        (bar, "stem", "4", Verdict::Pass),
        (bar, "stem", "4.1", Verdict::Caution),
        (bar, "stem", "6", Verdict::Caution),
        (bar, "stem", "0.9", Verdict::Caution),
        // More than the tables give on metal.
        (bar, "stem", "6.1", Verdict::Fail),
        (("carbon-bar", "no"), "stem", "6", Verdict::Pass),
        (("carbon-steerer", "yes"), "stem-steerer", "6", Verdict::Caution),
        (("carbon-steerer", "yes"), "stem-steerer", "5", Verdict::Pass),
        (("fork-kind", "carbon"), "stem-steerer", "6", Verdict::Caution),
        (
            ("fork-kind", "aluminium-rigid"),
            "stem-steerer",
            "6",
            Verdict::Pass,
        ),
        (("frame-material", "carbon"), "seatpost", "6", Verdict::Caution),
        (("carbon-post", "yes"), "seatpost", "6", Verdict::Caution),
        (("carbon-post", "no"), "seatpost", "6", Verdict::Pass),
        (("carbon-rails", "yes"), "saddle", "13", Verdict::Caution),
        (("carbon-rails", "yes"), "saddle", "12", Verdict::Pass),
    ] {
        let report = on_carbon_part(part, bolt, torque).expect(&CHECK, verdict);
        if verdict == Verdict::Caution {
            let from_memory = |finding: &Finding| {
                finding.summary.contains("on carbon") && finding.arithmetic[0].contains("from memory")
            };
            assert!(report.findings.iter().any(from_memory), "{:?}", report.findings);
        }
    }
    // A fork of carbon with a steerer of metal.
    on_carbon_part(("carbon-steerer", "no"), "stem-steerer", "6")
        .state(&[("fork-kind", "carbon")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn the_mark_on_a_part_of_carbon_rules_it_and_clears_the_doubt() {
    on_carbon_part(("carbon-bar", "yes"), "stem", "5").cured(
        &CHECK,
        "lockring measure 20 torque-marks \"stem max NM\"",
        |job| job.measure(&[("torque-marks", "stem max 5")]),
    );
}

#[test]
fn every_bolt_has_a_range_in_one_place() {
    let sheet = crate::rules::RuleSheet::shipped();
    for bolt in code::all().filter(|row| row.group == code::Group::Torque) {
        let word = code::torque_word(bolt.key());
        let in_sheet = ["min", "max"].map(|end| sheet.number(&format!("torque.{word}.{end}")).is_some());
        assert_eq!(in_sheet, [stored(word).is_none(); 2], "{word}");
    }
}
