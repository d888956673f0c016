//! Tests of `pack.papers`: which words are which paper, and what each class asks.

use super::*;
use crate::checks::testing::{Bench, trekking};
use crate::command::ReceiptText;

/// Received by somebody who saw no damage where none is named.
fn filed(bench: Bench, papers: &str, damage: &str) -> Bench {
    let damage = if damage.is_empty() { "none" } else { damage };
    let details = ReceiptText {
        papers: papers.into(),
        damage: damage.into(),
        ..ReceiptText::default()
    };
    bench.receive("pack", &[], details)
}

fn arrived(papers: &str, damage: &str) -> Bench {
    filed(trekking(), papers, damage)
}

fn in_class(class: &str, papers: &str) -> Verdict {
    filed(trekking().state(&[("ride-class", class)]), papers, "")
        .report(&CHECK)
        .verdict
}

#[test]
fn both_papers_and_no_damage_pass() {
    trekking().receive_all().expect(&CHECK, Verdict::Pass);
    for papers in [
        "UN 38.3 summary, EN 50604-1 report",
        "transport summary and EN 50604 certificate",
        "UN38.3 summary no. 12; EN50604-1:2016+A1:2021 report no 4711",
        "UN 38,3 summary + EN 50604-1 report on the battery with its cells",
    ] {
        arrived(papers, "").expect(&CHECK, Verdict::Pass);
    }
}

#[test]
fn a_pack_of_which_somebody_says_that_it_has_no_damage_is_whole_and_a_dent_stays() {
    let papers = "UN 38.3 summary, EN 50604-1 report";
    for whole in ["none", "no", "Nothing", "ok", "n", "-"] {
        let report = arrived(papers, whole).expect(&CHECK, Verdict::Pass);
        let lines: Vec<&str> = report
            .findings
            .iter()
            .map(|finding| finding.summary.as_str())
            .collect();
        assert!(
            lines.contains(&"no damage seen on the pack"),
            "{whole}: {lines:?}"
        );
    }
    arrived(papers, "yes").expect(&CHECK, Verdict::Fail);
    // The same pack is not whole because the next to look says so; one that was called whole may turn out dented.
    let dented = filed(trekking(), papers, "dented corner");
    filed(dented, "", "none").expect(&CHECK, Verdict::Fail);
    filed(arrived(papers, "none"), "", "dented corner").expect(&CHECK, Verdict::Fail);
}

#[test]
fn a_pack_that_nobody_looked_at_is_open_until_somebody_does() {
    let unseen = ReceiptText {
        papers: "UN 38.3 summary, EN 50604-1 report".into(),
        ..ReceiptText::default()
    };
    let came = trekking().receive("pack", &[], unseen);
    let report = came.expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing[0].how, "lockring receive 20 pack --damage …");
    filed(came.clone(), "", "none").expect(&CHECK, Verdict::Pass);
    filed(came, "", "dented corner").expect(&CHECK, Verdict::Fail);
}

#[test]
fn each_paper_that_lacks_fails_and_filing_it_clears_it() {
    let none = arrived("", "").expect(&CHECK, Verdict::Fail);
    assert_eq!(
        none.findings
            .iter()
            .filter(|finding| finding.verdict == Verdict::Fail)
            .count(),
        2
    );
    let half = arrived("UN 38.3 summary", "").expect(&CHECK, Verdict::Fail);
    assert_eq!(
        half.summary(),
        "no report on the pack by EN 50604-1, as eu-epac asks, among the pack's papers: UN 38.3 summary"
    );
    arrived("UN 38.3 summary, EN 50604-1 report", "").expect(&CHECK, Verdict::Pass);
}

/// UN 38.3 does not prove a pack safe in use or charging: whatever its paper is called, it is no report on the pack.
#[test]
fn one_transport_paper_is_not_two_papers() {
    for papers in [
        "UN 38.3 test report",
        "UN 38.3 certificate",
        "transport certificate",
        "UN 38.3 test report of the cells",
        "UN 38.3 summary, UN 38.3 test report",
        "UN 38.3 summary, IEC 62133 report of the cells",
        "UN 38.3 summary, charger certificate",
    ] {
        for class in ["eu-epac", "gb-eapc", "us-class2", "us-ny-class3"] {
            let report =
                filed(trekking().state(&[("ride-class", class)]), papers, "").expect(&CHECK, Verdict::Fail);
            let verdicts: Vec<Verdict> = report.findings.iter().map(|finding| finding.verdict).collect();
            assert_eq!(
                verdicts,
                [Verdict::Pass, Verdict::Fail, Verdict::Pass],
                "{papers}"
            );
        }
    }
}

/// EN 15194:2017+A1:2023: EN 50604-1; the choice of EN 62133 ended on 23 August 2025. California HSC 26300 ff and New
/// York GBS 495-a: UL 2849, UL 2271 or EN 15194.
#[test]
fn the_report_is_by_a_standard_the_class_takes() {
    let with = |standard: &str| format!("UN 38.3 summary, {standard} report");
    for (class, standard, verdict) in [
        ("eu-epac", "EN 50604-1", Verdict::Pass),
        ("eu-epac", "EN 62133", Verdict::Fail),
        ("eu-epac", "UL 2271", Verdict::Fail),
        ("us-ny-class3", "UL 2849", Verdict::Pass),
        ("us-ny-class3", "UL 2271", Verdict::Pass),
        ("us-ny-class3", "EN 15194", Verdict::Pass),
        ("us-ny-class3", "IEC 62133", Verdict::Fail),
        ("us-ca-class1", "UL 2271", Verdict::Pass),
        ("us-ca-class3", "pack safety", Verdict::Fail),
        ("us-class2", "pack", Verdict::Pass),
        ("gb-eapc", "IEC 62133-2", Verdict::Pass),
    ] {
        assert_eq!(in_class(class, &with(standard)), verdict, "{class} {standard}");
    }
}

