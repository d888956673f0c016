//! `axle.reaction`: what takes the motor's torque: torque arms at a hub, the reaction
//! bracket at the crank.

use lockring_calc::dropout::{self, ONE_ARM_NM, ONE_ARM_W, Standing, Wheel};
use lockring_calc::quantity::{Force, Length, Torque};

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::finding::Figure;
use crate::judge;
use crate::part::Slot;
use crate::prediction;
use crate::ride_class;
use crate::stage::Stage;
use crate::unit::Kind;

/// Torque arms or reaction bracket, as fitted.
pub static CHECK: Check = Check {
    id: "axle.reaction",
    title: "torque arms or reaction bracket hold the motor",
    gates: &[Stage::Fitting],
    family: Family::Safe,
    version: 2,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "workshop judgement and common practice, no source: no standard for torque arms was found",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    match prediction::driven_hub(case)? {
        None => bracket(case),
        Some(wheel) => arms(case, wheel),
    }
}

fn bracket(case: &Case<'_>) -> Outcome {
    let fitted = case.flag("torque-arm")?;
    let finding = if fitted {
        Finding::new(
            Verdict::Pass,
            "reaction bracket fitted, no rock: within stored limit",
        )
    } else {
        Finding::new(
            Verdict::Fail,
            "reaction bracket missing or rocking: the motor turns in the shell",
        )
    };
    Ok(vec![
        finding
            .with_arithmetic(prediction::caution("ft-bb-torque"))
            .with_arithmetic(ride_class::D2)
            .with_remedy(record(
                case,
                "seat the bracket on both bolts with its packing washers",
            )),
    ])
}

fn arms(case: &Case<'_>, wheel: Wheel) -> Outcome {
    let fitted = case.flag("torque-arm")?;
    let asked = prediction::arms_asked(case, wheel)?;
    let count = count(case)?;
    let wanted = u32::from(asked.arms);
    // An arm that was counted on the bicycle was looked at; what the data say against it is told beside the count.
    let misfit = prediction::arms_in_build(case).ok().and_then(|arms| arms.misfit);
    let why = misfit
        .as_ref()
        .map_or_else(String::new, |misfit| format!(" ({misfit})"));
    let line = format!("{count} torque arm(s){why}, {wanted} asked for");
    let finding = if asked.standing == Standing::Refused {
        Finding::new(
            Verdict::Fail,
            "carbon dropouts do not hold a motor's axle, with any number of arms",
        )
    } else if !fitted {
        Finding::new(
            Verdict::Fail,
            format!("{line}; missing, loose or rocking: the axle can turn out of its slots"),
        )
    } else if count < wanted {
        Finding::new(
            Verdict::Fail,
            format!("{line}: too few for this motor and these dropouts"),
        )
    } else {
        Finding::new(
            Verdict::Pass,
            format!("{line}, fitted, no rock: within stored limit"),
        )
    };
    let motor = case.part(Slot::Motor)?;
    let finding = forces(case)?
        .into_iter()
        .fold(finding, |finding, (figure, line)| {
            finding.with_figure(figure).with_arithmetic(line)
        });
    Ok(vec![
        finding
            .with_figure(judge::figure("torque arms", Kind::Count, "", f64::from(count)))
            .with_arithmetic(format!(
                "{:.0} N m peak (one arm up to {ONE_ARM_NM:.0}), {:.0} W rated (up to {ONE_ARM_W:.0}), {}: {wanted} asked for",
                motor.number("peak-torque")?,
                motor.number("rated-power")?,
                held_by(case, wheel)?
            ))
            .with_arithmetic(prediction::caution("ft-torque-arm"))
            .with_arithmetic(ride_class::D2)
            .with_remedy(record(
                case,
                &format!("fit an arm on {wanted} side(s) and clamp it without rock"),
            ))
            .with_remedy(format!(
                "{}: lockring build {} torque-arm=PART{}",
                if misfit.is_some() {
                    "arms that fit the axle"
                } else {
                    "more arms"
                },
                case.job().number,
                if misfit.is_some() {
                    ""
                } else {
                    ", or record those fitted with torque-arms"
                }
            )),
    ])
}

