//! Dropouts: width by material, kind of axle, slot and flats.

use super::*;
use crate::checks::testing::{Bench, longtail, trekking};
use crate::command::ReceiptText;

fn rear(mm: &str) -> Bench {
    trekking().measure(&[("dropout-rear", mm)])
}

fn aluminium(mm: &str) -> Bench {
    rear(mm).state(&[("frame-material", "aluminium")])
}

#[test]
fn the_demo_hub_goes_in_and_a_motor_at_the_crank_is_not_concerned() {
    // Worked example of the trade (common practice, no source): 134.8 mm for a hub of 135 mm.
    let report = trekking().expect(&CHECK, Verdict::Pass);
    assert_eq!(report.findings.len(), 3);
    longtail().expect(&CHECK, Verdict::NotApplicable);
}

#[test]
fn only_steel_is_spread() {
    // Brown, Frame Spacing: steel can be cold-set, other materials cannot; 130 to 135 mm.
    let steel = rear("130.3 mm");
    let report = steel.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[1].remedies[0].starts_with("cold-set"),
        "{:?}",
        report.findings[1]
    );
    steel
        .measure(&[("dropout-rear", "135.0mm")])
        .expect(&CHECK, Verdict::Pass);
    aluminium("130.3 mm").expect(&CHECK, Verdict::Fail);
    // Check case of the trade (common practice, no source): a hub of 135 mm in 126 mm is 9 mm; it
    // fails in aluminium, and is beyond what steel is usually set by (judgement), which advises.
    aluminium("126 mm").expect(&CHECK, Verdict::Fail);
    let report = rear("126 mm").expect(&CHECK, Verdict::Caution);
    assert!(
        report.summary().contains("beyond what steel"),
        "{}",
        report.summary()
    );
    assert!(!rear("130.3 mm").report(&CHECK).summary().contains("beyond"));
    // 120 to 135 mm is the widest step between hubs of the trade's table (Brown, Frame Spacing).
    rear("120.1 mm").expect(&CHECK, Verdict::Caution);
    rear("119.5 mm").expect(&CHECK, Verdict::Fail);
}

#[test]
fn the_verdict_turns_across_the_limits_with_the_calliper_s_doubt_between() {
    // Inside calliper: 0.2 mm expanded. Hub 135 mm; 1 mm needs nothing done (common practice), 4 mm
    // is the smallest step to a hub of another standard (126 to 130 mm, Brown, Frame Spacing).
    let at = |bench: Bench| bench.report(&CHECK).findings[1].verdict;
    for (mm, verdict) in [
        ("134.3 mm", Verdict::Pass),
        ("133.9 mm", Verdict::Caution),
        ("131.3 mm", Verdict::Caution),
        ("130.9 mm", Verdict::Caution),
        ("130.7 mm", Verdict::Fail),
    ] {
        assert_eq!(at(aluminium(mm)), verdict, "{mm}");
    }
    // Springing by hand, 2 mm (judgement), changes what is said and not the verdict.
    for (mm, words) in [
        ("133.2 mm", "springs open by hand"),
        ("132.7 mm", "may not be spread"),
    ] {
        let report = aluminium(mm).report(&CHECK);
        assert!(report.findings[1].remedies[0].contains(words), "{mm}: {report:?}");
    }
    // Aluminium is not set: 3 mm are not called tolerable. That 2 mm spring is judgement and stops nothing, so no figure
    // is named up to which it might be conceded.
    let said = aluminium("132 mm").report(&CHECK).findings[1].summary.clone();
    assert!(
        said.contains("at most 1 mm: over stored limit; advice only: beyond the 2 mm"),
        "{said}"
    );
    assert!(
        said.contains("not to be set") && !said.contains("concession"),
        "{said}"
    );
    // Carbon is not spread: beyond what the calliper repeats to (judgement) it advises, beyond what
    // needs nothing done it fails.
    let carbon = |mm: &str| rear(mm).state(&[("frame-material", "carbon")]);
    for (mm, verdict) in [
        ("135.0 mm", Verdict::Pass),
        ("134.4 mm", Verdict::Caution),
        ("133.7 mm", Verdict::Fail),
    ] {
        assert_eq!(at(carbon(mm)), verdict, "{mm}");
    }
}

#[test]
fn a_wider_frame_takes_spacers() {
    // Check case, common practice: a hub of 126 mm in a frame of 135 mm takes 9 mm.
    let narrow = rear("135 mm").receive("motor", &[("hub-width", "126 mm")], ReceiptText::default());
    let report = narrow.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[1].remedies[0].contains("9.0 mm together"),
        "{:?}",
        report.findings[1]
    );
    narrow
        .receive("motor", &[("hub-width", "135 mm")], ReceiptText::default())
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn more_room_than_any_frame_has_beside_another_s_hub_is_never_conceded() {
    // Brown, Frame Spacing: front hubs 91 to 100 mm, 9 mm apart, but for the 74 of folding bicycles; rear hubs in slots 120
    // to 135 mm, 15 apart.
    let front = |hub: &str| {
        trekking()
            .receive(
                "motor",
                &[("place", "front-hub"), ("hub-width", hub)],
                ReceiptText::default(),
            )
            .measure(&[("dropout-front", "100 mm")])
    };
    let folder = front("74 mm");
    let report = folder.expect(&CHECK, Verdict::Fail);
    assert!(report.barred().is_some(), "{report:?}");
    assert!(!report.is_concedable(), "{report:?}");
    assert_eq!(
        front("91 mm").report(&CHECK).findings[1].verdict,
        Verdict::Caution
    );
    folder.cured(&CHECK, "lockring build 20 motor=PART", |job| {
        job.receive("motor", &[("hub-width", "100 mm")], ReceiptText::default())
    });
    for (hub, verdict) in [("135 mm", Verdict::Caution), ("130 mm", Verdict::Fail)] {
        let wide = rear("150 mm").receive("motor", &[("hub-width", hub)], ReceiptText::default());
        assert_eq!(wide.report(&CHECK).findings[1].verdict, verdict, "{hub}");
    }
}

