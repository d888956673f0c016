//! Gates: all checks of one stage, in the order they are listed.

use crate::check::{self, Report};
use crate::checks;
use crate::job::Job;
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// Runs every check of a gate, in the order they are listed; never stops at the first fail.
pub fn run(gate: Stage, job: &Job, rules: &RuleSheet) -> Vec<Report> {
    checks::ALL
        .iter()
        .filter(|check| check.gates.contains(&gate))
        .map(|check| check::run(check, job, rules, gate))
        .collect()
}
