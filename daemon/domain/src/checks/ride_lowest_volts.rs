//! `ride.lowest_volts`: how far the pack sags on the hill.

use lockring_calc::doubt::Limit;
use lockring_calc::pack::Chemistry;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Outcome, Verdict};
use crate::judge::{Judged, figure};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Lowest pack volts on the hill.
pub static CHECK: Check = Check {
    id: "ride.lowest_volts",
    title: "lowest pack volts on the hill",
    gates: &[Stage::TestRide],
    family: Family::Power,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the controller's low-voltage cut-off; 3.0 V a cell: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let lowest = case.number("hill-volts")?;
    let pack = case.part(Slot::Pack)?;
    let series = pack.number("series")?;
    let cutoff = prediction::low_cutoff(case)?.value;
    let grade = prediction::hill_grade(case)?;
    let power = case.number("rider-power-hill")?.value;
    let predicted = prediction::ridden_climb(case, grade.value, power)?
        .pack_voltage
        .si();
    let volts = |si| unit::show(Kind::Voltage, "V", si);
    let job = case.job().number;
    let cell = Known {
        value: lowest.value / series,
        u: lowest.u / series,
        ..lowest
    };
    let per_cell = format!(
        "{} / {series:.0} cells = {}",
        volts(lowest.value),
        volts(cell.value)
    );
    let mut findings = vec![
        Judged::new(
            "lowest pack voltage on the hill, against the cut-off,",
            lowest,
            Kind::Voltage,
            "V",
        )
        .against(Limit::AtLeast(cutoff))
        .with_figure(figure(
            "predicted at about a third of charge",
            Kind::Voltage,
            "V",
            predicted,
        ))
        .with_figure(figure("volts a cell", Kind::Voltage, "V", cell.value))
        .with_arithmetic(format!(
            "{} - {} = {} above the cut-off; predicted {}",
            volts(lowest.value),
            volts(cutoff),
            volts(lowest.value - cutoff),
            volts(predicted)
        ))
        .with_arithmetic(per_cell.clone())
        .with_remedy("a pack of more cells side by side, or of lower resistance")
        .with_remedy(format!(
            "less current: lockring measure {job} current-limit AMPERES; it costs speed on the hill"
        )),
    ];
    if prediction::chemistry(&pack)? == Chemistry::NickelRich {
        let least = case.rule("volts.cutoff-cell-least");
        let finding = Judged::new("lowest voltage a cell", cell, Kind::Voltage, "V")
            .against(Limit::AtLeast(least))
            .with_arithmetic(per_cell)
            .with_remedy(format!(
                "a higher cut-off: lockring measure {job} low-cutoff VOLTS; the ride ends sooner"
            ));
        findings.push(prediction::advise_only(finding, "the cell maker's figure rules"));
    }
    Ok(findings)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, longtail};

    fn sag(bench: Bench, volts: &str) -> Bench {
        bench.ride(
            "hill",
            &[("speed", "9.9 km/h"), ("grade", "8 %"), ("volts", volts)],
        )
    }

    #[test]
    fn forty_four_point_six_volts_stay_above_the_cut_off() {
        // Worked example of the trade (common practice, no source): lowest 44.6 V, cut-off 40 V.
        let report = sag(longtail(), "44.6 V").expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 44.6).abs() < 1e-9);
        assert!((report.findings[1].figures[0].value - 3.43).abs() < 0.005);
    }

    #[test]
    fn the_verdict_turns_at_the_cut_off_with_the_guard_band_between() {
        sag(longtail(), "40.3 V").expect(&CHECK, Verdict::Pass);
        sag(longtail(), "40.1 V").expect(&CHECK, Verdict::Caution);
        sag(longtail(), "39.7 V").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_cut_off_set_too_low_leaves_the_cells_to_judge() {
        // 38 V over 13 cells is 2.92 V a cell.
        let report =
            sag(longtail().measure(&[("low-cutoff", "36 V")]), "38 V").expect(&CHECK, Verdict::Caution);
        assert_eq!(report.findings[0].verdict, Verdict::Pass);
    }

    #[test]
    fn open_until_it_is_read() {
        longtail().expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn less_current_as_the_remedy_says_clears_it() {
        sag(longtail(), "39.7 V").cured(&CHECK, "lockring measure 21 current-limit AMPERES", |job| {
            sag(job.measure(&[("current-limit", "12 A")]), "42.5 V")
        });
    }
}
