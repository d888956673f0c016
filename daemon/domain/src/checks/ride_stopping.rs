//! `ride.stopping`: stopping distance from 25 km/h at the job's gross mass, and from the class's own speed.

use lockring_calc::brakes;
use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;
use lockring_calc::quantity::{Length, Mass, Speed};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction::{self, Stops};
use crate::ride_class::deference::D2;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Stopping distance, both brakes and rear alone.
pub static CHECK: Check = Check {
    id: "ride.stopping",
    title: "stopping distance, both brakes and rear alone",
    gates: &[Stage::TestRide],
    family: Family::Safe,
    version: 5,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "ISO 4210-2, dry braking, both brakes: 7 m from 25 km/h at 100 kg; three stops, 5.5 m good and 12 m for the rear \
             alone: common practice, no source; correction to the nominal speed: EN 14766:2005, track method; the stop of the stored ride class",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    // What is wrong with one stop is said before the other was tried.
    let missing = prediction::missing(case, &["stop-distance", "stop-rear"]);
    let mut findings = Vec::new();
    let mut stopped = None;
    let mut too_few = None;
    if case.knows("stop-distance") {
        let stops = Stops::at_the_usual_speed(case)?;
        stops.suppose_speeds(case);
        let stop = stops.together(case.rule("brake.stop-most"));
        let finding = both(case, &stops, stop)?;
        // What fails is cured first, and then all are ridden again.
        too_few = few(case, &stops).filter(|_| finding.verdict != Verdict::Fail);
        findings.push(finding);
        findings.extend(as_the_class_asks(case)?);
        stopped = Some(stop);
    }
    if case.knows("stop-rear") {
        findings.push(rear(case)?);
    }
    findings.extend(front(case));
    if let Some(stop) = stopped {
        findings.extend(heavier_rider(case, stop)?);
    }
    findings.extend(too_few);
    if !missing.is_empty() {
        findings.push(case.lack_all(missing));
    }
    Ok(findings)
}

fn both(case: &Case<'_>, stops: &Stops, stop: Known) -> Result<Finding, Halt> {
    let good = case.rule("brake.stop-good");
    let most = case.rule("brake.stop-most");
    let nominal = Speed::from_si(case.rule("brake.stop-speed"));
    let slowing = brakes::deceleration(nominal, Length::metres(stop.value))
        .map_err(|error| prediction::unusable(case, "stop", &error))?;
    let speed = |speed: Speed| unit::show(Kind::Speed, "km/h", speed.si());
    let what = format!("stop with both brakes from {}", speed(nominal));
    let judged = Judged::new(&what, stop, Kind::Length, "m")
        .each(&stops.counting(most))
        .between(Limit::AtMost(good), Limit::AtMost(most));
    let finding = stops
        .working()
        .into_iter()
        .fold(judged, Finding::with_arithmetic)
        .with_arithmetic(format!(
            "v² / 2s = {:.2} m/s² from {}",
            slowing.si(),
            speed(nominal)
        ))
        .with_arithmetic(prediction::caution("tr-brakes-first"))
        .with_arithmetic(D2);
    let finding = cured(case, finding, nominal);
    // A longer stop is `ride.brake_failed`.
    Ok(stops.counted(finding.never_conceded(), most))
}

/// What makes a stop shorter, and how it is ridden again.
fn cured(case: &Case<'_>, finding: Finding, from: Speed) -> Finding {
    let job = case.job().number;
    finding.with_remedy(cure(case)).with_remedy(format!(
        "then stop three times again from {}, the first with --anew: lockring ride {job} stop distance=…m speed=…km/h",
        unit::show(Kind::Speed, "km/h", from.si())
    ))
}

/// Fewer stops than speak for the next one; a brake that failed is not cleared by one good stop either.
fn few(case: &Case<'_>, stops: &Stops) -> Option<Finding> {
    let least = case.rule("brake.stops-least");
    let count = stops.counting(case.rule("brake.stop-most")).len();
    ((count as f64) < least).then(|| {
        let line = format!("{count} of {least:.0} stops with both brakes: too few to speak for the next one");
        Finding::new(Verdict::Caution, line).with_remedy(format!(
            "stop {least:.0} times in all: lockring ride {} stop distance=…m speed=…km/h",
            case.job().number
        ))
    })
}

/// What makes brakes stop sooner, by what the wheels have: a rim brake has no rotor, a disc brake leaves the rim alone.
fn cure(case: &Case<'_>) -> &'static str {
    let discs = [Wheel::Front, Wheel::Rear].map(|wheel| surface(case, wheel) == Some(Surface::Rotor));
    let rims = [Wheel::Front, Wheel::Rear].map(|wheel| surface(case, wheel) == Some(Surface::Rim));
    match (discs, rims) {
        ([true, true], _) => "bed the pads in, clean the rotors, replace oiled pads, larger rotors",
        (_, [true, true]) => {
            "bed the pads in, clean the rims, replace worn or oiled pads and stretched cables"
        }
        _ => "bed the brakes in, clean what they rub on, replace worn or oiled pads",
    }
}

/// The same for a brake that was tried alone.
fn cure_alone(case: &Case<'_>, wheel: Wheel, place: &str) -> String {
    match surface(case, wheel) {
        Some(Surface::Rotor) => format!("bed in, clean or replace the {place} pads; a larger {place} rotor"),
        Some(Surface::Rim) => {
            format!("bed in, clean the {place} rim, replace the {place} pads and a stretched cable")
        }
        _ => format!("bed the {place} brake in, clean what it rubs on, replace what is worn"),
    }
}

/// What a brake rubs on, where it can be cleaned.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Surface {
    Rotor,
    Rim,
}

