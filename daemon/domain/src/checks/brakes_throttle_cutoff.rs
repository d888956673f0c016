//! `brakes.throttle_cutoff`: each brake lever cuts the motor, on a build with a throttle.

use super::brakes_lever_cutoff::{has_throttle, levers};
use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::stage::Stage;

/// Lever cut-offs where the motor can pull without pedalling: nobody may do without them.
pub static CHECK: Check = Check {
    id: "brakes.throttle_cutoff",
    title: "each brake lever cuts a motor with a throttle",
    gates: &[Stage::Fitting],
    family: Family::Safe,
    version: 1,
    concede: Concede::Never,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: each lever alone, three of three",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !has_throttle(case)? {
        return Halt::not_applicable("without a throttle the levers are judged by brakes.lever_cutoff");
    }
    levers(case)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, hardtail};

    fn throttle(kind: &str, left: &str, right: &str) -> Bench {
        hardtail()
            .state(&[("throttle", kind)])
            .measure(&[("cut-left", left), ("cut-right", right)])
    }

    #[test]
    fn a_dead_lever_with_a_throttle_is_never_conceded() {
        let dead = throttle("full", "3/3", "0/3");
        dead.expect(&CHECK, Verdict::Fail);
        assert_eq!(CHECK.concede, Concede::Never);
        dead.measure(&[("cut-right", "3/3")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_walking_aid_counts_as_a_throttle() {
        throttle("walk", "3/3", "2/3").expect(&CHECK, Verdict::Fail);
        throttle("walk", "2/2", "3/3").expect(&CHECK, Verdict::Caution);
        throttle("walk", "3/3", "3/3").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn it_is_open_until_tried_and_does_not_concern_a_build_without_a_throttle() {
        let untried = hardtail().state(&[("throttle", "full")]);
        assert_eq!(untried.expect(&CHECK, Verdict::Open).missing.len(), 2);
        throttle("none", "0/3", "0/3").expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn three_tries_as_the_remedy_says_clear_it() {
        throttle("full", "3/3", "0/3").cured(&CHECK, "lockring measure 23 cut-right …/3", |job| {
            job.measure(&[("cut-right", "3/3")])
        });
    }
}
