//! `ride.case_temperature`: heat of the motor case after the last climb.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Case temperature after climbs back to back.
pub static CHECK: Check = Check {
    id: "ride.case_temperature",
    title: "motor case after the last climb",
    gates: &[Stage::TestRide],
    family: Family::Ride,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: 60 °C good, 75 °C at most; EN 15194 asks for a mark on surfaces above 60 °C",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let hot = case.number("case-temperature")?;
    let good = Limit::AtMost(case.rule("hill.case-good"));
    let most = Limit::AtMost(case.rule("hill.case-most"));
    let mut finding = Judged::new("motor case", hot, Kind::Temperature, "C").between(good, most);
    if let Some(air) = case.optional_number("test-air") {
        finding = finding.with_arithmetic(format!(
            "{:.0} K above the air of the ride",
            hot.value - air.value
        ));
    }
    let job = case.job().number;
    let cure = if prediction::is_mid(case)? {
        format!(
            "a lower gear, so that the motor turns faster for the same hill: lockring build {job} chainring=PART cassette=PART"
        )
    } else {
        "a hub motor wound for less speed, or of more mass".to_owned()
    };
    Ok(vec![
        finding
            .with_remedy(cure)
            .with_remedy(format!(
                "less current: lockring measure {job} current-limit AMPERES; it costs speed on the hill"
            ))
            .with_remedy("a rest after loaded climbs, agreed with the rider"),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, longtail, trekking};

    fn soak(bench: Bench, case: &str) -> Bench {
        bench.ride("soak", &[("case", case)])
    }

    #[test]
    fn a_cool_hub_passes() {
        // Worked example of the trade (common practice, no source): 38 °C after three climbs.
        soak(trekking(), "38 C").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn seventy_eight_fails_sixty_one_and_sixty_six_are_cautions() {
        // Worked example of the trade (common practice, no source).
        soak(longtail(), "78 C").expect(&CHECK, Verdict::Fail);
        soak(longtail(), "61 C").expect(&CHECK, Verdict::Caution);
        soak(longtail(), "66 C").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn the_verdict_turns_with_the_guard_band_between() {
        soak(trekking(), "57.9 C").expect(&CHECK, Verdict::Pass);
        soak(trekking(), "58.1 C").expect(&CHECK, Verdict::Caution);
        soak(trekking(), "76.9 C").expect(&CHECK, Verdict::Caution);
        soak(trekking(), "77.1 C").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn open_until_it_is_read() {
        trekking().expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_lower_gear_as_the_remedy_says_clears_it() {
        soak(longtail(), "78 C").cured(&CHECK, "lockring build 21 chainring=PART cassette=PART", |job| {
            soak(
                job.build(&[("chainring", "ring-38-5"), ("cassette", "cassette-9-11-36")]),
                "55 C",
            )
        });
    }
}
