//! Tests of `ride.cutoff_speed`: the pair of runs against class, aim and stop.

use super::*;
use crate::checks::testing::{Bench, trekking};

fn cut(bench: Bench, out: &str, back: &str) -> Bench {
    bench.ride("cutoff", &[("out", out), ("back", back)])
}

fn rolled(bench: Bench) -> Bench {
    bench.measure(&[("circumference", "2170 mm"), ("circumference-setting", "2170 mm")])
}

#[test]
fn twenty_five_point_three_five_passes_inside_the_shops_aim() {
    // Worked example of the trade (common practice, no source): 25.2 and 25.5 give 25.35,
    // 1.4 % over 25 and 1.2 % apart.
    for bench in [trekking(), rolled(trekking())] {
        let report = cut(bench, "25.2 km/h", "25.5 km/h").expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 25.35).abs() < 0.005);
        assert!(report.summary().contains("+1.4 %"), "{}", report.summary());
        assert!(
            report.summary().contains("test allowance"),
            "{}",
            report.summary()
        );
    }
}

#[test]
fn under_the_limit_with_its_doubt_is_within() {
    // EN 15194-type class, 24.3 km/h with 2 % reads 24.79 at most (computed from 25 km/h,
    // Regulation (EU) 168/2013, article 2(2)(h), read in a restatement).
    let report = cut(trekking(), "24.3 km/h", "24.3 km/h").expect(&CHECK, Verdict::Pass);
    assert!(
        report.summary().ends_with("within stored limit"),
        "{}",
        report.summary()
    );
}

#[test]
fn between_aim_and_stop_is_a_caution_and_past_the_stop_it_fails() {
    // The stop is 25 x 1.05 = 26.25 km/h; with 2 % of doubt it is passed from 26.79.
    cut(trekking(), "25.6 km/h", "25.6 km/h").expect(&CHECK, Verdict::Caution);
    cut(trekking(), "26.7 km/h", "26.7 km/h").expect(&CHECK, Verdict::Caution);
    cut(trekking(), "26.9 km/h", "26.9 km/h").expect(&CHECK, Verdict::Fail);
}

#[test]
fn a_class_without_allowance_stays_uncertain_at_its_limit() {
    // SI 2015/24, regulation 2 (read): 15.5 mph; 25.4 km/h ± 2 % reads 24.89 to 25.91.
    let british = trekking().state(&[("ride-class", "gb-eapc")]);
    cut(british.clone(), "25.4 km/h", "25.4 km/h").expect(&CHECK, Verdict::Caution);
    let lowered = rolled(british).measure(&[("assist-limit", "24 km/h")]);
    cut(lowered, "24.2 km/h", "24.3 km/h").expect(&CHECK, Verdict::Pass);
}

#[test]
fn a_pair_further_apart_than_three_percent_is_ridden_again() {
    // Directive 2006/27/EC, annex III: 3 %; 24.0 and 24.9 are 3.7 % apart.
    let report = cut(trekking(), "24.0 km/h", "24.9 km/h").expect(&CHECK, Verdict::Caution);
    assert!(
        report.findings[1].summary.contains("3.7 %"),
        "{:?}",
        report.findings
    );
    cut(trekking(), "24.0 km/h", "24.5 km/h").expect(&CHECK, Verdict::Pass);
}

#[test]
fn a_wrong_circumference_is_taken_out_of_the_reading() {
    // Worked example of the trade (common practice, no source): 2155 set for 2170 mm makes
    // 25 on the display 25.17 on the road.
    let set = trekking().measure(&[("circumference", "2170 mm"), ("circumference-setting", "2155 mm")]);
    let report = cut(set, "25.0 km/h", "25.0 km/h").expect(&CHECK, Verdict::Pass);
    assert!((report.findings[0].figures[0].value - 25.17).abs() < 0.005);
}

#[test]
fn open_without_runs_and_not_applicable_without_a_limit() {
    let report = trekking().expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing.len(), 2);
    trekking()
        .state(&[("ride-class", "nz-pac")])
        .expect(&CHECK, Verdict::NotApplicable);
}

#[test]
fn a_lower_limit_ridden_again_clears_it_as_the_remedy_says() {
    cut(trekking(), "26.9 km/h", "26.9 km/h").cured(&CHECK, "set the assist limit to 24.5 km/h", |job| {
        cut(
            job.measure(&[("assist-limit", "24.5 km/h")]),
            "24.4 km/h",
            "24.5 km/h",
        )
    });
}

/// Motor and gearing of the trekking bicycle end far below a class of 45 km/h: a top speed read for a cut-off is none. One
/// read far below it is, by whatever cut it off.
#[test]
fn a_top_speed_is_no_cut_off() {
    let fast = trekking().state(&[("ride-class", "eu-l1e-b")]);
    let rules = crate::rules::RuleSheet::shipped();
    let top = prediction::level_top(&Case::new(&fast.job, &rules, Stage::TestRide)).unwrap();
    let shown = |share: f64| format!("{:.1} km/h", share * top.speed.si() * 3.6);
    let report = cut(fast.clone(), &shown(1.0), &shown(0.99)).expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing.len(), 1, "{:?}", report.missing);
    assert!(
        report
            .summary()
            .starts_with("the cut-off was not reached, top speed governs"),
        "{}",
        report.summary()
    );
    let early = cut(fast.clone(), &shown(0.7), &shown(0.7)).expect(&CHECK, Verdict::Pass);
    assert!(
        early.summary().starts_with("assistance ends at"),
        "{}",
        early.summary()
    );
    // Set to where the drive gets, it is reached.
    let set = fast.measure(&[("assist-limit", &shown(0.9))]);
    let report = cut(set, &shown(0.9), &shown(0.9)).expect(&CHECK, Verdict::Pass);
    assert!(
        report.summary().starts_with("assistance ends at"),
        "{}",
        report.summary()
    );
}

/// TBIS 15194:2019, 4.2.11: the cut-off may be read on a track, a bench or a stand with the driven wheel free. Nobody concedes
/// this check, so that the model expects no more is no proof that assistance ends.
#[test]
fn a_cut_off_that_the_road_does_not_show_is_read_on_the_stand_or_set_lower() {
    let fast = trekking()
        .state(&[("ride-class", "eu-l1e-b")])
        .measure(&[("assist-limit", "44 km/h")]);
    let rules = crate::rules::RuleSheet::shipped();
    let top = prediction::level_top(&Case::new(&fast.job, &rules, Stage::TestRide)).unwrap();
    let shown = |share: f64| format!("{:.1} km/h", share * top.speed.si() * 3.6);
    let ridden = cut(fast, &shown(1.0), &shown(1.0));
    ridden.expect(&CHECK, Verdict::Open);
    ridden
        .clone()
        .cured(&CHECK, "on the stand, driven wheel free", |job| {
            cut(job, "43.6 km/h", "43.6 km/h")
        });
    ridden.cured(&CHECK, "set the assist limit to", |job| {
        let set = job.measure(&[("assist-limit", &shown(0.98))]);
        cut(set, &shown(0.98), &shown(0.98))
    });
}

/// Japan: help falls to nothing at 24 km/h, so a bicycle that gets no faster on the level is what the rule makes of it.
#[test]
fn where_help_fades_out_a_reading_below_the_limit_counts_as_read() {
    let fading = trekking()
        .state(&[("ride-class", "jp-assist")])
        .measure(&[("assist-limit", "24 km/h")]);
    let report = cut(fading, "22.0 km/h", "22.0 km/h").expect(&CHECK, Verdict::Pass);
    assert!(
        report.summary().starts_with("assistance ends at"),
        "{}",
        report.summary()
    );
}
