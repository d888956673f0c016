//! `dropout.fit`: a hub motor's axle, width and flats against the dropouts that hold it.

use lockring_calc::doubt::Limit;
use lockring_calc::dropout::{
    self, Axle, AxleFit, Dropout, FrameMaterial, SlotFit, Wheel, WidthFit, WidthLimits,
};
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Hub motor and dropouts.
pub static CHECK: Check = Check {
    id: "dropout.fit",
    title: "hub motor between the dropouts",
    gates: &[Stage::Intake],
    family: Family::Fit,
    version: 6,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "Brown, Frame Spacing: steel may be spread and set, other materials not; millimetres: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let Some(wheel) = prediction::driven_hub(case)? else {
        return Halt::not_applicable("a motor at the crank leaves the dropouts alone");
    };
    let axle = axle(case)?;
    if axle.verdict == Verdict::Fail {
        return Ok(vec![axle]);
    }
    let mut findings = vec![axle, width(case, wheel)?];
    if case.part(Slot::Motor)?.word("axle-kind")? == "slotted" {
        findings.push(slot(case)?);
    }
    Ok(findings)
}

/// A slotted axle needs an open slot, a through axle a closed hole.
fn axle(case: &Case<'_>) -> Result<Finding, Halt> {
    let motor = case.part(Slot::Motor)?;
    let (frame, held) = (case.word("axle-kind")?, motor.word("axle-kind")?);
    let diameter = Length::metres(motor.number("axle-diameter")?);
    let dropout = match (frame, held) {
        ("slotted", _) => Dropout::OpenSlot,
        // A slotted axle goes into no hole, whatever its size.
        (_, "slotted") => Dropout::Through(diameter),
        _ => Dropout::Through(Length::metres(case.number("axle-diameter-frame")?.value)),
    };
    let axle = match held {
        "slotted" => Axle::Flatted {
            diameter,
            flats: Length::metres(motor.number("axle-flats")?),
        },
        _ => Axle::Through(diameter),
    };
    let line = format!("dropouts {frame}, motor axle {held}");
    let number = case.job().number;
    Ok(match dropout::fit_axle(dropout, axle) {
        AxleFit::SameKind if held == "slotted" => {
            Finding::new(Verdict::Pass, format!("{line}: the kinds go together"))
        }
        AxleFit::SameKind => Finding::new(
            Verdict::Pass,
            format!(
                "{line}: both for a through axle of {:.0} mm",
                diameter.as_millimetres()
            ),
        ),
        AxleFit::DiameterDiffers => {
            let hole = match dropout {
                Dropout::Through(hole) => hole.as_millimetres(),
                Dropout::OpenSlot => diameter.as_millimetres(),
            };
            Finding::new(
                Verdict::Fail,
                format!(
                    "{line}: the frame takes a through axle of {hole:.1} mm, the motor one of {:.1} mm",
                    diameter.as_millimetres()
                ),
            )
            .with_arithmetic(format!(
                "{hole:.1} mm - {:.1} mm = {:+.1} mm; at most 0.1 mm either way",
                diameter.as_millimetres(),
                hole - diameter.as_millimetres()
            ))
            .with_remedy(format!(
                "a motor for a through axle of {hole:.0} mm: lockring build {number} motor=PART"
            ))
            .with_remedy(format!(
                "read the frame's axle again: lockring donor {number} axle-diameter-frame=…mm"
            ))
            .with_remedy("or a motor at the crank")
            .not_into_metal(1e-3 * hole - diameter.si(), 0.0)
        }
        AxleFit::SlotAxleInHole | AxleFit::ThroughAxleInSlot => Finding::new(
            Verdict::Fail,
            format!("{line}: the one does not go into the other"),
        )
        .with_remedy(format!(
            "a motor with the frame's kind of axle: lockring build {number} motor=PART"
        ))
        .with_remedy("or a motor at the crank")
        .never_conceded(),
    })
}

