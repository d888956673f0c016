//! `pack.receipt_volts`: volts of the pack and spread of its groups as it came out of the box.

use lockring_calc::doubt::{self, Graded, Limit};
use lockring_calc::electrics;
use lockring_calc::pack::Chemistry;
use lockring_calc::quantity::Voltage;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::fact::Provenance;
use crate::job::Job;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::receipt::Receipt;
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::unit::Kind;

/// Standard uncertainty of the meter on the whole pack, V (common practice, no source).
const PACK_METER: f64 = 0.05;
/// Standard uncertainty of a spread between groups, V (common practice, no source).
const GROUP_METER: f64 = 0.002;

/// A pack that comes near empty or with its groups apart has been stored badly or is faulty.
pub static CHECK: Check = Check {
    id: "pack.receipt_volts",
    title: "volts of the pack and spread of its groups on arrival",
    gates: &[Stage::Parts],
    family: Family::Power,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: 3.3 to 3.8 V a cell; spread 30 mV good, over 80 mV back to the supplier",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let pack = case.part(Slot::Pack)?;
    let series = pack.count("series")?;
    let chemistry = prediction::chemistry(&pack)?;
    let Some(receipt) = prediction::receipt(case, Slot::Pack) else {
        return Err(Halt::Open(vec![missing(case, "volts of the pack on arrival")]));
    };
    let (volts, spread) = readings(case, receipt)?;
    let cell = of_cells(case, volts, series, chemistry)?;
    Ok(vec![cell, group_spread(case, spread, receipt.papers.is_some())])
}

/// Whether what was read of a pack as it came out of its box sends it back, by its volts and by the spread of its groups: a
/// later reading of the same pack takes neither away, as cells that were empty once are no better for a charge.
pub(crate) fn sends_back(job: &Job, rules: &RuleSheet, seen: &Receipt) -> (bool, bool) {
    let case = Case::without_words(job, rules, Stage::Parts);
    let fails = |finding: Finding| finding.verdict == Verdict::Fail;
    let cells = |volts: f64| {
        let pack = case.part(Slot::Pack)?;
        of_cells(&case, volts, pack.count("series")?, prediction::chemistry(&pack)?)
    };
    let volts = seen.volts.and_then(|volts| cells(volts).ok());
    let spread = seen.group_spread.map(|spread| group_spread(&case, spread, true));
    (volts.is_some_and(fails), spread.is_some_and(fails))
}

fn of_cells(case: &Case<'_>, volts: f64, series: u32, chemistry: Chemistry) -> Result<Finding, Halt> {
    Ok(match chemistry {
        Chemistry::NickelRich => {
            let finding = cell_volts(case, volts, series)?;
            if is_under_floor(case, volts, series)? {
                finding.never_conceded()
            } else {
                finding
            }
        }
        // Its curve is flat: resting volts say next to nothing of the charge.
        Chemistry::IronPhosphate => Finding::new(
            Verdict::NotApplicable,
            "resting volts say little of iron phosphate: no stored limit",
        ),
    })
}

fn readings(case: &Case<'_>, receipt: &Receipt) -> Result<(f64, f64), Halt> {
    match (receipt.volts, receipt.group_spread) {
        (Some(volts), Some(spread)) => Ok((volts, spread)),
        (volts, spread) => {
            let lacking = [
                (volts, "volts of the pack on arrival"),
                (spread, "spread between its cell groups on arrival"),
            ];
            let open = lacking
                .into_iter()
                .filter(|(value, _)| value.is_none())
                .map(|(_, what)| missing(case, what));
            Err(Halt::Open(open.collect()))
        }
    }
}

/// What is missing, its figures left to whoever reads them off.
fn missing(case: &Case<'_>, what: &str) -> Missing {
    let how = format!(
        "lockring receive {} pack --volts …V --spread …mV",
        case.job().number
    );
    Missing {
        what: what.to_owned(),
        how,
    }
}

/// Volts of a cell with the doubt of the meter.
fn per_cell(case: &Case<'_>, volts: f64, series: u32) -> Result<Known, Halt> {
    let cell = electrics::per_cell(Voltage::volts(volts), series)
        .map_err(|error| prediction::unusable(case, "pack", &error))?;
    Ok(Known {
        value: cell.si(),
        u: PACK_METER / f64::from(series),
        provenance: Provenance::Measured,
    })
}

/// Whether its cells lie at rest below what any controller may draw them down to: nobody concedes such a pack.
fn is_under_floor(case: &Case<'_>, volts: f64, series: u32) -> Result<bool, Halt> {
    let cell = per_cell(case, volts, series)?;
    let floor = Limit::AtLeast(case.rule("volts.cutoff-cell-least"));
    Ok(doubt::grade(cell.value, cell.expanded(), floor, None) == Graded::Fail)
}

fn cell_volts(case: &Case<'_>, volts: f64, series: u32) -> Result<Finding, Halt> {
    let known = per_cell(case, volts, series)?;
    let cell = Voltage::volts(known.value);
    let limit = Limit::Within(
        case.rule("volts.receipt-cell-least"),
        case.rule("volts.receipt-cell-most"),
    );
    Ok(
        Judged::new("volts of each cell on arrival", known, Kind::Voltage, "V")
            .against(limit)
            .with_arithmetic(format!("{volts:.2} V / {series} = {:.2} V", cell.as_volts()))
            .with_remedy("count the cells in series again: a wrong count shows here first")
            .with_remedy(return_it(case)),
    )
}

