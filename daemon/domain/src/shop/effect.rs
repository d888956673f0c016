//! What a changed rule sheet changes: checks of open jobs that say something else.

use crate::finding::Verdict;
use crate::gate;
use crate::job::Job;
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
    let mut found: Vec<Effect> = Vec::new();
    for gate in Stage::GATED.into_iter().filter(|gate| *gate <= job.stage).rev() {
        let old = gate::run(gate, job, before);
        let new = gate::run(gate, job, after);
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
