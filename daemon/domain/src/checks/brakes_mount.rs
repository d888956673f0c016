//! `brakes.mount`: rotors that their mounts take, and room between calliper and motor.

use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Mounts, adapters and the calliper's room.
pub static CHECK: Check = Check {
    id: "brakes.mount",
    title: "callipers on their mounts, clear of the motor",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "a mount takes its own rotor or a larger one by an adapter, never a smaller: common practice, geometry; flat mount to \
             160 mm from memory; calliper 2 mm from a motor's cover: common practice, no source",
    run,
};

/// Sizes sold beside each other that one adapter serves, m: 200 and 203 mm.
const SAME_ROTOR: f64 = 0.004;
/// Largest rotor of a flat mount, m (from memory).
const FLAT_MOST: f64 = 0.160;

/// The codes and the slot of one end.
struct End {
    word: &'static str,
    wheel: Wheel,
    slot: Slot,
    mount: &'static str,
    least: &'static str,
    most: &'static str,
    rotor: &'static str,
}

const ENDS: [End; 2] = [
    End {
        word: "front",
        wheel: Wheel::Front,
        slot: Slot::RotorFront,
        mount: "mount-front",
        least: "mount-front-least",
        most: "mount-front-most",
        rotor: "rotor-front",
    },
    End {
        word: "rear",
        wheel: Wheel::Rear,
        slot: Slot::RotorRear,
        mount: "mount-rear",
        least: "mount-rear-least",
        most: "mount-rear-most",
        rotor: "rotor-rear",
    },
];

fn run(case: &Case<'_>) -> Outcome {
    let mut findings = Vec::new();
    for end in &ENDS {
        if [end.mount, end.least, end.most].iter().any(|key| case.knows(key))
            && prediction::brake(case, end.wheel)?.is_disc()
        {
            findings.push(mount(case, end)?);
        }
    }
    findings.extend(room(case)?);
    if findings.is_empty() {
        return Halt::not_applicable("no disc mount was looked at and no calliper sits beside a motor");
    }
    Ok(findings)
}