/// What the torque does at the dropouts, and at the arm's far fixing where its length is known.
fn forces(case: &Case<'_>) -> Result<Vec<(Figure, String)>, Halt> {
    let motor = case.part(Slot::Motor)?;
    let torque = Torque::newton_metres(motor.number("peak-torque")?);
    let unusable = |error| prediction::unusable(case, "axle", &error);
    let mut found = Vec::new();
    let newtons = |name: &str, force: Force| Figure {
        name: name.to_owned(),
        value: force.as_newtons(),
        unit: "N".to_owned(),
        limit: String::new(),
        margin: None,
        uncertainty: None,
    };
    if let Some(lever) = dropout::effective_length(Length::from_si(motor.number("axle-diameter")?)) {
        let force = dropout::spreading_force(torque, lever).map_err(unusable)?;
        found.push((
            newtons("force that spreads each dropout without arms", force),
            format!(
                "{:.0} N m / {:.0} mm = {:.0} N that spread each dropout without arms; the lever is judgement, kept to a \
                 published magnitude",
                torque.as_newton_metres(),
                lever.as_millimetres(),
                force.as_newtons()
            ),
        ));
    }
    let arm = case
        .optional_part(Slot::TorqueArm)
        .and_then(|arm| arm.optional_number("length"));
    if let Some(arm) = arm.map(Length::from_si) {
        let force = dropout::arm_force(torque, arm).map_err(unusable)?;
        found.push((
            newtons("force at the arm's far fixing", force),
            format!(
                "{:.0} N m / {:.0} mm = {:.0} N at the arm's far fixing, one arm alone",
                torque.as_newton_metres(),
                arm.as_millimetres(),
                force.as_newtons()
            ),
        ));
    }
    Ok(found)
}

/// What the axle is held by: dropouts softer than steel or titanium ask for a second arm.
fn held_by(case: &Case<'_>, wheel: Wheel) -> Result<String, Halt> {
    Ok(match wheel {
        Wheel::Front => format!("fork {}", case.word("fork-kind")?),
        Wheel::Rear => format!("dropouts of {}", case.word("frame-material")?),
    })
}

/// Arms counted on the bicycle, or the sides that the chosen part holds.
fn count(case: &Case<'_>) -> Result<u32, Halt> {
    if let Some(counted) = case.optional_number("torque-arms") {
        // A count inside the window of its code.
        return Ok(counted.value.round() as u32);
    }
    if case.optional_part(Slot::TorqueArm).is_none() {
        return Err(case.open("torque-arms"));
    }
    Ok(prediction::arms_in_build(case)?.sides)
}

