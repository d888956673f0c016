//! `pack.insulation`: nothing of the pack's current reaches the frame.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Resistance from pack plus to the frame, where somebody measured it.
pub static CHECK: Check = Check {
    id: "pack.insulation",
    title: "pack insulated from the frame",
    gates: &[Stage::Fitting],
    family: Family::Power,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::NotApplicable, Verdict::Pass, Verdict::Fail],
    source: "common practice, no source: more than 1 Mohm by a meter",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let job = case.job().number;
    let Some(insulation) = case.optional_number("insulation") else {
        return Halt::not_applicable(format!(
            "not measured, pack plus to bare metal of the frame: lockring measure {job} insulation MOHM"
        ));
    };
    let finding = Judged::new("pack plus to the frame", insulation, Kind::Resistance, "Mohm")
        .against(Limit::AtLeast(case.rule("pack.insulation-least")))
        .with_remedy(format!(
            "find the nicked or pinched lead and the wet plug, then again: {}",
            prediction::read_again(case, "insulation", "MOHM")
        ));
    Ok(vec![finding])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;

    #[test]
    fn a_megohm_is_asked_for_and_a_lead_to_the_frame_fails() {
        // Common practice, no source: more than 1 Mohm.
        trekking()
            .measure(&[("insulation", "20 Mohm")])
            .expect(&CHECK, Verdict::Pass);
        trekking()
            .measure(&[("insulation", "0.2 Mohm")])
            .expect(&CHECK, Verdict::Fail);
        trekking().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn a_lead_that_was_found_clears_it() {
        trekking()
            .measure(&[("insulation", "0.2 Mohm")])
            .cured(&CHECK, "insulation MOHM", |job| {
                job.measure(&[("insulation", "20 Mohm")])
            });
    }
}