/// A report that lists what it is on is one paper, with the pack in the list and without.
#[test]
fn a_report_on_several_things_is_one_paper() {
    for (papers, verdict) in [
        (
            "UN 38.3 summary, UL 2849 report for motor, controller, pack and charger",
            Verdict::Pass,
        ),
        ("UN 38.3 summary, UL 2271 report of cells and pack", Verdict::Pass),
        (
            "UN 38.3 summary, UL 2849 report for motor and controller",
            Verdict::Fail,
        ),
        ("UN 38.3 summary, UL 2271 report, charger manual", Verdict::Pass),
        (
            "UN 38.3 summary, UL 2849 report for motor, controller, pack and charger missing",
            Verdict::Fail,
        ),
    ] {
        assert_eq!(in_class("us-ny-class3", papers), verdict, "{papers}");
    }
}

/// New York GBS 495-a takes a report on the pack; New York City's Local Law 39 of 2023 asks for UL 2849 for the system.
#[test]
fn where_a_report_on_the_pack_is_not_enough_it_is_said_so() {
    let said = |papers: &str| {
        let bench = filed(trekking().state(&[("ride-class", "us-ny-class3")]), papers, "");
        bench.report(&CHECK).findings[1].summary.clone()
    };
    let alone = said("UN 38.3 summary, UL 2271 report");
    assert!(
        alone.contains("asks for more than the pack's, UL 2849") && alone.ends_with("see class.power"),
        "{alone}"
    );
    let whole = said("UN 38.3 summary, UL 2849 report of the set");
    assert!(!whole.contains("class.power"), "{whole}");
}

#[test]
fn a_report_that_names_no_standard_is_looked_at_again() {
    let report = arrived("UN 38.3 summary, pack safety report", "").expect(&CHECK, Verdict::Fail);
    let remedies = &report.findings[1].remedies;
    assert!(
        remedies.iter().any(|remedy| remedy.contains("names no standard")),
        "{remedies:?}"
    );
}

#[test]
fn a_paper_that_is_said_to_be_missing_is_not_on_file() {
    let report = arrived("UN 38.3 summary, no report yet", "").expect(&CHECK, Verdict::Fail);
    assert_eq!(report.findings[0].verdict, Verdict::Pass);
    arrived("without transport papers", "").expect(&CHECK, Verdict::Fail);
    let report = arrived("no 38.3 summary, EN 50604-1 report", "").expect(&CHECK, Verdict::Fail);
    assert_eq!(report.findings[1].verdict, Verdict::Pass);
}

#[test]
fn a_damaged_pack_fails_with_all_its_papers() {
    let report = arrived("UN 38.3 summary, EN 50604-1 report", "dented corner").expect(&CHECK, Verdict::Fail);
    assert_eq!(report.summary(), "the pack is damaged: dented corner");
}

#[test]
fn before_it_arrives_or_without_a_class_it_is_open() {
    let report = trekking().expect(&CHECK, Verdict::Open);
    assert!(
        report.missing[0]
            .how
            .starts_with("lockring receive 20 pack --papers …")
    );
    trekking()
        .build(&[("pack", "none")])
        .expect(&CHECK, Verdict::Open);
    trekking().forget("ride-class").expect(&CHECK, Verdict::Open);
}

#[test]
fn the_papers_filed_in_the_remedy_s_own_words_clear_it() {
    for (class, standard) in [
        ("eu-epac", "EN 50604-1"),
        ("us-ny-class3", "UL 2849"),
        ("us-class2", "pack"),
    ] {
        let papers = format!("UN 38.3 summary, {standard} report");
        let half = filed(trekking().state(&[("ride-class", class)]), "UN 38.3 summary", "");
        half.cured(
            &CHECK,
            "a comma after each paper: lockring receive 20 pack --papers …",
            |job| filed(job, &papers, ""),
        );
    }
}

#[test]
fn papers_filed_later_leave_the_damage_and_what_was_read_off_the_pack() {
    let dented = ReceiptText {
        serial: "40117".into(),
        damage: "dented corner".into(),
        ..ReceiptText::default()
    };
    let papers = ReceiptText {
        papers: "UN 38.3 summary, EN 50604-1 report".into(),
        ..ReceiptText::default()
    };
    let filed = trekking()
        .receive("pack", &[("series", "14")], dented)
        .receive("pack", &[], papers.clone());
    let report = filed.expect(&CHECK, Verdict::Fail);
    assert_eq!(report.summary(), "the pack is damaged: dented corner");
    let receipt = filed.job.build[&Slot::Pack].receipt.as_ref().unwrap();
    assert_eq!(receipt.serial.as_deref(), Some("40117"));
    assert!(receipt.found.contains_key("series"), "{receipt:?}");
    // Another serial is another pack.
    let other = ReceiptText {
        serial: "40118".into(),
        damage: "none".into(),
        ..papers
    };
    let replaced = filed.receive("pack", &[], other);
    replaced.expect(&CHECK, Verdict::Pass);
    let receipt = replaced.job.build[&Slot::Pack].receipt.as_ref().unwrap();
    assert!(receipt.found.is_empty(), "{receipt:?}");
}
