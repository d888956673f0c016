//! `pack.precharge`: the spark when a full pack meets the controller's empty capacitors.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics::{self, Precharge};
use lockring_calc::pack::Load;
use lockring_calc::quantity::{Capacitance, Current, Resistance, Temperature, Voltage};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Pre-charge of the controller.
pub static CHECK: Check = Check {
    id: "pack.precharge",
    title: "controller charged gently before the pack mates",
    gates: &[Stage::Fitting],
    family: Family::Power,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "charging of a capacitor through a resistor, five time constants: arithmetic; the current a contact bears \
             and the time a hand holds: workshop judgement",
    run,
};

const ADVICE: &str = "the limit is workshop judgement";

fn run(case: &Case<'_>) -> Outcome {
    let controller = case.optional_part(Slot::Controller);
    let stored = controller.and_then(|part| part.optional_number("input-capacitance"));
    let resistor = case.optional_number("precharge-resistor");
    if stored.is_none() && resistor.is_none() {
        return Halt::not_applicable("neither the controller's capacitance nor a resistor was given");
    }
    let capacitance = Capacitance::farads(case.part(Slot::Controller)?.number("input-capacitance")?);
    let full = prediction::full_volts(case)?;
    match resistor {
        None => Ok(vec![bare(case, full, capacitance)?]),
        Some(resistor) => {
            let charged = electrics::precharge(full, Resistance::ohms(resistor.value), capacitance)
                .map_err(|error| prediction::unusable(case, "pre-charge", &error))?;
            Ok(vec![
                peak(case, full, resistor.value, &charged)?,
                held(case, resistor.value, capacitance, &charged),
            ])
        }
    }
}

/// Without a resistor only the pack's own resistance holds the first current.
fn bare(case: &Case<'_>, full: Voltage, capacitance: Capacitance) -> Result<Finding, Halt> {
    let unusable = |error: &dyn std::fmt::Display| prediction::unusable(case, "pre-charge", error);
    let source = prediction::battery(&case.part(Slot::Pack)?)?
        .resistance(Load::Instant, Temperature::celsius(25.0))
        .map_err(|error| unusable(&format!("{error:?}")))?;
    let rush = electrics::short_circuit(full, source).map_err(|error| unusable(&error))?;
    let finding = Judged::new(
        "current at the first touch, nothing before it",
        Known::stated(rush.as_amperes()),
        Kind::Current,
        "A",
    )
    .against(most(case))
    .with_arithmetic(format!(
        "{:.1} V / {:.0} mohm (pack and leads) = {:.0} A into {:.0} µF",
        full.as_volts(),
        source.as_ohms() * 1e3,
        rush.as_amperes(),
        capacitance.as_microfarads()
    ))
    .with_remedy(gentle(case, full)?)
    .with_remedy("or a plug with such a resistor built in, its value recorded the same way");
    Ok(prediction::advise_only(finding, ADVICE))
}

fn peak(case: &Case<'_>, full: Voltage, ohms: f64, charged: &Precharge) -> Result<Finding, Halt> {
    let finding = Judged::new(
        "current at the first touch, through the resistor",
        Known::stated(charged.peak.as_amperes()),
        Kind::Current,
        "A",
    )
    .against(most(case))
    .with_arithmetic(format!(
        "{:.1} V / {ohms:.0} ohm = {:.2} A",
        full.as_volts(),
        charged.peak.as_amperes()
    ))
    .with_remedy(gentle(case, full)?);
    Ok(prediction::advise_only(finding, ADVICE))
}

/// Five time constants against the time the resistor is held.
fn held(case: &Case<'_>, ohms: f64, capacitance: Capacitance, charged: &Precharge) -> Finding {
    let planned = case.optional_number("precharge-time");
    let hold = planned.map_or(case.rule("wiring.precharge-hold"), |known| known.value);
    let job = case.job().number;
    let wait = charged.wait.as_seconds();
    let finding = Judged::new(
        "five time constants of the pre-charge",
        Known::stated(wait),
        Kind::Time,
        "s",
    )
    .against(Limit::AtMost(hold))
    .with_arithmetic(format!(
        "5 x {ohms:.0} ohm x {:.0} µF = {wait:.2} s; {:.1} J stored, as much heat in the resistor; {}",
        capacitance.as_microfarads(),
        charged.stored.as_joules(),
        if planned.is_some() {
            "held as recorded"
        } else {
            "held as long as a hand does"
        }
    ))
    .with_remedy(format!(
        "hold the resistor for {0:.1} s: lockring measure {job} precharge-time {0:.1}s",
        (wait * 10.0).ceil() / 10.0
    ));
    prediction::advise_only(finding, ADVICE)
}

