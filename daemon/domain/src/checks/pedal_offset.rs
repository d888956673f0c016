//! `pedal.offset`: both pedals as far from the middle of the frame.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;
use lockring_calc::shell;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::{self, Judged};
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Left and right pedal from the middle.
pub static CHECK: Check = Check {
    id: "pedal.offset",
    title: "pedals as far out on the left as on the right",
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
    source: "workshop judgement: over 5 mm of difference is looked at, over 10 mm is felt by most; no publication",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !case.knows("pedal-left") && !case.knows("pedal-right") {
        return Halt::not_applicable("the pedals were not measured from the middle of the frame");
    }
    prediction::need(case, &["pedal-left", "pedal-right"])?;
    let (left, right) = (case.number("pedal-left")?, case.number("pedal-right")?);
    let apart = shell::pedal_asymmetry(Length::from_si(left.value), Length::from_si(right.value));
    let known = Known {
        value: apart.si(),
        u: left.u.hypot(right.u),
        ..left
    };
    let (good, most) = (case.rule("pedal.offset-good"), case.rule("pedal.offset-most"));
    let job = case.job().number;
    let finding = Judged::new("difference of the pedals", known, Kind::Length, "mm")
        .between(Limit::AtMost(good), Limit::AtMost(most))
        .with_arithmetic(format!(
            "{:.1} mm left, {:.1} mm right: {:.1} mm between the pedals",
            1e3 * left.value,
            1e3 * right.value,
            1e3 * (left.value + right.value)
        ))
        .with_figure(judge::figure(
            "between the pedals",
            Kind::Length,
            "mm",
            left.value + right.value,
        ));
    let mut finding = finding;
    let spacer = case.optional_number("spacer").map_or(0.0, |spacer| spacer.value);
    if right.value > left.value && spacer > 0.0 {
        finding = finding.with_remedy(format!(
            "up to {:.1} mm less spacer on the drive side; it takes the motor as much nearer to the chainstay and the chainline in: \
             lockring measure {job} spacer MM, then pedal-right",
            1e3 * spacer.min(right.value - left.value)
        ));
    }
    let side = if right.value > left.value { "left" } else { "right" };
    let finding = finding.with_remedy(format!(
        "a crank arm of more offset, or a pedal extender, on the {side}: {}",
        prediction::read_again(case, &format!("pedal-{side}"), "MM")
    ));
    Ok(vec![prediction::advise_only(
        finding,
        "no publication gives a limit",
    )])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail};

    fn pedals(left: &str, right: &str) -> Bench {
        longtail().measure(&[("pedal-left", left), ("pedal-right", right)])
    }

    #[test]
    fn not_measured_it_does_not_apply_and_half_measured_it_is_open() {
        longtail().expect(&CHECK, Verdict::NotApplicable);
        let half = longtail().measure(&[("pedal-right", "95 mm")]);
        let report = half.expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("pedal-left"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn the_difference_is_crossed_through_its_doubt_and_never_stops() {
        // Judgement: 5 and 10 mm. Two rules of 0.5 mm: doubt 2 x hypot(0.5, 0.5) = 1.4 mm.
        for (right, verdict, advice) in [
            ("93.5 mm", Verdict::Pass, false),
            ("94.2 mm", Verdict::Caution, false),
            ("99 mm", Verdict::Caution, false),
            ("102 mm", Verdict::Caution, true),
        ] {
            let report = pedals("90 mm", right).expect(&CHECK, verdict);
            assert_eq!(
                report.summary().contains("advice only"),
                advice,
                "{}",
                report.summary()
            );
            let mirrored = pedals(right, "90 mm").expect(&CHECK, verdict);
            assert_eq!(mirrored.summary(), report.summary());
        }
    }

    #[test]
    fn less_spacer_or_another_arm_clears_it() {
        let wide = longtail()
            .measure(&[("spacer", "4 mm")])
            .measure(&[("pedal-left", "90 mm"), ("pedal-right", "98 mm")]);
        let report = wide.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[0].remedies[0].contains("up to 4.0 mm less spacer"),
            "{:?}",
            report.findings[0].remedies
        );
        // The right pedal is measured anew after the spacer: 98 - 4 = 94 mm, still wide by 4 mm
        // and doubt; an arm of more offset on the left takes the rest.
        wide.clone().cured(&CHECK, "up to 4.0 mm less spacer", |job| {
            job.measure(&[("spacer", "0 mm")])
                .measure(&[("pedal-right", "94 mm"), ("pedal-left", "92 mm")])
        });
        let thinner = wide.measure(&[("spacer", "0 mm")]);
        thinner.expect(&CHECK, Verdict::Open);
        thinner
            .measure(&[("pedal-right", "94 mm"), ("pedal-left", "92 mm")])
            .expect(&CHECK, Verdict::Pass);
        let left = pedals("100 mm", "90 mm").report(&CHECK);
        assert!(
            left.findings[0].remedies[0].contains("on the right"),
            "{:?}",
            left.findings[0].remedies
        );
    }

    #[test]
    fn inches_and_millimetres_give_the_same_verdict() {
        pedals("3.543 in", "3.661 in").expect(&CHECK, Verdict::Pass);
        pedals("3.543 in", "3.898 in").expect(&CHECK, Verdict::Caution);
    }
}
