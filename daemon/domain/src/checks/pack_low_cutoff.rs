//! `pack.low_cutoff`: the low-voltage cut-off, cell by cell.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics;
use lockring_calc::pack::{self, Chemistry};
use lockring_calc::quantity::Voltage;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// A cut-off made for another series count empties the cells, or leaves them half full.
pub static CHECK: Check = Check {
    id: "pack.low_cutoff",
    title: "low-voltage cut-off for each cell",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: 3.0 to 3.3 V a nickel-rich cell; iron phosphate 2.5 V from memory to 2.9 V, \
             workshop judgement; what a cell rests at by the curves of Chen et al. 2020 and Afshar et al. 2017",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let pack = case.part(Slot::Pack)?;
    let series = pack.count("series")?;
    let chemistry = prediction::chemistry(&pack)?;
    let cutoff = prediction::low_cutoff(case)?;
    let per_cell = electrics::per_cell(Voltage::volts(cutoff.value), series)
        .map_err(|error| prediction::unusable(case, "controller", &error))?;
    let (least, most) = match chemistry {
        Chemistry::NickelRich => (
            case.rule("volts.cutoff-cell-least"),
            case.rule("volts.cutoff-cell-most"),
        ),
        Chemistry::IronPhosphate => (
            case.rule("volts.cutoff-cell-least-lfp"),
            case.rule("volts.cutoff-cell-most-lfp"),
        ),
    };
    let known = Known {
        value: per_cell.si(),
        u: cutoff.u / f64::from(series),
        provenance: cutoff.provenance,
    };
    // A third of the way up: the bottom tenths of a volt hold next to no energy.
    let set = f64::from(series) * (least + (most - least) / 3.0);
    let finding = Judged::new("cut-off for each cell", known, Kind::Voltage, "V")
        .against(Limit::Within(least, most))
        .with_arithmetic(format!(
            "{:.1} V / {series} = {:.2} V",
            cutoff.value,
            per_cell.as_volts()
        ))
        .with_remedy(format!(
            "set it to {set:.1} V: lockring measure {} low-cutoff {set:.1}V",
            case.job().number
        ))
        .with_remedy("a controller whose cut-off can be set, or that is made for this series count");
    if let Some(rests) = drives_nothing(case, chemistry, per_cell)? {
        return Ok(vec![finding.with_arithmetic(rests)]);
    }
    Ok(vec![match chemistry {
        Chemistry::NickelRich => finding,
        Chemistry::IronPhosphate => prediction::advise_only(
            finding,
            "the limits of iron phosphate are from memory and judgement",
        ),
    }])
}

