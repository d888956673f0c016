//! `axle.arms`: the torque arms a rear hub motor asks for, among the parts of the build.

use lockring_calc::dropout::{Standing, Wheel};

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;

/// Torque arms in the build, before it is ordered and priced.
pub static CHECK: Check = Check {
    id: "axle.arms",
    title: "torque arms for a rear hub among the parts",
    gates: &[Stage::Intake],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "workshop judgement and common practice, no source: no standard for torque arms was found",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    match prediction::driven_hub(case)? {
        None => return Halt::not_applicable("a motor at the crank is held by its bracket"),
        Some(Wheel::Front) => {
            return Halt::not_applicable("for a motor in the fork see fork.front_hub and fork.signature");
        }
        Some(Wheel::Rear) => {}
    }
    if case.part(Slot::Motor)?.word("axle-kind")? != "slotted" {
        return Halt::not_applicable("the motor's axle does not sit in open slots");
    }
    let asked = prediction::arms_asked(case, Wheel::Rear)?;
    if asked.standing == Standing::Refused {
        return Halt::not_applicable("carbon dropouts hold no motor's axle with any arm, see axle.reaction");
    }
    let (wanted, arms) = (u32::from(asked.arms), prediction::arms_in_build(case)?);
    let line = format!("torque arms for {arms} of {wanted} side(s) in the build");
    Ok(vec![if arms >= wanted {
        Finding::new(Verdict::Pass, line)
    } else {
        Finding::new(
            Verdict::Caution,
            format!("{line}: order and price run without what the fitting asks for"),
        )
        .with_arithmetic(prediction::caution("ft-torque-arm"))
        .with_remedy(format!(
            "torque arms for {wanted} side(s): lockring build {} torque-arm=PART",
            case.job().number
        ))
    }])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn a_hub_in_slots_without_an_arm_in_the_build_is_told_before_it_is_ordered() {
        trekking().expect(&CHECK, Verdict::Pass);
        let without = trekking().build(&[("torque-arm", "none")]);
        let report = without.expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().starts_with("torque arms for 0 of 1 side(s)"),
            "{}",
            report.summary()
        );
        without.cured(&CHECK, "lockring build 20 torque-arm=PART", |job| {
            job.build(&[("torque-arm", "arm-2")])
        });
    }

    #[test]
    fn as_many_are_asked_for_as_the_fitting_asks() {
        // Over 40 N m, the most for one arm, both sides are asked for.
        let strong = |sides| {
            trekking()
                .receive("motor", &[("peak-torque", "41 N m")], ReceiptText::default())
                .receive("torque-arm", &[("sides", sides)], ReceiptText::default())
        };
        strong("1").expect(&CHECK, Verdict::Caution);
        strong("2").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn it_does_not_concern_a_crank_a_fork_a_hole_or_what_no_arm_holds() {
        longtail().expect(&CHECK, Verdict::NotApplicable);
        for found in [("place", "front-hub"), ("axle-kind", "thru-axle")] {
            trekking()
                .receive("motor", &[found], ReceiptText::default())
                .expect(&CHECK, Verdict::NotApplicable);
        }
        trekking()
            .state(&[("frame-material", "carbon")])
            .expect(&CHECK, Verdict::NotApplicable);
        trekking().forget("frame-material").expect(&CHECK, Verdict::Open);
    }
}
