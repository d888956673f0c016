//! `chain.slack`: play of a chain that no derailleur tensions.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
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
    version: 3,
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
    if prediction::is_belt(case) {
        return Halt::not_applicable(
            "a toothed belt is set to its maker's tension with his gauge, and no limit of it is stored",
        );
    }
    if sprockets::cogs(case)?.len() > 1 {
        return Halt::not_applicable("a derailleur takes up the chain's slack");
    }
    let (least, most) = (case.rule("chain.slack-least"), case.rule("chain.slack-most"));
    let slack = case.number("chain-slack")?;
    let finding = Judged::new("play of the chain at mid-span", slack, Kind::Length, "mm")
        .against(Limit::Within(least, most))
        .with_arithmetic("turn the crank and measure where the chain is tightest: rings are seldom round");
    let mut findings = Vec::new();
    if case.knows("stay-longest") {
        findings.extend(sprung(case, slack)?);
    }
    let cure = if slack.value < least.midpoint(most) {
        "wheel or eccentric forward, or two links more"
    } else {
        "wheel or eccentric back, or two links less, or a tensioner"
    };
    findings.push(prediction::advise_only(
        finding.with_remedy(format!(
            "{cure}; then: {}",
            prediction::read_again(case, "chain-slack", "12mm")
        )),
        "half an inch is a habit of the trade",
    ));
    Ok(findings)
}

/// A chainstay that grows in the travel pulls a chain tight that nothing else tensions: both runs
/// follow it, and half an inch of play holds little length. `None` where it does not grow.
fn sprung(case: &Case<'_>, slack: Known) -> Result<Option<Finding>, Halt> {
    let stay = prediction::stay(case)?;
    if stay.growth() <= 0.0 {
        return Ok(None);
    }
    // A run pulled aside by half the play at its middle is the longer of two right triangles each
    // side: 2 (sqrt((C/2)^2 + (s/2)^2) - C/2).
    let half = stay.rest.value / 2.0;
    let spare = 2.0 * (half.hypot(slack.value / 2.0) - half);
    let asked = Known {
        value: 2.0 * stay.growth(),
        u: 2.0 * stay.rest.u.hypot(stay.longest.u),
        ..slack
    };
    let job = case.job().number;
    let finding = Judged::new("chain that the travel asks for", asked, Kind::Length, "mm")
        .against(Limit::AtMost(spare))
        .with_arithmetic(stay.said(job))
        .with_arithmetic(format!(
            "2 x ({:.0} - {:.0}) mm; play of {:.0} mm over a run of {:.0} mm holds {:.2} mm",
            1e3 * stay.longest.value,
            1e3 * stay.rest.value,
            1e3 * slack.value,
            1e3 * stay.rest.value,
            1e3 * spare
        ))
        .with_remedy(format!(
            "a sprung tensioner, or the play taken up where the stay is longest: lockring measure {job} stay-length and \
             chain-slack there"
        ));
    Ok(Some(prediction::advise_only(
        finding,
        "a tensioner is not recorded",
    )))
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
    fn a_toothed_belt_has_a_tension_and_no_slack() {
        let belt = single("25 mm").state(&[("drive-kind", "belt")]);
        let report = belt.expect(&CHECK, Verdict::NotApplicable);
        assert!(report.summary().contains("belt"), "{}", report.summary());
    }

    #[test]
    fn its_remedy_clears_it() {
        single("25 mm").cured(&CHECK, "chain-slack 12mm", |job| {
            job.measure(&[("chain-slack", "12mm")])
        });
    }

    #[test]
    fn a_stay_that_grows_pulls_a_single_chain_tight() {
        // By hand: 12 mm of play over 440 mm hold 2 (sqrt(220^2 + 6^2) - 220) = 0.164 mm; a stay
        // that grows by 8 mm asks for 16.
        let sprung =
            |longest: &str| single("12 mm").measure(&[("stay-length", "440 mm"), ("stay-longest", longest)]);
        let report = sprung("448 mm").expect(&CHECK, Verdict::Caution);
        let finding = &report.findings[0];
        assert!((finding.figures[0].value - 16.0).abs() < 1e-6, "{finding:?}");
        assert!(finding.arithmetic[1].ends_with("holds 0.16 mm"), "{finding:?}");
        sprung("440 mm").expect(&CHECK, Verdict::Pass);
        sprung("448 mm").cured(&CHECK, "where the stay is longest", |job| {
            job.measure(&[("stay-length", "448 mm"), ("chain-slack", "12 mm")])
        });
        // Without the stay at rest its longest says nothing.
        let report = single("12 mm")
            .forget("stay-length")
            .measure(&[("stay-longest", "448 mm")])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("stay-length"),
            "{:?}",
            report.missing
        );
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
