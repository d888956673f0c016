//! Shells and motors: passing, cautioned, failing, open, not concerned.

use super::*;
use crate::checks::shell_stack;
use crate::checks::testing::{hardtail, longtail, trekking};
use crate::command::ReceiptText;
use crate::fact::Value;

#[test]
fn an_english_shell_takes_the_demo_motors() {
    let report = longtail().expect(&CHECK, Verdict::Pass);
    assert_eq!(report.findings.len(), 4);
    hardtail().expect(&CHECK, Verdict::Pass);
}

#[test]
fn a_spacer_of_two_and_a_half_still_fits() {
    // Worked example of the trade (common practice, no source): 73.0 + 2.5 = 75.5 <= 77.0;
    // 87.0 - 75.5 = 11.5 >= 10 + 1.
    let report = longtail()
        .measure(&[("spacer", "2.5 mm")])
        .expect(&CHECK, Verdict::Pass);
    assert!((report.findings[2].figures[0].value - 75.5).abs() < 1e-6);
    assert!((report.findings[3].figures[0].value - 11.5).abs() < 1e-6);
}

#[test]
fn more_spacers_eat_the_spare_thread_then_the_thread_then_the_band() {
    // 87 - 73 - 3.5 = 10.5 mm: short of 10 + 1; 73 + 4.5 = 77.5 mm: over 77 mm.
    let with = |spacer| longtail().measure(&[("spacer", spacer)]).report(&CHECK);
    assert_eq!(with("3.5 mm").verdict, Verdict::Caution);
    let over = with("4.5 mm");
    assert_eq!(over.verdict, Verdict::Fail);
    assert_eq!(
        (over.findings[2].verdict, over.findings[3].verdict),
        (Verdict::Fail, Verdict::Fail)
    );
    longtail()
        .measure(&[("spacer", "4.5 mm")])
        .measure(&[("spacer", "0.0mm")])
        .expect(&CHECK, Verdict::Pass);
}

/// A concession of what nobody may concede any more lapses under the same version; one of what may still be conceded stands.
#[test]
fn an_old_concession_lapses_where_metal_stands_in_metal_and_nowhere_else() {
    for (width, stands) in [("92 mm", false), ("78 mm", true)] {
        let mut bench = longtail().measure(&[("shell-width", width)]);
        let report = bench.expect(&CHECK, Verdict::Fail);
        let concession = crate::job::Concession {
            why: "as it is".into(),
            by: "K".into(),
            at: "2026-03-02T08:00:00Z".parse().unwrap(),
            fingerprint: report.objection.clone(),
            finding: report.summary().to_owned(),
        };
        bench.job.concessions.insert(CHECK.id.into(), concession);
        assert_eq!(bench.report(&CHECK).holds(), stands, "{width}");
    }
}

/// 87 mm tube - 92 mm shell = -5 mm by hand: no thread stands out for the rings. 87 - 78 = 9 mm of 10 are a matter of how much is
/// enough.
#[test]
fn rings_without_a_thread_to_screw_on_are_never_conceded() {
    let shell = |width| longtail().measure(&[("shell-width", width)]);
    let wide = shell("92 mm").expect(&CHECK, Verdict::Fail);
    let barred = wide.barred().expect("nobody may concede it");
    assert!(barred.summary.contains("thread left"), "{}", barred.summary);
    let short = shell("78 mm").expect(&CHECK, Verdict::Fail);
    assert!(short.is_concedable(), "{}", short.summary());
    let stack = shell("92 mm")
        .measure(&[("stack", "92 mm")])
        .report(&shell_stack::CHECK);
    assert!(!stack.is_concedable(), "{}", stack.summary());
    // Nor a body that is wider than its bore.
    let narrow = longtail()
        .measure(&[("shell-bore", "30 mm")])
        .expect(&CHECK, Verdict::Fail);
    assert!(!narrow.is_concedable(), "{}", narrow.summary());
}

#[test]
fn a_shell_of_ninety_two_is_too_wide_for_the_band() {
    // Check case, arithmetic of the band 68 to 73 mm against a 41 x 92 shell.
    let wide = longtail()
        .receive("motor", &[("shell-most", "73 mm")], ReceiptText::default())
        .state(&[("shell-standard", "press-41x92")])
        .measure(&[("shell-width", "92 mm"), ("shell-bore", "41 mm")]);
    let report = wide.expect(&CHECK, Verdict::Fail);
    assert_eq!(
        report.findings[1].verdict,
        Verdict::Caution,
        "adapter: {:?}",
        report.findings[1]
    );
    assert!(
        report.findings[2]
            .remedies
            .iter()
            .any(|remedy| remedy.contains("no spacers"))
    );
    let found = [("shell-most", "100 mm"), ("tube-length", "115 mm")];
    let cured = wide
        .receive("motor", &found, ReceiptText::default())
        .expect(&CHECK, Verdict::Caution);
    assert!(
        cured.summary().contains("adapter ring of 3.75 mm a side"),
        "{}",
        cured.summary()
    );
}

