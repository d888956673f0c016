//! Gates: all checks of one stage, in the order they are listed.

use std::sync::Arc;

use crate::check::{self, Check, Glance, Report};
use crate::checks::{self, parts_as_ordered};
use crate::finding::Beside;
use crate::job::Job;
use crate::rules::RuleSheet;
use crate::stage::Stage;

mod memory;
mod swapped;

pub use memory::Memory;
pub(crate) use swapped::looks_at;
pub use swapped::{Unheld, as_swapped, unheld};

/// Runs every check of a gate, in the order they are listed; never stops at the first fail.
///
/// The one check that asks what others say is run after them and given their reports.
pub fn run(gate: Stage, job: &Job, rules: &RuleSheet) -> Vec<Report> {
    let listed: Vec<&'static Check> = listed(gate).collect();
    let asks = |check: &Check| check.id == parts_as_ordered::CHECK.id;
    let mut reports: Vec<Report> = listed
        .iter()
        .filter(|check| !asks(check))
        .map(|check| check::run(check, job, rules, gate))
        .collect();
    if let Some(place) = listed.iter().position(|check| asks(check)) {
        let others: Vec<Beside<'_>> = reports.iter().map(Report::beside).collect();
        let report = check::run_beside(listed[place], job, rules, gate, &others);
        reports.insert(place, report);
    }
    reports
}

/// What every check of a gate finds, without its words.
pub(crate) fn glance(gate: Stage, job: &Job, rules: &RuleSheet) -> Vec<Arc<Glance>> {
    listed(gate)
        .map(|check| Arc::new(check::glance(check, job, rules, gate)))
        .collect()
}

/// The checks of a gate, in order.
fn listed(gate: Stage) -> impl Iterator<Item = &'static Check> {
    let all = checks::ALL.iter().copied();
    all.filter(move |check| check.gates.contains(&gate))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;
    use crate::uses::Uses;

    /// Jobs before and after their parts arrived, one with another pack than was ordered.
    fn jobs() -> [Job; 4] {
        let other_pack = [("series", "12"), ("continuous-current", "18 A")];
        let arrived = hardtail().receive_all();
        let differs = arrived
            .clone()
            .receive("pack", &other_pack, ReceiptText::default());
        [trekking(), longtail(), arrived, differs].map(|bench| bench.job)
    }

    #[test]
    fn a_glance_finds_what_a_report_says() {
        let rules = RuleSheet::shipped();
        let mut differs = Vec::new();
        for job in jobs() {
            for (check, gate) in checks::ALL
                .iter()
                .flat_map(|check| Stage::GATED.map(|gate| (check, gate)))
            {
                let glance = check::glance(check, &job, &rules, gate);
                let report = check::run(check, &job, &rules, gate);
                let seen = (glance.verdict, glance.missing, glance.uses);
                let said = (report.verdict, report.missing, Uses::of(&report.uses));
                if seen != said {
                    differs.push(format!("{} at {}: {seen:?}, {said:?}", check.id, gate.word()));
                }
            }
        }
        assert!(differs.is_empty(), "{differs:#?}");
    }

    #[test]
    fn a_gate_says_what_its_checks_say_one_by_one() {
        let rules = RuleSheet::shipped();
        for job in jobs() {
            for gate in Stage::GATED {
                let alone = checks::ALL
                    .iter()
                    .filter(|check| check.gates.contains(&gate))
                    .map(|check| check::run(check, &job, &rules, gate));
                let alone: Vec<String> = alone.map(|report| format!("{report:?}")).collect();
                let together = run(gate, &job, &rules).into_iter();
                let together: Vec<String> = together.map(|report| format!("{report:?}")).collect();
                assert_eq!(together, alone, "gate {}", gate.word());
            }
        }
    }
}
