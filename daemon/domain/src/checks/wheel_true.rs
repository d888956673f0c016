//! `wheel.true`: a wheel built for the job runs true and sits in the middle.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// A built wheel.
pub static CHECK: Check = Check {
    id: "wheel.true",
    title: "built wheel true, round and in the middle",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "0.5 mm sideways and up and down, 1 mm of dish: common practice, no source",
    run,
};

/// Code, rule, what it is, cure.
#[rustfmt::skip]
const ASKED: [(&str, &str, &str, &str); 3] = [
    ("true-lateral", "wheel.true-lateral", "wheel out of true, side to side", "true it with the spokes of that side"),
    ("true-radial", "wheel.true-radial", "wheel out of round", "true it with pairs of spokes"),
    ("dish", "wheel.dish", "rim off the middle of the hub", "tighten the spokes of one side throughout, slacken the other"),
];

fn run(case: &Case<'_>) -> Outcome {
    if !ASKED.iter().any(|(code, ..)| case.knows(code)) {
        return Halt::not_applicable("no wheel was built, or it was not measured");
    }
    // Half a look is none: a wheel can be trued out of the middle.
    prediction::need(case, &ASKED.map(|(code, ..)| code))?;
    ASKED
        .iter()
        .map(|(code, rule, what, cure)| {
            let finding = Judged::new(what, case.number(code)?, Kind::Length, "mm")
                .against(Limit::AtMost(case.rule(rule)))
                .with_remedy(format!(
                    "{cure}; then: {}",
                    prediction::read_again(case, code, "VALUE")
                ));
            Ok(prediction::advise_only(finding, "common practice, no source"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};

    fn built(lateral: &str, radial: &str, dish: &str) -> Bench {
        trekking().measure(&[("true-lateral", lateral), ("true-radial", radial), ("dish", dish)])
    }

    #[test]
    fn each_limit_is_crossed_through_the_gauge_s_doubt() {
        // Common practice, no source: 0.5, 0.5 and 1 mm. Dial gauge 0.1 mm of doubt, dishing 0.2.
        built("0.4", "0.4", "0.8").expect(&CHECK, Verdict::Pass);
        for (lateral, radial, dish, which) in [
            ("0.45", "0.3", "0.5", 0),
            ("0.7", "0.3", "0.5", 0),
            ("0.3", "0.45", "0.5", 1),
            ("0.3", "0.7", "0.5", 1),
            ("0.3", "0.3", "0.9", 2),
            ("0.3", "0.3", "1.3", 2),
        ] {
            let report = built(lateral, radial, dish).expect(&CHECK, Verdict::Caution);
            let cautioned: Vec<usize> = report
                .findings
                .iter()
                .enumerate()
                .filter(|(_, finding)| finding.verdict == Verdict::Caution)
                .map(|(index, _)| index)
                .collect();
            assert_eq!(cautioned, [which], "{lateral} {radial} {dish}");
        }
    }

    #[test]
    fn truing_clears_it() {
        let out = built("1.2", "0.3", "0.5");
        let report = out.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
        let words = out.report(&CHECK).findings[0].remedies[0].clone();
        assert!(words.ends_with("true-lateral VALUE --anew"), "{words}");
        out.cured(&CHECK, &words, |job| job.again(&[("true-lateral", "0.3")]));
    }

    #[test]
    fn not_built_it_does_not_apply_and_half_measured_it_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let half = trekking().measure(&[("dish", "0.5")]);
        assert_eq!(half.expect(&CHECK, Verdict::Open).missing.len(), 2);
    }
}
