//! What may be wrong: each single cause as a change of what the readings depend on, with the
//! sizes it comes in.
//!
//! Sizes and how often a cause is met are workshop judgement; nobody has counted them. They
//! decide between causes only where the readings do not.

use lockring_calc::quantity::{Mass, Resistance, Speed};

use super::ridden::Ridden;
use crate::case::Case;

/// The causes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The display's circumference is not the wheel's.
    WheelSetting,
    /// A brake drags at the driven wheel.
    BrakeDrag,
    /// Tyre pressure is low.
    TyrePressure,
    /// The hill is not as steep as the brief has it.
    HillGrade,
    /// The pack's resistance is high: a weak group of cells, a bad joint, cold.
    PackResistance,
    /// The battery current limit is set lower than known.
    CurrentLimit,
    /// The assist is at a lower level than the full one.
    AssistLevel,
    /// The motor is wound for another speed than its sheet says.
    Winding,
    /// Wind along the strip.
    Wind,
    /// What is on board weighs something else.
    Mass,
    /// The rider pushes harder or less than told.
    RiderPower,
    /// The assist limit is set to another speed than known.
    AssistLimit,
}

/// All of them.
pub const ALL: [Cause; 12] = [
    Cause::WheelSetting,
    Cause::BrakeDrag,
    Cause::TyrePressure,
    Cause::HillGrade,
    Cause::PackResistance,
    Cause::CurrentLimit,
    Cause::AssistLevel,
    Cause::Winding,
    Cause::Wind,
    Cause::Mass,
    Cause::RiderPower,
    Cause::AssistLimit,
];

/// Sizes of a cause on one side: from the least that is worth a name over what is plausible to
/// the most that is thought of. Signs are the same throughout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sizes {
    pub(super) least: f64,
    pub(super) plausible: f64,
    pub(super) most: f64,
}

const fn sizes(least: f64, plausible: f64, most: f64) -> Sizes {
    Sizes {
        least,
        plausible,
        most,
    }
}

/// How often nothing is wrong, as a share (judgement).
pub(super) const NOTHING: f64 = 0.5;
/// Rolling resistance goes with this power of the pressure on a smooth road: Grappe et al. 1999,
/// racing tyres on rollers (from memory).
const PRESSURE_POWER: f64 = -0.477;
/// Share by which a tyre without pressure would roll shorter (judgement: about a hundredth).
const FLAT_ROLLS_SHORTER: f64 = 0.012;

