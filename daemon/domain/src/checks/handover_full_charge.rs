//! `handover.full_charge`: one full charge with the very charger that goes with the bicycle.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Full charge with its charger.
pub static CHECK: Check = Check {
    id: "handover.full_charge",
    title: "one full charge with its own charger",
    gates: &[Stage::Handover],
    family: Family::Power,
    version: 1,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "4.20 V a cell (iron phosphate 3.65): cell data sheets, from memory; ± 0.3 V: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["full-charge", "charger-used"])?;
    Ok(vec![volts(case)?, charger(case)?])
}

fn volts(case: &Case<'_>) -> Result<Finding, Halt> {
    let reading = case.number("full-charge")?;
    let full = prediction::full_volts(case)?.si();
    let series = case.part(Slot::Pack)?.number("series")?;
    let within = case.rule("volts.full-charge-tolerance");
    let shown = |si| unit::show(Kind::Voltage, "V", si);
    Ok(
        Judged::new("pack after a full charge", reading, Kind::Voltage, "V")
            .against(Limit::Within(full - within, full + within))
            .with_arithmetic(format!(
                "{series:.0} cells x {} = {}",
                shown(full / series),
                shown(full)
            ))
            .with_arithmetic(format!(
                "{} / {series:.0} = {} a cell",
                shown(reading.value),
                shown(reading.value / series)
            ))
            .with_arithmetic(prediction::caution("ho-charge"))
            .with_remedy(
                "over: unplug, keep the charger away from every pack, fetch the one named for this pack",
            )
            .with_remedy(format!(
                "under: let it end by itself, then read again: {}",
                prediction::read_again(case, "full-charge", "VOLTS")
            )),
    )
}

fn charger(case: &Case<'_>) -> Result<Finding, Halt> {
    let used = case.word("charger-used")?.trim();
    case.part(Slot::Charger)?;
    let serial = prediction::receipt(case, Slot::Charger).and_then(|receipt| receipt.serial.as_deref());
    let job = case.job().number;
    let Some(serial) = serial else {
        return Err(Halt::Open(vec![Missing {
            what: "serial of the charger received".to_owned(),
            how: format!("lockring receive {job} charger --serial SERIAL"),
        }]));
    };
    let (verdict, remark) = if used.eq_ignore_ascii_case(serial.trim()) {
        (Verdict::Pass, "the one received")
    } else {
        (Verdict::Fail, "not the one that goes with the bicycle")
    };
    Ok(Finding::new(
        verdict,
        format!("charged with charger {used}, received {serial}: {remark}"),
    )
    .with_arithmetic(format!("serial used {used}, serial received {serial}"))
    .with_remedy(format!(
        "charge once with charger {serial}: lockring measure {job} charger-used {serial}"
    )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};

    fn charged(volts: &str, serial: &str) -> Bench {
        trekking()
            .receive_all()
            .measure(&[("full-charge", volts), ("charger-used", serial)])
    }

    #[test]
    fn ten_cells_at_forty_one_point_nine_volts_pass() {
        // Worked example of the trade (common practice, no source): 10S, 42.0 V, 41.9 V read.
        let report = charged("41.9 V", "S-charger").expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 41.9).abs() < 1e-9);
    }

    #[test]
    fn another_charger_fails_until_its_own_is_used() {
        let other = charged("41.9 V", "X-7");
        other.expect(&CHECK, Verdict::Fail);
        other
            .measure(&[("charger-used", "S-charger")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_verdict_turns_at_three_tenths_of_a_volt_with_the_guard_band_between() {
        // 42.0 V ± 0.3 V (common practice, no source); the meter reads within 0.1 V.
        let verdict = |volts| charged(volts, "S-charger").report(&CHECK).verdict;
        assert_eq!(verdict("42.1 V"), Verdict::Pass);
        assert_eq!(verdict("42.25 V"), Verdict::Caution);
        assert_eq!(verdict("42.45 V"), Verdict::Fail);
        assert_eq!(verdict("41.5 V"), Verdict::Fail);
    }

    #[test]
    fn open_without_the_charge_and_without_a_serial() {
        assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 2);
        let unnamed = trekking().measure(&[("full-charge", "41.9 V"), ("charger-used", "S-charger")]);
        unnamed.expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn its_own_charger_and_a_charge_that_ended_by_itself_clear_it() {
        charged("41.9 V", "X-7").cured(&CHECK, "lockring measure 20 charger-used S-charger", |job| {
            job.measure(&[("charger-used", "S-charger")])
        });
        charged("41.5 V", "S-charger").cured(&CHECK, "lockring measure 20 full-charge VOLTS", |job| {
            job.measure(&[("full-charge", "41.9 V")])
        });
    }
}
