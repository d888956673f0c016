//! What a stretch of a log adds up to, and how virtual height follows from the values looked for.

use std::ops::Range;

use super::{Reading, Ridden, RideFitError, Wind, finite, input, positive};
use crate::quantity::Speed;

/// The values a fit looks for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Found {
    pub crr: f64,
    pub cda: f64,
    pub mass: f64,
    pub wind: Wind,
}

impl Found {
    pub(super) fn add(&mut self, which: Unknown, step: f64) {
        match which {
            Unknown::Crr => self.crr += step,
            Unknown::Cda => self.cda += step,
            Unknown::Mass => self.mass += step,
            Unknown::Ahead => self.wind.ahead = self.wind.ahead + Speed::from_si(step),
            Unknown::Aside => self.wind.aside = self.wind.aside + Speed::from_si(step),
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unknown {
    Crr,
    Cda,
    Mass,
    Ahead,
    Aside,
}

impl Unknown {
    /// Size of a step too small to matter, in the unknown's unit.
    pub(super) const fn small(self) -> f64 {
        match self {
            Self::Crr => 1e-9,
            Self::Cda => 1e-8,
            Self::Mass | Self::Ahead | Self::Aside => 1e-6,
        }
    }
}

/// Integrals along one stretch, each from its start.
#[derive(Debug)]
pub(super) struct Track {
    /// Measured height, m.
    pub measured: Vec<f64>,
    /// Distance, m.
    pub gone: Vec<f64>,
    /// Work behind the losses, J.
    pub work: Vec<f64>,
    /// Half the gain of the square of the speed, m²/s².
    pub kinetic: Vec<f64>,
    /// `∫ 0.5·rho·va·|va| ds`, N·m per m² of drag area.
    pub air: Vec<f64>,
    /// Its derivatives by the wind's components.
    pub ahead: Vec<f64>,
    pub aside: Vec<f64>,
}

impl Track {
    /// `wind` is `None` when headings do not matter.
    pub(super) fn new(
        readings: &[Reading],
        rows: Range<usize>,
        ridden: &Ridden,
        wind: Option<Wind>,
    ) -> Result<Self, RideFitError> {
        let last = rows.end as f64;
        let rows = readings.get(rows).ok_or(input("stretch", last))?;
        let first = rows.first().ok_or(RideFitError::TooFew {
            readings: 0,
            least: 1,
        })?;
        check(first)?;
        let mut track = Self::starting(first.altitude.si());
        let mut sum = [0.0; 6];
        let kinetic_start = first.speed.si().powi(2);
        for pair in rows.windows(2) {
            let (from, to) = (&pair[0], &pair[1]);
            check(to)?;
            let dt = (to.time - from.time).si();
            positive("time_step", dt)?;
            let speed = 0.5 * (from.speed + to.speed).si();
            let ds = speed * dt;
            let (ahead, aside) = match wind {
                None => (0.0, 0.0),
                Some(_) => turned(from, to)?,
            };
            let wind = wind.unwrap_or_default();
            let air = speed + wind.ahead.si() * ahead + wind.aside.si() * aside;
            let rho = ridden.rho.si();
            sum[0] += ds;
            sum[1] += ridden.efficiency * 0.5 * (from.power + to.power).si() * dt;
            sum[2] = 0.5 * (to.speed.si().powi(2) - kinetic_start);
            sum[3] += 0.5 * rho * air * air.abs() * ds;
            sum[4] += rho * air.abs() * ahead * ds;
            sum[5] += rho * air.abs() * aside * ds;
            track.push(to.altitude.si(), &sum);
        }
        Ok(track)
    }

    fn starting(altitude: f64) -> Self {
        let mut track = Self {
            measured: vec![],
            gone: vec![],
            work: vec![],
            kinetic: vec![],
            air: vec![],
            ahead: vec![],
            aside: vec![],
        };
        track.push(altitude, &[0.0; 6]);
        track
    }

    fn push(&mut self, altitude: f64, sum: &[f64; 6]) {
        self.measured.push(altitude);
        self.gone.push(sum[0]);
        self.work.push(sum[1]);
        self.kinetic.push(sum[2]);
        self.air.push(sum[3]);
        self.ahead.push(sum[4]);
        self.aside.push(sum[5]);
    }

    /// What drives the climb: work less what speed and air took, J.
    fn climbing_work(&self, i: usize, found: &Found, ridden: &Ridden) -> f64 {
        let moved = found.mass + ridden.rotating.si();
        self.work[i] - moved * self.kinetic[i] - found.cda * self.air[i]
    }

    /// Virtual height above the start.
    pub(super) fn height(&self, i: usize, found: &Found, ridden: &Ridden) -> f64 {
        let weight = found.mass * ridden.gravity.si();
        self.climbing_work(i, found, ridden) / weight - found.crr * self.gone[i]
    }

    /// Derivative of the virtual height.
    pub(super) fn slope(&self, i: usize, by: Unknown, found: &Found, ridden: &Ridden) -> f64 {
        let weight = found.mass * ridden.gravity.si();
        match by {
            Unknown::Crr => -self.gone[i],
            Unknown::Cda => -self.air[i] / weight,
            Unknown::Mass => {
                -(self.climbing_work(i, found, ridden) + found.mass * self.kinetic[i]) / (weight * found.mass)
            }
            Unknown::Ahead => -found.cda * self.ahead[i] / weight,
            Unknown::Aside => -found.cda * self.aside[i] / weight,
        }
    }

    /// Measured less virtual height, each above its mean over the stretch.
    pub(super) fn remainder(&self, found: &Found, ridden: &Ridden) -> Vec<f64> {
        centred((0..self.gone.len()).map(|i| self.measured[i] - self.height(i, found, ridden)))
    }
}

fn check(reading: &Reading) -> Result<(), RideFitError> {
    finite("time", reading.time.si())?;
    finite("power", reading.power.si())?;
    finite("altitude", reading.altitude.si())?;
    let speed = reading.speed.si();
    if speed.is_finite() && speed >= 0.0 {
        Ok(())
    } else {
        Err(input("speed", speed))
    }
}

/// Cosine and sine of the heading between two readings.
fn turned(from: &Reading, to: &Reading) -> Result<(f64, f64), RideFitError> {
    let (Some(from), Some(to)) = (from.heading, to.heading) else {
        return Err(RideFitError::NoHeading);
    };
    finite("heading", from.si() + to.si())?;
    let (cosine, sine) = (from.si().cos() + to.si().cos(), from.si().sin() + to.si().sin());
    let length = cosine.hypot(sine);
    if length > 0.0 {
        Ok((cosine / length, sine / length))
    } else {
        Ok((to.si().cos(), to.si().sin()))
    }
}

pub(super) fn centred(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    for value in &mut values {
        *value -= mean;
    }
    values
}