#[test]
fn a_front_hub_is_compared_with_the_fork() {
    // Common practice, no source: a folding fork of 74 mm for a hub of 100 mm.
    let front = trekking().receive(
        "motor",
        &[("place", "front-hub"), ("hub-width", "100 mm")],
        ReceiptText::default(),
    );
    let report = front.expect(&CHECK, Verdict::Open);
    assert!(
        report.missing[0].how.contains("dropout-front"),
        "{:?}",
        report.missing
    );
    front
        .clone()
        .measure(&[("dropout-front", "100 mm")])
        .expect(&CHECK, Verdict::Pass);
    front
        .measure(&[("dropout-front", "74 mm")])
        .expect(&CHECK, Verdict::Fail);
}

#[test]
fn a_fork_is_spread_less_than_a_frame() {
    // Front hubs of 96 and 100 mm are the nearest to each other (Brown, Frame Spacing): 4 mm. Springing by hand
    // 2 mm, judgement; aluminium is not set.
    let fork = |kind: &str, mm: &str| {
        let front = [("place", "front-hub"), ("hub-width", "100 mm")];
        trekking()
            .receive("motor", &front, ReceiptText::default())
            .state(&[("fork-kind", kind)])
            .measure(&[("dropout-front", mm)])
            .report(&CHECK)
            .findings[1]
            .clone()
    };
    let french = fork("steel-rigid", "96.5 mm");
    assert_eq!(french.verdict, Verdict::Caution, "{french:?}");
    assert!(french.remedies[0].starts_with("cold-set the fork"), "{french:?}");
    let child = fork("steel-rigid", "86 mm");
    assert_eq!(child.verdict, Verdict::Fail, "{child:?}");
    assert!(
        child.remedies[0].starts_with("the fork may not be spread"),
        "{child:?}"
    );
    let aluminium = fork("aluminium-rigid", "97 mm");
    assert_eq!(aluminium.verdict, Verdict::Caution, "{aluminium:?}");
    assert!(
        aluminium.summary.contains("beyond the 2 mm") && !aluminium.summary.contains("concession"),
        "{aluminium:?}"
    );
}

#[test]
fn a_slotted_axle_does_not_go_into_a_hole() {
    let hole = trekking().state(&[("axle-kind", "thru-axle")]);
    assert_eq!(hole.expect(&CHECK, Verdict::Fail).findings.len(), 1);
}

#[test]
fn through_axles_are_compared_by_their_diameter() {
    let through = trekking().state(&[("axle-kind", "thru-axle")]).receive(
        "motor",
        &[("axle-kind", "thru-axle")],
        ReceiptText::default(),
    );
    let report = through.expect(&CHECK, Verdict::Open);
    assert!(
        report.missing[0].how.contains("axle-diameter-frame"),
        "{:?}",
        report.missing
    );
    // The motor takes 12 mm; a tenth of a millimetre either way is the calliper's.
    for (diameter, verdict) in [
        ("12 mm", Verdict::Pass),
        ("12.1 mm", Verdict::Pass),
        ("11.9 mm", Verdict::Pass),
        ("12.2 mm", Verdict::Fail),
        ("11.8 mm", Verdict::Fail),
        ("15 mm", Verdict::Fail),
    ] {
        let bench = through.clone().state(&[("axle-diameter-frame", diameter)]);
        bench.expect(&CHECK, verdict);
    }
    let differs = through.state(&[("axle-diameter-frame", "15 mm")]);
    let report = differs.expect(&CHECK, Verdict::Fail);
    assert_eq!(report.findings.len(), 1);
    assert!(report.findings[0].remedies[0].starts_with("a motor for a through axle of 15 mm"));
    differs
        .receive(
            "motor",
            &[("axle-kind", "thru-axle"), ("axle-diameter", "15 mm")],
            ReceiptText::default(),
        )
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn a_narrow_slot_is_filed_a_little_and_never_much() {
    // Worked example of the trade (common practice, no source): 9.8 mm dressed for 10 mm flats;
    // at most 0.3 mm may be filed.
    let narrow = trekking().measure(&[("slot-width", "9.8 mm")]);
    let report = narrow.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[2].remedies[0].starts_with("file 0.20 mm"),
        "{:?}",
        report.findings[2]
    );
    narrow
        .measure(&[("slot-width", "10.10mm")])
        .expect(&CHECK, Verdict::Pass);
    trekking()
        .measure(&[("slot-width", "9.6 mm")])
        .expect(&CHECK, Verdict::Fail);
    trekking()
        .measure(&[("slot-width", "10.4 mm")])
        .expect(&CHECK, Verdict::Caution);
    trekking().forget("slot-width").expect(&CHECK, Verdict::Open);
}

#[test]
fn a_frame_set_as_the_remedy_says_clears_it() {
    rear("130.3 mm").cured(&CHECK, "lockring measure 20 dropout-rear …mm", |job| {
        job.measure(&[("dropout-rear", "135.0mm")])
    });
}
