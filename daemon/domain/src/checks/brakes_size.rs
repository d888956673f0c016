//! `brakes.size`: kind and size of the brakes for the mass and speed of the build.

use lockring_calc::brakes::{self, RotorStep};
use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;
use lockring_calc::quantity::{Length, Mass};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction::{self, Brake};
use crate::ride_class::SpeedLimit;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Brakes for the mass and speed.
pub static CHECK: Check = Check {
    id: "brakes.size",
    title: "kind and size of the brakes for mass and speed",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Safe,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: 160/160 mm to 110 kg gross, 180/160 to 150 kg, 203/180 to 200 kg, 203/203 with four pistons above; a stop \
             over 7 m counts as a failed brake: ISO 4210-2; no disc brake on a fast build: workshop judgement",
    run,
};

const ADVICE: &str = "a workshop rule of sizes; the stops of the test ride decide";

fn run(case: &Case<'_>) -> Outcome {
    let gross = prediction::gross_mass(case)?;
    let mut findings = vec![kinds(case, gross)?];
    for (wheel, word) in [(Wheel::Front, "front"), (Wheel::Rear, "rear")] {
        if prediction::brake(case, wheel)?.is_disc() {
            findings.push(rotor(case, gross, wheel, word)?);
        }
    }
    findings.extend(pistons(case, gross));
    warn_long_stop(case, &mut findings[0])?;
    Ok(findings)
}

/// Says where the usual stop of this mass is over what stops the ride. Beside two disc brakes it decides nothing: by size and
/// pistons they are stronger than an everyday bicycle's and stop it sooner. Of others no size is judged.
fn warn_long_stop(case: &Case<'_>, finding: &mut Finding) -> Result<(), Halt> {
    let stop = prediction::usual_stop(case)?.value;
    if stop <= case.rule("brake.stop-most") {
        return Ok(());
    }
    if let Some(over) = prediction::stop_over(case, stop) {
        finding.summary = format!(
            "{}; with everyday brakes that mass is expected to stop in {} from {}, {over}: stronger brakes before buying, and \
             stops before anything else on the ride",
            finding.summary,
            unit::show_about(Kind::Length, "m", stop),
            unit::show_about(Kind::Speed, "km/h", case.rule("brake.stop-speed"))
        );
        if !both(case, Brake::is_disc)? {
            *finding = better(case, finding.clone());
        }
    }
    Ok(())
}

/// Whether something is so of the brakes of both wheels.
fn both(case: &Case<'_>, kind: fn(Brake) -> bool) -> Result<bool, Halt> {
    let (front, rear) = (
        prediction::brake(case, Wheel::Front)?,
        prediction::brake(case, Wheel::Rear)?,
    );
    Ok(kind(front) && kind(rear))
}

/// The finding as a caution, with the brakes that clear it.
fn better(case: &Case<'_>, mut finding: Finding) -> Finding {
    finding.verdict = finding.verdict.max(Verdict::Caution);
    if !finding.remedies.is_empty() {
        return finding;
    }
    finding
        .with_arithmetic(prediction::caution("in-brakes"))
        .with_remedy(format!(
            "quote line: better brakes before the motor: lockring build {} brake-set=PART",
            case.job().number
        ))
}

/// Nothing better than side-pull callipers, cantilevers or a coaster on a heavy or fast build. Cantilevers are counted among
/// them by judgement: with the same hand they press less than linear-pull brakes.
fn kinds(case: &Case<'_>, gross: Known) -> Result<Finding, Halt> {
    let (front, rear) = (
        prediction::brake(case, Wheel::Front)?.kind,
        prediction::brake(case, Wheel::Rear)?.kind,
    );
    let plain = |kind: &str| matches!(kind, "rim-caliper" | "rim-cantilever" | "coaster" | "none");
    let limit = prediction::ride_class(case)?
        .max_assist_speed
        .map(SpeedLimit::metres_per_second);
    let speed = limit
        .into_iter()
        .chain(case.optional_number("top-speed").map(|wish| wish.value))
        .fold(0.0, f64::max);
    let (heavy, fast) = (case.rule("brake.plain-gross"), case.rule("brake.plain-speed"));
    let shown = |kind, unit, si| unit::show(kind, unit, si);
    let mass = shown(Kind::Mass, "kg", (gross.value * 10.0).round() / 10.0);
    let line = format!("brakes {front} and {rear}");
    // The limits are those of plain brakes; beside others they would say the opposite of the verdict.
    if !(plain(front) && plain(rear)) {
        let finding = Finding::new(
            Verdict::Pass,
            format!(
                "{line}: better than side-pull or coaster alone, for {mass} gross and {:.0} km/h",
                speed * 3.6
            ),
        );
        let undisced = case.rule("brake.no-disc-speed");
        if speed < undisced - 1e-9 || !both(case, |brake| !brake.is_disc())? {
            return Ok(finding);
        }
        let mut finding = better(case, finding);
        finding.summary = format!(
            "{}; no disc brake for a build as fast as {}",
            finding.summary,
            shown(Kind::Speed, "km/h", undisced)
        );
        return Ok(finding);
    }
    let numbers = format!(
        "{mass} gross (up to {} for plain brakes), {:.0} km/h (under {})",
        shown(Kind::Mass, "kg", heavy),
        speed * 3.6,
        shown(Kind::Speed, "km/h", fast)
    );
    let over = gross.value + gross.expanded() > heavy || speed >= fast - 1e-9;
    if over {
        let line = format!("{line}: nothing better than side-pull or coaster for {numbers}");
        return Ok(better(case, Finding::new(Verdict::Caution, line)));
    }
    Ok(Finding::new(
        Verdict::Pass,
        format!("{line}: within stored limit for {numbers}"),
    ))
}