fn mount(case: &Case<'_>, end: &End) -> Result<Finding, Halt> {
    let job = case.job().number;
    let native = case.number(end.least)?.value;
    let rotor = match case.optional_part(end.slot) {
        Some(rotor) => rotor.number("diameter")?,
        None => case.number(end.rotor)?.value,
    };
    let known = Known {
        value: rotor,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let most = case.optional_number(end.most).map(|known| known.value);
    let what = format!("{} rotor on its mount", end.word);
    let highest = most.unwrap_or(f64::INFINITY).max(native);
    let judged = Judged::new(&what, known, Kind::Length, "mm");
    let mut finding = if highest.is_finite() {
        judged.against(Limit::Within(native, highest))
    } else {
        judged.against(Limit::AtLeast(native))
    };
    let step = rotor - native;
    finding = finding.with_arithmetic(if step.abs() <= SAME_ROTOR {
        "calliper straight on the mount".to_owned()
    } else {
        format!(
            "{:.0} mm - {:.0} mm = {:+.0} mm of rotor: an adapter of that step, its bolts as long as asked",
            1e3 * rotor,
            1e3 * native,
            1e3 * step
        )
    });
    if case.optional_word(end.mount) == Some("flat-mount") && rotor > FLAT_MOST + 1e-9 {
        finding.verdict = finding.verdict.max(Verdict::Caution);
        finding.summary = format!(
            "{}; a flat mount takes up to {:.0} mm (from memory)",
            finding.summary,
            1e3 * FLAT_MOST
        );
    }
    let wanted = if rotor < native {
        format!("of {:.0} mm or more", 1e3 * native)
    } else {
        format!("of {:.0} mm, which the mount takes bare", 1e3 * native)
    };
    Ok(finding
        .with_remedy(format!(
            "a rotor {wanted}: lockring build {job} {}=PART; brakes.size says what the mass asks",
            end.slot.word()
        ))
        // A calliper goes further out on an adapter and never further in.
        .not_into_metal(rotor - native, SAME_ROTOR))
}

/// The calliper beside a hub motor: touching fails, near is a caution.
fn room(case: &Case<'_>) -> Result<Option<Finding>, Halt> {
    let Some(wheel) = prediction::driven_hub(case)? else {
        return Ok(None);
    };
    if !prediction::brake(case, wheel)?.is_disc() {
        return Ok(None);
    }
    // At intake nothing stands beside the motor yet.
    if case.gate() < Stage::Fitting {
        return Ok(None);
    }
    let gap = case.number("calliper-gap")?;
    let finding = Judged::new("brake calliper to the motor's cover", gap, Kind::Length, "mm")
        .between(
            Limit::AtLeast(case.rule("stay.calliper-gap")),
            Limit::AtLeast(0.0),
        )
        .with_remedy(format!(
            "a spacer under the rotor and the calliper out by as much, or a slimmer calliper: {}",
            prediction::read_again(case, "calliper-gap", "VALUE")
        ))
        .never_conceded();
    Ok(Some(finding))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};

    fn mounted(least: &str) -> Bench {
        longtail().state(&[("mount-front", "post-mount"), ("mount-front-least", least)])
    }

    #[test]
    fn a_mount_goes_up_and_never_down() {
        // Common practice, no source: 203 mm of rotor on a mount of 160 or 180 mm takes an adapter;
        // on one of 220 mm it cannot go.
        for (least, verdict) in [
            ("160 mm", Verdict::Pass),
            ("203 mm", Verdict::Pass),
            ("204 mm", Verdict::Fail),
            ("220 mm", Verdict::Fail),
        ] {
            mounted(least).expect(&CHECK, verdict);
        }
        let report = mounted("180 mm").expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[0].arithmetic[0].contains("+23 mm"),
            "{:?}",
            report.findings[0]
        );
        let bare = mounted("200 mm").expect(&CHECK, Verdict::Pass);
        assert!(
            bare.findings[0].arithmetic[0].contains("straight on"),
            "{:?}",
            bare.findings[0]
        );
    }

    #[test]
    fn the_largest_marked_is_held_to_and_a_smaller_rotor_clears_it() {
        let small = mounted("160 mm").state(&[("mount-front-most", "180 mm")]);
        let report = small.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].contains("rotor-front=PART"),
            "{:?}",
            report.findings[0]
        );
        small.cured(&CHECK, "rotor-front=PART", |job| {
            job.build(&[("rotor-front", "rotor-180")])
        });
        mounted("160 mm")
            .state(&[("mount-front-most", "203 mm")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_flat_mount_is_small() {
        let flat = longtail().state(&[("mount-rear", "flat-mount"), ("mount-rear-least", "140 mm")]);
        flat.expect(&CHECK, Verdict::Caution);
        longtail()
            .build(&[("rotor-rear", "none")])
            .state(&[
                ("mount-rear", "flat-mount"),
                ("mount-rear-least", "140 mm"),
                ("rotor-rear", "160 mm"),
            ])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_calliper_beside_the_motor_wants_two_millimetres() {
        // Common practice, no source: 2 mm; contact is geometry. Feeler 0.1 mm: doubt 0.2 mm.
        let disc = trekking().state(&[("brake-rear", "hydraulic-disc")]);
        disc.expect(&CHECK, Verdict::Open);
        for (gap, verdict) in [
            ("2.3 mm", Verdict::Pass),
            ("2.1 mm", Verdict::Caution),
            ("1 mm", Verdict::Caution),
            ("-0.3 mm", Verdict::Fail),
        ] {
            disc.clone()
                .measure(&[("calliper-gap", gap)])
                .expect(&CHECK, verdict);
        }
        disc.measure(&[("calliper-gap", "1 mm")]).cured(
            &CHECK,
            "lockring measure 20 calliper-gap VALUE --anew",
            |job| job.again(&[("calliper-gap", "2.5 mm")]),
        );
    }

    #[test]
    fn rim_brakes_and_mounts_nobody_looked_at_are_not_concerned() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        longtail().expect(&CHECK, Verdict::NotApplicable);
        longtail()
            .state(&[("mount-front", "tab")])
            .expect(&CHECK, Verdict::Open);
    }
}
