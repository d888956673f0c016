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
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "workshop judgement and common practice, no source: no standard for torque arms was found; an arm holds flats that \
             sit closely in it, geometry; close is up to 0.2 mm of play, and an arm is filed by as much as a slot, 0.3 mm: common practice, no source",
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
        return through(case);
    }
    let asked = prediction::arms_asked(case, Wheel::Rear)?;
    if asked.standing == Standing::Refused {
        return Halt::not_applicable("carbon dropouts hold no motor's axle with any arm, see axle.reaction");
    }
    let (wanted, arms) = (u32::from(asked.arms), prediction::arms_in_build(case)?);
    let line = format!("torque arms for {} of {wanted} side(s) in the build", arms.sides);
    let remedy = format!(
        "torque arms for {wanted} side(s): lockring build {} torque-arm=PART",
        case.job().number
    );
    if arms.sides >= wanted {
        return Ok(vec![match arms.remark {
            Some(remark) => Finding::new(Verdict::Caution, format!("{line}: {remark}"))
                .with_remedy(format!("or {remedy}")),
            None => Finding::new(Verdict::Pass, line),
        }]);
    }
    let finding = match arms.misfit {
        Some(misfit) => Finding::new(Verdict::Fail, format!("{line}: {misfit}")).never_conceded(),
        None => Finding::new(
            Verdict::Caution,
            format!("{line}: order and price run without what the fitting asks for"),
        ),
    };
    Ok(vec![
        finding
            .with_arithmetic(prediction::caution("ft-torque-arm"))
            .with_remedy(remedy),
    ])
}

/// A through axle has no flats: what takes the torque is a part of the motor's own, which the fitting asks for.
fn through(case: &Case<'_>) -> Outcome {
    let arms = prediction::arms_in_build(case)?;
    let finding = match arms.misfit {
        Some(misfit) => Finding::new(Verdict::Fail, format!("reaction arm: {misfit}")).never_conceded(),
        None if arms.sides > 0 => {
            return Ok(vec![Finding::new(
                Verdict::Pass,
                "reaction arm for a through axle in the build",
            )]);
        }
        None => Finding::new(
            Verdict::Caution,
            "a through axle turns in its holes and takes no torque: order and price run without the motor's own reaction arm, \
             which the fitting asks for",
        ),
    };
    Ok(vec![finding.with_remedy(format!(
        "the reaction arm of the motor's kit, as a part of its own: lockring build {} torque-arm=PART",
        case.job().number
    ))])
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

    /// Geometry: an opening wider than the flats lets them turn, a narrower one does not go over them.
    #[test]
    fn an_arm_that_does_not_sit_closely_on_the_flats_holds_nothing() {
        let taking = |flats| trekking().receive("torque-arm", &[("flats", flats)], ReceiptText::default());
        for (flats, verdict) in [
            ("10 mm", Verdict::Pass),
            ("10.2 mm", Verdict::Pass),
            // Common practice lets a slot be filed by 0.3 mm, and two widths stated to a tenth doubt their play by 0.1 mm.
            ("9.95 mm", Verdict::Caution),
            ("9.7 mm", Verdict::Caution),
            ("9.6 mm", Verdict::Fail),
            ("10.25 mm", Verdict::Caution),
            ("10.3 mm", Verdict::Caution),
            ("10.35 mm", Verdict::Fail),
            ("12 mm", Verdict::Fail),
            ("9.5 mm", Verdict::Fail),
        ] {
            let report = taking(flats).expect(&CHECK, verdict);
            assert_eq!(report.findings[0].never, verdict == Verdict::Fail, "{flats}");
        }
        let wide = taking("12 mm").report(&CHECK);
        assert!(
            wide.summary()
                .contains("takes flats of 12 mm, the axle has 10 mm"),
            "{}",
            wide.summary()
        );
        let tight = taking("9.95 mm").report(&CHECK);
        assert!(
            tight.summary().contains("takes flats of 9.95 mm") && tight.summary().contains("file 0.05 mm"),
            "{}",
            tight.summary()
        );
        taking("9.95 mm").cured(&CHECK, "lockring build 20 torque-arm=PART", |job| {
            job.receive("torque-arm", &[("flats", "10 mm")], ReceiptText::default())
        });
        taking("12 mm").cured(&CHECK, "lockring build 20 torque-arm=PART", |job| {
            job.receive("torque-arm", &[("flats", "10 mm")], ReceiptText::default())
        });
    }

    #[test]
    fn a_through_axle_asks_for_its_own_reaction_arm_before_it_is_ordered() {
        let through = || trekking().receive("motor", &[("axle-kind", "thru-axle")], ReceiptText::default());
        // Made for flats, of which a through axle has none.
        through().expect(&CHECK, Verdict::Fail);
        let bare = through().build(&[("torque-arm", "none")]);
        let report = bare.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("reaction arm"), "{}", report.summary());
        bare.cured(&CHECK, "lockring build 20 torque-arm=PART", |job| {
            let mut job = job.build(&[("torque-arm", "arm-2")]);
            let line = job.job.build.get_mut(&Slot::TorqueArm);
            line.unwrap().part.attributes.remove("flats");
            job
        });
    }

    #[test]
    fn it_does_not_concern_a_crank_a_fork_or_what_no_arm_holds() {
        longtail().expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .receive("motor", &[("place", "front-hub")], ReceiptText::default())
            .expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .state(&[("frame-material", "carbon")])
            .expect(&CHECK, Verdict::NotApplicable);
        trekking().forget("frame-material").expect(&CHECK, Verdict::Open);
    }
}