/// Groups apart on arrival. A pack that goes back, or that has no papers, is not connected to a charger.
fn group_spread(case: &Case<'_>, spread: f64, papers: bool) -> Finding {
    let known = Known {
        value: spread,
        u: GROUP_METER,
        provenance: Provenance::Measured,
    };
    let (good, most) = (
        Limit::AtMost(case.rule("pack.spread-good")),
        Limit::AtMost(case.rule("pack.spread-most")),
    );
    let finding = Judged::new("spread between cell groups", known, Kind::Voltage, "mV").between(good, most);
    let finding = if finding.verdict != Verdict::Fail && papers {
        finding.with_remedy(format!(
            "leave it on its charger a day to balance and read it again: lockring receive {} pack --volts …V --spread …mV",
            case.job().number
        ))
    } else {
        finding
    };
    finding.with_remedy(return_it(case))
}

fn return_it(case: &Case<'_>) -> String {
    format!(
        "return it: lockring return {job} pack --why \"volts on arrival\", then lockring order {job} pack --from SUPPLIER --due DAY",
        job = case.job().number
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::command::ReceiptText;

    fn arrived(volts: &str, spread: &str) -> Bench {
        let details = ReceiptText {
            volts: volts.into(),
            group_spread: spread.into(),
            ..ReceiptText::default()
        };
        trekking().receive("pack", &[], details)
    }

    #[test]
    fn a_pack_fresh_from_the_store_passes() {
        // Worked example of the trade (common practice, no source): 36.9 V is 3.69 V a cell,
        // spread 12 mV.
        let report = arrived("36.9 V", "12 mV").expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings[0].arithmetic, ["36.90 V / 10 = 3.69 V"]);
    }

    #[test]
    fn cells_too_empty_or_too_full_fail_with_a_band_of_doubt_between() {
        for (volts, verdict) in [
            ("32.8 V", Verdict::Fail),
            ("32.95 V", Verdict::Caution),
            ("33.2 V", Verdict::Pass),
            ("37.8 V", Verdict::Pass),
            ("38.05 V", Verdict::Caution),
            ("38.2 V", Verdict::Fail),
        ] {
            arrived(volts, "12 mV").expect(&CHECK, verdict);
        }
    }

    /// 3.0 V is the least that a controller may be set to (common practice, no source): 2.0 V a cell lies under it, 3.1 V does not.
    #[test]
    fn cells_under_their_floor_are_conceded_by_nobody() {
        for (volts, is_barred) in [("20 V", true), ("31 V", false), ("39 V", false)] {
            let report = arrived(volts, "12 mV").expect(&CHECK, Verdict::Fail);
            assert_eq!(report.findings[0].is_barred(), is_barred, "{volts}");
        }
    }

    #[test]
    fn groups_apart_are_a_caution_and_then_a_fail() {
        for (spread, verdict) in [
            ("25 mV", Verdict::Pass),
            ("40 mV", Verdict::Caution),
            ("79 mV", Verdict::Caution),
            ("90 mV", Verdict::Fail),
        ] {
            arrived("36.9 V", spread).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn a_missing_reading_is_open() {
        let report = arrived("36.9 V", "").expect(&CHECK, Verdict::Open);
        assert_eq!(
            report.missing[0].what,
            "spread between its cell groups on arrival"
        );
        trekking().expect(&CHECK, Verdict::Open);
        trekking()
            .build(&[("pack", "none")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn iron_phosphate_is_judged_by_its_spread_alone() {
        let details = ReceiptText {
            volts: "32.8 V".into(),
            group_spread: "12 mV".into(),
            ..ReceiptText::default()
        };
        let iron = trekking().receive("pack", &[("chemistry", "iron-phosphate")], details);
        let report = iron.expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings[0].verdict, Verdict::NotApplicable);
    }

    #[test]
    fn a_day_on_the_charger_as_the_remedy_says_clears_it() {
        let papers = || ReceiptText {
            papers: "transport summary".into(),
            ..ReceiptText::default()
        };
        let charger = |bench: &Bench| {
            let remedies = bench.report(&CHECK).findings[1].remedies.clone();
            remedies.iter().any(|remedy| remedy.contains("charger"))
        };
        // Without papers it is not connected, and so far apart it goes back.
        assert!(!charger(&arrived("36.9 V", "40 mV")));
        assert!(!charger(&arrived("36.9 V", "95 mV").receive(
            "pack",
            &[],
            papers()
        )));
        arrived("36.9 V", "40 mV").receive("pack", &[], papers()).cured(
            &CHECK,
            "lockring receive 20 pack --volts …V --spread …mV",
            |job| {
                let again = ReceiptText {
                    volts: "37.4 V".into(),
                    group_spread: "20 mV".into(),
                    ..ReceiptText::default()
                };
                job.receive("pack", &[], again)
            },
        );
    }
}
