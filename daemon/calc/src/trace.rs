//! A road recorded point by point: its length on the ellipsoid, its heights, its climbing by named
//! recipes, and the same road as steps of equal length.
//!
//! What had to be mended (heights that were missing, gaps that were not ridden) is counted, never
//! hidden.

mod climb;

pub use climb::{Climb, Recipe};

use geographiclib_rs::{Geodesic, InverseGeodesic};

use crate::quantity::{Grade, Length};

/// A recorded point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Latitude, degrees, −90 to 90.
    pub latitude: f64,
    /// Longitude, degrees, −180 to 180.
    pub longitude: f64,
    /// Height above the sea; `None` where the recorder has none.
    pub height: Option<Length>,
}

/// Why a trace makes no road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TraceError {
    /// Fewer than two points, or all at one place.
    NoRoad,
    /// A point that is on no ellipsoid; the first one.
    Point {
        /// Its place in the order given, over all segments.
        index: usize,
        /// Latitude as given.
        latitude: f64,
        /// Longitude as given.
        longitude: f64,
    },
    /// A step or a window that is none.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
}

/// Gaps between segments up to this are joined as ridden: a recorder that lost the sky for a
/// moment (workshop judgement).
pub const JOINED: Length = Length::from_si(100.0);
/// Heights outside this are a recorder's fault and count as missing (the Dead Sea's shore and the
/// highest road pass, rounded outward).
pub const HEIGHTS: [f64; 2] = [-450.0, 6000.0];
/// Steepest grade believed, as a ratio; steeper is noise of the heights (workshop judgement).
pub const STEEPEST: f64 = 0.35;

/// What was mended on the way from points to a road.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Mended {
    /// Points without a usable height, taken straight between their neighbours.
    pub heights: usize,
    /// No point had a height: the road is taken as level.
    pub level: bool,
    /// Gaps between segments joined as ridden.
    pub joined: usize,
    /// Gaps between segments left out, and their length together.
    pub left_out: usize,
    /// Length of what was left out.
    pub gap: Length,
    /// Steps whose grade was cut to [`STEEPEST`].
    pub cut: usize,
}

/// A road: distance from the start and height at each point.
#[derive(Debug, Clone, PartialEq)]
pub struct Road {
    /// Distance along the ellipsoid, m, rising.
    at: Vec<f64>,
    /// Height, m.
    height: Vec<f64>,
    /// What was mended.
    pub mended: Mended,
}

/// A piece of the road with one grade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Length along the slope.
    pub length: Length,
    /// Grade.
    pub grade: Grade,
}

/// Geodesic distance of two points on the WGS84 ellipsoid (Karney 2013, J. Geodesy 87:43).
///
/// Range: latitudes −90 to 90°, longitudes −180 to 180°.
pub fn distance(from: Place, to: Place) -> Length {
    let metres: f64 = Geodesic::wgs84().inverse(from.latitude, from.longitude, to.latitude, to.longitude);
    Length::from_si(metres)
}

impl Road {
    /// A road from the segments of a recording. Gaps up to [`JOINED`] are ridden, longer ones are
    /// left out, and so are their heights.
    ///
    /// Errors: [`TraceError::NoRoad`], [`TraceError::Point`].
    pub fn new(segments: &[Vec<Place>]) -> Result<Self, TraceError> {
        check(segments)?;
        let mut mended = Mended::default();
        let (mut at, mut heights) = (Vec::new(), Vec::new());
        let (mut so_far, mut before): (f64, Option<Place>) = (0.0, None);
        for segment in segments {
            for (index, place) in segment.iter().enumerate() {
                let step = before.map_or(Length::ZERO, |before| distance(before, *place));
                let ridden = index > 0 || step <= JOINED;
                if index == 0 && before.is_some() && step > Length::ZERO {
                    if ridden {
                        mended.joined += 1;
                    } else {
                        mended.left_out += 1;
                        mended.gap = mended.gap + step;
                    }
                }
                if ridden {
                    so_far += step.si();
                }
                at.push(so_far);
                heights.push(usable(place.height));
                before = Some(*place);
            }
        }
        if so_far <= 0.0 {
            return Err(TraceError::NoRoad);
        }
        let height = filled(&at, &heights, &mut mended);
        Ok(Self { at, height, mended })
    }