/// What a cell rests at, in words, where the cut-off is above that with the charge left that a hill is judged with: the motor
/// gives nothing from there on, whatever the cell itself would stand.
fn drives_nothing(case: &Case<'_>, chemistry: Chemistry, per_cell: Voltage) -> Result<Option<String>, Halt> {
    let rests = pack::cell_open_circuit(chemistry, prediction::HILL_CHARGE)
        .map_err(|error| prediction::unusable(case, "pack", &error))?;
    let others = match chemistry {
        Chemistry::NickelRich => 0.0,
        Chemistry::IronPhosphate => case.rule("volts.rests-higher-lfp"),
    };
    let most = rests + Voltage::volts(others);
    let of_others = match others > 0.0 {
        true => format!(", of other makes at up to {:.2} V", most.as_volts()),
        false => String::new(),
    };
    Ok((per_cell > most).then(|| {
        format!(
            "a cell with {:.0} % of its charge rests at {:.2} V{of_others}: below the cut-off, so that the motor gives nothing \
             from there on",
            100.0 * prediction::HILL_CHARGE,
            rests.as_volts()
        )
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn cut_offs_as_ordered_pass() {
        // Worked example of the trade (common practice, no source): 31.0 / 10 = 3.10,
        // 40 / 13 = 3.08, 41 / 13 = 3.15 V a cell.
        for (bench, volts) in [(trekking(), "3.10"), (longtail(), "3.08"), (hardtail(), "3.15")] {
            let report = bench.expect(&CHECK, Verdict::Pass);
            assert!(
                report.findings[0].arithmetic[0].contains(volts),
                "{:?}",
                report.findings[0].arithmetic
            );
        }
    }

    #[test]
    fn a_cut_off_for_thirteen_fails_on_fourteen_and_the_remedy_clears_it() {
        // Worked example of the trade (common practice, no source): 41 / 14 = 2.93 V a cell;
        // 43.4 V for fourteen.
        let wrong = hardtail().receive("pack", &[("series", "14")], ReceiptText::default());
        let report = wrong.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings[0].arithmetic, ["41.0 V / 14 = 2.93 V"]);
        assert!(
            report.findings[0].remedies[0].ends_with("low-cutoff 43.4V"),
            "{:?}",
            report.findings[0].remedies
        );
        wrong
            .measure(&[("low-cutoff", "43.4V")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_verdict_turns_at_both_ends() {
        for (volts, verdict) in [
            ("29.9V", Verdict::Fail),
            ("30V", Verdict::Pass),
            ("33V", Verdict::Pass),
            ("33.1V", Verdict::Fail),
        ] {
            trekking()
                .measure(&[("low-cutoff", volts)])
                .expect(&CHECK, verdict);
        }
    }

    #[test]
    fn iron_phosphate_has_its_own_window_and_only_cautions() {
        let iron = trekking().receive("pack", &[("chemistry", "iron-phosphate")], ReceiptText::default());
        iron.expect(&CHECK, Verdict::Caution);
        iron.measure(&[("low-cutoff", "27V")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_cut_off_above_what_the_cells_rest_at_fails_whatever_their_chemistry() {
        // A controller of 40 V on 12 cells: 3.33 V a cell, over the 3.2 V of an iron-phosphate cell's label and over the 3.27 V
        // that it rests at half full by the published curve (pack curves), 30 mV more of other makes.
        let iron = |volts: &str| {
            trekking()
                .receive(
                    "pack",
                    &[("chemistry", "iron-phosphate"), ("series", "12")],
                    ReceiptText::default(),
                )
                .measure(&[("low-cutoff", volts)])
        };
        let report = iron("40 V").expect(&CHECK, Verdict::Fail);
        let said = report.findings[0].arithmetic.join("; ");
        assert!(
            said.contains("rests at 3.23 V, of other makes at up to 3.26 V"),
            "{said}"
        );
        // 3.262 V a cell is 39.15 V.
        iron("39.1 V").expect(&CHECK, Verdict::Caution);
        iron("39.2 V").expect(&CHECK, Verdict::Fail);
        iron("40 V").cured(&CHECK, "low-cutoff 31.6V", |job| {
            job.measure(&[("low-cutoff", "31.6V")])
        });
    }

    #[test]
    fn what_other_makes_rest_at_only_relaxes_the_published_curve() {
        let iron = [("chemistry", "iron-phosphate"), ("series", "12")];
        let bench = trekking().receive("pack", &iron, ReceiptText::default());
        let at = |volts: &str, others: &str| {
            let key = "volts.rests-higher-lfp";
            let sheet = crate::rules::RuleSheet::shipped().with_override(key, others, "moved");
            let set = bench.clone().measure(&[("low-cutoff", volts)]);
            set.report_by(&CHECK, &sheet.unwrap()).verdict
        };
        // 39.1 V are 3.258 V a cell, over the curve's 3.23 V: without the allowance it stops, with any it never passes.
        assert_eq!(at("39.1 V", "0"), Verdict::Fail);
        for others in ["0.03", "0.3"] {
            assert_eq!(at("39.1 V", others), Verdict::Caution, "{others}");
        }
        // 38.6 V are 3.217 V, under the curve: nothing is left for the allowance to decide.
        assert_eq!(at("38.6 V", "0"), Verdict::Caution);
    }

    #[test]
    fn without_a_controller_it_is_open_until_the_cut_off_is_set() {
        let bare = trekking().build(&[("controller", "none")]);
        bare.expect(&CHECK, Verdict::Open);
        bare.measure(&[("low-cutoff", "31V")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_cut_off_the_remedy_names_clears_it() {
        hardtail()
            .receive("pack", &[("series", "14")], ReceiptText::default())
            .cured(&CHECK, "lockring measure 23 low-cutoff 43.4V", |job| {
                job.measure(&[("low-cutoff", "43.4V")])
            });
    }
}
