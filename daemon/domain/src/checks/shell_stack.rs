//! `shell.stack`: shell and spacers inside what the motor clamps, and thread left for its
//! lock rings.

use lockring_calc::doubt::Limit;
use lockring_calc::shell::MotorKit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::code;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Stack and thread, as fitted.
pub static CHECK: Check = Check {
    id: "shell.stack",
    title: "shell and spacers inside the motor's clamp, thread left for the lock rings",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "geometry, a kit's band being named after the shells it takes (judgement); 1 mm of thread beyond the lock rings' need is common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !prediction::is_mid(case)? {
        return Halt::not_applicable("no motor in the bottom-bracket shell");
    }
    let kit = prediction::motor_kit(case, case.rule("frame.thread-spare"))?;
    let summed = summed(case);
    let stack = case
        .optional_number("stack")
        .or(summed)
        .ok_or_else(|| case.open("stack"))?;
    let remedy = remedy(case, &kit);
    let width = prediction::judge_band("shell and spacers together", &kit, stack)
        .with_arithmetic(how(case, stack))
        .with_remedy(remedy.clone())
        .with_remedy("a kit for a wider shell, or a motor in the wheel");
    let motor = case.part(Slot::Motor)?;
    let tube = motor.number("tube-length")?;
    let least = motor.number("thread-least")? + case.rule("frame.thread-spare");
    let left = Known {
        value: tube - stack.value,
        ..stack
    };
    let thread = Judged::new("thread left for the lock rings", left, Kind::Length, "mm")
        .against(Limit::AtLeast(least))
        .with_arithmetic(format!(
            "{:.1} mm tube - {:.1} mm stack = {:.1} mm",
            1e3 * tube,
            1e3 * stack.value,
            1e3 * left.value
        ))
        .with_remedy(remedy)
        .not_into_metal(left.value, left.expanded());
    let mut findings = vec![width, thread];
    findings.extend(
        case.optional_number("stack")
            .zip(summed)
            .and_then(|(stack, sum)| differs(case, stack, sum)),
    );
    Ok(findings)
}

/// Shell width and the spacers recorded; `None` when either is unknown: an empty line about
/// spacers does not say that there are none.
fn summed(case: &Case<'_>) -> Option<Known> {
    let (shell, spacer) = (
        case.optional_number("shell-width")?,
        case.optional_number("spacer")?,
    );
    Some(Known {
        value: shell.value + spacer.value,
        u: shell.u.hypot(spacer.u),
        provenance: shell.provenance,
    })
}

fn how(case: &Case<'_>, stack: Known) -> String {
    if case.optional_number("stack").is_some() {
        return format!("measured: {:.1} mm", 1e3 * stack.value);
    }
    let part = |key| case.optional_number(key).map_or(0.0, |known| 1e3 * known.value);
    format!(
        "{:.1} mm shell + {:.1} mm spacers = {:.1} mm",
        part("shell-width"),
        part("spacer"),
        1e3 * stack.value
    )
}

/// A stack measured before a spacer was added, or a spacer nobody recorded.
fn differs(case: &Case<'_>, stack: Known, sum: Known) -> Option<Finding> {
    let allowed = code::find("stack").map_or(0.0, code::Code::agree_si) + stack.expanded();
    ((stack.value - sum.value).abs() > allowed).then(|| {
        let line = format!(
            "stack measured {:.1} mm, but shell and recorded spacers make {:.1} mm",
            1e3 * stack.value,
            1e3 * sum.value
        );
        // A spacer put in or out makes the stack stale by itself: here one of the readings is doubted, and it stays.
        Finding::new(Verdict::Caution, line).with_remedy(format!(
            "measure the stack again: lockring measure {} stack MM",
            case.job().number
        ))
    })
}