    /// Length along the ellipsoid, without the heights.
    pub fn length(&self) -> Length {
        Length::from_si(self.at.last().copied().unwrap_or_default())
    }

    /// Climbing and falling by a recipe.
    ///
    /// Errors: [`TraceError::Input`] for a recipe whose figure is out of range.
    pub fn climb(&self, recipe: Recipe) -> Result<Climb, TraceError> {
        climb::climb(&self.at, &self.height, recipe)
    }

    /// Heights at equal distances, the end included.
    fn every(&self, step: f64) -> Vec<(f64, f64)> {
        climb::every(&self.at, &self.height, step)
    }

    /// The road in steps of a length (1 to 1 000 m), each height the mean over `window` (0 to
    /// 1 000 m) along the road, so that noise of the heights makes no hills. The length of a leg
    /// is along its slope.
    ///
    /// Errors: [`TraceError::Input`] for a step or window out of range.
    pub fn legs(&mut self, step: Length, window: Length) -> Result<Vec<Leg>, TraceError> {
        within("step", step.si(), 1.0, 1_000.0)?;
        within("window", window.si(), 0.0, 1_000.0)?;
        let points = self.every(step.si());
        // Half the window to each side, in whole steps.
        let half = (window.si() / step.si() / 2.0).round() as usize;
        let heights: Vec<f64> = points.iter().map(|point| point.1).collect();
        let smooth = climb::mean(&heights, 2 * half + 1);
        let mut legs = Vec::with_capacity(points.len());
        for (pair, rise) in points.windows(2).zip(smooth.windows(2)) {
            let (run, up) = (pair[1].0 - pair[0].0, rise[1] - rise[0]);
            if run <= 0.0 {
                continue;
            }
            let grade = up / run;
            let believed = grade.clamp(-STEEPEST, STEEPEST);
            if grade.abs() > STEEPEST {
                self.mended.cut += 1;
            }
            legs.push(Leg {
                length: Length::from_si(run.hypot(believed * run)),
                grade: Grade::ratio(believed),
            });
        }
        Ok(legs)
    }
}

fn check(segments: &[Vec<Place>]) -> Result<(), TraceError> {
    for (index, place) in segments.iter().flatten().enumerate() {
        let on_earth =
            (-90.0..=90.0).contains(&place.latitude) && (-180.0..=180.0).contains(&place.longitude);
        if !on_earth {
            return Err(TraceError::Point {
                index,
                latitude: place.latitude,
                longitude: place.longitude,
            });
        }
    }
    Ok(())
}

fn usable(height: Option<Length>) -> Option<f64> {
    height
        .map(Length::si)
        .filter(|metres| (HEIGHTS[0]..=HEIGHTS[1]).contains(metres))
}

/// Missing heights straight between the neighbours that have one, level beyond the ends.
fn filled(at: &[f64], heights: &[Option<f64>], mended: &mut Mended) -> Vec<f64> {
    let known: Vec<usize> = (0..heights.len())
        .filter(|index| heights[*index].is_some())
        .collect();
    mended.heights = heights.len() - known.len();
    if known.is_empty() {
        mended.level = true;
        return vec![0.0; heights.len()];
    }
    let value = |index: usize| heights[index].unwrap_or_default();
    let mut next = 0;
    (0..heights.len())
        .map(|index| {
            while next < known.len() && known[next] < index {
                next += 1;
            }
            match (
                next.checked_sub(1).map(|before| known[before]),
                known.get(next).copied(),
            ) {
                (_, Some(here)) if here == index => value(here),
                (Some(before), Some(after)) => {
                    let span = at[after] - at[before];
                    let share = if span > 0.0 {
                        (at[index] - at[before]) / span
                    } else {
                        0.0
                    };
                    value(before) + (value(after) - value(before)) * share
                }
                (Some(only), None) | (None, Some(only)) => value(only),
                (None, None) => 0.0,
            }
        })
        .collect()
}

fn within(name: &'static str, value: f64, low: f64, high: f64) -> Result<(), TraceError> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(TraceError::Input { name, value })
    }
}

#[cfg(test)]
mod tests;
