//! A road made from what a rider can say of it: length, climbing, stops, surfaces, the worst hill.
//!
//! The shape is the same for the same words: rounds of about 2 km, each one hill up, a level, the
//! hill down; the worst hill up and down in the middle. Every piece of it has every surface in its
//! share. Where the road begins and ends is the same height.

use super::Step;
use crate::quantity::{Duration, Grade, Length};
use crate::trace::STEEPEST;

/// A part of the road on one surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Its share of the length, 0 to 1.
    pub share: f64,
    /// Rolling resistance over that of the tour's road, 0 to 20.
    pub rolling: f64,
}

/// A hill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hill {
    /// Grade, above zero, at most [`STEEPEST`].
    pub grade: Grade,
    /// Length along the road, above zero.
    pub length: Length,
}

impl Hill {
    /// What it rises.
    pub fn rise(&self) -> Length {
        self.length * self.grade.sin()
    }
}

/// What a rider says of a road.
#[derive(Debug, Clone, PartialEq)]
pub struct Description {
    /// Length along the road, 100 m to 2 000 km.
    pub length: Length,
    /// Sum of its rises, and of its falls; at least that of the worst hill.
    pub climb: Length,
    /// Stops per kilometre, 0 to 50; their number is rounded to the next whole one.
    pub stops_per_km: f64,
    /// Standing time of each, 0 to 3 600 s.
    pub standing: Duration,
    /// Grade of its hills where the climbing leaves room for it, above zero, at most [`STEEPEST`].
    pub hills: Grade,
    /// The worst hill, gone up and down once.
    pub worst: Option<Hill>,
    /// Surfaces; the shares add up to 1. None is the tour's own all the way.
    pub surfaces: Vec<Surface>,
}

/// The road that was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Described {
    /// Its steps in riding order, 50 m at most.
    pub steps: Vec<Step>,
    /// Grade of its hills, the worst one aside.
    pub hills: Grade,
    /// Number of its stops.
    pub stops: usize,
}

/// Why a description makes no road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DescribedError {
    /// A figure is out of range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// The worst hill rises more than the whole road climbs.
    HillTooHigh {
        /// Its rise.
        rise: Length,
        /// Climbing as given.
        climb: Length,
    },
    /// The worst hill, up and down, leaves nothing of the road for the rest.
    HillTooLong {
        /// Its length one way.
        hill: Length,
        /// Length of the road as given.
        length: Length,
    },
    /// The climbing needs hills steeper than [`STEEPEST`].
    TooSteep {
        /// The most that can be climbed on that length.
        most: Length,
        /// Climbing as given.
        climb: Length,
    },
}

/// Length of a round of one hill up, a level and the hill down (workshop judgement).
const ROUND: f64 = 2_000.0;
/// Most of a round that goes up; as much goes down (workshop judgement).
const MOST_UP: f64 = 0.4;
/// Longest step, m.
const LONGEST: f64 = 50.0;
/// Two places nearer to each other than this are one, m.
const TINY: f64 = 1e-6;

impl Description {
    /// Makes the road. Its length, climbing, falling, stops and shares of surfaces are those
    /// described, to rounding.
    ///
    /// Errors: [`DescribedError`].
    pub fn road(&self) -> Result<Described, DescribedError> {
        self.check()?;
        let length = self.length.si();
        let worst = self
            .worst
            .map_or((0.0, 0.0), |hill| (hill.length.si(), hill.rise().si()));
        let left = length - 2.0 * worst.0;
        let rounds = (left / ROUND).round().max(1.0);
        let (round, rise) = (left / rounds, (self.climb.si() - worst.1) / rounds);
        let up = (rise / self.hills.sin()).min(MOST_UP * round);
        let steepest = Grade::ratio(STEEPEST).sin();
        let sine = if up > 0.0 { rise / up } else { 0.0 };
        if sine > steepest {
            return Err(DescribedError::TooSteep {
                most: Length::from_si(rounds * MOST_UP * round * steepest + worst.1),
                climb: self.climb,
            });
        }
        let hills = sine / (1.0 - sine * sine).sqrt();
        let stops = (self.stops_per_km * self.length.as_kilometres()).round();
        let mut layer = Layer {
            steps: Vec::new(),
            surfaces: self.surfaces(),
            at: 0.0,
            every: length / stops,
            stop: length / stops / 2.0,
            standing: self.standing,
        };
        let middle = (rounds / 2.0).floor() as u32;
        for index in 0..rounds as u32 {
            if let Some(hill) = self.worst.filter(|_| index == middle) {
                layer.lay(hill.length.si(), hill.grade.as_ratio());
                layer.lay(hill.length.si(), -hill.grade.as_ratio());
            }
            layer.lay(up, hills);
            layer.lay(round - 2.0 * up, 0.0);
            layer.lay(up, -hills);
        }
        Ok(Described {
            steps: layer.steps,
            hills: Grade::ratio(hills),
            stops: stops as usize,
        })
    }

