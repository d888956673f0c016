//! `stay.predicted_gap`: the motor's case against the chainstay, by template, before the
//! bottom bracket is out. What it proves to be is measured at the fitting.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Predicted gap to the chainstay.
pub static CHECK: Check = Check {
    id: "stay.predicted_gap",
    title: "predicted gap between motor and chainstay",
    gates: &[Stage::Intake],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: 2 mm by template is good, under 0.5 mm stops",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !prediction::is_mid(case)? {
        return Halt::not_applicable("a hub motor has no case beside the chainstay");
    }
    let template = case.number("stay-gap")?;
    let spacer = case.optional_number("spacer").map_or(0.0, |spacer| spacer.value);
    // The template stands for a motor without spacers; one on the drive side moves it out.
    let gap = Known {
        value: template.value + spacer,
        ..template
    };
    let good = case.rule("stay.predicted-good");
    let least = case.rule("stay.predicted-least");
    let mm = |si: f64| Length::metres(si).as_millimetres();
    let finding = Judged::new("predicted gap to the chainstay", gap, Kind::Length, "mm")
        .between(Limit::AtLeast(good), Limit::AtLeast(least))
        .with_arithmetic(format!(
            "{:.1} mm by template + {:.1} mm of spacers = {:.1} mm",
            mm(template.value),
            mm(spacer),
            mm(gap.value)
        ));
    if finding.verdict == Verdict::Pass {
        return Ok(vec![finding]);
    }
    let number = case.job().number;
    let more = half_millimetres(mm(good + gap.expanded() - gap.value));
    let total = mm(spacer) + more;
    Ok(vec![
        finding
            .with_remedy(format!(
                "spacers of {total:.1} mm on the drive side: lockring measure {number} spacer {total:.1}mm; the chainline and the \
                 right pedal move out by {more:.1} mm more and the lock ring loses as much thread"
            ))
            .with_remedy(format!("a motor of another case, or a hub: lockring build {number} motor=PART"))
            .not_into_metal(gap.value, gap.expanded()),
    ])
}

/// The next half millimetre, in mm: spacers come in such steps.
fn half_millimetres(mm: f64) -> f64 {
    (mm * 2.0 - 1e-6).ceil().max(1.0) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};

    #[test]
    fn one_millimetre_is_a_caution_and_four_pass() {
        // Worked example of the trade (common practice, no source): 1 mm by template is looked at.
        let report = longtail().expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[0].remedies[0].contains("spacer 1.5mm"),
            "{:?}",
            report.findings
        );
        hardtail().expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_spacer_named_clears_it() {
        // 1.0 + 1.5 = 2.5 mm, 0.5 mm of doubt off: 2.0 mm.
        longtail()
            .measure(&[("spacer", "1.5mm")])
            .expect(&CHECK, Verdict::Pass);
        longtail()
            .measure(&[("spacer", "1.0mm")])
            .expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn the_verdict_turns_across_the_limits_with_the_template_s_doubt_between() {
        // Template: standard uncertainty 0.25 mm, so 0.5 mm expanded.
        let at = |mm| longtail().measure(&[("stay-gap", mm)]).report(&CHECK).verdict;
        assert_eq!(at("2.6 mm"), Verdict::Pass);
        assert_eq!(at("2.4 mm"), Verdict::Caution);
        assert_eq!(at("0.1 mm"), Verdict::Caution);
        assert_eq!(at("-0.1 mm"), Verdict::Fail);
    }

    #[test]
    fn unmeasured_is_open_and_a_hub_is_not_concerned() {
        let report = longtail().forget("stay-gap").expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.starts_with("lockring measure 21 stay-gap "),
            "{:?}",
            report.missing
        );
        trekking().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn the_spacer_the_remedy_names_clears_it() {
        longtail().cured(&CHECK, "lockring measure 21 spacer 1.5mm", |job| {
            job.measure(&[("spacer", "1.5mm")])
        });
    }
}