fn most(case: &Case<'_>) -> Limit {
    Limit::AtMost(case.rule("wiring.inrush-most"))
}

fn gentle(case: &Case<'_>, full: Voltage) -> Result<String, Halt> {
    let allowed = Current::amperes(case.rule("wiring.inrush-most"));
    let least = electrics::least_resistor(full, allowed)
        .map_err(|error| prediction::unusable(case, "pre-charge", &error))?;
    Ok(format!(
        "a resistor of {0:.0} ohm or more: lockring measure {1} precharge-resistor {0:.0}ohm",
        least.as_ohms().ceil(),
        case.job().number
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, trekking};
    use crate::command::ReceiptText;

    fn capacitors(bench: Bench, capacitance: &str) -> Bench {
        bench.receive(
            "controller",
            &[("input-capacitance", capacitance)],
            ReceiptText::default(),
        )
    }

    #[test]
    fn without_either_it_is_not_concerned_and_a_resistor_alone_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = trekking()
            .measure(&[("precharge-resistor", "100 ohm")])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("input-capacitance"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn the_worked_case_of_a_full_pack_through_a_hundred_ohms_is_met() {
        // Arithmetic: 54.6 V, 100 ohm, 1000 µF: 0.546 A, 0.5 s, 1.49 J.
        let report = capacitors(hardtail(), "1000 uF")
            .measure(&[("precharge-resistor", "100 ohm")])
            .expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 0.546).abs() < 1e-9);
        assert!((report.findings[1].figures[0].value - 0.5).abs() < 1e-9);
        assert!(
            report.findings[1].arithmetic[0].contains("1.5 J"),
            "{:?}",
            report.findings
        );
    }

    #[test]
    fn a_bare_plug_is_advised_against_and_the_named_resistor_clears_it() {
        let bare = capacitors(hardtail(), "1000 µF");
        let report = bare.expect(&CHECK, Verdict::Caution);
        let finding = &report.findings[0];
        assert!(finding.summary.contains("advice only"), "{finding:?}");
        // By hand: 54.6 V / 5 A = 10.92 ohm.
        assert!(
            finding.remedies[0].ends_with("precharge-resistor 11ohm"),
            "{finding:?}"
        );
        // Cell of 35 mohm sustained in the catalogue, 13 in series, 5 in parallel; at the first moment
        // to sustained 23.3 to 42 (Chen et al. 2020, simulated); leads 20 mohm:
        // 2.6 x 19.417 + 20 = 70.48 mohm, 775 A by hand.
        assert!((finding.figures[0].value - 774.7).abs() < 0.5, "{finding:?}");
        bare.cured(&CHECK, "precharge-resistor 11ohm", |job| {
            job.measure(&[("precharge-resistor", "11ohm")])
        });
    }

    #[test]
    fn a_small_resistor_and_a_short_hold_are_told_and_cleared() {
        let rush = |ohms: &str| capacitors(trekking(), "1000 uF").measure(&[("precharge-resistor", ohms)]);
        // By hand: 42 V / 5 A = 8.4 ohm.
        rush("8.4 ohm").expect(&CHECK, Verdict::Pass);
        let small = rush("8.3 ohm").expect(&CHECK, Verdict::Caution);
        assert!(small.findings[0].remedies[0].ends_with("precharge-resistor 9ohm"));
        rush("9 ohm").expect(&CHECK, Verdict::Pass);
        // 5 x 200 ohm x 1000 µF = 1 s over the half second of a hand.
        let slow = rush("200 ohm");
        let report = slow.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[1].remedies[0].ends_with("precharge-time 1.0s"),
            "{:?}",
            report.findings
        );
        slow.clone()
            .measure(&[("precharge-time", "1.0s")])
            .expect(&CHECK, Verdict::Pass);
        slow.measure(&[("precharge-time", "0.9s")])
            .expect(&CHECK, Verdict::Caution);
    }
}
