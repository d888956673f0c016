//! `ride.recheck`: fasteners tried again after the ride, hot.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Outcome, Verdict};
use crate::prediction;
use crate::ride_class::deference::D2;
use crate::stage::Stage;

/// Hot re-check of the fasteners.
pub static CHECK: Check = Check {
    id: "ride.recheck",
    title: "fasteners tried again hot",
    gates: &[Stage::TestRide],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: nothing moves when tightened again hot",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let held = case.flag("torque-recheck")?;
    let finding = if held {
        Finding::new(
            Verdict::Pass,
            "nothing moved when the fasteners were tried again hot",
        )
    } else {
        Finding::new(Verdict::Fail, "a fastener moved when it was tried again hot").with_remedy(format!(
            "tighten to the figure, mark with paint, ride and try again: lockring ride {} recheck held=yes/no",
            case.job().number
        ))
    };
    Ok(vec![
        finding
            .with_arithmetic(prediction::caution("tr-recheck"))
            .with_arithmetic(D2),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;

    #[test]
    fn what_held_passes_what_moved_fails_until_it_holds() {
        let moved = trekking().ride("recheck", &[("held", "no")]);
        moved.expect(&CHECK, Verdict::Fail);
        moved
            .ride("recheck", &[("held", "yes")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn open_until_it_is_tried() {
        trekking().expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn trying_again_as_the_remedy_says_clears_it() {
        trekking().ride("recheck", &[("held", "no")]).cured(
            &CHECK,
            "lockring ride 20 recheck held=yes/no",
            |job| job.ride("recheck", &[("held", "yes")]),
        );
    }
}