fn surface(case: &Case<'_>, wheel: Wheel) -> Option<Surface> {
    let brake = prediction::brake(&case.for_cures(), wheel).ok()?;
    if brake.is_disc() {
        Some(Surface::Rotor)
    } else {
        brake.is_rim().then_some(Surface::Rim)
    }
}

/// The stop that the class itself asks for, from its own speed.
fn as_the_class_asks(case: &Case<'_>) -> Result<Option<Finding>, Halt> {
    let class = prediction::ride_class(case)?;
    let Some(asked) = class.stop else {
        return Ok(None);
    };
    let stops = Stops::brought_to(case, asked.from())?;
    let stop = stops.together(asked.within_m);
    let from = unit::show(Kind::Speed, "km/h", asked.from().si());
    let what = format!("stop with both brakes from {from} for {}", class.id);
    let judged = Judged::new(&what, stop, Kind::Length, "m")
        .each(&stops.counting(asked.within_m))
        .against(asked.limit());
    let mut finding = stops
        .working()
        .into_iter()
        .fold(judged, Finding::with_arithmetic)
        .with_arithmetic(class.deference());
    finding = cured(case, finding, asked.from());
    if asked.from_memory {
        finding = prediction::advise_only(finding, "its speed of approach is from memory");
    }
    finding = stops.counted(finding, asked.within_m);
    if let (Some(least), Some(aboard)) = (asked.rider_kg, case.optional_number("test-mass"))
        && aboard.value < least
        && finding.verdict == Verdict::Pass
    {
        finding.verdict = Verdict::Caution;
        let kg = |mass| unit::show(Kind::Mass, "kg", mass);
        finding.summary = format!(
            "{}; {} on board, {} asks for at least {}: the stop does not count",
            finding.summary,
            kg(aboard.value),
            class.id,
            kg(least)
        );
    }
    Ok(Some(finding))
}

fn rear(case: &Case<'_>) -> Result<Finding, Halt> {
    let alone = case.number("stop-rear")?;
    Ok(
        Judged::new("stop with the rear brake alone", alone, Kind::Length, "m")
            .each(&case.readings("stop-rear"))
            .against(Limit::AtMost(case.rule("brake.stop-rear-most")))
            .with_remedy(cure_alone(case, Wheel::Rear, "rear"))
            .with_remedy(format!(
                "then stop again: lockring ride {} stop-rear distance=METRES --anew",
                case.job().number
            )),
    )
}

/// The front brake alone, where somebody stopped with it: no worse than the rear may be.
fn front(case: &Case<'_>) -> Option<Finding> {
    let alone = case.optional_number("stop-front")?;
    Some(
        Judged::new("stop with the front brake alone", alone, Kind::Length, "m")
            .each(&case.readings("stop-front"))
            .against(Limit::AtMost(case.rule("brake.stop-rear-most")))
            .with_remedy(cure_alone(case, Wheel::Front, "front"))
            .with_remedy(format!(
                "then stop again: lockring ride {} stop-front distance=METRES --anew",
                case.job().number
            )),
    )
}

/// A customer heavier than the test rider stops later with the same force.
fn heavier_rider(case: &Case<'_>, stop: Known) -> Result<Option<Finding>, Halt> {
    let wanted = case.number("rider-mass")?.value + case.number("load-mass")?.value;
    let tested = case.number_or("test-mass", wanted).value;
    if wanted - tested <= case.rule("mass.test-within") {
        return Ok(None);
    }
    let bicycle = prediction::bicycle_mass(case)?.value;
    let (ridden, gross) = (
        Mass::kilograms(bicycle + tested),
        Mass::kilograms(bicycle + wanted),
    );
    let later = brakes::same_force_distance(Length::metres(stop.value), ridden, gross)
        .map_err(|error| prediction::unusable(case, "stop", &error))?;
    let kg = |mass: Mass| unit::show(Kind::Mass, "kg", mass.si());
    let metres = |si| unit::show(Kind::Length, "m", si);
    Ok(Some(
        Finding::new(
            Verdict::Caution,
            format!(
                "stopped at {} gross, the job is {}: the same force stops it in {}",
                kg(ridden),
                kg(gross),
                metres(later.si())
            ),
        )
        .with_arithmetic(format!(
            "{} x {} / {} = {}",
            metres(stop.value),
            kg(gross),
            kg(ridden),
            metres(later.si())
        ))
        .with_remedy(format!(
            "ballast to {wanted:.0} kg and stop again: lockring ride {} conditions mass={wanted:.0}kg",
            case.job().number
        )),
    ))
}

#[cfg(test)]
mod tests;
