//! `pack.low_window`: display and light work down to where the controller cuts off.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Lowest voltage of every device against the cut-off.
pub static CHECK: Check = Check {
    id: "pack.low_window",
    title: "devices work down to the low-voltage cut-off",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "each maker's lowest input voltage against the cut-off as set; arithmetic",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let mut least = Vec::new();
    for slot in [Slot::Display, Slot::Light] {
        let Some(part) = case.optional_part(slot) else {
            continue;
        };
        if slot == Slot::Light && part.word("fed-from")? != "pack" {
            continue;
        }
        if let Some(volts) = part.optional_number("least-volts") {
            least.push((slot, volts));
        }
    }
    if least.is_empty() {
        return Halt::not_applicable("no device fed from the pack names a lowest voltage");
    }
    let cutoff = prediction::low_cutoff(case)?;
    let job = case.job().number;
    let findings = least.into_iter().map(|(slot, volts)| {
        Judged::new(
            &format!("cut-off for the {}", slot.word()),
            cutoff,
            Kind::Voltage,
            "V",
        )
        .against(Limit::AtLeast(volts))
        .with_arithmetic(format!(
            "cut-off {:.1} V against {volts:.1} V, the lowest it works at",
            cutoff.value
        ))
        .with_remedy(format!(
            "a {0} that works lower: lockring build {job} {0}=PART",
            slot.word()
        ))
        .with_remedy(format!(
            "a higher cut-off, at less range: lockring measure {job} low-cutoff {volts:.1}V"
        ))
    });
    Ok(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn the_demo_displays_work_down_to_the_cut_off() {
        let report = trekking().expect(&CHECK, Verdict::Pass);
        // 31.0 V cut-off less 24 V, the catalogue's lowest: 7 V to spare (by hand).
        assert_eq!(report.findings[0].figures[0].margin, Some(7.0));
        let lit = trekking()
            .build(&[("light", "light-pack")])
            .expect(&CHECK, Verdict::Pass);
        assert_eq!(lit.findings.len(), 2);
    }

    #[test]
    fn a_display_that_goes_dark_first_fails_and_a_higher_cut_off_clears_it() {
        let dark = hardtail().receive("display", &[("least-volts", "42 V")], ReceiptText::default());
        let report = dark.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[1].ends_with("low-cutoff 42.0V"),
            "{:?}",
            report.findings[0].remedies
        );
        dark.measure(&[("low-cutoff", "42 V")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn without_such_a_device_it_does_not_apply_and_without_a_controller_it_is_open() {
        trekking()
            .build(&[("display", "none")])
            .expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .build(&[("controller", "none")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_cut_off_the_remedy_names_clears_it() {
        hardtail()
            .receive("display", &[("least-volts", "42 V")], ReceiptText::default())
            .cured(&CHECK, "lockring measure 23 low-cutoff 42.0V", |job| {
                job.measure(&[("low-cutoff", "42.0V")])
            });
    }
}
