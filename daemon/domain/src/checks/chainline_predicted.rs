//! `chainline.predicted`: where the ring will run beside the cassette, and the chain's angle at the largest
//! cog, from the parts: before they are bought. What it proves to be is measured at the fitting.

use super::chainline_centre::{self, Line};
use super::chainline_cog_angles;
use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction::{self, sprockets};
use crate::stage::Stage;

/// Ring plane, spacers and dish against dropouts, gap and the cogs' spacing.
pub static CHECK: Check = Check {
    id: "chainline.predicted",
    title: "predicted chainline",
    gates: &[Stage::Intake],
    family: Family::Fit,
    version: 4,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "geometry; limits common practice, no source: 5 mm good, 8 mm at most from the cassette's centre, a single \
             cog 2 mm good, 5 mm at most; 3.0 degrees good and 3.5 at most on the largest cog; the sheets' own doubt is judgement",
    run,
};

/// Parts that decide where the chain runs.
const PARTS: [Slot; 3] = [Slot::Motor, Slot::Chainring, Slot::Cassette];

fn run(case: &Case<'_>) -> Outcome {
    if !prediction::is_mid(case)? {
        return Halt::not_applicable(
            "the ring runs on the bicycle's own bottom bracket: chainline.centre judges one that is changed, as measured",
        );
    }
    // A spacer that is put in at the stand is no plan any more: what it makes of the line is measured there.
    let is_here = |slot: &Slot| case.optional_part(*slot).is_none() || case.receipt(*slot).is_some();
    // That they came early takes nothing from what was foreseen: until intake is passed it stands.
    if PARTS.iter().all(is_here) && is_past_intake(case) {
        return Halt::not_applicable(
            "motor, ring and cogs are here: chainline.centre and chainline.cog_angles judge the line as measured",
        );
    }
    let Some(front) = prediction::predicted_front_line(case)? else {
        return Halt::not_applicable(
            "the catalogue does not say where this motor's ring runs (ring-plane): chainline.centre judges it as measured",
        );
    };
    let single = sprockets::cogs(case)?.len() == 1;
    prediction::need(
        case,
        if single {
            &["dropout-rear", "single-cog-gap", "cog-thickness"]
        } else {
            &["dropout-rear", "first-cog-gap", "stay-length"]
        },
    )?;
    let rear = sprockets::sprockets(case)?;
    let mut findings = vec![chainline_centre::judged(case, &front, &rear, Line::Predicted)];
    if !single {
        let angles = chainline_cog_angles::angles(case, &front, &rear)?;
        findings.push(chainline_cog_angles::of_largest(
            case,
            &angles,
            &front,
            &rear,
            Line::Predicted,
        )?);
    }
    Ok(findings)
}

/// Whether intake was passed, or the line was measured on a job that came back to it.
fn is_past_intake(case: &Case<'_>) -> bool {
    let job = case.whole_job();
    let is_measured = |key: &str| job.facts.get(key).is_some_and(|fact| fact.stale.is_none());
    job.passed.contains_key(&Stage::Intake) || is_measured("chainline-front") || is_measured("line-gap")
}

#[cfg(test)]
mod tests;
