//! `parts.as_ordered`: what arrived is what was ordered.

use std::cell::OnceCell;

use crate::block::Family;
use crate::case::Case;
use crate::check::{self, Check, Concede, Finding, Halt, Outcome, Report, Verdict};
use crate::fact::Value;
use crate::finding::Beside;
use crate::job::Line;
use crate::part::{Attribute, Slot};
use crate::prediction;
use crate::receipt::Receipt;
use crate::stage::Stage;
use crate::uses::Uses;

/// A difference is a caution where every check that looks at it still holds with the goods
/// received; another kind of part, damage, or a check that no longer holds fails.
pub static CHECK: Check = Check {
    id: "parts.as_ordered",
    title: "parts received as ordered",
    gates: &[Stage::Parts],
    family: Family::Parts,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Fail,
    ],
    source: "common practice, no source: every check that used a part's data is run again before it is kept",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let lines = &case.whole_job().build;
    let received: Vec<(Slot, &Line, &Receipt)> = lines
        .iter()
        .filter_map(|(slot, line)| prediction::receipt(case, *slot).map(|receipt| (*slot, &**line, receipt)))
        .collect();
    if received.is_empty() {
        return Halt::not_applicable("nothing has arrived yet: see parts.received");
    }
    let mut again: Option<Vec<Again<'_>>> = None;
    let mut findings = Vec::new();
    for (slot, line, receipt) in received {
        let before = findings.len();
        if let Some(damage) = receipt.damaged() {
            findings.push(
                Finding::new(Verdict::Fail, format!("{} damaged: {damage}", slot.word()))
                    .with_remedy(send_back(case, slot)),
            );
        }
        for (attribute, ordered, found) in differences(line, receipt) {
            let others = again.get_or_insert_with(|| others(case));
            findings.push(difference(case, slot, attribute, ordered, found, others));
        }
        if findings.len() == before {
            findings.push(Finding::new(
                Verdict::Pass,
                format!("{} as ordered: {}", slot.word(), line.part.name()),
            ));
        }
    }
    Ok(findings)
}

fn differences<'l>(line: &'l Line, receipt: &'l Receipt) -> Vec<(&'static Attribute, &'l Value, &'l Value)> {
    receipt
        .found
        .iter()
        .filter_map(|(key, found)| {
            // What the catalogue does not give was not ordered either way.
            let ordered = line.part.get(key).filter(|ordered| *ordered != found)?;
            Some((line.part.kind.attribute(key)?, ordered, found))
        })
        .collect()
}

/// Another check with the goods received.
enum Again<'a> {
    /// What it said, which this gate has anyway.
    Said(Beside<'a>),
    /// What it looks at, and its report once somebody asks.
    Looks(&'static Check, Uses, OnceCell<Box<Report>>),
}

impl Again<'_> {
    fn looks_at(&self, word: &str) -> bool {
        match self {
            Self::Said(said) => said.uses.contains(word),
            Self::Looks(_, uses, _) => uses.contains(word),
        }
    }

    fn said(&self, case: &Case<'_>) -> Beside<'_> {
        match self {
            Self::Said(said) => *said,
            Self::Looks(check, _, report) => report
                .get_or_init(|| Box::new(check::run(check, case.whole_job(), case.rules(), case.gate())))
                .beside(),
        }
    }
}

/// The checks of parts and predictions with the goods received, those of this gate's own
/// book-keeping left out.
fn others<'a>(case: &Case<'a>) -> Vec<Again<'a>> {
    let looks_at_parts = |check: &Check| {
        [Stage::Intake, Stage::Parts]
            .iter()
            .any(|gate| check.gates.contains(gate))
    };
    crate::checks::ALL
        .iter()
        .copied()
        .filter(|check| looks_at_parts(check) && !check.id.starts_with("parts."))
        .map(|check| match case.said_by(check.id) {
            Some(said) => Again::Said(said),
            None => {
                let glance = check::glance(check, case.whole_job(), case.rules(), case.gate());
                Again::Looks(check, glance.uses, OnceCell::new())
            }
        })
        .collect()
}

