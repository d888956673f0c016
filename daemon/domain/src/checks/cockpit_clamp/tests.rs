//! Tests of the display on the handlebar.

use super::*;
use crate::checks::testing::{Bench, trekking};
use crate::command::ReceiptText;

fn clamped(bench: Bench, found: &[(&str, &str)]) -> Bench {
    bench.receive("display", found, ReceiptText::default())
}

fn round_bar(bar: &str) -> Bench {
    clamped(
        trekking().measure(&[("bar-diameter", bar)]),
        &[("clamp-diameter", "31.8 mm")],
    )
}

#[test]
fn neither_side_is_not_concerned_and_one_side_is_open() {
    trekking().expect(&CHECK, Verdict::NotApplicable);
    trekking()
        .build(&[("display", "none")])
        .measure(&[("bar-diameter", "31.8 mm")])
        .expect(&CHECK, Verdict::NotApplicable);
    trekking()
        .measure(&[("bar-diameter", "31.8 mm")])
        .expect(&CHECK, Verdict::Open);
    let report = clamped(trekking(), &[("clamp-width", "60 mm")]).expect(&CHECK, Verdict::Open);
    assert!(report.missing[0].how.contains("bar-free"), "{:?}", report.missing);
}

#[test]
fn a_clamp_of_the_bar_s_size_closes() {
    // A bar of nominal 31.8 mm reads a little under or over it.
    for bar in ["31.8 mm", "31.6 mm", "31.9 mm"] {
        round_bar(bar).expect(&CHECK, Verdict::Pass);
    }
}

#[test]
fn a_loose_clamp_asks_for_a_sleeve_and_the_sleeve_clears_it() {
    // Arithmetic: 31.8 − 25.4 = 6.4 mm, a sleeve of 3.2 mm wall.
    let loose = round_bar("25.4 mm");
    let report = loose.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[0].remedies[0].ends_with("clamp-shim 3.2mm"),
        "{:?}",
        report.findings
    );
    loose
        .clone()
        .measure(&[("clamp-shim", "3.2mm")])
        .expect(&CHECK, Verdict::Pass);
    loose
        .measure(&[("clamp-shim", "4mm")])
        .expect(&CHECK, Verdict::Fail);
}

#[test]
fn a_thicker_bar_fails_and_another_display_clears_it() {
    let thick = round_bar("35 mm");
    thick.expect(&CHECK, Verdict::Fail);
    clamped(thick, &[("clamp-diameter", "35 mm")]).expect(&CHECK, Verdict::Pass);
}

#[test]
fn the_verdict_turns_at_the_bore_with_the_calliper_s_doubt_between() {
    // A clamp of 31.8 mm takes up 0.3 mm (judgement, which only cautions); sizes are 0.6 mm apart at
    // least (common practice, no source: 25.4 and 26.0 mm); the calliper's doubt is 0.1 mm (k = 2).
    for (bar, verdict) in [
        ("32.0 mm", Verdict::Pass),
        ("32.15 mm", Verdict::Caution),
        ("32.3 mm", Verdict::Caution),
        ("32.45 mm", Verdict::Caution),
        ("32.55 mm", Verdict::Fail),
        ("31.6 mm", Verdict::Pass),
        ("31.45 mm", Verdict::Caution),
        ("31.2 mm", Verdict::Caution),
    ] {
        round_bar(bar).expect(&CHECK, verdict);
    }
}

#[test]
fn a_sleeve_thicker_than_a_clamp_grips_through_is_not_offered() {
    // Arithmetic: (34.5 − 22.2) / 2 = 6.15 mm, over 4.8 mm (judgement).
    let bench = trekking().measure(&[("bar-diameter", "22.2 mm")]);
    let wide = clamped(bench, &[("clamp-diameter", "34.5 mm")]);
    let report = wide.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[0]
            .remedies
            .iter()
            .all(|remedy| !remedy.contains("clamp-shim")),
        "{:?}",
        report.findings
    );
}

#[test]
fn the_free_width_passes_is_tight_and_fails() {
    // Display of 60 mm: 70 leaves 10 mm, 63 leaves 3, 57 lacks 3.
    let on = |free: &str| {
        clamped(
            trekking().measure(&[("bar-free", free)]),
            &[("clamp-width", "60 mm")],
        )
    };
    on("70 mm").expect(&CHECK, Verdict::Pass);
    on("63 mm").expect(&CHECK, Verdict::Caution);
    let narrow = on("57 mm");
    let report = narrow.expect(&CHECK, Verdict::Fail);
    assert!(
        report.findings[0].remedies[0].ends_with("bar-free 67mm --anew"),
        "{:?}",
        report.findings
    );
    // Moving things is a new reading of another bar, not a repeat of the old one.
    narrow
        .again(&[("bar-free", "67mm")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn what_does_not_go_on_is_told_while_the_width_is_missing() {
    let thick = clamped(
        round_bar("35 mm"),
        &[("clamp-diameter", "31.8 mm"), ("clamp-width", "60 mm")],
    );
    let report = thick.expect(&CHECK, Verdict::Fail);
    assert_eq!(report.findings.len(), 2);
    assert_eq!(report.findings[1].verdict, Verdict::Open);
}

#[test]
fn the_sleeve_the_remedy_names_clears_it() {
    round_bar("25.4 mm").cured(&CHECK, "lockring measure 20 clamp-shim 3.2mm", |job| {
        job.measure(&[("clamp-shim", "3.2mm")])
    });
}
