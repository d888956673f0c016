//! `wheel.clearances`: speed magnet, tyre, spokes, and steering lock to lock.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::checks::donor_wheels::roomy;
use crate::judge::Judged;
use crate::prediction;
use crate::ride_class;
use crate::stage::Stage;
use crate::unit::Kind;

/// What turns and what steers stays clear.
pub static CHECK: Check = Check {
    id: "wheel.clearances",
    title: "magnet, tyre and spokes in order, steering free",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 3,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "magnet 2 mm good, 3 at most: common practice, no source; tyre 6 mm, racing 4: as donor.wheels; \
             spokes 20 %: wheel-building handbooks, from memory; chain 2 mm from the stay: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let hub = !prediction::is_mid(case)?;
    // A hub motor usually counts its own turns and has no magnet on the spokes.
    prediction::need(
        case,
        if hub {
            &["steering-free"]
        } else {
            &["magnet-gap", "steering-free"]
        },
    )?;
    let mut findings = vec![steering(case)?];
    findings.extend(magnet(case));
    if let Some(room) = case.optional_number("tyre-gap") {
        findings.push(roomy(case, room, "tyre-gap")?);
    }
    findings.extend(chain(case));
    if hub {
        findings.extend(spokes(case));
    }
    Ok(findings)
}

fn steering(case: &Case<'_>) -> Result<Finding, Halt> {
    let finding = if case.flag("steering-free")? {
        Finding::new(
            Verdict::Pass,
            "steering free from lock to lock: within stored limit",
        )
    } else {
        Finding::new(
            Verdict::Fail,
            "something pulls, pinches or stops the steering from lock to lock",
        )
    };
    Ok(finding
        .with_arithmetic(prediction::caution("ft-steering"))
        .with_arithmetic(ride_class::D2)
        .with_remedy(format!(
            "slack in the loom and hoses at full lock, then: {}",
            prediction::to_record(case, "steering-free")
        )))
}

fn magnet(case: &Case<'_>) -> Option<Finding> {
    let (good, most) = (
        case.rule("sensor.magnet-gap-good"),
        case.rule("sensor.magnet-gap-most"),
    );
    let finding = Judged::new(
        "gap from speed magnet to sensor",
        case.optional_number("magnet-gap")?,
        Kind::Length,
        "mm",
    )
    .between(Limit::AtMost(good), Limit::AtMost(most));
    Some(finding.with_remedy(format!(
        "move the sensor, or the magnet nearer to the rim: {}",
        prediction::read_again(case, "magnet-gap", "MM")
    )))
}

/// The chain beside the smallest cog; nothing where nobody measured it.
fn chain(case: &Case<'_>) -> Option<Finding> {
    let finding = Judged::new(
        "gap from the chain on the smallest cog to the stay",
        case.optional_number("chain-gap")?,
        Kind::Length,
        "mm",
    )
    .against(Limit::AtLeast(case.rule("chain.stay-gap")));
    Some(finding.with_remedy(format!(
        "a spacer between axle and dropout, then dish the wheel again: {}",
        prediction::read_again(case, "chain-gap", "MM")
    )))
}

fn spokes(case: &Case<'_>) -> Option<Finding> {
    let finding = Judged::new(
        "spread of spoke tension on a side",
        case.optional_number("spoke-spread")?,
        Kind::Ratio,
        "%",
    )
    .against(Limit::AtMost(case.rule("wheel.spoke-spread")))
    .with_arithmetic(format!(
        "aim at {:.0} %; a hub motor pulls harder on slack spokes",
        100.0 * case.rule("wheel.spoke-spread-aim")
    ))
    .with_remedy(format!(
        "even out the tension: {}",
        prediction::read_again(case, "spoke-spread", "10%")
    ));
    Some(prediction::advise_only(
        finding,
        "the level is from memory of wheel-building handbooks",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};

    fn free(bench: Bench) -> Bench {
        bench.measure(&[("steering-free", "yes")])
    }

    #[test]
    fn the_trekking_bicycle_passes_with_its_magnet_inside_the_hub() {
        // Worked example of the trade (common practice, no source): tyre gap 7, spokes +-11 %.
        let fitted = free(trekking()).measure(&[("tyre-gap", "7"), ("spoke-spread", "11 %")]);
        assert_eq!(fitted.expect(&CHECK, Verdict::Pass).findings.len(), 3);
    }

    #[test]
    fn each_limit_is_crossed_through_its_band_of_doubt() {
        // Feeler and rule 0.25 mm: doubt 0.5 mm; tension meter 2 %: doubt 4 %.
        for (code, value, verdict) in [
            ("magnet-gap", "1.4", Verdict::Pass),
            ("magnet-gap", "1.8", Verdict::Caution),
            ("magnet-gap", "3.3", Verdict::Caution),
            ("magnet-gap", "3.6", Verdict::Fail),
            ("tyre-gap", "6.6", Verdict::Pass),
            ("tyre-gap", "6.2", Verdict::Caution),
            ("tyre-gap", "5.8", Verdict::Caution),
            ("tyre-gap", "3.4", Verdict::Fail),
            ("chain-gap", "3.2", Verdict::Pass),
            ("chain-gap", "2.1", Verdict::Caution),
            ("chain-gap", "1.0", Verdict::Fail),
            ("spoke-spread", "15 %", Verdict::Pass),
            ("spoke-spread", "18 %", Verdict::Caution),
            ("spoke-spread", "30 %", Verdict::Caution),
        ] {
            free(trekking()).measure(&[(code, value)]).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn spokes_concern_a_motor_in_the_wheel_only() {
        let mid = free(longtail()).measure(&[("magnet-gap", "1.5"), ("spoke-spread", "30 %")]);
        assert_eq!(mid.expect(&CHECK, Verdict::Pass).findings.len(), 2);
    }

    #[test]
    fn a_loom_that_pulls_fails_with_its_caution_and_slack_clears_it() {
        let pulling = trekking().measure(&[("steering-free", "no")]);
        let report = pulling.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].arithmetic[0].contains("lock to lock"),
            "{:?}",
            report.findings[0].arithmetic
        );
        free(pulling).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_motor_at_the_crank_needs_the_magnet_gap_too() {
        assert_eq!(longtail().expect(&CHECK, Verdict::Open).missing.len(), 2);
        assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 1);
    }

    #[test]
    fn what_was_moved_as_the_remedies_say_clears_it() {
        trekking().measure(&[("steering-free", "no")]).cured(
            &CHECK,
            "lockring measure 20 steering-free yes/no",
            |job| job.measure(&[("steering-free", "yes")]),
        );
        for (code, wrong, right, blank) in [
            ("magnet-gap", "3.6", "1.4", "MM"),
            ("tyre-gap", "3.4", "7", "…mm"),
            ("chain-gap", "1.0", "3.2", "MM"),
            ("spoke-spread", "30 %", "10%", "10%"),
        ] {
            free(trekking()).measure(&[(code, wrong)]).cured(
                &CHECK,
                &format!("lockring measure 20 {code} {blank} --anew"),
                |job| job.again(&[(code, right)]),
            );
        }
    }
}
