//! The road of a tour: steps with a length, a slope, a surface, a wind and perhaps a stop.

use super::TourError;
use crate::quantity::{Duration, Grade, Length, Speed};
use crate::road::Slope;

/// A piece of road with one slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Length along the road, above zero, at most 10 km.
    pub length: Length,
    /// Slope, −0.5 to 0.5.
    pub grade: Grade,
    /// Rolling resistance over that of the tour's road, 0 to 20 (2 on loose gravel, say).
    pub rolling: f64,
    /// Wind against the direction of travel, −40 to 40 m/s; negative from behind.
    pub headwind: Speed,
    /// Standing time of a stop at the end; `None` rides on.
    pub stop: Option<Duration>,
}

impl Step {
    /// A step on the usual surface in still air without a stop.
    pub const fn new(length: Length, grade: Grade) -> Self {
        Self {
            length,
            grade,
            rolling: 1.0,
            headwind: Speed::ZERO,
            stop: None,
        }
    }
}

/// A step made ready.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub(super) length: f64,
    pub(super) slope: Slope,
    pub(super) headwind: f64,
    /// Way from the end of this step to the next stop, m; infinite when none comes.
    pub(super) to_stop: f64,
    pub(super) stop: Option<f64>,
}

/// A road made ready for riding: looked at once, ridden as often as wanted by anything on wheels.
#[derive(Debug, Clone)]
pub struct Track {
    parts: Vec<Part>,
    length: Length,
}

impl Track {
    /// A road from its steps in riding order.
    ///
    /// Errors: [`TourError::NoSteps`], or [`TourError::Step`] naming the step and its field.
    pub fn new(steps: &[Step]) -> Result<Self, TourError> {
        if steps.is_empty() {
            return Err(TourError::NoSteps);
        }
        let mut parts = Vec::with_capacity(steps.len());
        for (index, step) in steps.iter().enumerate() {
            let figures = [
                ("length", step.length.si(), f64::MIN_POSITIVE, 1e4),
                ("grade", step.grade.as_ratio(), -0.5, 0.5),
                ("rolling", step.rolling, 0.0, 20.0),
                ("headwind", step.headwind.si(), -40.0, 40.0),
                ("stop", step.stop.map_or(0.0, Duration::si), 0.0, 1e6),
            ];
            for (name, value, low, high) in figures {
                if !(low..=high).contains(&value) {
                    return Err(TourError::Step { index, name, value });
                }
            }
            parts.push(Part {
                length: step.length.si(),
                slope: Slope {
                    sin: step.grade.sin(),
                    rolling: step.grade.cos() * step.rolling,
                },
                headwind: step.headwind.si(),
                to_stop: f64::INFINITY,
                stop: step.stop.map(Duration::si),
            });
        }
        let mut ahead = f64::INFINITY;
        for part in parts.iter_mut().rev() {
            if part.stop.is_some() {
                ahead = 0.0;
            }
            part.to_stop = ahead;
            ahead += part.length;
        }
        let length = Length::from_si(parts.iter().map(|part| part.length).sum());
        Ok(Self { parts, length })
    }

    /// Length along the road.
    pub fn length(&self) -> Length {
        self.length
    }

    pub(super) fn parts(&self) -> &[Part] {
        &self.parts
    }
}
