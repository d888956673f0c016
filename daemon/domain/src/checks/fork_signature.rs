//! `fork.signature`: what a front hub motor needs beyond the least: an arm on the other side,
//! and the owner's signature for a fork softer than steel.

use lockring_calc::dropout::{ArmReason, ONE_ARM_NM, ONE_ARM_W, Standing, Wheel};

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;

/// Arms asked for, and the signature.
pub static CHECK: Check = Check {
    id: "fork.signature",
    title: "all torque arms and the owner's signature for a front hub motor",
    gates: &[Stage::Intake],
    family: Family::Safe,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "workshop judgement and common practice, no source: both sides above 40 N m, 500 W or in a soft fork",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if prediction::driven_hub(case)? != Some(Wheel::Front) {
        return Halt::not_applicable("the motor is not in the fork");
    }
    let fork = case.word("fork-kind")?;
    let asked = prediction::arms_asked(case, Wheel::Front)?;
    let (arms, wanted) = (prediction::arms_in_build(case)?.sides, u32::from(asked.arms));
    if asked.standing == Standing::Refused {
        return Halt::not_applicable("a carbon fork is refused, see fork.front_hub");
    }
    let counted = format!("fork {fork}: torque arms for {arms} of {wanted} side(s) in the build");
    let (verdict, remark) = match asked.standing {
        Standing::Plain if arms >= wanted => (Verdict::Pass, "within stored limit"),
        Standing::Plain => (Verdict::Caution, "short of good"),
        _ => (
            Verdict::Caution,
            "softer than steel, only with the owner's signature",
        ),
    };
    let motor = case.part(Slot::Motor)?;
    let (torque, power) = (motor.number("peak-torque")?, motor.number("rated-power")?);
    let mut finding = Finding::new(verdict, format!("{counted}: {remark}"));
    for reason in &asked.reasons {
        finding = finding.with_arithmetic(match reason {
            ArmReason::Carbon => "carbon dropouts cannot hold a motor's axle".to_owned(),
            ArmReason::SuspensionFork => "a suspension fork has thin cast dropouts: both sides".to_owned(),
            ArmReason::SoftFork | ArmReason::SoftRear => "dropouts softer than steel: both sides".to_owned(),
            ArmReason::PeakTorque => format!("{torque:.0} N m peak > {ONE_ARM_NM:.0} N m: both sides"),
            ArmReason::RatedPower => format!("{power:.0} W rated > {ONE_ARM_W:.0} W: both sides"),
            ArmReason::Regeneration => {
                "the motor brakes, so its torque reverses at every stop: both sides".to_owned()
            }
        });
    }
    let number = case.job().number;
    if arms < wanted {
        finding = finding.with_remedy(format!(
            "torque arms for {wanted} sides: lockring build {number} torque-arm=PART"
        ));
    }
    Ok(vec![finding.with_remedy(format!(
        "a rear hub or a motor at the crank: lockring build {number} motor=PART"
    ))])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::command::ReceiptText;

    fn front(fork: &str, motor: &[(&str, &str)], sides: &str) -> Bench {
        let hub = [("place", "front-hub"), ("hub-width", "100 mm")];
        let found: Vec<_> = hub.iter().chain(motor).copied().collect();
        trekking()
            .state(&[("fork-kind", fork)])
            .receive("motor", &found, ReceiptText::default())
            .receive("torque-arm", &[("sides", sides)], ReceiptText::default())
    }

    #[test]
    fn above_forty_newton_metres_steel_wants_both_sides() {
        // Common practice, no source: both sides above 40 N m, and above 500 W.
        front("steel-rigid", &[("peak-torque", "40 N m")], "1").expect(&CHECK, Verdict::Pass);
        let strong = front("steel-rigid", &[("peak-torque", "41 N m")], "1");
        let report = strong.expect(&CHECK, Verdict::Caution);
        assert_eq!(
            report.findings[0].arithmetic,
            ["41 N m peak > 40 N m: both sides"]
        );
        strong
            .receive("torque-arm", &[("sides", "2")], ReceiptText::default())
            .expect(&CHECK, Verdict::Pass);
        front("steel-rigid", &[("rated-power", "501 W")], "1").expect(&CHECK, Verdict::Caution);
        front("steel-rigid", &[("reverse-torque", "yes")], "1").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn a_soft_fork_is_signed_for_even_with_both_arms() {
        for fork in ["aluminium-rigid", "suspension"] {
            let report = front(fork, &[], "2").expect(&CHECK, Verdict::Caution);
            assert!(
                report.summary().contains("owner's signature"),
                "{}",
                report.summary()
            );
            // As many arms as are asked for: no more are proposed.
            let remedies = report.findings[0].remedies.join("\n");
            assert!(!remedies.contains("torque arms for"), "{remedies}");
        }
    }

    #[test]
    fn carbon_and_other_motors_are_not_its_business_and_an_unknown_fork_is_open() {
        front("carbon", &[], "2").expect(&CHECK, Verdict::NotApplicable);
        trekking().expect(&CHECK, Verdict::NotApplicable);
        longtail().expect(&CHECK, Verdict::NotApplicable);
        front("steel-rigid", &[], "2")
            .forget("fork-kind")
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_arms_the_remedy_names_clear_it() {
        front("steel-rigid", &[("peak-torque", "41 N m")], "1").cured(
            &CHECK,
            "torque arms for 2 sides: lockring build 20 torque-arm=PART",
            |job| job.receive("torque-arm", &[("sides", "2")], ReceiptText::default()),
        );
    }
}
