//! Drag and rolling resistance from steady riding: two speeds, or many by regression.

use super::normal::Normal;
use super::{Pair, Resistance, Ridden, RideFitError, finite, one_speed, positive};
use crate::quantity::{Acceleration, Area, Grade, Power, Speed};

/// A stretch ridden at about one speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steady {
    /// Mean power before the losses.
    pub power: Power,
    /// Mean speed, above zero.
    pub speed: Speed,
    /// Mean acceleration along the road, `(v₂² − v₁²)/(2·ds)`.
    pub acceleration: Acceleration,
    /// Mean grade, positive uphill.
    pub grade: Grade,
    /// Wind along the road, positive against the rider.
    pub headwind: Speed,
}

/// Rolling coefficient and drag area of two steady speeds on the level in still air.
///
/// `F = eta·P/v`, `CdA = 2·(F₂ − F₁)/(rho·(v₂² − v₁²))`, `Crr = (F₁ − 0.5·rho·CdA·v₁²)/(m·g)`.
/// Runs in both directions should be averaged first, so that slope and wind cancel.
///
/// Range: powers finite, speeds above zero and different. Errors: [`RideFitError::Input`],
/// [`RideFitError::Undetermined`] for equal speeds.
/// Source: the worked equations 1 to 5 of an article on coasting and steady-speed tests in the
/// Human Power eJournal, issue 5.
pub fn two_speeds(
    first: (Power, Speed),
    second: (Power, Speed),
    ridden: &Ridden,
) -> Result<(f64, Area), RideFitError> {
    ridden.check()?;
    for (power, speed) in [first, second] {
        finite("power", power.si())?;
        positive("speed", speed.si())?;
    }
    let force = |(power, speed): (Power, Speed)| ridden.efficiency * power.over_speed(speed).si();
    let (slow, fast) = (force(first), force(second));
    let (v1, v2) = (first.1.si().powi(2), second.1.si().powi(2));
    if v1 == v2 {
        return Err(RideFitError::Undetermined);
    }
    let cda = 2.0 * (fast - slow) / (ridden.rho.si() * (v2 - v1));
    let crr = (slow - 0.5 * ridden.rho.si() * cda * v1) / ridden.weight();
    Ok((crr, Area::from_si(cda)))
}

/// Drag and rolling resistance of many steady stretches by least squares.
///
/// `eta·P/v − (m + Iw/r²)·a − m·g·sin = Crr·m·g·cos + CdA·0.5·rho·(v + w)·|v + w|`;
/// covariance `s²·(XᵀX)⁻¹` with `s²` from what is left over.
///
/// Range: at least three stretches, speeds above zero. Errors: [`RideFitError::Input`],
/// [`RideFitError::TooFew`], [`RideFitError::Undetermined`].
/// Source: the power balance of Martin et al. 1998; covariance of ordinary least squares.
pub fn regress(stretches: &[Steady], ridden: &Ridden) -> Result<Resistance, RideFitError> {
    let usual = usual_speed(stretches, ridden)?;
    match raw(stretches, ridden) {
        Some(pair) => Ok(pair.judged(ridden, usual)),
        None => {
            let forces: Vec<f64> = stretches.iter().map(|s| row(s, ridden).2).collect();
            let n = forces.len() as f64;
            let mean = forces.iter().sum::<f64>() / n;
            let squares: f64 = forces.iter().map(|f| (f - mean).powi(2)).sum();
            Ok(one_speed(usual, mean, (squares / (n - 1.0) / n).sqrt()))
        }
    }
}

fn usual_speed(stretches: &[Steady], ridden: &Ridden) -> Result<Speed, RideFitError> {
    const LEAST: usize = 3;
    ridden.check()?;
    if stretches.len() < LEAST {
        return Err(RideFitError::TooFew {
            readings: stretches.len(),
            least: LEAST,
        });
    }
    for stretch in stretches {
        positive("speed", stretch.speed.si())?;
        finite("power", stretch.power.si())?;
        finite("acceleration", stretch.acceleration.si())?;
        finite("grade", stretch.grade.as_ratio())?;
        finite("headwind", stretch.headwind.si())?;
    }
    let squares: f64 = stretches
        .iter()
        .map(|s| (s.speed + s.headwind).si().powi(2))
        .sum();
    Ok(Speed::from_si((squares / stretches.len() as f64).sqrt()))
}

/// Factor of `Crr`, factor of `CdA`, force left for the two.
fn row(stretch: &Steady, ridden: &Ridden) -> (f64, f64, f64) {
    let air = (stretch.speed + stretch.headwind).si();
    let weight = ridden.weight();
    let moved = (ridden.mass + ridden.rotating).si() * stretch.acceleration.si();
    let driven = ridden.efficiency * stretch.power.over_speed(stretch.speed).si();
    (
        weight * stretch.grade.cos(),
        0.5 * ridden.rho.si() * air * air.abs(),
        driven - moved - weight * stretch.grade.sin(),
    )
}

/// `None` when rolling and drag are one column.
pub(super) fn raw(stretches: &[Steady], ridden: &Ridden) -> Option<Pair> {
    let mut normal = Normal::new(2);
    for stretch in stretches {
        let (rolling, air, force) = row(stretch, ridden);
        normal.add(&[rolling, air, 0.0, 0.0, 0.0], force);
    }
    let solved = normal.solve()?;
    // What is left over is summed anew: as a difference of large sums it would lose its digits.
    let left: f64 = stretches
        .iter()
        .map(|stretch| {
            let (rolling, air, force) = row(stretch, ridden);
            (force - rolling * solved.values[0] - air * solved.values[1]).powi(2)
        })
        .sum();
    let s2 = left / (normal.rows() as f64 - 2.0);
    Some(Pair {
        crr: solved.values[0],
        cda: solved.values[1],
        variances: [
            s2 * solved.inverse[0][0],
            s2 * solved.inverse[0][1],
            s2 * solved.inverse[1][1],
        ],
    })
}
