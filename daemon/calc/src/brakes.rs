//! Brakes: stops, how far they may take, what a descent asks, and rotor sizes.

use std::fmt;

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::{Acceleration, Force, G, Grade, Length, Mass, Power, Speed};

/// Total mass at which the standard's stopping distances are stated, kg (ISO 4210-4).
pub const STANDARD_MASS_KG: f64 = 100.0;

/// Deviation of the starting speed up to which a stop counts either way, km/h (EN
/// 14766:2005).
pub const START_SPEED_KMH: f64 = 1.5;

/// Hardest mean deceleration measured with both brakes, in g: eight bicycles on dry asphalt from 11 to 21 mph made 0.40 to
/// 0.71 g (Famiglietti, SAE 2020-01-0876, abstract). Tipping over begins from about 6 m/s² already (statement of an
/// industry association).
pub const MEASURED_MOST_G: f64 = 0.71;

/// Whether a stop is harder than any measured of bicycles ([`MEASURED_MOST_G`]); speed 1 to 80 km/h, distance 0.1 to
/// 200 m.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn is_beyond_measured(speed: Speed, distance: Length) -> Result<bool, FitError> {
    Ok(deceleration(speed, distance)?.si() > MEASURED_MOST_G * G)
}

/// Mean deceleration of a stop, `a = v²/(2s)`; speed 1 to 80 km/h, distance 0.1 to 200 m.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn deceleration(speed: Speed, distance: Length) -> Result<Acceleration, FitError> {
    let v = start_speed("starting speed", speed)?;
    let s = stop_length(distance)?;
    Ok(Acceleration::metres_per_second2(v * v / (2.0 * s)))
}

fn start_speed(name: &'static str, speed: Speed) -> Result<f64, FitError> {
    in_range(name, speed.as_kilometres_per_hour(), 1.0, 80.0, "km/h")?;
    Ok(speed.as_metres_per_second())
}

fn stop_length(distance: Length) -> Result<f64, FitError> {
    in_range("stopping distance", distance.as_metres(), 0.1, 200.0, "m")
}

/// Stopping distance corrected to the nominal starting speed, `S = (V_s/V_m)²·S_m` (EN
/// 14766:2005, track method). Ranges as [`deceleration`]; see [`run_counts`].
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn corrected_distance(distance: Length, measured: Speed, nominal: Speed) -> Result<Length, FitError> {
    let ratio = start_speed("nominal speed", nominal)? / start_speed("measured speed", measured)?;
    Ok(Length::metres(stop_length(distance)? * ratio * ratio))
}

/// Whether a corrected stop may be used: it may not when the run started more than 1.5 km/h
/// off in the direction that throws doubt on its verdict: too slow for a pass, too fast for a
/// fail (EN 14766:2005 names the 1.5 km/h; the two directions from memory).
pub fn run_counts(corrected: Length, limit: Length, measured: Speed, nominal: Speed) -> bool {
    let faster = (measured - nominal).as_kilometres_per_hour();
    let passes = corrected.as_metres() <= limit.as_metres() + 1e-9;
    let unfavourable = if passes { -faster } else { faster };
    unfavourable <= START_SPEED_KMH + 1e-9
}

/// Class of bicycle in the stopping-distance table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BrakeClass {
    /// City and trekking.
    City,
    /// Mountain.
    Mountain,
    /// Racing.
    Racing,
}

/// Road under the wheels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Surface {
    /// Dry.
    Dry,
    /// Wet.
    Wet,
}

/// Brakes used for the stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BrakesUsed {
    /// Front and rear.
    Both,
    /// Rear alone.
    RearOnly,
}

/// A stopping distance asked by a standard at [`STANDARD_MASS_KG`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StopRequirement {
    /// Starting speed, km/h.
    pub speed_kmh: f64,
    /// Longest stop, m.
    pub distance_m: f64,
    /// How the row is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

/// The stopping distance a standard asks. The dry rows for both brakes are stated by an
/// industry association (25 km/h, 7 m for city, 6 m for the others); the rest is ISO 4210-2
/// from memory.
pub const fn stop_requirement(class: BrakeClass, surface: Surface, brakes: BrakesUsed) -> StopRequirement {
    let (speed_kmh, distance_m) = match (surface, brakes, class) {
        (Surface::Dry, BrakesUsed::Both, BrakeClass::City) => (25.0, 7.0),
        (Surface::Dry, BrakesUsed::Both, _) => (25.0, 6.0),
        (Surface::Dry, BrakesUsed::RearOnly, BrakeClass::City) => (25.0, 15.0),
        (Surface::Dry, BrakesUsed::RearOnly, BrakeClass::Mountain) => (25.0, 10.0),
        (Surface::Dry, BrakesUsed::RearOnly, BrakeClass::Racing) => (25.0, 12.0),
        (Surface::Wet, BrakesUsed::Both, _) => (16.0, 5.0),
        (Surface::Wet, BrakesUsed::RearOnly, _) => (16.0, 10.0),
    };
    match (surface, brakes) {
        (Surface::Dry, BrakesUsed::Both) => {
            let source = "industry association's statement of the standard's figures";
            StopRequirement {
                speed_kmh,
                distance_m,
                basis: Basis::Read,
                source,
            }
        }
        _ => {
            let source = "ISO 4210-2 (from memory)";
            StopRequirement {
                speed_kmh,
                distance_m,
                basis: Basis::Memory,
                source,
            }
        }
    }
}

