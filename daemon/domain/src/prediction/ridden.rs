//! What was ridden: masses, stops and speeds of the test ride against the model.

use lockring_calc::pack::Load;
use lockring_calc::performance::{self, Climb, DriveSystem, Place};
use lockring_calc::quantity::{Duration, Length, Speed};
use lockring_calc::speed_run;

use super::{
    air_density, assist_limit, bicycle_mass, drive, full_pack, grade, gross_mass, rider, road, unusable,
};
use crate::assist::Help;
use crate::case::{Case, Known};
use crate::finding::Halt;
use crate::unit::{self, Kind};

/// Bicycle and kit with rider and load as on the test ride; as in the brief when they were
/// not weighed.
///
/// # Errors
/// [`Halt::Open`] when a mass is missing.
pub fn ridden_mass(case: &Case<'_>) -> Result<Known, Halt> {
    let Some(aboard) = case.optional_number("test-mass") else {
        return gross_mass(case);
    };
    let bicycle = bicycle_mass(case)?;
    Ok(Known {
        value: bicycle.value + aboard.value,
        u: bicycle.u.hypot(aboard.u),
        provenance: aboard.provenance,
    })
}

/// Direction of a run over the strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// The first.
    Out,
    /// The other.
    Back,
}

/// Speed over the strip: as recorded, or its length over the time taken.
pub fn strip_speed(case: &Case<'_>, way: Way) -> Option<Known> {
    let (speed, time) = match way {
        Way::Out => ("speed-out", "strip-time-out"),
        Way::Back => ("speed-back", "strip-time-back"),
    };
    if let Some(speed) = case.optional_number(speed) {
        return Some(speed);
    }
    let time = case.optional_number(time)?;
    let length = case.optional_number("strip-length")?;
    let u = speed_run::run_doubt(
        Length::metres(length.value),
        Duration::from_si(time.value),
        Length::metres(length.u),
        Duration::from_si(time.u),
    );
    Some(Known {
        value: length.value / time.value,
        u: u.ok()?.si(),
        ..time
    })
}

/// The steady speed of the ridden bicycle on a grade, at a power of the rider.
///
/// # Errors
/// [`Halt::Open`] when the brief, the bicycle or the build is incomplete.
pub fn ridden_climb(case: &Case<'_>, ratio: f64, rider_power: f64) -> Result<Climb, Halt> {
    let system = drive(case, Load::Sustained)?;
    let road = road(case, ridden_mass(case)?.value)?;
    let pedalling = rider(case, rider_power);
    let assist = Help::of(case, None)?.assist;
    let place = Place::still(air_density(case)?, grade(ratio));
    performance::steady_climb_at(&system, assist, Some(&pedalling), &road, place)
        .map_err(|error| unusable(case, "drive", &error))
}

/// The top speed on the level with a full pack, at the push the brief names.
///
/// # Errors
/// [`Halt::Open`] when the brief, the bicycle or the build is incomplete.
pub fn level_top(case: &Case<'_>) -> Result<Climb, Halt> {
    let pedalling = rider(case, case.number("rider-power")?.value);
    let system = DriveSystem {
        pack: full_pack(case, Load::Sustained)?,
        ..drive(case, Load::Sustained)?
    };
    let road = road(case, gross_mass(case)?.value)?;
    let assist = Help::of(case, None)?.assist;
    let place = Place::still(air_density(case)?, grade(0.0));
    performance::steady_climb_at(&system, assist, Some(&pedalling), &road, place)
        .map_err(|error| unusable(case, "drive", &error))
}

/// The top speed on the level with a full pack by the motor alone, its cut-off included.
///
/// # Errors
/// [`Halt::Open`] when the brief, the bicycle or the build is incomplete.
pub fn top_alone(case: &Case<'_>) -> Result<Speed, Halt> {
    let system = DriveSystem {
        pack: full_pack(case, Load::Sustained)?,
        ..drive(case, Load::Sustained)?
    };
    let road = road(case, gross_mass(case)?.value)?;
    performance::top_speed_motor_alone(&system, &road, air_density(case)?)
        .map(|climb| climb.speed)
        .map_err(|error| unusable(case, "drive", &error))
}

/// Where the drive runs out, when it does so before assistance would be cut off; `None` when it does not or nobody can say.
pub fn ends_before_cutoff(case: &Case<'_>) -> Option<Speed> {
    let limit = assist_limit(case).ok()??;
    let top = level_top(case).ok()?.speed;
    (top.si() < reached_from(case, limit)).then_some(top)
}

/// The top speed that was read for a cut-off: assistance has not ended where the drive ran out before it. `None` where the
/// readings lie at the cut-off, or far below what the drive holds.
pub fn read_for_cutoff(case: &Case<'_>) -> Option<Speed> {
    let (out, back) = (
        case.optional_number("cutoff-out")?,
        case.optional_number("cutoff-back")?,
    );
    let mean = f64::midpoint(out.value, back.value);
    let limit = assist_limit(case).ok()??;
    if mean >= reached_from(case, limit) {
        return None;
    }
    let top = ends_before_cutoff(case)?;
    (mean >= (1.0 - case.rule("hill.speed-error")) * top.si()).then_some(top)
}

/// From which speed on a cut-off counts as reached.
fn reached_from(case: &Case<'_>, limit: Speed) -> f64 {
    (1.0 - case.rule("ride.aim")) * limit.si()
}

/// Whether the rider's hill won when it was tried last. A speed that was read later is another try.
pub fn stalled(case: &Case<'_>) -> bool {
    let speed = case.entry_of("hill-speed-ridden");
    stall(case).is_some_and(|stall| speed.is_none_or(|speed| speed <= stall))
}

/// Whether a reading of the hill belongs to the try that counts.
pub fn is_of_the_last_try(case: &Case<'_>, key: &str) -> bool {
    match (stall(case), case.entry_of(key)) {
        (Some(stall), Some(entry)) if stalled(case) => entry >= stall,
        (Some(stall), Some(entry)) => entry > stall,
        _ => true,
    }
}

/// The entry that says the hill was not climbed.
fn stall(case: &Case<'_>) -> Option<u64> {
    let is_stall = case.knows("hill-climbed") && case.flag("hill-climbed") == Ok(false);
    case.entry_of("hill-climbed").filter(|_| is_stall)
}

/// What a measured speed says about the predicted one.
#[derive(Debug)]
pub struct Comparison {
    /// The difference in words.
    pub words: String,
    /// Whether it is within the rule `hill.speed-error`.
    pub agrees: bool,
    /// Where to look when it is not.
    pub points_to: &'static str,
}

/// Compares a measured with a predicted speed, m/s.
pub fn compare_speeds(case: &Case<'_>, measured: f64, predicted: f64) -> Comparison {
    if predicted <= 0.0 {
        let points_to =
            "the drive is stronger than its sheet, or the rider pushed harder than the brief says";
        return Comparison {
            words: "the model predicts a stall".to_owned(),
            agrees: false,
            points_to,
        };
    }
    let difference = measured / predicted - 1.0;
    let shown = unit::show(Kind::Speed, "km/h", predicted);
    Comparison {
        words: format!(
            "predicted {shown}, measured {:.1} % {} that",
            100.0 * difference.abs(),
            if difference < 0.0 { "below" } else { "above" }
        ),
        agrees: difference.abs() <= case.rule("hill.speed-error"),
        points_to: if difference < 0.0 {
            "look at the gear ridden, tyre pressure, a dragging brake, the pack's charge"
        } else {
            "the drive is stronger than its sheet, or the rider pushed harder than the brief says"
        },
    }
}

#[cfg(test)]
mod tests;
