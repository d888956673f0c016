//! `pack.full_volts`: volts of the full pack against the most each device takes.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Voltage;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Cells in series times the volts of a full cell, device by device; the label's volts
/// play no part.
pub static CHECK: Check = Check {
    id: "pack.full_volts",
    title: "full-charge volts against every device's maximum",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 1,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "each maker's highest input voltage; cells' full-charge volts from cell data sheets, from memory",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let full = prediction::full_volts(case)?;
    // What takes least stands first: it is what the others are not worth naming for.
    let mut fed = prediction::fed_from_pack(case)?;
    fed.sort_by(|(_, a), (_, b)| a.si().total_cmp(&b.si()));
    fed.into_iter()
        .map(|(slot, most)| against(case, full, slot, most))
        .collect()
}

fn against(case: &Case<'_>, full: Voltage, slot: Slot, most: Voltage) -> Result<Finding, Halt> {
    let pack = case.part(Slot::Pack)?;
    let series = pack.count("series")?;
    let cell = prediction::chemistry(&pack)?.full();
    // Counted, not measured: the arithmetic has no doubt of its own.
    let known = Known {
        value: full.si(),
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let what = format!("full-charge volts at the {}", slot.word());
    let job = case.job().number;
    // The device to buy keeps its headroom, so that this cure does not end in a caution.
    let needed = prediction::roomy_maximum(case, full).ceil();
    // Counts of cells are small and positive.
    let most_cells = (most / cell + 1e-9).floor() as u32;
    Ok(Judged::new(&what, known, Kind::Voltage, "V")
        .against(Limit::AtMost(most.si()))
        .with_arithmetic(format!(
            "{series} x {:.2} V = {:.1} V against {:.1} V",
            cell.as_volts(),
            full.as_volts(),
            most.as_volts()
        ))
        .with_remedy(format!("a {0} that takes {needed:.0} V or more: lockring build {job} {0}=PART", slot.word()))
        .with_remedy(format!(
            "a pack of at most {most_cells} cells in series, with its own charger and a cut-off to match, at less \
             speed and energy: lockring build {job} pack=PART charger=PART"
        )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn the_three_builds_as_ordered_stay_within_every_device() {
        // Worked example of the trade (common practice, no source): 42.0 and 54.6 V against
        // 60 V; 54.6 V against a display of 55.0 V.
        for (bench, volts) in [(trekking(), 42.0), (longtail(), 54.6), (hardtail(), 54.6)] {
            let report = bench.expect(&CHECK, Verdict::Pass);
            assert_eq!(report.findings.len(), 3, "motor, controller, display");
            assert!(
                report
                    .findings
                    .iter()
                    .all(|finding| (finding.figures[0].value - volts).abs() < 1e-9)
            );
        }
    }

    #[test]
    fn fourteen_in_series_fail_at_the_display_alone_and_a_display_for_more_clears_it() {
        // Worked example of the trade (common practice, no source): 14 x 4.2 = 58.8 > 55.0.
        let wrong = hardtail().receive("pack", &[("series", "14")], ReceiptText::default());
        let report = wrong.expect(&CHECK, Verdict::Fail);
        let failed: Vec<&Finding> = report
            .findings
            .iter()
            .filter(|finding| finding.verdict == Verdict::Fail)
            .collect();
        assert_eq!(failed.len(), 1);
        assert!(failed[0].summary.contains("display"), "{}", failed[0].summary);
        assert!(
            failed[0].remedies[0].contains("takes 60 V"),
            "{:?}",
            failed[0].remedies
        );
        assert!(
            failed[0].remedies[1].contains("at most 13 cells"),
            "{:?}",
            failed[0].remedies
        );
        wrong
            .build(&[("display", "display-60")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_device_whose_maximum_is_met_exactly_is_within() {
        let exact = |most| trekking().receive("display", &[("max-volts", most)], ReceiptText::default());
        exact("42.0 V").expect(&CHECK, Verdict::Pass);
        exact("41.9 V").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn only_a_light_fed_from_the_pack_counts() {
        let lit = trekking().build(&[("light", "light-pack")]);
        assert_eq!(lit.expect(&CHECK, Verdict::Pass).findings.len(), 4);
        lit.clone()
            .receive("light", &[("max-volts", "36 V")], ReceiptText::default())
            .expect(&CHECK, Verdict::Fail);
        let found = [("max-volts", "12 V"), ("fed-from", "own-battery")];
        let report = lit
            .receive("light", &found, ReceiptText::default())
            .expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 3);
    }

    #[test]
    fn without_a_controller_it_is_open() {
        let report = trekking()
            .build(&[("controller", "none")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing[0].how, "lockring build 20 controller=PART");
    }

    #[test]
    fn the_display_the_remedy_names_clears_it() {
        hardtail()
            .receive("pack", &[("series", "14")], ReceiptText::default())
            .cured(
                &CHECK,
                "a display that takes 60 V or more: lockring build 23 display=PART",
                |job| job.build(&[("display", "display-60")]),
            );
    }
}
