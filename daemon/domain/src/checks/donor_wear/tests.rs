//! Wear by wear: what concerns the bicycle, where the verdict turns, what clears it.

use super::*;
use crate::checks::testing::{Bench, hardtail, longtail, trekking};

fn at(bench: Bench, code: &str, value: &str) -> Verdict {
    bench.measure(&[(code, value)]).report(&CHECK).verdict
}

#[test]
fn the_demo_bicycles_are_within_wear() {
    // Worked example of the trade (common practice, no source): chain 1.4 mm over 304.8 mm
    // = 0.46 %, rim wall 1.6 mm, headset good.
    let report = trekking().expect(&CHECK, Verdict::Pass);
    assert_eq!(report.findings.len(), 5, "chain, rim, pads, headset, tyres");
    longtail().expect(&CHECK, Verdict::Pass);
    hardtail().expect(&CHECK, Verdict::Pass);
}

#[test]
fn chain_stretch_of_a_sixteenth_in_a_foot_asks_for_a_chain_and_an_eighth_for_the_cassette() {
    // Common practice, no source: 12 in measure 12 3/64 (0.39 %) good, 12 1/16 (0.52 %) new
    // chain, 12 1/8 (1.04 %) chain and cassette. 12-inch rule: 0.04 % expanded.
    assert_eq!(at(trekking(), "chain-wear", "0.39 %"), Verdict::Pass);
    assert_eq!(at(trekking(), "chain-wear", "0.52 %"), Verdict::Caution);
    assert_eq!(at(trekking(), "chain-wear", "0.72 %"), Verdict::Caution);
    let worn = trekking().measure(&[("chain-wear", "1.04 %")]);
    assert_eq!(worn.expect(&CHECK, Verdict::Fail).findings[0].remedies.len(), 2);
    let chain = worn.build(&[("chain", "chain-9")]);
    chain.expect(&CHECK, Verdict::Fail);
    let report = chain
        .build(&[("cassette", "cassette-9-11-34")])
        .expect(&CHECK, Verdict::Pass);
    assert_eq!(report.findings.len(), 4, "chain and cassette are new");
}

#[test]
fn rim_and_pads_turn_across_their_limits_with_doubt_between() {
    // Common practice, no source: rim 1.2 and 1.0 mm (0.1 mm expanded), pads 1.5 and 1.0 mm
    // (0.2 mm expanded).
    let verdicts = |code, values: [&str; 4]| values.map(|value| at(trekking(), code, value));
    let expected = [Verdict::Pass, Verdict::Caution, Verdict::Caution, Verdict::Fail];
    assert_eq!(
        verdicts("rim-wall", ["1.31 mm", "1.25 mm", "0.95 mm", "0.89 mm"]),
        expected
    );
    assert_eq!(
        verdicts("pad-lining", ["1.71 mm", "1.4 mm", "0.9 mm", "0.79 mm"]),
        expected
    );
    trekking()
        .measure(&[("rim-wall", "0.8 mm")])
        .build(&[
            ("brake-set", "brakes-disc-2"),
            ("rotor-front", "rotor-180"),
            ("rotor-rear", "rotor-180"),
        ])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn a_kept_rotor_is_held_to_its_own_mark() {
    // Check case, common practice: 1.52 mm on a rotor marked 1.55 mm fails.
    let kept = longtail().build(&[("rotor-front", "none"), ("rotor-rear", "none")]);
    kept.expect(&CHECK, Verdict::Pass);
    let thin = kept.measure(&[("rotor-wear", "1.52 mm")]);
    thin.clone()
        .state(&[("rotor-limit", "1.55 mm")])
        .expect(&CHECK, Verdict::Fail);
    thin.expect(&CHECK, Verdict::Pass);
    let unmarked = thin.forget("rotor-limit").measure(&[("rotor-wear", "1.4 mm")]);
    let report = unmarked.expect(&CHECK, Verdict::Caution);
    assert!(report.summary().contains("from memory"), "{}", report.summary());
    unmarked
        .build(&[("rotor-front", "rotor-203"), ("rotor-rear", "rotor-180")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn headset_and_tyres_name_their_line() {
    trekking()
        .state(&[("headset", "loose")])
        .expect(&CHECK, Verdict::Caution);
    let pitted = trekking().state(&[("headset", "pitted")]);
    assert!(pitted.expect(&CHECK, Verdict::Fail).findings[3].remedies[0].contains("new headset"));
    pitted.state(&[("headset", "ok")]).expect(&CHECK, Verdict::Pass);
    trekking()
        .state(&[("tyre-state", "perished")])
        .expect(&CHECK, Verdict::Fail);
}

#[test]
fn everything_unmeasured_is_asked_for_at_once() {
    let report = trekking()
        .forget("chain-wear")
        .forget("headset")
        .expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
}

#[test]
fn a_new_chain_and_new_pads_as_the_remedies_say_clear_it() {
    trekking()
        .measure(&[("chain-wear", "0.65 %")])
        .cured(&CHECK, "lockring build 20 chain=PART", |job| {
            job.build(&[("chain", "chain-9")])
        });
    trekking().measure(&[("pad-lining", "0.7 mm")]).cured(
        &CHECK,
        "lockring measure 20 pad-lining VALUE",
        |job| job.measure(&[("pad-lining", "3 mm")]),
    );
}