/// Distance the same braking force needs at another mass, `S·M/m` (work of a constant
/// force). With `S` a standard's distance and `m` its 100 kg this is the stop a brake that
/// just passes would show at the job's mass; holding the standard's distance itself at that
/// mass asks more. Masses 20 to 1 000 kg.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn same_force_distance(distance: Length, tested: Mass, other: Mass) -> Result<Length, FitError> {
    let ratio = mass("mass", other)? / mass("mass of the test", tested)?;
    Ok(Length::metres(stop_length(distance)? * ratio))
}

fn mass(name: &'static str, mass: Mass) -> Result<f64, FitError> {
    in_range(name, mass.as_kilograms(), 20.0, 1000.0, "kg")
}

/// Deceleration at which the rear wheel lifts,
/// `a = g·(x·cos θ + h·sin θ)/h`: along the road, uphill grades positive, `x` from the front
/// contact to the centre of mass along the road (0.1 to 3 m), `h` its height (0.2 to 2 m).
/// This is the bicycle's deceleration, the slope's pull included; the brakes' part alone is
/// `g·x·cos θ/h`. Statics about the front contact; tyres that grip.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn pitch_over_limit(horizontal: Length, height: Length, grade: Grade) -> Result<Acceleration, FitError> {
    let x = in_range(
        "front contact to centre of mass",
        horizontal.as_metres(),
        0.1,
        3.0,
        "m",
    )?;
    let h = in_range("height of the centre of mass", height.as_metres(), 0.2, 2.0, "m")?;
    Ok(Acceleration::metres_per_second2(
        G * grade.cos() * x / h + G * grade.sin(),
    ))
}

/// Acceleration at which the front wheel lifts, `a = g·(x·cos θ − h·sin θ)/h`: along the road, uphill grades positive, `x`
/// from the rear contact to the centre of mass along the road (0 to 3 m), `h` its height (0.2 to 2 m); negative where it
/// lifts at a standstill. [`pitch_over_limit`] mirrored: statics about the rear contact; tyres that grip.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn front_lift_limit(behind: Length, height: Length, grade: Grade) -> Result<Acceleration, FitError> {
    let x = in_range(
        "rear contact to centre of mass",
        behind.as_metres(),
        0.0,
        3.0,
        "m",
    )?;
    let h = in_range("height of the centre of mass", height.as_metres(), 0.2, 2.0, "m")?;
    Ok(Acceleration::metres_per_second2(
        G * grade.cos() * x / h - G * grade.sin(),
    ))
}

/// Heat the brakes must shed on a steady descent, `P = (−m·g·sin θ − R)·v`, never negative;
/// downhill grades are negative (−0.5 to 0.5), `R` is rolling and air resistance together (0
/// to 2 000 N), mass 20 to 1 000 kg, speed 0 to 100 km/h.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn descent_power(gross: Mass, grade: Grade, speed: Speed, resistance: Force) -> Result<Power, FitError> {
    let kilograms = mass("gross mass", gross)?;
    in_range("grade", grade.as_percent(), -50.0, 50.0, "%")?;
    in_range("speed", speed.as_kilometres_per_hour(), 0.0, 100.0, "km/h")?;
    in_range("resistance", resistance.as_newtons(), 0.0, 2000.0, "N")?;
    let push = Force::newtons(-kilograms * G * grade.sin());
    Ok((push - resistance).times_speed(speed).max(Power::ZERO))
}

/// One step of a rotor rule: sizes up to a gross mass, that mass included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotorStep {
    /// Gross mass up to which it holds.
    pub up_to: Mass,
    /// Front rotor diameter.
    pub front: Length,
    /// Rear rotor diameter.
    pub rear: Length,
}

/// Rotor steps that do not rise, or a mass that is not a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RotorError {
    /// Gross mass outside 20 to 1 000 kg.
    Mass(FitError),
    /// A step's mass is not above the one before it.
    StepsNotRising {
        /// Position of the step, from 0.
        step: usize,
        /// Its mass.
        up_to: Mass,
    },
}

impl fmt::Display for RotorError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Mass(error) => error.fmt(f),
            Self::StepsNotRising { step, up_to } => write!(
                f,
                "rotor step {} ends at {} kg; it must lie above the step before it",
                step + 1,
                up_to.as_kilograms()
            ),
        }
    }
}

impl std::error::Error for RotorError {}

/// Front and rear rotor diameter for a gross mass (20 to 1 000 kg): the first step that holds
/// it, else `beyond`. The steps are the caller's, rising.
///
/// # Errors
/// [`RotorError`] for a mass outside its range or steps that do not rise.
pub fn rotor_sizes(
    gross: Mass,
    steps: &[RotorStep],
    beyond: (Length, Length),
) -> Result<(Length, Length), RotorError> {
    let kilograms = mass("gross mass", gross).map_err(RotorError::Mass)?;
    let fault = steps.windows(2).position(|pair| pair[1].up_to <= pair[0].up_to);
    if let Some(before) = fault {
        return Err(RotorError::StepsNotRising {
            step: before + 1,
            up_to: steps[before + 1].up_to,
        });
    }
    let step = steps
        .iter()
        .find(|step| kilograms <= step.up_to.as_kilograms() + 1e-9);
    Ok(step.map_or(beyond, |step| (step.front, step.rear)))
}

#[cfg(test)]
mod tests;
