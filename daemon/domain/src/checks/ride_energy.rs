//! `ride.energy`: what the ride drew against what was planned, and the range that follows.

use lockring_calc::doubt::Limit;
use lockring_calc::energy::{self, Planning};
use lockring_calc::quantity::{Consumption, Power};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::{Judged, figure};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Energy per distance on the road.
pub static CHECK: Check = Check {
    id: "ride.energy",
    title: "energy per distance, and the range that follows",
    gates: &[Stage::TestRide],
    family: Family::Power,
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: measured over predicted 1.10 good, 1.20 at most, range on 0.8 of the nameplate",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["energy-distance", "energy-charge", "energy-volts"])?;
    let drawn = drawn(case)?;
    let planning = prediction::planning(case)?;
    let predicted = predicted(case, &planning)?;
    if predicted <= Consumption::ZERO {
        return Halt::not_applicable(
            "the rider alone covers the planned road: nothing is drawn in the prediction",
        );
    }
    let mut findings = vec![ratio(case, drawn, predicted)?, range(case, drawn, &planning)?];
    findings.extend(short_run(case)?);
    findings.extend(few_stops(case));
    Ok(findings)
}

/// Energy over distance as ridden, J/m.
fn drawn(case: &Case<'_>) -> Result<Known, Halt> {
    let distance = case.number("energy-distance")?;
    let charge = case.number("energy-charge")?;
    let volts = case.number("energy-volts")?;
    let value = charge.value * volts.value / distance.value;
    let parts = [distance, charge, volts].map(|known| known.u / known.value);
    let relative = parts[0].hypot(parts[1]).hypot(parts[2]);
    Ok(Known {
        value,
        u: value * relative,
        provenance: Provenance::Measured,
    })
}

/// Energy per distance the planning model asks of the battery at the ridden mass.
fn predicted(case: &Case<'_>, planning: &Planning) -> Result<Consumption, Halt> {
    let halt = |error| prediction::unusable(case, "route", &error);
    let road = prediction::road(case, prediction::ridden_mass(case)?.value)?;
    let route = prediction::route(case)?;
    let need = energy::wheel_need(&road, &route, planning).map_err(halt)?;
    let rider = Power::watts(case.number("rider-power")?.value);
    energy::battery_need(&need, rider, &route, planning).map_err(halt)
}

fn ratio(case: &Case<'_>, drawn: Known, predicted: Consumption) -> Result<Finding, Halt> {
    let ratio = Known {
        value: drawn.value / predicted.si(),
        u: drawn.u / predicted.si(),
        ..drawn
    };
    let good = Limit::AtMost(case.rule("range.energy-ratio-good"));
    let most = Limit::AtMost(case.rule("range.energy-ratio-most"));
    let per_km = |si| unit::show(Kind::EnergyPerDistance, "Wh/km", si);
    let show = |key: &str, kind, shown| -> Result<String, Halt> {
        Ok(unit::show(kind, shown, case.number(key)?.value))
    };
    let mut finding =
        Judged::new("energy drawn over energy predicted", ratio, Kind::Count, "").between(good, most);
    let difference = 100.0 * (ratio.value - 1.0);
    finding.summary = format!(
        "{} for {} predicted ({difference:+.1} %): {}",
        per_km(drawn.value),
        per_km(predicted.si()),
        finding.summary
    );
    Ok(finding
        .with_figure(figure(
            "energy drawn",
            Kind::EnergyPerDistance,
            "Wh/km",
            drawn.value,
        ))
        .with_figure(figure(
            "energy predicted",
            Kind::EnergyPerDistance,
            "Wh/km",
            predicted.si(),
        ))
        .with_arithmetic(format!(
            "{} x {} / {} = {}",
            show("energy-charge", Kind::Charge, "Ah")?,
            show("energy-volts", Kind::Voltage, "V")?,
            show("energy-distance", Kind::Length, "km")?,
            per_km(drawn.value)
        ))
        .with_remedy(
            "look for a dragging brake, low tyre pressure, a rider who pedals less than the brief says",
        )
        .with_remedy(format!(
            "ride the loop again: lockring ride {} energy distance=KM charge=AH volts=V --anew",
            case.job().number
        )))
}

fn range(case: &Case<'_>, drawn: Known, planning: &Planning) -> Result<Finding, Halt> {
    let nameplate = prediction::battery(&case.part(Slot::Pack)?)?.energy();
    let wanted = case.number("range")?.value;
    let cold = case
        .optional_number("coldest")
        .is_some_and(|coldest| coldest.value < case.rule("range.winter-below"));
    let season = if cold {
        case.rule("range.winter-factor")
    } else {
        1.0
    };
    let reach = energy::planned_range(nameplate, Consumption::from_si(drawn.value), planning)
        .map_or(0.0, |range| range.si() * season);
    let known = Known {
        value: reach,
        u: reach * drawn.u / drawn.value,
        ..drawn
    };
    let winter = if cold {
        format!(" x {season:.2} in winter")
    } else {
        String::new()
    };
    let finding = Judged::new("planned range on the energy drawn", known, Kind::Length, "km")
        .against(Limit::AtLeast(wanted))
        .with_arithmetic(format!(
            "{:.2} x {:.1} Wh / {}{winter} = {}",
            planning.range_factor,
            nameplate.as_watt_hours(),
            unit::show(Kind::EnergyPerDistance, "Wh/km", drawn.value),
            unit::show(Kind::Length, "km", reach)
        ))
        .with_remedy("a pack of more watt hours");
    // What it reaches for certain, in whole kilometres; nothing where that is no distance.
    let sure = ((reach - known.expanded()) / 1000.0).floor();
    if sure < 1.0 || 1000.0 * sure >= wanted {
        return Ok(finding);
    }
    Ok(finding.with_remedy(format!(
        "agree a shorter distance with the rider: lockring brief {} range={sure:.0}km",
        case.job().number,
    )))
}

fn short_run(case: &Case<'_>) -> Result<Option<Finding>, Halt> {
    let distance = case.number("energy-distance")?;
    let least = case.rule("range.energy-run-least");
    let short = distance.value < least;
    let km = |si| unit::show(Kind::Length, "km", si);
    Ok(short.then(|| {
        Finding::new(
            Verdict::Caution,
            format!(
                "energy run of {}, at least {}: too short to speak for the road",
                km(distance.value),
                km(least)
            ),
        )
        .with_remedy(format!(
            "ride a longer loop: lockring ride {} energy distance=KM charge=AH volts=V --anew",
            case.job().number
        ))
    }))
}

/// A loop ridden through says little of a road with stops; nothing where nobody counted them.
fn few_stops(case: &Case<'_>) -> Option<Finding> {
    let stops = case.optional_number("energy-stops")?.value;
    let least = case.rule("range.energy-run-stops-least");
    (stops < least).then(|| {
        Finding::new(
            Verdict::Caution,
            format!("{stops:.0} stops on the energy run, at least {least:.0}: a road with stops takes more"),
        )
        .with_remedy(format!(
            "ride a loop with more stops: lockring ride {} energy distance=KM charge=AH volts=V stops=NUMBER --anew",
            case.job().number
        ))
    })
}

#[cfg(test)]
mod tests;