/// Hub width against the width between the dropouts, by what the material stands.
fn width(case: &Case<'_>, wheel: Wheel) -> Result<Finding, Halt> {
    let hub = case.part(Slot::Motor)?.number("hub-width")?;
    let dropouts = case.number(if wheel == Wheel::Front {
        "dropout-front"
    } else {
        "dropout-rear"
    })?;
    let material = prediction::material(case, wheel)?;
    let by = hub - dropouts.value;
    let known = Known {
        value: by.abs(),
        ..dropouts
    };
    let rule = |key: &str| case.rule(&format!("dropout.{key}"));
    let (good, other_standard) = (rule("width-good"), rule("other-standard"));
    let limits = WidthLimits {
        good: Length::metres(good),
        good_carbon: Length::metres(rule("carbon-good")),
        spring: Length::metres(rule("spring")),
        cold_set: Length::metres(rule("cold-set")),
    };
    let arithmetic = format!(
        "{:.1} mm hub - {:.1} mm dropouts = {:+.1} mm",
        hub * 1e3,
        dropouts.value * 1e3,
        by * 1e3
    );
    let fit = dropout::fit_width(
        Length::metres(dropouts.value),
        Length::metres(hub),
        material,
        &limits,
    )
    .map_err(|error| prediction::unusable(case, "dropouts and hub", &error))?;
    let mut finding = if by < 0.0 {
        // Room is filled with spacers, as far as hubs of other widths go into frames made for wider ones: beyond it the
        // axle does not reach.
        let most = rule(if wheel == Wheel::Front {
            "fork-spacers-most"
        } else {
            "spacers-most"
        });
        Judged::new("room beside the hub", known, Kind::Length, "mm")
            .between(Limit::AtMost(good), Limit::AtMost(most))
            .never_conceded()
    } else {
        let spread = Judged::new("spread of the dropouts", known, Kind::Length, "mm");
        match material {
            // Steel can be set; how far is usual is judgement.
            FrameMaterial::Steel => {
                // A fork's blades are shorter than stays, and their hubs nearer to each other in width.
                let most = rule(if wheel == Wheel::Front {
                    "fork-most"
                } else {
                    "steel-most"
                });
                let mut finding = spread.between(Limit::AtMost(good), Limit::AtMost(most));
                if known.value > limits.cold_set.si() && finding.verdict != Verdict::Fail {
                    finding.summary = format!("{}; beyond what steel is usually set by", finding.summary);
                }
                finding
            }
            // Bonded and carbon frames are not spread at all: what needs nothing done is the most.
            FrameMaterial::Carbon => spread.between(
                Limit::AtMost(limits.good_carbon.si().min(good)),
                Limit::AtMost(good),
            ),
            // What springs open springs back; no other metal than steel is set for good. How far that goes is
            // judgement and stops nothing before the hub is plainly one of another standard.
            _ => {
                let stops = spread.against(Limit::AtMost(other_standard));
                let sprung = spread.between(Limit::AtMost(good), Limit::AtMost(limits.spring.si()));
                if stops.verdict == Verdict::Fail {
                    stops
                } else if sprung.verdict == Verdict::Fail {
                    // What judgement does not let be accepted is not named as what may be.
                    prediction::advise_only(
                        spread.against(Limit::AtMost(good)),
                        &format!(
                            "beyond the {:.0} mm that metal springs open by workshop judgement, and this one is not to be set",
                            limits.spring.as_millimetres()
                        ),
                    )
                } else {
                    sprung
                }
            }
        }
    };
    finding = finding.with_arithmetic(arithmetic);
    let other = format!(
        "or a motor of the frame's width: lockring build {} motor=PART",
        case.job().number
    );
    let code = if wheel == Wheel::Front {
        "dropout-front"
    } else {
        "dropout-rear"
    };
    let what = if wheel == Wheel::Front { "fork" } else { "frame" };
    let again = prediction::read_again(case, code, "…mm");
    Ok(match fit {
        // Nothing was changed: the readings stand together.
        WidthFit::Fits { .. } => finding.with_remedy(format!(
            "measure again: lockring measure {} {code} …mm",
            case.job().number
        )),
        WidthFit::Spacers { .. } if finding.verdict == Verdict::Fail => finding
            .with_remedy(format!("a hub of another standard than the {what}'s: no spacers fill so much"))
            .with_remedy(other),
        WidthFit::Spacers { total } => finding
            .with_remedy(format!(
                "axle spacers of {:.1} mm together, the wheel dished to suit, and a concession that names them",
                total.as_millimetres()
            ))
            .with_remedy(other),
        WidthFit::Springs { .. } => finding
            .with_remedy(match material {
                FrameMaterial::Steel => format!("the {what} springs open by hand: concede, or set it"),
                _ => format!("the {what} springs open by hand: concede; this material is not set"),
            })
            .with_remedy(other),
        WidthFit::ColdSet { .. } if finding.verdict != Verdict::Fail => finding
            .with_remedy(format!(
                "cold-set the {what}, align the dropouts, look for cracks: {again}"
            ))
            .with_remedy(other),
        WidthFit::ColdSet { .. } => finding
            .with_remedy(format!("the {what} may not be spread so far"))
            .with_remedy(other),
        WidthFit::Refused { .. } => finding
            .with_remedy(format!(
                "this material may not be spread so far: do not press the {what} open"
            ))
            .with_remedy(other),
    })
}