fn record(case: &Case<'_>, what: &str) -> String {
    format!("{what}: {}", prediction::to_record(case, "torque-arm"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::command::ReceiptText;

    fn fitted(bench: Bench, answer: &str) -> Bench {
        bench.measure(&[("torque-arm", answer)])
    }

    #[test]
    fn the_trekking_bicycles_arm_holds_a_small_motor_in_steel() {
        // Worked example of the trade (common practice, no source): 32 N m, 250 W, steel: one
        // arm would do, both sides are held.
        let report = fitted(trekking(), "yes").expect(&CHECK, Verdict::Pass);
        assert!(
            report.summary().starts_with("2 torque arm(s), 1 asked for"),
            "{}",
            report.summary()
        );
        fitted(longtail(), "yes").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn missing_or_loose_fails_for_ever_until_it_is_fitted() {
        assert_eq!(CHECK.concede, Concede::Never);
        for bench in [trekking(), longtail()] {
            let loose = fitted(bench, "no");
            loose.expect(&CHECK, Verdict::Fail);
            fitted(loose, "yes").expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn the_forces_at_dropouts_and_arm_are_shown() {
        // Common practice, read: 40 N m on a 12 mm axle is put at just under 1000 lbf on each dropout,
        // 4448 N; by hand 40 / 0.009 = 4444 N, and 40 N m over an arm of 100 mm 400 N.
        let forty = fitted(
            trekking()
                .receive("motor", &[("peak-torque", "40 N m")], ReceiptText::default())
                .receive("torque-arm", &[("length", "100 mm")], ReceiptText::default()),
            "yes",
        );
        let report = forty.report(&CHECK);
        let force = |name: &str| {
            let figures = &report.findings[0].figures;
            figures
                .iter()
                .find(|figure| figure.name.contains(name))
                .unwrap()
                .value
        };
        assert!((force("spreads each dropout") / 4448.2 - 1.0).abs() < 0.01);
        assert!((force("far fixing") - 400.0).abs() < 1e-9);
        // No lever is stored for a 10 mm axle: nothing is made up.
        let thin = forty.receive("motor", &[("axle-diameter", "10 mm")], ReceiptText::default());
        let thin = fitted(thin, "yes").report(&CHECK);
        assert!(
            thin.findings[0]
                .figures
                .iter()
                .all(|figure| !figure.name.contains("spreads")),
            "{:?}",
            thin.findings[0].figures
        );
    }

    #[test]
    fn aluminium_or_a_strong_motor_asks_for_both_sides() {
        let one = fitted(trekking(), "yes").measure(&[("torque-arms", "1")]);
        one.expect(&CHECK, Verdict::Pass);
        let soft = one.clone().state(&[("frame-material", "aluminium")]);
        soft.expect(&CHECK, Verdict::Fail);
        soft.measure(&[("torque-arms", "2")])
            .expect(&CHECK, Verdict::Pass);
        // 40 N m is the last torque for one arm; the motor's change makes the count stale.
        for (torque, verdict) in [("40 N m", Verdict::Pass), ("41 N m", Verdict::Fail)] {
            let strong = trekking().receive("motor", &[("peak-torque", torque)], ReceiptText::default());
            fitted(strong, "yes")
                .measure(&[("torque-arms", "1")])
                .expect(&CHECK, verdict);
        }
        fitted(trekking(), "yes")
            .state(&[("frame-material", "carbon")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn an_arm_that_does_not_fit_is_said_and_is_not_counted_in_its_own_cure() {
        let wide = || {
            fitted(
                trekking().receive("torque-arm", &[("flats", "12 mm")], ReceiptText::default()),
                "yes",
            )
        };
        let report = wide().expect(&CHECK, Verdict::Fail);
        assert!(
            report.summary().contains("the axle turns in it"),
            "{}",
            report.summary()
        );
        let remedies = &report.findings[0].remedies;
        assert!(
            !remedies.iter().any(|remedy| remedy.contains("torque-arms")),
            "{remedies:?}"
        );
        wide().cured(&CHECK, "lockring build 20 torque-arm=PART", |job| {
            fitted(
                job.receive("torque-arm", &[("flats", "10 mm")], ReceiptText::default()),
                "yes",
            )
        });
    }

    #[test]
    fn it_is_open_until_looked_at_and_counted() {
        let report = longtail().expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing[0].how, "lockring measure 21 torque-arm yes/no");
        let uncounted = fitted(trekking().build(&[("torque-arm", "none")]), "yes");
        assert!(
            uncounted.expect(&CHECK, Verdict::Open).missing[0]
                .how
                .contains("torque-arms")
        );
    }

    #[test]
    fn an_arm_fitted_as_the_remedy_says_clears_it() {
        fitted(trekking(), "no").cured(&CHECK, "lockring measure 20 torque-arm yes/no", |job| {
            fitted(job, "yes")
        });
    }
}
