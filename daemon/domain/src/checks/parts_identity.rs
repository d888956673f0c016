//! `parts.identity`: serial and lot of what may be recalled.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;

/// A part that leaves the counter without serial and lot cannot be found in a recall.
pub static CHECK: Check = Check {
    id: "parts.identity",
    title: "serial and lot of motor, controller, pack and charger",
    gates: &[Stage::Parts, Stage::Handover],
    family: Family::Law,
    version: 1,
    concede: Concede::Never,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: recalls go by serial prefix, range or lot",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let job = case.whole_job();
    let traced: Vec<Slot> = job
        .build
        .keys()
        .copied()
        .filter(|slot| slot.is_traced())
        .collect();
    if traced.is_empty() {
        return Halt::not_applicable("the build has no motor, controller, pack or charger");
    }
    let (mut findings, mut awaited) = (Vec::new(), Vec::new());
    for slot in traced {
        let word = slot.word();
        match prediction::receipt(case, slot) {
            Some(receipt) => findings.push(identity(
                case,
                slot,
                receipt.serial.as_deref(),
                receipt.lot.as_deref(),
            )),
            None => awaited.push(Missing {
                what: format!("serial and lot of the {word}"),
                how: how(case, slot),
            }),
        }
    }
    if !awaited.is_empty() && findings.iter().all(|finding| finding.verdict == Verdict::Pass) {
        return Err(Halt::Open(awaited));
    }
    findings.extend(
        awaited
            .into_iter()
            .map(|missing| Finding::new(Verdict::Open, missing.what).with_remedy(missing.how)),
    );
    Ok(findings)
}

fn identity(case: &Case<'_>, slot: Slot, serial: Option<&str>, lot: Option<&str>) -> Finding {
    let word = slot.word();
    let lacking = match (serial, lot) {
        (Some(serial), Some(lot)) => {
            return Finding::new(Verdict::Pass, format!("{word}: serial {serial}, lot {lot}"));
        }
        (None, Some(_)) => "no serial",
        (Some(_), None) => "no lot",
        (None, None) => "neither serial nor lot",
    };
    Finding::new(Verdict::Fail, format!("{word} received with {lacking} on file"))
        .with_remedy(format!("read both off the part: {}", how(case, slot)))
        .with_remedy("a part that bears neither goes back to the supplier")
}

fn how(case: &Case<'_>, slot: Slot) -> String {
    format!(
        "lockring receive {} {} --serial SERIAL --lot LOT",
        case.job().number,
        slot.word()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;
    use crate::command::ReceiptText;

    fn identified(serial: &str, lot: &str) -> ReceiptText {
        ReceiptText {
            serial: serial.into(),
            lot: lot.into(),
            ..ReceiptText::default()
        }
    }

    #[test]
    fn all_four_on_file_pass() {
        // Worked example of the trade (common practice, no source): lot PK-2511-C, serial 40117.
        let report = trekking()
            .receive_all()
            .receive("pack", &[], identified("40117", "PK-2511-C"))
            .expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 4);
        assert!(
            report
                .findings
                .iter()
                .any(|finding| finding.summary == "pack: serial 40117, lot PK-2511-C")
        );
    }

    #[test]
    fn one_without_its_lot_fails_and_recording_it_clears_it() {
        let bare = trekking()
            .receive_all()
            .receive("pack", &[], identified("40117", ""));
        let report = bare.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.summary(), "pack received with no lot on file");
        bare.receive("pack", &[], identified("40117", "PK-2511-C"))
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn before_they_arrive_it_is_open_for_each() {
        let report = trekking().expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 4);
        assert_eq!(
            report.missing[0].how,
            "lockring receive 20 motor --serial SERIAL --lot LOT"
        );
    }

    #[test]
    fn a_failed_part_shows_beside_awaited_ones() {
        let report = trekking()
            .receive("pack", &[], ReceiptText::default())
            .expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings.len(), 4);
    }

    #[test]
    fn a_build_without_any_of_them_is_not_concerned() {
        let slots = [
            ("motor", "none"),
            ("controller", "none"),
            ("pack", "none"),
            ("charger", "none"),
        ];
        trekking().build(&slots).expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn serial_and_lot_recorded_as_the_remedy_says_clear_it() {
        let bare = trekking()
            .receive_all()
            .receive("pack", &[], identified("40117", ""));
        bare.cured(
            &CHECK,
            "lockring receive 20 pack --serial SERIAL --lot LOT",
            |job| job.receive("pack", &[], identified("40117", "PK-2511-C")),
        );
    }
}
