//! `pack.charger_match`: the charger belongs to the pack.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics;
use lockring_calc::quantity::Voltage;

use crate::block::Family;
use crate::case::{Case, Known, PartView};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Volts, chemistry, plug and current of the charger against the pack.
pub static CHECK: Check = Check {
    id: "pack.charger_match",
    title: "charger against the pack",
    gates: &[Stage::Intake, Stage::Parts, Stage::Handover],
    family: Family::Power,
    version: 1,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: within 0.3 V of full charge; cells' full-charge volts from memory",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let (pack, charger) = (case.part(Slot::Pack)?, case.part(Slot::Charger)?);
    let mut findings = vec![volts(case, &pack, &charger)?, chemistry(case, &pack, &charger)?];
    if let (Some(socket), Some(plug)) = (pack.optional_word("plug"), charger.optional_word("plug")) {
        findings.push(plugs(case, socket, plug));
    }
    if let Some(most) = pack.optional_number("charge-current") {
        findings.push(current(case, charger.number("output-current")?, most));
    }
    Ok(findings)
}

fn volts(case: &Case<'_>, pack: &PartView<'_, '_>, charger: &PartView<'_, '_>) -> Result<Finding, Halt> {
    let full = prediction::full_volts(case)?;
    let output = Voltage::volts(charger.number("output-volts")?);
    let series = pack.count("series")?;
    let matched = electrics::charger_match(output, full, series)
        .map_err(|error| prediction::unusable(case, "charger", &error))?;
    let tolerance = case.rule("volts.charger-tolerance");
    let known = Known {
        value: matched.difference.si(),
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let mut finding = Judged::new(
        "charger's volts less full-charge volts",
        known,
        Kind::Voltage,
        "V",
    )
    .against(Limit::Within(-tolerance, tolerance))
    .with_arithmetic(format!(
        "{:.1} V - {:.1} V = {:.1} V",
        output.as_volts(),
        full.as_volts(),
        matched.difference.as_volts()
    ))
    .with_remedy(cure(case, &format!("{:.1} V", full.as_volts())));
    if finding.verdict != Verdict::Pass {
        let ends = if matched.difference > Voltage::ZERO {
            "overcharged"
        } else {
            "never full"
        };
        let per_cell = matched.per_cell.as_volts();
        finding
            .summary
            .push_str(&format!("; {per_cell:.2} V a cell: {ends}"));
        finding = finding.with_arithmetic(format!(
            "{:.1} V / {series} = {per_cell:.2} V a cell",
            output.as_volts()
        ));
    }
    Ok(finding)
}

fn chemistry(case: &Case<'_>, pack: &PartView<'_, '_>, charger: &PartView<'_, '_>) -> Result<Finding, Halt> {
    let (cells, made_for) = (pack.word("chemistry")?, charger.word("chemistry")?);
    Ok(if cells == made_for {
        Finding::new(Verdict::Pass, format!("pack and charger are both for {cells}"))
    } else {
        Finding::new(
            Verdict::Fail,
            format!("the charger is made for {made_for}, the pack is {cells}"),
        )
        .with_remedy(cure(case, &format!("{cells} cells")))
    })
}

fn plugs(case: &Case<'_>, socket: &str, plug: &str) -> Finding {
    if socket.trim().eq_ignore_ascii_case(plug.trim()) {
        Finding::new(Verdict::Pass, format!("charging plug {plug} on both"))
    } else {
        // An adaptor would let the next person mate a charger of other volts.
        Finding::new(
            Verdict::Fail,
            format!("charging plug {plug} at the charger, {socket} at the pack"),
        )
        .with_remedy(cure(case, &format!("the plug {socket}")))
    }
}

fn current(case: &Case<'_>, output: f64, most: f64) -> Finding {
    let known = Known {
        value: output,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    Judged::new("charging current", known, Kind::Current, "A")
        .against(Limit::AtMost(most))
        .with_remedy(cure(case, &format!("at most {most:.1} A")))
}

fn cure(case: &Case<'_>, what: &str) -> String {
    format!(
        "a charger for {what}: lockring build {} charger=PART",
        case.job().number
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    fn charger(bench: Bench, found: &[(&str, &str)]) -> Bench {
        bench.receive("charger", found, ReceiptText::default())
    }

    #[test]
    fn chargers_of_the_packs_pass() {
        // Worked example of the trade (common practice, no source): 42.0 V and 54.6 V.
        for bench in [trekking(), longtail(), hardtail()] {
            assert_eq!(bench.expect(&CHECK, Verdict::Pass).findings.len(), 4);
        }
    }

    #[test]
    fn a_charger_too_low_never_fills_and_says_the_volts_of_a_cell() {
        // Worked example of the trade (common practice, no source): 54.6 / 14 = 3.90 V a
        // cell, |54.6 - 58.8| = 4.2 > 0.3.
        let wrong = hardtail().receive("pack", &[("series", "14")], ReceiptText::default());
        let report = wrong.expect(&CHECK, Verdict::Fail);
        assert!(
            report.summary().ends_with("3.90 V a cell: never full"),
            "{}",
            report.summary()
        );
        assert!((report.findings[0].figures[0].value + 4.2).abs() < 1e-9);
        charger(wrong, &[("output-volts", "58.8 V")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_charger_too_high_overcharges() {
        // Worked example of the trade (common practice, no source): 58.8 V on 13 in series is
        // 4.52 V a cell.
        let report = charger(hardtail(), &[("output-volts", "58.8 V")]).expect(&CHECK, Verdict::Fail);
        assert!(
            report.summary().ends_with("4.52 V a cell: overcharged"),
            "{}",
            report.summary()
        );
    }

    #[test]
    fn the_verdict_turns_three_tenths_of_a_volt_either_side() {
        for (volts, verdict) in [
            ("42.3 V", Verdict::Pass),
            ("42.4 V", Verdict::Fail),
            ("41.7 V", Verdict::Pass),
            ("41.6 V", Verdict::Fail),
        ] {
            charger(trekking(), &[("output-volts", volts)]).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn another_chemistry_plug_or_current_fails_alone() {
        for (key, value) in [
            ("chemistry", "iron-phosphate"),
            ("plug", "three-pin"),
            ("output-current", "8 A"),
        ] {
            let report = charger(trekking(), &[(key, value)]).expect(&CHECK, Verdict::Fail);
            let failed = report
                .findings
                .iter()
                .filter(|finding| finding.verdict == Verdict::Fail)
                .count();
            assert_eq!(failed, 1, "{key}: {:?}", report.findings);
        }
    }

    #[test]
    fn without_a_charger_it_is_open() {
        let report = trekking()
            .build(&[("charger", "none")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing[0].how, "lockring build 20 charger=PART");
    }

    #[test]
    fn the_charger_the_remedy_names_clears_it() {
        charger(hardtail(), &[("output-volts", "58.8 V")]).cured(
            &CHECK,
            "a charger for 54.6 V: lockring build 23 charger=PART",
            |job| charger(job, &[("output-volts", "54.6 V")]),
        );
    }
}
