//! What a changed rule sheet, or a part that the catalogue has otherwise by now, changes: checks of open jobs that say
//! something else.

use crate::check::Report;
use crate::finding::Verdict;
use crate::gate;
use crate::job::Job;
use crate::part::{Part, Slot};
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// A check of a job whose verdict changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// The job.
    pub job: u32,
    /// Its rider.
    pub rider: String,
    /// The check.
    pub check: &'static str,
    /// Its verdict before.
    pub before: Verdict,
    /// Its verdict after.
    pub after: Verdict,
    /// What it says after.
    pub summary: String,
}

/// Checks of the job's gates, passed ones and the present one, whose verdict is another under
/// another sheet; each check once, at the latest of its gates.
pub fn effects(job: &Job, before: &RuleSheet, after: &RuleSheet) -> Vec<Effect> {
    if job.stage.is_end() || before == after {
        return Vec::new();
    }
    let seen = Stage::GATED.into_iter().filter(|gate| *gate <= job.stage);
    turned(
        job,
        seen.rev()
            .map(|gate| (gate::run(gate, job, before), gate::run(gate, job, after))),
    )
}

/// The job with another part in a filled slot, all else as it is: what was ordered and came for it stays.
pub fn with_part(job: &Job, slot: Slot, part: &Part) -> Job {
    let mut changed = job.clone();
    if let Some(line) = changed.build.get_mut(&slot) {
        line.part = part.clone();
    }
    changed
}

/// Checks of any gate whose verdict is another with this part in a slot; each check once, at the latest of its gates.
pub fn effects_of_part(job: &Job, slot: Slot, part: &Part, rules: &RuleSheet) -> Vec<Effect> {
    let changed = with_part(job, slot, part);
    let gates = Stage::GATED.into_iter().rev();
    turned(
        job,
        gates.map(|gate| (gate::run(gate, job, rules), gate::run(gate, &changed, rules))),
    )
}

fn turned(job: &Job, gates: impl Iterator<Item = (Vec<Report>, Vec<Report>)>) -> Vec<Effect> {
    let mut found: Vec<Effect> = Vec::new();
    for (old, new) in gates {
        for (old, new) in old.iter().zip(new) {
            let is_new = !found.iter().any(|effect| effect.check == new.check.id);
            if old.verdict != new.verdict && is_new {
                found.push(Effect {
                    job: job.number,
                    rider: job.rider.clone(),
                    check: new.check.id,
                    before: old.verdict,
                    after: new.verdict,
                    summary: new.summary().to_owned(),
                });
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::longtail;

    #[test]
    fn a_changed_limit_tells_the_checks_it_turns_and_no_other() {
        let rules = RuleSheet::shipped();
        let mut job = longtail().job;
        assert!(effects(&job, &rules, &rules).is_empty());
        // A kit taken for so much heavier turns what is judged by mass.
        let strict = rules
            .clone()
            .with_override("mass.small-parts", "25 kg", "tried")
            .unwrap();
        let found = effects(&job, &rules, &strict);
        assert!(!found.is_empty());
        for effect in &found {
            assert_ne!(effect.before, effect.after);
            assert_eq!((effect.job, effect.rider.as_str()), (21, job.rider.as_str()));
            let gate = Stage::Intake;
            let says = |rules: &RuleSheet| {
                let reports = gate::run(gate, &job, rules);
                let report = reports
                    .into_iter()
                    .find(|report| report.check.id == effect.check)
                    .unwrap();
                (report.verdict, report.summary().to_owned())
            };
            assert_eq!(says(&rules).0, effect.before);
            assert_eq!(says(&strict), (effect.after, effect.summary.clone()));
        }
        let turned = gate::run(Stage::Intake, &job, &rules)
            .iter()
            .zip(gate::run(Stage::Intake, &job, &strict))
            .filter(|(old, new)| old.verdict != new.verdict)
            .count();
        assert_eq!(found.len(), turned);
        // Later gates count too once the job is there, each check once.
        job.stage = Stage::TestRide;
        let later = effects(&job, &rules, &strict);
        let ids: std::collections::BTreeSet<_> = later.iter().map(|effect| effect.check).collect();
        assert_eq!(ids.len(), later.len());
        assert!(found.iter().all(|effect| ids.contains(effect.check)));
        job.stage = Stage::HandedOver;
        assert!(effects(&job, &rules, &strict).is_empty());
    }
}
