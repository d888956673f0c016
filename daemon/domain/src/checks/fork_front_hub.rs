//! `fork.front_hub`: whether the fork may hold a motor's axle at all, and the least torque arms.
//! What beyond that needs a signature is `fork.signature`.

use lockring_calc::dropout::{Standing, Wheel};

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::prediction;
use crate::stage::Stage;

/// Front hub motor and fork.
pub static CHECK: Check = Check {
    id: "fork.front_hub",
    title: "fork fit to hold a front hub motor",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Safe,
    version: 3,
    concede: Concede::Never,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "workshop judgement and common practice, no source: no standard for torque arms was found; an arm sits on its flats \
             with up to 0.2 mm of play and is filed by up to 0.3 mm: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if prediction::driven_hub(case)? != Some(Wheel::Front) {
        return Halt::not_applicable("the motor is not in the fork");
    }
    let fork = case.word("fork-kind")?;
    let asked = prediction::arms_asked(case, Wheel::Front)?;
    let arms = prediction::arms_in_build(case)?;
    // Steel stops only where there is no arm at all; softer forks want all that are asked.
    let least = if asked.standing == Standing::Plain {
        1
    } else {
        u32::from(asked.arms)
    };
    let needs_work = arms.remark.is_some();
    let misfit = arms
        .misfit
        .or(arms.remark)
        .map_or_else(String::new, |misfit| format!(" ({misfit})"));
    let arms = arms.sides;
    let counted =
        format!("fork {fork}: torque arms for {arms} side(s) in the build{misfit}, {least} at least");
    let (verdict, remark) = match asked.standing {
        Standing::Refused => (Verdict::Fail, "no motor axle in a carbon fork"),
        _ if arms < least => (Verdict::Fail, "a fork's slots never hold a motor alone"),
        _ if needs_work => (Verdict::Caution, "so many, once they sit closely"),
        _ => (Verdict::Pass, "within stored limit"),
    };
    let text = if asked.standing == Standing::Plain {
        "in-front-hub-steel"
    } else {
        "in-front-hub-alloy"
    };
    let mut finding =
        Finding::new(verdict, format!("{counted}: {remark}")).with_arithmetic(prediction::caution(text));
    let number = case.job().number;
    if (arms < least || needs_work) && asked.standing != Standing::Refused {
        finding = finding.with_remedy(format!(
            "torque arms for {least} side(s): lockring build {number} torque-arm=PART"
        ));
    }
    Ok(vec![finding.with_remedy(format!(
        "a rear hub or a motor at the crank: lockring build {number} motor=PART"
    ))])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, trekking};
    use crate::command::ReceiptText;

    fn front(fork: &str) -> Bench {
        let motor = [("place", "front-hub"), ("hub-width", "100 mm")];
        trekking()
            .state(&[("fork-kind", fork)])
            .receive("motor", &motor, ReceiptText::default())
    }

    fn arms(bench: Bench, sides: &str) -> Bench {
        bench.receive("torque-arm", &[("sides", sides)], ReceiptText::default())
    }

    #[test]
    fn steel_needs_one_arm_at_least() {
        // Common practice, no source: a 250 W front motor without an arm broke a steel dropout.
        front("steel-rigid").expect(&CHECK, Verdict::Pass);
        arms(front("steel-rigid"), "1").expect(&CHECK, Verdict::Pass);
        let bare = front("steel-rigid").build(&[("torque-arm", "none")]);
        let report = bare.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].contains("torque-arm=PART"),
            "{:?}",
            report.findings
        );
        bare.build(&[("torque-arm", "arm-2")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn aluminium_and_suspension_stop_unless_two_arms_are_there() {
        for fork in ["aluminium-rigid", "suspension"] {
            let one = arms(front(fork), "1");
            one.expect(&CHECK, Verdict::Fail);
            arms(one, "2").expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn an_arm_that_does_not_fit_the_flats_is_none() {
        let wide = front("steel-rigid").receive("torque-arm", &[("flats", "12 mm")], ReceiptText::default());
        let report = wide.expect(&CHECK, Verdict::Fail);
        assert!(
            report.summary().contains("the axle turns in it"),
            "{}",
            report.summary()
        );
        // Common practice, no source: filed as a slot is.
        let tight =
            front("steel-rigid").receive("torque-arm", &[("flats", "9.9 mm")], ReceiptText::default());
        let report = tight.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("file 0.10 mm"), "{}", report.summary());
        tight.cured(&CHECK, "lockring build 20 torque-arm=PART", |job| {
            job.receive("torque-arm", &[("flats", "10 mm")], ReceiptText::default())
        });
    }

    #[test]
    fn carbon_is_refused_with_any_number_of_arms() {
        front("carbon").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn other_motors_are_not_concerned_and_an_unknown_fork_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        hardtail().expect(&CHECK, Verdict::NotApplicable);
        front("steel-rigid")
            .forget("fork-kind")
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_arms_the_remedy_names_clear_it() {
        front("steel-rigid").build(&[("torque-arm", "none")]).cured(
            &CHECK,
            "lockring build 20 torque-arm=PART",
            |job| job.build(&[("torque-arm", "arm-2")]),
        );
    }
}
