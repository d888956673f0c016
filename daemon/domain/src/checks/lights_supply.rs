//! `lights.supply`: a light on the controller's output, by the volts of that output.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::stage::Stage;
use crate::unit::Kind;

/// A lamp for six volts on an output of twelve burns; the other way round it stays dark. A
/// light on the pack itself is the business of `pack.full_volts` and `pack.low_window`.
pub static CHECK: Check = Check {
    id: "lights.supply",
    title: "light made for the controller's output",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the light's own window against the output's volts: arithmetic",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let Some(light) = case.optional_part(Slot::Light) else {
        return Halt::not_applicable("no light is part of the build");
    };
    match light.word("fed-from")? {
        "controller-output" => {}
        "pack" => {
            return Halt::not_applicable(
                "the light is fed from the pack: see pack.full_volts and pack.low_window",
            );
        }
        other => {
            return Halt::not_applicable(format!("the light is fed from its {other}, not from the drive"));
        }
    }
    // A converter stands in the place of the controller's output.
    let output = match case.optional_number("converter-volts") {
        Some(volts) => volts.value,
        None => case.part(Slot::Controller)?.number("light-volts")?,
    };
    let most = light.number("max-volts")?;
    let mut findings = vec![judged(case, output, Limit::AtMost(most))];
    if let Some(least) = light.optional_number("least-volts") {
        findings.push(judged(case, output, Limit::AtLeast(least)));
    } else {
        case.assume("the light lights at the output's volts: its lowest is not in the catalogue");
    }
    Ok(findings)
}

fn judged(case: &Case<'_>, output: f64, limit: Limit) -> Finding {
    let job = case.job().number;
    Judged::new(
        "supply's volts at the light",
        Known::stated(output),
        Kind::Voltage,
        "V",
    )
    .against(limit)
    .with_arithmetic(format!(
        "output {output:.1} V, {:+.1} V to the light's limit",
        limit.margin(output)
    ))
    .with_remedy(format!(
        "a light for {output:.1} V: lockring build {job} light=PART"
    ))
    .with_remedy(format!(
        "or a converter to the light's volts: lockring measure {job} converter-volts V"
    ))
    .with_remedy("or one with a battery of its own, to be charged apart")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, trekking};
    use crate::command::ReceiptText;

    fn lit(found: &[(&str, &str)]) -> Bench {
        let bench = trekking().build(&[("light", "light-pack")]);
        bench.receive("light", found, ReceiptText::default())
    }

    /// A light for 6 to 12 V on an output of so many volts.
    fn on_output(volts: &str) -> Bench {
        lit(&[
            ("fed-from", "controller-output"),
            ("max-volts", "12 V"),
            ("least-volts", "6 V"),
        ])
        .receive("controller", &[("light-volts", volts)], ReceiptText::default())
    }

    #[test]
    fn no_light_or_one_fed_otherwise_is_not_concerned() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        for fed in ["pack", "own-battery", "dynamo"] {
            lit(&[("fed-from", fed)]).expect(&CHECK, Verdict::NotApplicable);
        }
    }

    #[test]
    fn the_verdict_turns_at_both_ends_and_another_light_clears_it() {
        for (volts, verdict) in [
            ("6 V", Verdict::Pass),
            ("12 V", Verdict::Pass),
            ("12.1 V", Verdict::Fail),
            ("5.9 V", Verdict::Fail),
        ] {
            on_output(volts).expect(&CHECK, verdict);
        }
        let burnt = on_output("42 V");
        let report = burnt.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].starts_with("a light for 42.0 V"),
            "{:?}",
            report.findings
        );
        burnt
            .receive(
                "light",
                &[("fed-from", "controller-output"), ("max-volts", "60 V")],
                ReceiptText::default(),
            )
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_converter_stands_in_the_output_s_place() {
        let burnt = on_output("42 V");
        burnt.expect(&CHECK, Verdict::Fail);
        burnt
            .measure(&[("converter-volts", "12 V")])
            .expect(&CHECK, Verdict::Pass);
        on_output("12 V")
            .measure(&[("converter-volts", "24 V")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn an_unknown_output_is_open_and_an_unknown_least_is_assumed() {
        let report = lit(&[("fed-from", "controller-output")]).expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("light-volts"),
            "{:?}",
            report.missing
        );
        let mut bench = on_output("12 V");
        let line = bench.job.build.get_mut(&Slot::Light).unwrap();
        line.part.attributes.remove("least-volts");
        let receipt = line.receipt.as_mut().unwrap();
        receipt.found.remove("least-volts");
        bench.expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn the_light_the_remedy_names_clears_it() {
        on_output("42 V").cured(
            &CHECK,
            "a light for 42.0 V: lockring build 20 light=PART",
            |job| {
                job.receive(
                    "light",
                    &[("fed-from", "controller-output"), ("max-volts", "60 V")],
                    ReceiptText::default(),
                )
            },
        );
    }
}
