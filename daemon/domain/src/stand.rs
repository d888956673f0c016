//! The stand's sheet: the values that the present gate looks at, in bench order.

use std::collections::BTreeSet;

use crate::code::{self, Code};
use crate::filled;
use crate::finding::Verdict;
use crate::gate;
use crate::job::Job;
use crate::rules::RuleSheet;

/// One box of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Blank {
    /// What goes in.
    pub code: &'static Code,
    /// What is recorded and counts.
    pub recorded: Option<String>,
    /// The gate stays shut without it, as far as is known now.
    pub needed: bool,
}

/// The boxes of the present gate: everything its checks looked at that is taken at this stage,
/// and whatever else they lack. In the order of the table of codes.
pub fn sheet(job: &Job, rules: &RuleSheet) -> Vec<Blank> {
    let rows: Vec<&'static Code> = code::all().collect();
    let (needed, _) = filled::asked(job, job.touched, rules, job.stage, &rows);
    let reports = gate::run(job.stage, job, rules);
    let used: BTreeSet<&str> = reports
        .iter()
        .filter(|report| report.verdict != Verdict::NotApplicable)
        .flat_map(|report| report.uses.iter().map(String::as_str))
        .collect();
    code::all()
        .filter(|row| used.contains(row.key()) || needed.contains(row.key()))
        .map(|row| Blank {
            code: row,
            recorded: job
                .facts
                .get(row.key())
                .filter(|fact| fact.stale.is_none())
                .map(|fact| row.field.show_both(&fact.value)),
            needed: needed.contains(row.key()),
        })
        .filter(|blank| blank.needed || blank.code.group.stage() == job.stage)
        // What is paid is a sum of entries: one more is none that stands in its place.
        .filter(|blank| blank.recorded.is_none() || blank.code.key() != "paid")
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::card;
    use crate::checks::testing::{longtail, trekking};
    use crate::stage::Stage;

    use super::*;

    #[test]
    fn a_box_is_empty_until_its_value_is_recorded_and_stands_in_the_order_of_the_codes() {
        let mut bench = longtail();
        bench.job.stage = Stage::Fitting;
        let rules = RuleSheet::shipped();
        let boxes = sheet(&bench.job, &rules);
        assert!(boxes.len() > 3, "{}", boxes.len());
        let places: Vec<usize> = boxes
            .iter()
            .map(|blank| code::all().position(|row| row.key() == blank.code.key()).unwrap())
            .collect();
        assert!(places.is_sorted(), "{places:?}");
        let empty = boxes
            .iter()
            .find(|blank| blank.recorded.is_none() && blank.code.group.stage() == Stage::Fitting)
            .unwrap();
        let key = empty.code.key();
        let mut bench = match key.strip_prefix("torque-") {
            Some(bolt) => bench.torque(&[(bolt, &empty.code.example())]),
            None => bench.measure(&[(key, &empty.code.example())]),
        };
        bench.job.stage = Stage::Fitting;
        let filled = sheet(&bench.job, &rules);
        let blank = filled.iter().find(|blank| blank.code.key() == key).unwrap();
        assert!(blank.recorded.is_some());
    }

    /// With the boxes filled in that are needed, no check lacks another one.
    #[test]
    fn what_a_gate_needs_is_marked_and_what_belongs_to_the_take_in_is_not_asked_again() {
        let mut bench = trekking();
        bench.job.stage = Stage::Fitting;
        let rules = RuleSheet::shipped();
        let boxes = sheet(&bench.job, &rules);
        let (needed, others): (Vec<&Blank>, Vec<&Blank>) = boxes.iter().partition(|blank| blank.needed);
        assert!(needed.len() > 3 && !others.is_empty(), "{boxes:?}");
        assert!(
            others
                .iter()
                .all(|blank| blank.code.group.stage() == Stage::Fitting),
            "{others:?}"
        );
        assert!(!boxes.iter().any(|blank| blank.code.key() == "stay-longest"));
        let keys = needed.iter().map(|blank| blank.code.key());
        let reports = filled::reports(&bench.job, bench.job.touched, &rules, Stage::Fitting, keys);
        let boxes: BTreeSet<String> = code::all()
            .map(|row| row.how_to_record(bench.job.number))
            .collect();
        let missing: Vec<&str> = reports
            .iter()
            .filter(|report| report.verdict != Verdict::NotApplicable)
            .flat_map(|report| &report.missing)
            .filter(|missing| boxes.contains(&missing.how))
            .map(|missing| missing.what.as_str())
            .collect();
        assert!(missing.is_empty(), "{missing:?}");
    }

    /// The boxes are walked in the order in which they are printed, and none of the card is missing.
    #[test]
    fn the_sheet_is_walked_in_the_order_of_the_printed_card() {
        let rules = RuleSheet::shipped();
        for mut bench in [longtail(), trekking()] {
            bench.job.stage = Stage::Fitting;
            let card = card::card(&bench.job, bench.job.touched, &rules);
            let printed: Vec<&str> = card
                .groups
                .iter()
                .flat_map(|group| &group.boxes)
                .map(|one| one.code.key())
                .collect();
            let walked: Vec<&str> = sheet(&bench.job, &rules)
                .iter()
                .map(|blank| blank.code.key())
                .collect();
            let both: Vec<&str> = walked
                .iter()
                .copied()
                .filter(|key| printed.contains(key))
                .collect();
            assert!(printed.len() > 9);
            assert_eq!(both, printed, "walked {walked:?}");
        }
    }
}
