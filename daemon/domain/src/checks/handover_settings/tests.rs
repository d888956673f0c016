//! Tests of `handover.settings`: settings against class and wheel.

use super::*;
use crate::checks::testing::{Bench, trekking};

fn read_back(bench: Bench, limit: &str, circumference: &str) -> Bench {
    bench
        .measure(&[
            ("circumference", "2170 mm"),
            ("circumference-setting", "2170 mm"),
            ("assist-limit", "25 km/h"),
        ])
        .measure(&[
            ("limit-readback", limit),
            ("circumference-readback", circumference),
        ])
}

#[test]
fn as_set_and_as_rolled_out_passes() {
    // Worked example of the trade (common practice, no source): 2170 mm, 25 km/h.
    let report = read_back(trekking(), "25 km/h", "2170 mm").expect(&CHECK, Verdict::Pass);
    assert_eq!(report.findings.len(), 4);
}

#[test]
fn a_limit_above_the_class_fails_until_it_is_set_back() {
    let opened = read_back(trekking(), "32 km/h", "2170 mm");
    let report = opened.expect(&CHECK, Verdict::Fail);
    assert_eq!(
        report
            .findings
            .iter()
            .filter(|finding| finding.verdict == Verdict::Fail)
            .count(),
        2
    );
    opened
        .measure(&[("limit-readback", "25 km/h")])
        .expect(&CHECK, Verdict::Pass);
    // SI 2015/24, regulation 2 (read): 15.5 mph, under 25 km/h.
    let british = trekking().state(&[("ride-class", "gb-eapc")]);
    let british = read_back(british, "25 km/h", "2170 mm");
    // 24.945 km/h: the highest tenth under it is 24.9.
    british.cured(&CHECK, "set the limit to 24.9 km/h or lower", |job| {
        job.measure(&[("limit-readback", "24.9 km/h"), ("assist-limit", "24.9 km/h")])
    });
}

#[test]
fn a_circumference_changed_since_fails() {
    // Worked example of the trade (common practice, no source): 2155 for 2170 is 0.7 % off.
    let report = read_back(trekking(), "25 km/h", "2155 mm").expect(&CHECK, Verdict::Fail);
    assert_eq!(report.findings[1].verdict, Verdict::Fail);
    assert_eq!(report.findings[2].verdict, Verdict::Fail);
}

#[test]
fn half_a_percent_has_its_guard_band() {
    let verdict = |mm: &str| read_back(trekking(), "25 km/h", mm).report(&CHECK).findings[2].verdict;
    assert_eq!(verdict("2178 mm"), Verdict::Pass);
    assert_eq!(verdict("2180 mm"), Verdict::Caution);
    assert_eq!(verdict("2184 mm"), Verdict::Fail);
}

#[test]
fn open_until_read_back() {
    assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 4);
}

#[test]
fn settings_put_back_as_the_remedies_say_clear_it() {
    read_back(trekking(), "32 km/h", "2170 mm").cured(
        &CHECK,
        "lockring measure 20 limit-readback SPEED",
        |job| job.measure(&[("limit-readback", "25 km/h")]),
    );
    read_back(trekking(), "25 km/h", "2155 mm").cured(
        &CHECK,
        "lockring measure 20 circumference-readback MM",
        |job| job.measure(&[("circumference-readback", "2170 mm")]),
    );
}

#[test]
fn what_fails_is_said_while_others_are_missing() {
    let limit = trekking().measure(&[("limit-readback", "27 km/h")]);
    let report = limit.expect(&CHECK, Verdict::Fail);
    assert!(
        report.summary().contains("over stored limit"),
        "{}",
        report.summary()
    );
    assert_eq!(report.missing.len(), 3);
    assert!(
        !report.findings[0]
            .remedies
            .iter()
            .any(|remedy| remedy.contains("Stored rule"))
    );
    // What is in order is not enough without the rest.
    let limit = trekking().measure(&[("limit-readback", "25 km/h")]);
    assert_eq!(limit.expect(&CHECK, Verdict::Open).missing.len(), 3);
}