/// Rotor diameter against the step of the gross mass, taken at the upper end of its doubt.
fn rotor(case: &Case<'_>, gross: Known, wheel: Wheel, word: &str) -> Result<Finding, Halt> {
    let slot = if wheel == Wheel::Front {
        Slot::RotorFront
    } else {
        Slot::RotorRear
    };
    let number = case.job().number;
    let Some(diameter) = prediction::rotor(case, wheel)? else {
        let came = prediction::brake_that_came(case, wheel).unwrap_or("none");
        return Ok(Finding::new(
            Verdict::Fail,
            format!("{word} rotor: none; the bicycle came with {came} there, and a disc brake grips a rotor"),
        )
        .with_remedy(format!("a rotor: lockring build {number} {}=PART", slot.word()))
        .with_remedy(format!(
            "or, disc brake and rotor are on the bicycle: {} brake-{word}=KIND",
            prediction::to_record(case, slot.word())
        ))
        .never_conceded());
    };
    let heaviest = gross.value + gross.expanded();
    let (front, rear) = sizes(case, heaviest)?;
    let wanted = if wheel == Wheel::Front { front } else { rear };
    let known = Known {
        value: diameter,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let what = format!("{word} rotor");
    let finding = Judged::new(&what, known, Kind::Length, "mm").against(Limit::AtLeast(wanted.si()));
    Ok(prediction::advise_only(finding, ADVICE)
        .with_arithmetic(format!(
            "{:.1} kg gross + {:.1} kg of doubt = {heaviest:.1} kg: at least {:.0} mm",
            gross.value,
            gross.expanded(),
            wanted.as_millimetres()
        ))
        .with_remedy(format!(
            "a rotor of {:.0} mm with its adaptor, if fork and frame take it: lockring build {number} {}=PART",
            wanted.as_millimetres(),
            slot.word()
        )))
}

fn sizes(case: &Case<'_>, gross: f64) -> Result<(Length, Length), Halt> {
    let size = |key: &str| Length::metres(case.rule(key));
    let (small, medium, large) = (
        size("brake.rotor-small"),
        size("brake.rotor-medium"),
        size("brake.rotor-large"),
    );
    let step = |key: &str, front, rear| RotorStep {
        up_to: Mass::kilograms(case.rule(key)),
        front,
        rear,
    };
    let steps = [
        step("brake.rotor-160-gross", small, small),
        step("brake.rotor-180-gross", medium, small),
        step("brake.rotor-203-gross", large, medium),
    ];
    brakes::rotor_sizes(Mass::kilograms(gross), &steps, (large, large))
        .map_err(|error| prediction::unusable(case, "mass and rotor steps", &error))
}

/// Above the last step the callipers want four pistons.
fn pistons(case: &Case<'_>, gross: Known) -> Option<Finding> {
    let heaviest = gross.value + gross.expanded();
    let set = case.optional_part(Slot::BrakeSet)?;
    let is_disc = prediction::brake(case, Wheel::Front).is_ok_and(|brake| brake.new && brake.is_disc());
    if heaviest <= case.rule("brake.rotor-203-gross") || !is_disc {
        return None;
    }
    let pistons = set.optional_number("pistons")?;
    let known = Known {
        value: pistons,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let finding = Judged::new("pistons per calliper", known, Kind::Count, "")
        .against(Limit::AtLeast(case.rule("brake.heavy-pistons")));
    Some(prediction::advise_only(finding, ADVICE).with_remedy(format!(
        "callipers of four pistons: lockring build {} brake-set=PART",
        case.job().number
    )))
}

#[cfg(test)]
mod tests;
