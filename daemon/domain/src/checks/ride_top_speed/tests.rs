//! Tests of `ride.top_speed`: governed, uncorrected and still-air pairs.

use super::*;
use crate::check::Verdict;
use crate::checks::testing::{Bench, trekking};

fn timed(bench: Bench, out: &str, back: &str) -> Bench {
    bench.ride("speed", &[("out", out), ("back", back)])
}

#[test]
fn the_plain_mean_counts_where_the_cut_off_governs() {
    // Worked example of the trade (common practice, no source): 25.2 and 25.5 give 25.35.
    let report = timed(trekking(), "25.2 km/h", "25.5 km/h").expect(&CHECK, Verdict::Pass);
    assert!((report.findings[0].figures[0].value - 25.35).abs() < 0.005);
    let cut = trekking().ride("cutoff", &[("out", "25.2 km/h"), ("back", "25.5 km/h")]);
    cut.expect(&CHECK, Verdict::Pass);
}

#[test]
fn without_the_power_a_slower_pair_is_a_caution_that_names_what_is_unknown() {
    let report = timed(trekking(), "24.2 km/h", "24.0 km/h").expect(&CHECK, Verdict::Caution);
    assert!(
        report.assumed[0].contains("speed-volts, speed-amps, strip-grade"),
        "{:?}",
        report.assumed
    );
}

#[test]
fn a_windy_pair_is_brought_to_still_air() {
    // First principles: with equal power both ways the still-air speed lies between the
    // two runs, and the wind solved for blows against the slower one.
    let wind = |out, back| {
        trekking().ride(
            "speed",
            &[
                ("out", out),
                ("back", back),
                ("grade", "0 %"),
                ("volts", "36 V"),
                ("amps", "7 A"),
            ],
        )
    };
    let report = wind("20 km/h", "28 km/h").report(&CHECK);
    let still = report.findings[0].figures[0].value;
    assert!(still > 20.0 && still < 28.0, "{still}");
    let line = report.findings[0]
        .arithmetic
        .iter()
        .find(|line| line.contains("wind"))
        .unwrap();
    assert!(line.contains("wind +"), "{line}");
}

#[test]
fn far_below_the_brief_fails_and_the_verdict_turns_at_the_limit() {
    // Brief 24 km/h less 3 % = 23.28 km/h (common practice, no source).
    let slow = |speed: &str| {
        let bench = trekking()
            .state(&[("top-speed", "30 km/h")])
            .measure(&[("assist-limit", "20 km/h")]);
        timed(bench, speed, speed)
    };
    slow("29.4 km/h").expect(&CHECK, Verdict::Pass);
    slow("29.0 km/h").expect(&CHECK, Verdict::Caution);
    slow("28.7 km/h").expect(&CHECK, Verdict::Fail);
}

#[test]
fn open_without_runs_and_not_applicable_without_a_wish() {
    let report = trekking().expect(&CHECK, Verdict::Open);
    assert_eq!(report.missing.len(), 2);
    trekking()
        .forget("top-speed")
        .expect(&CHECK, Verdict::NotApplicable);
}

#[test]
fn runs_ridden_again_as_the_remedy_says_clear_it() {
    let wish = trekking()
        .state(&[("top-speed", "30 km/h")])
        .measure(&[("assist-limit", "20 km/h")]);
    timed(wish, "28.7 km/h", "28.7 km/h").cured(
        &CHECK,
        "lockring ride 20 speed out=SPEED back=SPEED",
        |job| timed(job, "29.6 km/h", "29.5 km/h"),
    );
}