impl Cause {
    /// Word of the contract; stable.
    pub const fn word(self) -> &'static str {
        match self {
            Self::WheelSetting => "wheel-setting",
            Self::BrakeDrag => "brake-drag",
            Self::TyrePressure => "tyre-pressure",
            Self::HillGrade => "hill-grade",
            Self::PackResistance => "pack-resistance",
            Self::CurrentLimit => "current-limit",
            Self::AssistLevel => "assist-level",
            Self::Winding => "winding",
            Self::Wind => "wind",
            Self::Mass => "mass",
            Self::RiderPower => "rider-power",
            Self::AssistLimit => "assist-limit",
        }
    }

    /// Sizes it comes in, in the unit [`Cause::apply`] takes.
    pub(super) fn sizes(self) -> Vec<Sizes> {
        let one = |one: Sizes| vec![one];
        let either = |one: Sizes, other: Sizes| vec![one, other];
        match self {
            Self::WheelSetting => either(sizes(0.015, 0.06, 0.15), sizes(-0.015, -0.06, -0.15)),
            Self::BrakeDrag => one(sizes(4.0, 30.0, 80.0)),
            Self::TyrePressure => one(sizes(0.25, 0.65, 0.85)),
            Self::HillGrade => either(sizes(0.08, 0.5, 1.0), sizes(-0.08, -0.3, -0.5)),
            Self::PackResistance => one(sizes(0.5, 2.5, 6.0)),
            Self::CurrentLimit => one(sizes(0.1, 0.45, 0.7)),
            Self::AssistLevel => one(sizes(0.15, 0.6, 0.85)),
            Self::Winding => either(sizes(0.08, 0.35, 0.6), sizes(-0.08, -0.25, -0.4)),
            Self::Wind => either(sizes(1.5, 5.0, 9.0), sizes(-1.5, -5.0, -9.0)),
            Self::Mass => either(sizes(6.0, 25.0, 60.0), sizes(-6.0, -25.0, -60.0)),
            Self::RiderPower => either(sizes(-0.3, -0.6, -0.9), sizes(0.3, 1.0, 2.0)),
            Self::AssistLimit => either(sizes(0.03, 0.1, 0.3), sizes(-0.03, -0.1, -0.3)),
        }
    }

    /// How often it is met, as a share of all rides.
    pub(super) fn met(self, case: &Case<'_>) -> f64 {
        match self {
            Self::HillGrade => hill_met(case),
            Self::WheelSetting | Self::BrakeDrag | Self::TyrePressure | Self::RiderPower => 0.06,
            Self::PackResistance | Self::CurrentLimit | Self::AssistLevel | Self::Wind | Self::Mass => 0.04,
            Self::Winding | Self::AssistLimit => 0.02,
        }
    }

    /// Puts it into the bicycle, at a size.
    pub(super) fn apply(self, ridden: &mut Ridden, size: f64) {
        match self {
            // Size: true over shown, less one.
            Self::WheelSetting => ridden.wheel *= 1.0 + size,
            // Newtons at the tyre.
            Self::BrakeDrag => ridden.brake += size,
            // Share of the pressure that is missing.
            Self::TyrePressure => {
                ridden.road.crr *= (1.0 - size).powf(PRESSURE_POWER);
                ridden.wheel *= 1.0 - FLAT_ROLLS_SHORTER * size;
            }
            // Share by which it is steeper.
            Self::HillGrade => ridden.grade = ridden.grade.map(|grade| grade * (1.0 + size)),
            // Share by which it is higher.
            Self::PackResistance => ridden.each_drive(|drive| {
                drive.pack.resistance = Resistance::from_si(drive.pack.resistance.si() * (1.0 + size));
            }),
            // Share that is missing.
            Self::CurrentLimit => {
                ridden.each_drive(|drive| drive.battery_limit = drive.battery_limit * (1.0 - size));
            }
            // Share that is missing, of the torque as of the power.
            Self::AssistLevel => ridden.each_drive(|drive| {
                drive.battery_limit = drive.battery_limit * (1.0 - size);
                if let Some(motor) = &mut drive.motor {
                    motor.phase_limit = motor.phase_limit * (1.0 - size);
                }
            }),
            // Share by which it turns faster at the same volts; as much copper in as much room.
            Self::Winding => ridden.each_drive(|drive| {
                if let Some(motor) = &mut drive.motor {
                    motor.kt /= 1.0 + size;
                    motor.resistance = motor.resistance / (1.0 + size).powi(2);
                }
            }),
            // Metres per second against the outward run.
            Self::Wind => ridden.headwind += size,
            // Kilograms more.
            Self::Mass => ridden.road.mass = ridden.road.mass + Mass::kilograms(size),
            // Share by which the rider pushes harder.
            Self::RiderPower => ridden.each_rider(|rider| {
                rider.power = rider.power * (1.0 + size);
                rider.crank_torque_max = rider.crank_torque_max * (1.0 + size);
            }),
            // Share by which it is higher.
            Self::AssistLimit => ridden.each_drive(|drive| {
                drive.assist_cutoff = drive.assist_cutoff.map(|limit: Speed| limit * (1.0 + size));
            }),
        }
    }
}

/// A told hill is often wrong, a map's seldom; a grade measured on the ride is no cause any more.
fn hill_met(case: &Case<'_>) -> f64 {
    if case.knows("hill-grade-ridden") {
        return 0.0;
    }
    match case.optional_word("hill-source") {
        Some("told") => 0.12,
        Some("measured") => 0.01,
        _ => 0.03,
    }
}

impl Sizes {
    /// Sizes from the least to the most, evenly, with how plausible each is: alike up to the
    /// plausible, falling like a normal curve beyond it. The weights add up to one.
    pub(super) fn grid(self, steps: usize) -> Vec<(f64, f64)> {
        let tail = (self.most - self.plausible) / 4.0;
        let weight = |size: f64| {
            let beyond = (size - self.plausible) / tail;
            if beyond > 0.0 {
                (-0.5 * beyond * beyond).exp()
            } else {
                1.0
            }
        };
        let at = |step: usize| self.least + (self.most - self.least) * step as f64 / steps as f64;
        let sum: f64 = (0..=steps).map(|step| weight(at(step))).sum();
        (0..=steps)
            .map(|step| (at(step), weight(at(step)) / sum))
            .collect()
    }
}

#[cfg(test)]
mod tests;