/// The flats in the slot: never forced in, and never filed until they rock.
fn slot(case: &Case<'_>) -> Result<Finding, Halt> {
    let width = case.number("slot-width")?;
    let flats = case.part(Slot::Motor)?.number("axle-flats")?;
    let play = width.value - flats;
    let close = Length::millimetres(dropout::CLOSE_PLAY_MM).si();
    let filing = Length::millimetres(dropout::FILING_MM).si();
    let judged = Judged::new(
        "play of the axle's flats in the slot",
        Known { value: play, ..width },
        Kind::Length,
        "mm",
    );
    let finding = if play > 0.0 {
        let mut finding = judged.against(Limit::Within(0.0, close));
        // A loose slot cannot be undone; a close torque arm may take it up.
        finding.verdict = finding.verdict.min(Verdict::Caution);
        finding
    } else {
        judged.between(Limit::Within(0.0, close), Limit::Within(-filing, close))
    };
    let finding = finding.with_arithmetic(format!(
        "{:.2} mm slot - {:.2} mm flats = {:+.2} mm",
        width.value * 1e3,
        flats * 1e3,
        play * 1e3
    ));
    let fit = dropout::fit_slot(Length::metres(width.value), Length::metres(flats))
        .map_err(|error| prediction::unusable(case, "slot and axle", &error))?;
    let number = case.job().number;
    let other = format!("or a motor with narrower flats: lockring build {number} motor=PART");
    Ok(match fit {
        SlotFit::Close { .. } => finding.with_remedy(format!(
            "offer up the axle, measure again: lockring measure {number} slot-width …mm"
        )),
        SlotFit::Loose { .. } => {
            finding.with_remedy("a torque arm that fits the flats closely on this side, and a concession")
        }
        SlotFit::File { remove } => finding
            .with_remedy(format!(
                "file {:.2} mm off to a template, no further, and measure again: {}",
                remove.as_millimetres(),
                prediction::read_again(case, "slot-width", "…mm")
            ))
            .with_remedy(other),
        SlotFit::BeyondFiling { remove } => finding
            .with_remedy(format!(
                "{:.2} mm would have to go: more than may be filed ({:.1} mm)",
                remove.as_millimetres(),
                filing * 1e3
            ))
            .with_remedy(other)
            .never_conceded(),
    })
}

#[cfg(test)]
mod tests;
