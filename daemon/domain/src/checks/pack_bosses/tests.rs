//! Tests of rail and bosses. Distances by hand; 64 mm between two bosses is from memory.

use super::*;
use crate::checks::testing::{Bench, trekking};
use crate::command::ReceiptText;

fn bossed(lower: &str, upper: &str) -> Bench {
    trekking().measure(&[("boss-lower", lower), ("boss-upper", upper)])
}

fn railed(bench: Bench, found: &[(&str, &str)]) -> Bench {
    bench.receive("pack", found, ReceiptText::default())
}

/// Holes at 50 and 114 mm, 64 mm apart.
const HOLES_64: [(&str, &str); 2] = [("hole-lower", "50 mm"), ("hole-upper", "114 mm")];

#[test]
fn neither_side_or_another_place_is_not_concerned_and_one_side_is_open() {
    trekking().expect(&CHECK, Verdict::NotApplicable);
    trekking()
        .build(&[("pack", "none")])
        .expect(&CHECK, Verdict::NotApplicable);
    let on_rack = railed(bossed("200 mm", "264 mm"), &[("place", "rack")]);
    on_rack.expect(&CHECK, Verdict::NotApplicable);
    let report = bossed("200 mm", "264 mm").expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
    let report = railed(trekking(), &HOLES_64).expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
    let half = railed(trekking().measure(&[("boss-lower", "200 mm")]), &HOLES_64[..1]);
    assert_eq!(half.expect(&CHECK, Verdict::Open).missing.len(), 2);
}

#[test]
fn the_verdict_turns_a_millimetre_from_the_holes_with_the_rule_s_doubt_between() {
    // Play of 1 mm (judgement) only cautions; an M5 bolt's thickness off no hole meets it. The doubt
    // of two readings is 0.7 mm (k = 2).
    for (upper, verdict) in [
        ("264 mm", Verdict::Pass),
        ("264.5 mm", Verdict::Caution),
        ("266 mm", Verdict::Caution),
        ("269.5 mm", Verdict::Caution),
        ("270 mm", Verdict::Fail),
        ("263.8 mm", Verdict::Pass),
        ("263 mm", Verdict::Caution),
        ("258.5 mm", Verdict::Caution),
        ("258 mm", Verdict::Fail),
    ] {
        let report = railed(bossed("200 mm", upper), &HOLES_64).expect(&CHECK, verdict);
        assert_eq!(report.findings.len(), 1);
    }
}

#[test]
fn slots_widen_what_the_rail_takes_by_their_travel() {
    let slotted = |upper: &str| {
        let found = [HOLES_64[0], HOLES_64[1], ("hole-travel", "10 mm")];
        railed(bossed("200 mm", upper), &found)
    };
    // By hand: 54 to 74 mm, 1 mm of play and 5 of a bolt.
    slotted("274 mm").expect(&CHECK, Verdict::Pass);
    slotted("276 mm").expect(&CHECK, Verdict::Caution);
    slotted("280 mm").expect(&CHECK, Verdict::Fail);
    slotted("254 mm").expect(&CHECK, Verdict::Pass);
    slotted("252 mm").expect(&CHECK, Verdict::Caution);
    slotted("248 mm").expect(&CHECK, Verdict::Fail);
}

#[test]
fn what_does_not_meet_is_cured_by_a_riveted_nut_or_a_plate() {
    let apart = railed(bossed("200 mm", "272 mm"), &HOLES_64);
    let report = apart.expect(&CHECK, Verdict::Fail);
    let finding = &report.findings[0];
    assert!(finding.arithmetic[0].starts_with("no multiple"), "{finding:?}");
    assert!(finding.remedies[0].ends_with("boss-third 264.0mm"), "{finding:?}");
    assert!(finding.remedies[1].ends_with("hole-upper=122.0mm"), "{finding:?}");
    apart.clone().cured(&CHECK, "boss-third 264.0mm", |job| {
        job.measure(&[("boss-third", "264.0mm")])
    });
    railed(apart, &[HOLES_64[0], ("hole-upper", "122.0mm")]).expect(&CHECK, Verdict::Pass);
}

#[test]
fn three_bosses_answer_with_any_two_of_them() {
    // 64 and 128 mm apart: holes 128 mm apart meet the first and the third.
    let three = bossed("200 mm", "264 mm").measure(&[("boss-third", "328 mm")]);
    let wide = [("hole-lower", "50 mm"), ("hole-upper", "178 mm")];
    let report = railed(three, &wide).expect(&CHECK, Verdict::Pass);
    assert!(
        report.findings[0].arithmetic[0].starts_with("2 times 64 mm"),
        "{:?}",
        report.findings
    );
}

/// Triangle of 400, 300 and 500 mm (top, seat, down) with a right angle at the seat: the foot of
/// the altitude of 240 mm lies 180 mm from the lower corner. A pack 120 mm high may lie from 90
/// to 340 mm.
fn framed(lower: &str, upper: &str, length: &str) -> Bench {
    let found = [HOLES_64[0], HOLES_64[1], ("length", length), ("height", "120 mm")];
    railed(bossed(lower, upper), &found).measure(&[
        ("tube-top", "400 mm"),
        ("tube-seat", "300 mm"),
        ("tube-down", "500 mm"),
    ])
}

#[test]
fn the_bosses_must_put_the_pack_inside_the_triangle() {
    // 200 mm long: its lower end may lie from 90 to 140 mm; by the lower boss less 50 mm it lies
    // at 100, at 70 and at 160 mm.
    let report = framed("150 mm", "214 mm", "200 mm").expect(&CHECK, Verdict::Pass);
    // 100 mm and half a millimetre of play each way: 10.5 mm inside.
    assert!(
        (report.findings[1].figures[0].value - 10.5).abs() < 0.1,
        "{:?}",
        report.findings
    );
    for (lower, upper) in [("120 mm", "184 mm"), ("210 mm", "274 mm")] {
        let report = framed(lower, upper, "200 mm").expect(&CHECK, Verdict::Fail);
        assert!(
            (report.findings[1].figures[0].value + 19.5).abs() < 0.1,
            "{:?}",
            report.findings
        );
        assert!(
            report.findings[1].remedies[1].contains("115 mm from the corner"),
            "{:?}",
            report.findings
        );
    }
    // A shorter pack, or a rail drilled for a place in the middle, clears it.
    framed("210 mm", "274 mm", "170 mm").expect(&CHECK, Verdict::Pass);
    railed(
        framed("210 mm", "274 mm", "200 mm"),
        &[
            ("hole-lower", "95 mm"),
            ("hole-upper", "159 mm"),
            ("length", "200 mm"),
            ("height", "120 mm"),
        ],
    )
    .expect(&CHECK, Verdict::Pass);
}

#[test]
fn a_pack_too_long_for_the_triangle_is_not_helped_by_its_bosses() {
    // 260 mm in 250: pack.space says so too.
    let report = framed("140 mm", "204 mm", "260 mm").expect(&CHECK, Verdict::Fail);
    assert!(
        (report.findings[1].figures[0].value + 10.0).abs() < 0.1,
        "{:?}",
        report.findings
    );
}
