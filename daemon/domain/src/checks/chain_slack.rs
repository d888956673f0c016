//! `chain.slack`: play of a chain that no derailleur tensions.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction::{self, sprockets};
use crate::stage::Stage;
use crate::unit::Kind;

/// Half an inch, up and down.
pub static CHECK: Check = Check {
    id: "chain.slack",
    title: "single chain neither tight nor slack",
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
    source: "about half an inch of play at mid-span: common practice, no source; how far off it: workshop judgement",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    // Only the bicycle's own words about its cogs: unknown cogs are asked for by chain.width.
    if case.optional_part(crate::part::Slot::Cassette).is_none() && !case.knows("cogs") {
        return Halt::not_applicable("the cogs are not known to be single");
    }
    if sprockets::cogs(case)?.len() > 1 {
        return Halt::not_applicable("a derailleur takes up the chain's slack");
    }
    let (least, most) = (case.rule("chain.slack-least"), case.rule("chain.slack-most"));
    let slack = case.number("chain-slack")?;
    let job = case.job().number;
    let finding = Judged::new("play of the chain at mid-span", slack, Kind::Length, "mm")
        .against(Limit::Within(least, most))
        .with_arithmetic("turn the crank and measure where the chain is tightest: rings are seldom round");
    let cure = if slack.value < least.midpoint(most) {
        "wheel or eccentric forward, or two links more"
    } else {
        "wheel or eccentric back, or two links less, or a tensioner"
    };
    Ok(vec![prediction::advise_only(
        finding.with_remedy(format!("{cure}; then: lockring measure {job} chain-slack 12mm")),
        "half an inch is a habit of the trade",
    )])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};

    fn single(slack: &str) -> Bench {
        trekking()
            .state(&[("cogs", "18")])
            .measure(&[("chain-slack", slack)])
    }

    #[test]
    fn half_an_inch_passes_and_both_ends_are_crossed() {
        // Common practice, no source: about 12 mm, half an inch. Rule 0.5 mm: doubt 1 mm.
        single("1/2 in").expect(&CHECK, Verdict::Pass);
        for (slack, verdict, cure) in [
            ("6.5 mm", Verdict::Caution, "forward"),
            ("8 mm", Verdict::Caution, "forward"),
            ("9.5 mm", Verdict::Pass, ""),
            ("16.5 mm", Verdict::Pass, ""),
            ("19 mm", Verdict::Caution, "back"),
            ("25 mm", Verdict::Caution, "back"),
        ] {
            let report = single(slack).expect(&CHECK, verdict);
            let remedies = report.findings[0].remedies.join(" ");
            assert!(remedies.contains(cure), "{slack}: {remedies}");
        }
    }

    #[test]
    fn its_remedy_clears_it() {
        single("25 mm").cured(&CHECK, "chain-slack 12mm", |job| {
            job.measure(&[("chain-slack", "12mm")])
        });
    }

    #[test]
    fn a_derailleur_is_not_concerned_and_a_single_cog_is_asked() {
        longtail().expect(&CHECK, Verdict::NotApplicable);
        trekking().forget("cogs").expect(&CHECK, Verdict::NotApplicable);
        let report = trekking().state(&[("cogs", "18")]).expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("chain-slack"),
            "{:?}",
            report.missing
        );
    }
}