#[test]
fn the_bore_turns_the_verdict_with_the_calliper_s_doubt_between() {
    // Body 33.5 mm, 0.1 mm of clearance; calliper: 0.1 mm expanded.
    let at = |bore| {
        longtail()
            .measure(&[("shell-bore", bore)])
            .report(&CHECK)
            .findings[1]
            .verdict
    };
    assert_eq!(at("33.71 mm"), Verdict::Pass);
    assert_eq!(at("33.6 mm"), Verdict::Caution);
    // Body and bore alike within the calliper's doubt: it may just go in.
    assert_eq!(at("33.49 mm"), Verdict::Caution);
    assert_eq!(at("33.41 mm"), Verdict::Caution);
    assert_eq!(at("33.39 mm"), Verdict::Fail);
}

#[test]
fn a_shell_that_is_not_what_was_said_is_a_caution_and_a_right_hand_thread_is_noted() {
    // Brown, bottom-bracket cribsheet: Italian shells are 70 mm wide with right-hand threads on
    // both sides, English ones 68 or 73 mm.
    let said = longtail().state(&[("shell-standard", "italian")]);
    let report = said.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[0].summary.contains("not as stored for italian"),
        "{}",
        report.findings[0].summary
    );
    assert!(
        report.findings[0]
            .arithmetic
            .iter()
            .any(|line| line.starts_with("right-hand thread"))
    );
    said.state(&[("shell-standard", "english")])
        .expect(&CHECK, Verdict::Pass);
}

#[test]
fn an_unknown_standard_is_open_and_near_ones_are_named() {
    // As a journal may hold it that was written before such names were refused.
    let mut old = longtail();
    let mut fact = old.job.facts.remove("shell-standard").unwrap().into_inner();
    fact.value = Value::Text("englsh".into());
    old.job.facts.insert("shell-standard".into(), fact.into());
    let report = old.expect(&CHECK, Verdict::Open);
    assert!(report.missing[0].what.contains("english"), "{:?}", report.missing);
    longtail().forget("shell-width").expect(&CHECK, Verdict::Open);
    trekking().expect(&CHECK, Verdict::NotApplicable);
}

#[test]
fn the_spacers_the_remedy_names_clear_it() {
    longtail()
        .measure(&[("spacer", "4.5 mm")])
        .cured(&CHECK, "lockring measure 21 spacer 0.0mm", |job| {
            job.measure(&[("spacer", "0.0mm")])
        });
}

#[test]
fn the_spacers_named_clear_a_narrow_shell_through_the_calliper_s_doubt() {
    // 68.0 - 67.5 mm and 0.2 mm of doubt of the stack as it is measured at the fitting: 0.7 mm.
    let narrow = longtail().measure(&[("shell-width", "67.5 mm")]).cured(
        &CHECK,
        "lockring measure 21 spacer 0.7mm",
        |job| job.measure(&[("spacer", "0.7mm")]),
    );
    narrow
        .measure(&[("stack", "68.2 mm")])
        .expect(&shell_stack::CHECK, Verdict::Pass);
    // 87.0 - 76.9 leaves 10.1 mm of thread, 11 are wanted: none to give back.
    let wide = longtail().measure(&[("shell-width", "76.9 mm")]);
    let report = wide.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[3].remedies[0].starts_with("no spacers"),
        "{:?}",
        report.findings[3]
    );
}

#[test]
fn the_shell_a_kit_is_named_after_fits_it_without_a_concession() {
    // A kit for 68 mm and more on a shell of 68.0 mm, calliper 0.1 mm: no spacer is asked for.
    for (width, verdict) in [
        ("68.0 mm", Verdict::Pass),
        ("67.92 mm", Verdict::Pass),
        ("67.8 mm", Verdict::Fail),
    ] {
        let shell = longtail().measure(&[("shell-width", width), ("spacer", "0 mm")]);
        assert_eq!(shell.report(&CHECK).findings[2].verdict, verdict, "{width}");
    }
    let fitted = longtail().measure(&[("shell-width", "68.0 mm"), ("stack", "68.0 mm")]);
    fitted.expect(&shell_stack::CHECK, Verdict::Pass);
}

