//! Drag and rolling resistance out of a ride: from speed, power and height along a whole log (virtual
//! elevation).
//!
//! Drag and rolling resistance pull the same way, so a ride at one speed shows their sum and
//! hides their shares. Every fit here tells the sum at the speed where the ride knows it best, the
//! two parts with their correlation, and whether that is too close for them to be told apart.

pub mod elevation;
mod normal;
pub mod stretch;
mod track;

use crate::doubt::Doubted;
use crate::quantity::{Acceleration, Angle, Density, Duration, Force, Length, Mass, Power, Speed};

/// Largest correlation of drag and rolling resistance at which they count as told apart.
/// Judgement: beyond it, one of the two changes by three of its standard uncertainties for one of
/// the uncertainty the other would have alone.
pub const MOST_CORRELATED: f64 = 0.95;

/// Wind as a vector: its component from the direction headings count from, and from a quarter
/// turn clockwise of it. Positive against a rider who heads there.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wind {
    /// Against heading 0.
    pub ahead: Speed,
    /// Against a heading of a quarter turn.
    pub aside: Speed,
}

/// One line of a ride's log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Time since the log began.
    pub time: Duration,
    /// Ground speed, zero or above.
    pub speed: Speed,
    /// All power that drives: the rider's and the motor's, before the losses
    /// [`Ridden::efficiency`] stands for.
    pub power: Power,
    /// Height; only its changes matter.
    pub altitude: Length,
    /// Direction of travel, clockwise from any fixed direction; only a search for wind needs it.
    pub heading: Option<Angle>,
}

/// What is known of the bicycle and the day beside the log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ridden {
    /// Everything that moves. Above zero.
    pub mass: Mass,
    /// What the wheels' rotation adds to the mass an acceleration feels, `Iw/r²`. Zero or above.
    pub rotating: Mass,
    /// Share of the power that reaches the wheel, above 0 to 1.
    pub efficiency: f64,
    /// Air density. Above zero.
    pub rho: Density,
    /// Acceleration of gravity. Above zero.
    pub gravity: Acceleration,
}

impl Ridden {
    /// Error: [`RideFitError::Input`] naming the field out of range.
    fn check(&self) -> Result<(), RideFitError> {
        positive("mass", self.mass.si())?;
        positive("efficiency", self.efficiency)?;
        positive("rho", self.rho.si())?;
        positive("gravity", self.gravity.si())?;
        if self.efficiency > 1.0 {
            return Err(input("efficiency", self.efficiency));
        }
        let rotating = self.rotating.si();
        if rotating.is_finite() && rotating >= 0.0 {
            Ok(())
        } else {
            Err(input("rotating", rotating))
        }
    }

    fn weight(&self) -> f64 {
        self.mass.si() * self.gravity.si()
    }
}

/// Drag and rolling resistance as the fit shares them out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Rolling resistance coefficient.
    pub crr: Doubted,
    /// Drag area, m².
    pub cda: Doubted,
    /// Covariance of the two, m².
    pub covariance: f64,
}

/// Resistance on the level in still air at the speed where the ride knows it best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sum {
    /// The speed.
    pub speed: Speed,
    /// Rolling and air resistance together.
    pub force: Force,
    /// Standard uncertainty of the force.
    pub standard: Force,
}

/// What a fit knows about the resistance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    /// What can be told in any case.
    pub sum: Sum,
    /// The two parts; `None` when all was ridden at one speed. Beside them belongs whether they
    /// [can be told apart](Self::is_told_apart).
    pub split: Option<Split>,
    /// Correlation of the two parts; −1 when all was ridden at one speed.
    pub correlation: f64,
}

impl Resistance {
    /// Whether the ride tells drag from rolling resistance: their correlation is at most
    /// [`MOST_CORRELATED`]. Beyond it each part alone is a guess that the other would have to agree
    /// with, and only the sum is known as well as it says.
    pub fn is_told_apart(&self) -> bool {
        self.split.is_some() && self.correlation.abs() <= MOST_CORRELATED
    }
}

/// Why no resistance could be had from a ride.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RideFitError {
    /// A figure is out of range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// Fewer readings than unknowns.
    TooFew {
        /// Readings that count.
        readings: usize,
        /// How many there must be at least.
        least: usize,
    },
    /// A wind was asked for and a reading has no heading.
    NoHeading,
    /// The readings do not hold what was asked for: two speeds that are one, mass without hills,
    /// wind without a turn.
    Undetermined,
    /// The search for mass or wind did not settle.
    NoConvergence,
}

/// Rolling coefficient and drag area with their covariance.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Pair {
    crr: f64,
    cda: f64,
    /// Variance of `crr`, covariance, variance of `cda`.
    variances: [f64; 3],
}

impl Pair {
    fn correlation(&self) -> f64 {
        let [crr, both, cda] = self.variances;
        if crr > 0.0 && cda > 0.0 {
            (both / (crr * cda).sqrt()).clamp(-1.0, 1.0)
        } else {
            0.0
        }
    }

    /// The speed that makes `var(m·g·Crr + q·CdA)` least is `q = 0.5·rho·v² = −m·g·cov/var(CdA)`;
    /// a pair without doubt, or correlated the other way, is summed at `usual`.
    fn judged(&self, ridden: &Ridden, usual: Speed) -> Resistance {
        let [crr, both, cda] = self.variances;
        let half_rho = 0.5 * ridden.rho.si();
        let weight = ridden.weight();
        let q = if both < 0.0 && cda > 0.0 {
            -weight * both / cda
        } else {
            half_rho * usual.si().powi(2)
        };
        let variance = weight * weight * crr + 2.0 * weight * q * both + q * q * cda;
        let sum = Sum {
            speed: Speed::from_si((q / half_rho).sqrt()),
            force: Force::from_si(weight * self.crr + q * self.cda),
            standard: Force::from_si(variance.max(0.0).sqrt()),
        };
        let correlation = self.correlation();
        let split = Split {
            crr: Doubted::new(self.crr, crr.sqrt()),
            cda: Doubted::new(self.cda, cda.sqrt()),
            covariance: both,
        };
        Resistance {
            sum,
            split: Some(split),
            correlation,
        }
    }
}

/// Everything was ridden at one speed: the force there is all that can be known.
fn one_speed(speed: Speed, force: f64, standard: f64) -> Resistance {
    Resistance {
        sum: Sum {
            speed,
            force: Force::from_si(force),
            standard: Force::from_si(standard),
        },
        split: None,
        correlation: -1.0,
    }
}

const fn input(name: &'static str, value: f64) -> RideFitError {
    RideFitError::Input { name, value }
}

fn finite(name: &'static str, value: f64) -> Result<(), RideFitError> {
    if value.is_finite() {
        Ok(())
    } else {
        Err(input(name, value))
    }
}

fn positive(name: &'static str, value: f64) -> Result<(), RideFitError> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(input(name, value))
    }
}

#[cfg(test)]
mod tests;