    fn surfaces(&self) -> Vec<Surface> {
        if self.surfaces.is_empty() {
            return vec![Surface {
                share: 1.0,
                rolling: 1.0,
            }];
        }
        self.surfaces.clone()
    }

    fn check(&self) -> Result<(), DescribedError> {
        let shares: f64 = self.surfaces().iter().map(|surface| surface.share).sum();
        let mut figures = vec![
            ("length", self.length.si(), 100.0, 2e6),
            ("climb", self.climb.si(), 0.0, 1e6),
            ("stops_per_km", self.stops_per_km, 0.0, 50.0),
            ("standing", self.standing.si(), 0.0, 3_600.0),
            ("hills", self.hills.as_ratio(), 1e-3, STEEPEST),
            ("shares of surfaces together", shares, 1.0 - 1e-9, 1.0 + 1e-9),
        ];
        for surface in &self.surfaces {
            figures.push(("share", surface.share, 0.0, 1.0));
            figures.push(("rolling", surface.rolling, 0.0, 20.0));
        }
        if let Some(hill) = self.worst {
            figures.push(("worst_grade", hill.grade.as_ratio(), 1e-3, STEEPEST));
            figures.push(("worst_length", hill.length.si(), 1.0, 1e6));
        }
        for (name, value, low, high) in figures {
            if !(low..=high).contains(&value) {
                return Err(DescribedError::Input { name, value });
            }
        }
        let Some(hill) = self.worst else {
            return Ok(());
        };
        if hill.rise() > self.climb {
            return Err(DescribedError::HillTooHigh {
                rise: hill.rise(),
                climb: self.climb,
            });
        }
        if hill.length * 2.0 >= self.length {
            return Err(DescribedError::HillTooLong {
                hill: hill.length,
                length: self.length,
            });
        }
        Ok(())
    }
}

/// Lays pieces of road one after the other.
struct Layer {
    steps: Vec<Step>,
    surfaces: Vec<Surface>,
    /// Distance laid, m.
    at: f64,
    /// Distance between stops, m; infinite without any.
    every: f64,
    /// Where the next stop is, m.
    stop: f64,
    standing: Duration,
}

impl Layer {
    /// A piece of one grade, on each surface in its share.
    fn lay(&mut self, length: f64, grade: f64) {
        for index in 0..self.surfaces.len() {
            let surface = self.surfaces[index];
            self.lay_surface(length * surface.share, grade, surface.rolling);
        }
    }

    /// A piece of one grade on one surface, in steps of equal length from stop to stop.
    fn lay_surface(&mut self, length: f64, grade: f64, rolling: f64) {
        let mut left = length;
        while left > 0.0 {
            let to_stop = self.stop - self.at;
            let piece = if to_stop < left - TINY { to_stop } else { left };
            left -= piece;
            self.at += piece;
            let count = (piece / LONGEST).ceil().max(1.0);
            let mut step = Step::new(Length::from_si(piece / count), Grade::ratio(grade));
            step.rolling = rolling;
            self.steps.extend((0..count as usize).map(|_| step));
            if let Some(last) = self.steps.last_mut().filter(|_| self.at >= self.stop - TINY) {
                last.stop = Some(self.standing);
                self.stop += self.every;
            }
        }
    }
}

#[cfg(test)]
mod tests;
