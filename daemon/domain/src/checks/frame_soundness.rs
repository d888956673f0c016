//! `frame.soundness`: no damage, and no carbon where a motor is clamped or held.

use lockring_calc::dropout::{FrameMaterial, Wheel};

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::prediction;
use crate::stage::Stage;

/// Damage and material.
pub static CHECK: Check = Check {
    id: "frame.soundness",
    title: "frame and fork sound, no carbon at the motor",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Safe,
    version: 2,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "general practice of cycle inspection: any crack, wrinkle, bulge, cracked paint, dent, deep corrosion or bent part stops \
             the job",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let damage = damage(case, case.word("damage")?);
    match material(case) {
        Ok(mut findings) => {
            findings.insert(0, damage);
            Ok(findings)
        }
        // Damage stops the job whatever else is still unknown.
        Err(_) if damage.verdict == Verdict::Fail => Ok(vec![damage]),
        Err(halt) => Err(halt),
    }
}

fn damage(case: &Case<'_>, found: &str) -> Finding {
    let seen = match found {
        "none" => {
            return Finding::new(
                Verdict::Pass,
                "no crack, wrinkle, bulge, dent, deep corrosion or bent part found on frame and fork",
            )
            .with_arithmetic(prediction::caution("in-frame-evidence"));
        }
        "crack" => "crack",
        "wrinkle" => "wrinkle",
        "bulge" => "bulge",
        "paint-crack" => "cracked paint",
        "dent" => "dent",
        "corrosion" => "deep corrosion",
        _ => "bent part",
    };
    Finding::new(
        Verdict::Fail,
        format!("{seen} found on frame or fork: no conversion of this bicycle as it is"),
    )
    .with_arithmetic(prediction::caution("in-cracks"))
    .with_remedy(format!(
        "replace the damaged part, look again: {}",
        prediction::to_record(case, "damage")
    ))
    .with_remedy("or give the bicycle back unconverted")
}

fn material(case: &Case<'_>) -> Result<Vec<Finding>, Halt> {
    let hub = prediction::driven_hub(case)?;
    let wheel = hub.unwrap_or(Wheel::Rear);
    let (part, how) = match hub {
        None => ("frame", "the motor is clamped in its shell"),
        Some(Wheel::Rear) => ("frame", "the motor's axle is held in its dropouts"),
        Some(Wheel::Front) => ("fork", "the motor's axle is held in its dropouts"),
    };
    if prediction::material(case, wheel)? != FrameMaterial::Carbon {
        return Ok(vec![Finding::new(
            Verdict::Pass,
            format!("{part} is not of carbon where {how}"),
        )]);
    }
    let other = match hub {
        Some(Wheel::Front) => "a motor elsewhere than in the fork",
        Some(Wheel::Rear) => "a front hub where the fork is of steel",
        None => "a hub motor where fork or dropouts are of metal",
    };
    Ok(vec![
        Finding::new(
            Verdict::Fail,
            format!("{part} of carbon, and {how}: not accepted"),
        )
        .with_arithmetic(prediction::caution("in-carbon"))
        .with_remedy(format!(
            "{other}: lockring build {} motor=PART",
            case.job().number
        ))
        .with_remedy("or give the bicycle back unconverted"),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    fn front_hub() -> Bench {
        trekking().receive(
            "motor",
            &[("place", "front-hub"), ("hub-width", "100 mm")],
            ReceiptText::default(),
        )
    }

    #[test]
    fn the_demo_bicycles_are_sound() {
        for bench in [trekking(), longtail(), hardtail()] {
            bench.expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn each_kind_of_damage_stops_the_job_until_the_part_is_replaced() {
        for (damage, said) in [
            ("crack", "crack"),
            ("wrinkle", "wrinkle"),
            ("bulge", "bulge"),
            ("paint-crack", "cracked paint"),
            ("dent", "dent"),
            ("corrosion", "deep corrosion"),
            ("bent", "bent part"),
        ] {
            let found = trekking().state(&[("damage", damage)]);
            let report = found.expect(&CHECK, Verdict::Fail);
            let first = &report.findings[0];
            assert_eq!(first.verdict, Verdict::Fail, "{damage}");
            assert!(first.summary.starts_with(said), "{}", first.summary);
            found.state(&[("damage", "none")]).expect(&CHECK, Verdict::Pass);
        }
        trekking()
            .build(&[("motor", "none")])
            .state(&[("damage", "crack")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn carbon_is_refused_only_where_the_motor_is() {
        longtail()
            .state(&[("frame-material", "carbon")])
            .expect(&CHECK, Verdict::Fail);
        longtail()
            .state(&[("fork-kind", "carbon")])
            .expect(&CHECK, Verdict::Pass);
        trekking()
            .state(&[("frame-material", "carbon")])
            .expect(&CHECK, Verdict::Fail);
        front_hub()
            .state(&[("fork-kind", "carbon")])
            .expect(&CHECK, Verdict::Fail);
        front_hub()
            .state(&[("frame-material", "carbon")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn an_uninspected_frame_is_open() {
        let report = trekking().forget("damage").expect(&CHECK, Verdict::Open);
        let how = &report.missing[0].how;
        assert!(how.starts_with("lockring donor 20 damage=none/crack/"), "{how}");
        trekking().forget("frame-material").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_part_replaced_as_the_remedy_says_clears_it() {
        trekking().state(&[("damage", "crack")]).cured(
            &CHECK,
            "lockring donor 20 damage=none/crack/",
            |job| job.state(&[("damage", "none")]),
        );
    }
}
