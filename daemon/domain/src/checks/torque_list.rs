//! `torque.list`: every bolt that this build touches, recorded and inside its range.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::code;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::rules::Basis;
use crate::stage::Stage;
use crate::unit::Kind;

/// Mounts for which makers' families give different figures: the mark on the part decides.
const SOURCES_DISAGREE: [&str; 2] = ["calliper-front", "calliper-rear"];

/// Torques of the build.
pub static CHECK: Check = Check {
    id: "torque.list",
    title: "every bolt of the build at its torque",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    source: "the kit's card and the part's mark; ranges of the rule sheet, each with its source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let mut findings = Vec::new();
    let mut missing = Vec::new();
    for bolt in needed(case)? {
        let row = code::torque_code(bolt).expect("the list names bolts of the table of codes");
        match case.optional_number(row.key()) {
            Some(torque) => findings.push(judged(case, bolt, torque)),
            None => {
                if let Halt::Open(more) = case.open(row.key()) {
                    missing.extend(more);
                }
            }
        }
    }
    // A bolt at a wrong torque is told even while others are not recorded yet.
    if findings.iter().any(|finding| finding.verdict == Verdict::Fail) {
        findings.extend(missing.into_iter().map(unrecorded));
        return Ok(findings);
    }
    if missing.is_empty() {
        Ok(findings)
    } else {
        Err(Halt::Open(missing))
    }
}

/// The bolts this build touches, in the order they are tightened.
fn needed(case: &Case<'_>) -> Result<Vec<&'static str>, Halt> {
    let mid = prediction::is_mid(case)?;
    let chosen = |slot| case.optional_part(slot).is_some();
    let discs = case
        .optional_part(Slot::BrakeSet)
        .and_then(|brakes| brakes.optional_word("type"))
        .is_some_and(is_disc);
    let (rotor_front, rotor_rear) = (chosen(Slot::RotorFront), chosen(Slot::RotorRear));
    let all = [
        (mid, "lockring"),
        (mid, "reaction"),
        (!mid, "axle"),
        (!mid, "arm-bolt"),
        (mid, "crank"),
        (mid || chosen(Slot::Chainring), "chainring"),
        (chosen(Slot::Cassette), "cassette"),
        (mid, "pedal"),
        (true, "stem"),
        (rotor_front, "rotor-front"),
        (rotor_rear, "rotor-rear"),
        // Another rotor moves the calliper on its mount.
        (discs || rotor_front, "calliper-front"),
        (discs || rotor_rear, "calliper-rear"),
    ];
    Ok(all
        .into_iter()
        .filter(|(touched, _)| *touched)
        .map(|(_, bolt)| bolt)
        .collect())
}

fn is_disc(kind: &str) -> bool {
    matches!(kind, "hydraulic-disc" | "mechanical-disc")
}

fn judged(case: &Case<'_>, bolt: &str, torque: Known) -> Finding {
    let (range, key, material) = range(case, bolt, torque.value);
    let name = code::torque_code(bolt).map_or(bolt, |row| row.field.name);
    // The ranges are settings of the wrench, which its tolerance belongs to: no guard band.
    let setting = Known { u: 0.0, ..torque };
    let what = format!("{name}{material}");
    let rule = case.rules().get(&key).ok();
    let source = rule.map_or("", |rule| &rule.source);
    let finding = Judged::new(&what, setting, Kind::Torque, "N m")
        .against(range)
        .with_arithmetic(format!("range: {source}"))
        .with_remedy(format!(
            "tighten to the card's or the part's figure and record it: lockring torque {} {bolt} NM",
            case.job().number
        ));
    if SOURCES_DISAGREE.contains(&bolt) {
        return prediction::advise_only(finding, "makers' families disagree, the part's mark decides");
    }
    let weak = rule.is_some_and(|rule| matches!(rule.basis, Basis::Memory | Basis::Judgement));
    if weak {
        prediction::advise_only(finding, "the range is from memory, the kit's card decides")
    } else {
        finding
    }
}

/// The range of a bolt, the rule it comes from, and which bolt it takes this one for: steel
/// chainring bolts take more than aluminium ones and go by the same name.
fn range(case: &Case<'_>, bolt: &str, torque: f64) -> (Limit, String, &'static str) {
    let row = |bolt: &str| {
        let least = format!("torque.{bolt}.min");
        (
            Limit::Within(case.rule(&least), case.rule(&format!("torque.{bolt}.max"))),
            least,
        )
    };
    if bolt == "chainring" {
        let (steel, key) = row("chainring-steel");
        if steel.margin(torque) >= 0.0 {
            return (steel, key, " (of steel)");
        }
    }
    let (range, key) = row(bolt);
    (range, key, "")
}

fn unrecorded(missing: Missing) -> Finding {
    Finding::new(Verdict::Open, format!("missing: torque of {}", missing.what)).with_remedy(missing.how)
}

#[cfg(test)]
mod tests;