/// Spacers that make this shell fit.
fn remedy(case: &Case<'_>, kit: &MotorKit) -> String {
    let job = case.job().number;
    let Some(shell) = case.optional_number("shell-width") else {
        return format!("less spacer: lockring measure {job} shell-width MM shows how much");
    };
    match prediction::spacers_that_fit(kit, shell) {
        Some((least, most)) => format!(
            "spacers of {least:.1} to {most:.1} mm together; less spacer takes the motor as much nearer to the chainstay: \
             lockring measure {job} spacer MM, then stack and motor-gap",
        ),
        None => "no spacer makes this shell fit this motor: another kit".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn the_longtails_spacer_leaves_thread_enough() {
        // Worked example of the trade (common practice, no source): 73.0 + 2.5 = 75.5 <= 77.0;
        // 87.0 - 75.5 = 11.5 >= 10 + 1.
        let report = longtail()
            .measure(&[("stack", "75.5")])
            .expect(&CHECK, Verdict::Pass);
        assert!((report.findings[1].figures[0].value - 11.5).abs() < 1e-9);
        let summed = longtail()
            .measure(&[("spacer", "2.5")])
            .expect(&CHECK, Verdict::Pass);
        assert_eq!(
            summed.findings[0].arithmetic,
            ["73.0 mm shell + 2.5 mm spacers = 75.5 mm"]
        );
    }

    #[test]
    fn a_stack_at_the_end_of_the_band_is_told_as_measured() {
        // 2.68 in are 68.07 mm; the calliper's doubt is 0.2 mm.
        let report = longtail()
            .receive("motor", &[("shell-least", "2.68 in")], ReceiptText::default())
            .measure(&[("stack", "68.0")])
            .report(&CHECK);
        let width = &report.findings[0];
        assert_eq!(width.verdict, Verdict::Pass, "{width:?}");
        assert!(
            width
                .summary
                .starts_with("shell and spacers together 68 mm, 68.07 mm to"),
            "{width:?}"
        );
        assert!(width.summary.contains("inside its doubt of 0.2 mm"), "{width:?}");
        assert!((width.figures[0].value - 68.0).abs() < 1e-9, "{width:?}");
    }

    #[test]
    fn the_thread_is_crossed_through_a_band_of_doubt_before_the_width() {
        // 87.0 - 11.0 = 76.0 mm; calliper 0.1 mm: doubt 0.2 mm.
        for (stack, thread) in [
            ("75.7", Verdict::Pass),
            ("75.9", Verdict::Caution),
            ("76.1", Verdict::Caution),
            ("76.4", Verdict::Fail),
        ] {
            let report = longtail().measure(&[("stack", stack)]).expect(&CHECK, thread);
            assert_eq!(
                report.findings[0].verdict,
                Verdict::Pass,
                "77.0 mm is further away"
            );
        }
    }

    #[test]
    fn too_much_spacer_fails_on_both_and_the_remedy_names_what_fits() {
        let wide = longtail().measure(&[("stack", "78.0"), ("spacer", "5.0")]);
        let report = wide.expect(&CHECK, Verdict::Fail);
        assert!(
            report
                .findings
                .iter()
                .all(|finding| finding.verdict == Verdict::Fail)
        );
        // 76.0 - 73.0 - 0.2 of doubt = 2.8 mm by hand: the thread ends before the clamp does.
        assert!(
            report.findings[1].remedies[0].contains("0.0 to 2.8 mm"),
            "{:?}",
            report.findings[1].remedies
        );
        wide.measure(&[("stack", "75.5"), ("spacer", "2.5")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_stack_measured_before_the_spacer_is_noticed() {
        let report = longtail()
            .measure(&[("stack", "73.0"), ("spacer", "2.5")])
            .expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("75.5 mm"), "{}", report.summary());
        // What is only doubted is not thrown away.
        let mut remedies = report.findings.iter().flat_map(|finding| &finding.remedies);
        assert!(remedies.any(|remedy| remedy.ends_with("lockring measure 21 stack MM")));
    }

    #[test]
    fn without_a_stack_it_is_open_and_a_hub_motor_is_not_concerned() {
        let report = longtail().expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.starts_with("lockring measure 21 stack"),
            "{:?}",
            report.missing
        );
        trekking().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn the_spacers_the_remedy_names_clear_it() {
        longtail().measure(&[("stack", "78.0"), ("spacer", "5.0")]).cured(
            &CHECK,
            "spacers of 0.0 to 2.8 mm together",
            |job| job.measure(&[("spacer", "2.8"), ("stack", "75.8")]),
        );
    }
}