fn difference(
    case: &Case<'_>,
    slot: Slot,
    attribute: &Attribute,
    ordered: &Value,
    found: &Value,
    others: &[Again<'_>],
) -> Finding {
    let field = &attribute.field;
    let said = format!(
        "{} of the {}: {}, ordered {}",
        field.name,
        slot.word(),
        field.show(found),
        field.show(ordered)
    );
    if matches!(found, Value::Word(_)) {
        // Words name kinds: a hub for a mid motor, another chemistry, another brake.
        return Finding::new(Verdict::Fail, format!("{said}: another kind of part"))
            .with_remedy(send_back(case, slot));
    }
    let used = format!("{}.{}", slot.word(), field.key);
    let touched: Vec<Beside<'_>> = others
        .iter()
        .filter(|other| other.looks_at(&used))
        .map(|other| other.said(case))
        .collect();
    for said in &touched {
        case.note_use(format!("check.{}", said.check));
    }
    let names = |holds: bool| {
        let ids: Vec<&str> = touched
            .iter()
            .filter(|said| said.holds == holds)
            .map(|said| said.check)
            .collect();
        ids.join(", ")
    };
    let (holding, broken) = (names(true), names(false));
    let mut finding = match (broken.is_empty(), holding.is_empty()) {
        (true, true) => Finding::new(Verdict::Caution, format!("{said}; no check looks at it")),
        (true, false) => Finding::new(
            Verdict::Caution,
            format!("{said}; run again and holding: {holding}"),
        ),
        (false, _) => Finding::new(
            Verdict::Fail,
            format!("{said}; run again and not holding: {broken}"),
        ),
    };
    for said in touched {
        finding = finding.with_arithmetic(format!(
            "{}: {}: {}",
            said.check,
            said.verdict.word(),
            said.summary
        ));
    }
    finding.with_remedy(send_back(case, slot)).with_remedy(format!(
        "keep it once the checks hold: lockring concede {} {} --why \"…\"",
        case.job().number,
        CHECK.id
    ))
}

fn send_back(case: &Case<'_>, slot: Slot) -> String {
    let (word, job) = (slot.word(), case.job().number);
    let back =
        format!("send it back for what was ordered: lockring return {job} {word} --why \"not as ordered\"");
    match case.whole_job().build.get(&slot) {
        Some(line) => format!("{back}, then {}", line.part.order_command(job, slot)),
        None => back,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, trekking};
    use crate::command::ReceiptText;

    fn received(bench: &Bench, slot: &str, found: &[(&str, &str)]) -> Bench {
        bench
            .clone()
            .receive_all()
            .receive(slot, found, ReceiptText::default())
    }

    #[test]
    fn goods_as_ordered_pass_even_where_the_same_value_was_read_off_them() {
        received(&trekking(), "pack", &[("series", "10")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_difference_no_check_minds_is_a_caution_that_names_what_ran_again() {
        let report =
            received(&trekking(), "pack", &[("continuous-current", "22 A")]).expect(&CHECK, Verdict::Caution);
        let line = report.summary();
        assert!(line.contains("22 A, ordered 20 A"), "{line}");
        assert!(
            line.contains("holding") && line.contains("pack.current, pack.current_margin"),
            "{line}"
        );
    }

    #[test]
    fn a_pack_of_other_cells_fails_with_the_checks_that_broke_and_the_right_pack_clears_it() {
        // Worked example of the trade (common practice, no source): 14S4P, 14.0 Ah, 20 A came
        // for 13S5P, 17.5 Ah, 35 A.
        let found = [
            ("series", "14"),
            ("parallel", "4"),
            ("capacity", "14 Ah"),
            ("continuous-current", "20 A"),
        ];
        let wrong = received(&hardtail(), "pack", &found);
        let report = wrong.expect(&CHECK, Verdict::Fail);
        let series = report
            .findings
            .iter()
            .find(|finding| finding.summary.starts_with("cells in series"))
            .unwrap();
        for id in ["pack.full_volts", "pack.charger_match", "pack.low_cutoff"] {
            assert!(series.summary.contains(id), "{}", series.summary);
        }
        wrong
            .receive("pack", &[], ReceiptText::default())
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn another_kind_of_part_fails_whatever_the_checks_say() {
        let report =
            received(&trekking(), "pack", &[("chemistry", "iron-phosphate")]).expect(&CHECK, Verdict::Fail);
        assert!(
            report.summary().ends_with("another kind of part"),
            "{}",
            report.summary()
        );
    }

    #[test]
    fn damage_fails() {
        let broken = ReceiptText {
            damage: "bent pin".into(),
            ..ReceiptText::default()
        };
        trekking()
            .receive("display", &[], broken)
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn before_anything_arrives_it_does_not_apply() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn what_was_ordered_clears_it_as_the_remedy_says() {
        received(&hardtail(), "pack", &[("series", "14")]).cured(
            &CHECK,
            "lockring order 23 pack --from N --due DAY",
            |job| job.receive("pack", &[], ReceiptText::default()),
        );
    }
}
