//! `parts.received`: every part of the build has arrived, whole.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::job::{Line, Order};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;

/// Damage fails; a line that has not arrived is open and says from whom and when.
pub static CHECK: Check = Check {
    id: "parts.received",
    title: "every part received and whole",
    gates: &[Stage::Parts],
    family: Family::Parts,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: the bench slot is given once the set is complete",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let job = case.whole_job();
    if job.build.is_empty() {
        let how = format!("lockring build {} motor=PART", job.number);
        return Err(Halt::Open(vec![Missing {
            what: "a build".into(),
            how,
        }]));
    }
    let (mut findings, mut missing) = (Vec::new(), Vec::new());
    for (slot, line) in &job.build {
        match prediction::receipt(case, *slot) {
            Some(receipt) => findings.push(arrived(case, *slot, line, receipt.damaged())),
            None => {
                let late = expected(case, *slot, line, job.order_of(*slot));
                findings.push(Finding::new(Verdict::Open, late.what.clone()).with_remedy(late.how.clone()));
                missing.push(late);
            }
        }
    }
    // With damage about, the findings carry the open lines too; with none, what is missing
    // is all there is to say, and it goes where people look for the next step.
    let damaged = findings.iter().any(|finding| finding.verdict == Verdict::Fail);
    if damaged || missing.is_empty() {
        Ok(findings)
    } else {
        Err(Halt::Open(missing))
    }
}

fn arrived(case: &Case<'_>, slot: Slot, line: &Line, damage: Option<&str>) -> Finding {
    let (word, name) = (slot.word(), line.part.name());
    match damage {
        None => Finding::new(Verdict::Pass, format!("{word} received: {name}")),
        Some(damage) => Finding::new(Verdict::Fail, format!("{word} received damaged: {damage}"))
            .with_remedy(format!(
                "send it back, lockring return {job} {word} --why damaged, and receive its replacement: lockring receive {job} \
                 {word}",
                job = case.job().number
            )),
    }
}

/// What is awaited, from whom and when, and the command that supplies it.
fn expected(case: &Case<'_>, slot: Slot, line: &Line, order: Option<Order>) -> Missing {
    let (word, job) = (slot.word(), case.job().number);
    match order {
        Some(order) => {
            let due = order
                .due
                .map_or_else(|| "no day promised".to_owned(), |due| format!("due {due}"));
            case.note_use(format!("{word}.order"));
            Missing {
                what: format!("{word} from {}, {due}", order.supplier),
                how: format!("lockring receive {job} {word}"),
            }
        }
        None => {
            case.note_use(format!("{word}.order"));
            Missing {
                what: format!("{word}, not ordered"),
                how: line.part.order_command(job, slot),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, trekking};
    use crate::command::{Command, ReceiptText};

    #[test]
    fn everything_received_passes_with_a_finding_for_each_part() {
        let bench = trekking().receive_all();
        let report = bench.expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), bench.job.build.len());
    }

    #[test]
    fn a_back_order_is_open_and_says_supplier_and_day() {
        // Worked example of the trade (common practice, no source): the shift sensor is
        // back-ordered to 7 April.
        let due = Some("2026-04-07".parse().unwrap());
        let order = Command::Order {
            slots: vec!["shift-sensor".into()],
            supplier: "N".into(),
            due,
            price: String::new(),
        };
        let mut late = hardtail().receive_all();
        late.job.build.get_mut(&Slot::ShiftSensor).unwrap().receipt = None;
        let late = late.change(&order);
        let report = late.expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 1);
        assert_eq!(report.missing[0].what, "shift-sensor from N, due 2026-04-07");
        late.receive("shift-sensor", &[], ReceiptText::default())
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn what_was_never_ordered_says_so() {
        let report = trekking().expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing[0].what, "motor, not ordered");
        assert_eq!(
            report.missing[0].how,
            "lockring order 20 motor --from M --due DAY"
        );
    }

    #[test]
    fn damage_fails_beside_open_lines_and_a_replacement_clears_it() {
        let broken = ReceiptText {
            damage: "corner crushed".into(),
            ..ReceiptText::default()
        };
        let report = trekking()
            .receive("display", &[], broken.clone())
            .expect(&CHECK, Verdict::Fail);
        assert_eq!(report.summary(), "display received damaged: corner crushed");
        assert!(
            report
                .findings
                .iter()
                .any(|finding| finding.verdict == Verdict::Open)
        );
        trekking()
            .receive_all()
            .receive("display", &[], broken)
            .receive("display", &[], ReceiptText::default())
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn an_empty_build_is_open() {
        let mut empty = trekking();
        empty.job.build.clear();
        empty.expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn its_replacement_clears_it_as_the_remedy_says() {
        let broken = ReceiptText {
            damage: "corner crushed".into(),
            ..ReceiptText::default()
        };
        let damaged = trekking().receive_all().receive("display", &[], broken);
        damaged.cured(&CHECK, "lockring receive 20 display", |job| {
            job.receive("display", &[], ReceiptText::default())
        });
    }
}
