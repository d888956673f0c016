//! A road recorded point by point: its length on the ellipsoid, its heights, its climbing by named
//! recipes, and the same road as steps of equal length.
//!
//! What had to be mended (heights that were missing, gaps that were not ridden) is counted, never
//! hidden.

mod climb;
mod run;
mod stray;

pub use climb::{Climb, Recipe};
pub use stray::{FAR, without_strays};

use geographiclib_rs::{Geodesic, InverseGeodesic};

use crate::quantity::{Grade, Length};
use run::Run;

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
    /// The road is longer than [`LONGEST`].
    TooLong {
        /// Its length up to the point where that was seen.
        length: Length,
    },
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

/// Longest road; beyond it the points are no ride, and its steps would fill the memory (workshop
/// judgement).
pub const LONGEST: Length = Length::from_si(2e6);
/// Neighbouring points further apart than this leave open where the road went (workshop judgement).
pub const SPARSE: Length = Length::from_si(1_000.0);

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
    /// Neighbouring points of a segment further apart than [`SPARSE`], taken straight as ridden.
    pub sparse: usize,
    /// Legs whose grade was cut to [`STEEPEST`], the last time they were asked for.
    pub cut: usize,
}

/// A road: stretches without a gap, in riding order.
#[derive(Debug, Clone, PartialEq)]
pub struct Road {
    runs: Vec<Run>,
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
    /// left out, and so is the difference of the heights on their two sides.
    ///
    /// Errors: [`TraceError::NoRoad`], [`TraceError::TooLong`], [`TraceError::Point`].
    pub fn new(segments: &[Vec<Place>]) -> Result<Self, TraceError> {
        check(segments)?;
        let mut mended = Mended::default();
        let mut runs: Vec<(Vec<f64>, Vec<Option<f64>>)> = Vec::new();
        let (mut ridden, mut before): (Length, Option<Place>) = (Length::ZERO, None);
        for segment in segments {
            for (index, place) in segment.iter().enumerate() {
                let piece = before.map_or(Length::ZERO, |before| distance(before, *place));
                let between = index == 0 && piece > Length::ZERO;
                before = Some(*place);
                if between && piece > JOINED {
                    mended.left_out += 1;
                    mended.gap = mended.gap + piece;
                    runs.push((vec![0.0], vec![usable(place.height)]));
                    continue;
                }
                mended.joined += usize::from(between);
                mended.sparse += usize::from(piece > SPARSE);
                ridden = ridden + piece;
                if ridden > LONGEST {
                    return Err(TraceError::TooLong { length: ridden });
                }
                if runs.is_empty() {
                    runs.push((Vec::new(), Vec::new()));
                }
                if let Some((at, heights)) = runs.last_mut() {
                    at.push(at.last().map_or(0.0, |before| before + piece.si()));
                    heights.push(usable(place.height));
                }
            }
        }
        Self::filled(runs, mended)
    }

    /// A road whose distances were measured along it: stretches without a gap, each of points with
    /// their distance from anywhere before (never falling) and their height.
    ///
    /// Errors: [`TraceError::NoRoad`], [`TraceError::TooLong`], [`TraceError::Input`] for a distance
    /// that falls or is none.
    pub fn along(stretches: &[Vec<(Length, Option<Length>)>]) -> Result<Self, TraceError> {
        let mut runs = Vec::new();
        for stretch in stretches.iter().filter(|stretch| !stretch.is_empty()) {
            let start = stretch[0].0;
            let at: Vec<f64> = stretch.iter().map(|(at, _)| (*at - start).si()).collect();
            if let Some(pair) = at.windows(2).find(|pair| pair[0] > pair[1] || pair[1].is_nan()) {
                return Err(TraceError::Input {
                    name: "distance",
                    value: pair[1],
                });
            }
            runs.push((at, stretch.iter().map(|(_, height)| usable(*height)).collect()));
        }
        Self::filled(runs, Mended::default())
    }

    /// The road of runs with some heights missing.
    fn filled(runs: Vec<(Vec<f64>, Vec<Option<f64>>)>, mut mended: Mended) -> Result<Self, TraceError> {
        let ridden: f64 = runs.iter().filter_map(|(at, _)| at.last()).sum();
        if ridden > LONGEST.si() {
            return Err(TraceError::TooLong {
                length: Length::from_si(ridden),
            });
        }
        if ridden <= 0.0 {
            return Err(TraceError::NoRoad);
        }
        let missing = |heights: &[Option<f64>]| heights.iter().filter(|height| height.is_none()).count();
        mended.heights = runs.iter().map(|(_, heights)| missing(heights)).sum();
        mended.level = runs.iter().all(|(_, heights)| missing(heights) == heights.len());
        let runs = runs
            .into_iter()
            .map(|(at, heights)| {
                // A run without any height is level; at which height makes no difference.
                let height = run::filled(&at, &heights).unwrap_or_else(|| vec![0.0; heights.len()]);
                Run { at, height }
            })
            .collect();
        Ok(Self { runs, mended })
    }

    /// Length along the ellipsoid, without the heights.
    pub fn length(&self) -> Length {
        Length::from_si(self.runs.iter().map(Run::length).sum())
    }

    /// Climbing and falling by a recipe, each stretch between gaps by itself.
    ///
    /// Errors: [`TraceError::Input`] for a recipe whose figure is out of range.
    pub fn climb(&self, recipe: Recipe) -> Result<Climb, TraceError> {
        let mut all = Climb::default();
        for run in &self.runs {
            let climb = climb::climb(run, recipe)?;
            all.ascent = all.ascent + climb.ascent;
            all.descent = all.descent + climb.descent;
        }
        Ok(all)
    }

    /// The road in legs of equal length, as near to `step` (1 to 1 000 m) as each stretch divides
    /// into. Each height is the mean over `window` (0 to 1 000 m) along the road, so that noise of
    /// the heights makes no hills; beyond an end the heights go on turned about it, so that a stretch
    /// keeps its rise. Grades are cut to [`STEEPEST`]. The length of a leg is along its slope.
    ///
    /// Errors: [`TraceError::Input`] for a step or window out of range.
    pub fn legs(&mut self, step: Length, window: Length) -> Result<Vec<Leg>, TraceError> {
        within("step", step.si(), 1.0, 1_000.0)?;
        within("window", window.si(), 0.0, 1_000.0)?;
        self.mended.cut = 0;
        let mut legs = Vec::new();
        for run in &self.runs {
            let (more, cut) = run.legs(step.si(), window.si());
            legs.extend(more);
            self.mended.cut += cut;
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

fn within(name: &'static str, value: f64, low: f64, high: f64) -> Result<(), TraceError> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(TraceError::Input { name, value })
    }
}

#[cfg(test)]
mod tests;