fn wide_bore() -> crate::checks::testing::Bench {
    let found = [
        ("shell-least", "74 mm"),
        ("shell-most", "100 mm"),
        ("tube-length", "115 mm"),
    ];
    longtail()
        .receive("motor", &found, ReceiptText::default())
        .state(&[("shell-standard", "press-41x92")])
        .measure(&[("shell-width", "92 mm"), ("shell-bore", "41 mm")])
}

#[test]
fn an_adapter_pair_fills_a_wide_bore_and_clears_the_caution() {
    // Check case, arithmetic: a 41 x 92 shell with a kit for 74 to 100 mm and a pair of 41 to
    // 33.5 mm and clearance passes.
    let bare = wide_bore();
    let report = bare.expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[1].remedies[0].contains("from 41.00 mm to 33.60 mm"),
        "{:?}",
        report.findings[1]
    );
    // Metal taken off the bore helps no body that is loose in it, and the pair is typed as it is named.
    let remedies = report.findings[1].remedies.concat();
    assert!(!remedies.contains("dress"), "{remedies}");
    assert!(
        remedies.contains("adapter-outer 41.00mm adapter-inner 33.60mm"),
        "{remedies}"
    );
    let pair = |outer, inner| wide_bore().measure(&[("adapter-outer", outer), ("adapter-inner", inner)]);
    let report = pair("41 mm", "33.7 mm").expect(&CHECK, Verdict::Pass);
    assert_eq!(report.findings.len(), 6);
    // Calliper 0.05 mm on the bore: doubt 0.1 mm either side of 0.2 mm.
    pair("40.7 mm", "33.7 mm").expect(&CHECK, Verdict::Caution);
    pair("41.4 mm", "33.7 mm").expect(&CHECK, Verdict::Caution);
    pair("41 mm", "33.5 mm").expect(&CHECK, Verdict::Pass);
    let tight = pair("41 mm", "33.4 mm");
    let report = tight.expect(&CHECK, Verdict::Fail);
    assert!(
        report.findings[5].remedies[0].ends_with("adapter-outer 41.00mm adapter-inner 33.60mm"),
        "{:?}",
        report.findings[5]
    );
    tight
        .measure(&[("adapter-outer", "41.00mm"), ("adapter-inner", "33.60mm")])
        .expect(&CHECK, Verdict::Pass);
    bare.measure(&[("adapter-outer", "41 mm")])
        .expect(&CHECK, Verdict::Open);
}

#[test]
fn a_part_screwed_into_the_shell_wants_the_shell_s_own_thread() {
    // Brown, bottom-bracket cribsheet: French and English nearly pass for each other and ruin the
    // shell; 1.375 in interchanges with English; Italian is right-hand on the drive side.
    let cup = |word| longtail().receive("motor", &[("cup-thread", word)], ReceiptText::default());
    for (word, verdict) in [
        ("english", Verdict::Pass),
        ("iso-1.375", Verdict::Pass),
        ("french", Verdict::Fail),
        ("italian", Verdict::Fail),
        ("press-41x92", Verdict::Open),
        ("englsh", Verdict::Open),
    ] {
        cup(word).expect(&CHECK, verdict);
    }
    let forced = cup("french");
    let report = forced.report(&CHECK);
    assert!(
        report.summary().contains("ruins the shell"),
        "{}",
        report.summary()
    );
    forced
        .receive("motor", &[("cup-thread", "english")], ReceiptText::default())
        .expect(&CHECK, Verdict::Pass);
    let italian = cup("italian")
        .state(&[("shell-standard", "italian")])
        .measure(&[("shell-width", "70 mm"), ("shell-bore", "34.0 mm")]);
    let report = italian.report(&CHECK);
    assert!(
        report
            .findings
            .iter()
            .any(|finding| finding.verdict == Verdict::Caution && finding.summary.contains("unscrew")),
        "{:?}",
        report.findings
    );
    let pressed = wide_bore().receive("motor", &[("cup-thread", "english")], ReceiptText::default());
    let report = pressed.expect(&CHECK, Verdict::Fail);
    let last = report.findings.last().unwrap();
    assert_eq!(last.verdict, Verdict::Fail);
    assert!(last.summary.contains("no thread"), "{}", last.summary);
}

#[test]
fn a_shell_that_catches_people_out_says_how() {
    // Dealer tables, read: left-hand threads on a one-piece crank's lock nut and cone; 46 x 79 mm
    // with unequal halves.
    for (name, words) in [
        ("one-piece", "left-hand"),
        ("press-46x79", "unequal halves"),
        ("press-42x83", "unequal halves"),
    ] {
        let report = longtail().state(&[("shell-standard", name)]).report(&CHECK);
        assert!(
            report.findings[0]
                .arithmetic
                .iter()
                .any(|line| line.contains(words)),
            "{name}: {:?}",
            report.findings[0].arithmetic
        );
    }
}
