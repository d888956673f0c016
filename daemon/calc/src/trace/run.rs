//! A stretch of a trace ridden without a gap: heights filled in, heights at equal distances, legs.

use super::{Leg, STEEPEST};
use crate::quantity::{Grade, Length};

/// A stretch without a gap.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Run {
    /// Distance of each point from the start of the run, m, never falling.
    pub(super) at: Vec<f64>,
    /// Height of each point, m.
    pub(super) height: Vec<f64>,
}

impl Run {
    /// Length, m.
    pub(super) fn length(&self) -> f64 {
        self.at.last().copied().unwrap_or_default()
    }

    /// Legs of equal length, as near to `step` as the run divides into, over heights smoothed over
    /// `window`; and how many of them were steeper than [`STEEPEST`].
    pub(super) fn legs(&self, step: f64, window: f64) -> (Vec<Leg>, usize) {
        let count = (self.length() / step).round().max(1.0);
        let run = self.length() / count;
        if run <= 0.0 {
            return (Vec::new(), 0);
        }
        let posts: Vec<f64> = (0..=count as usize).map(|index| index as f64 * run).collect();
        // Half the window to each side, in whole legs.
        let half = (window / run / 2.0).round() as usize;
        let heights = smooth(&self.heights_at(&posts), half);
        let mut cut = 0;
        let legs = heights
            .windows(2)
            .map(|pair| {
                let grade = (pair[1] - pair[0]) / run;
                let believed = grade.clamp(-STEEPEST, STEEPEST);
                cut += usize::from(grade.abs() > STEEPEST);
                Leg {
                    length: Length::from_si(run.hypot(believed * run)),
                    grade: Grade::ratio(believed),
                }
            })
            .collect();
        (legs, cut)
    }

    /// Heights at rising distances, straight between the recorded points.
    pub(super) fn heights_at(&self, posts: &[f64]) -> Vec<f64> {
        let (at, height) = (&self.at, &self.height);
        // A run of one point has one height.
        let last = at.len().saturating_sub(1);
        let mut after = last.min(1);
        posts
            .iter()
            .map(|here| {
                while after < last && at[after] < *here {
                    after += 1;
                }
                let before = after.saturating_sub(1);
                let span = at[after] - at[before];
                let share = if span > 0.0 {
                    ((here - at[before]) / span).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                height[before] + (height[after] - height[before]) * share
            })
            .collect()
    }
}

/// Mean over `half` neighbours to each side. Beyond an end the heights go on turned about it, so
/// that both ends keep their heights, the run its rise, and an even slope its grade.
fn smooth(heights: &[f64], half: usize) -> Vec<f64> {
    let last = heights.len().saturating_sub(1);
    let half = half.min(last);
    let ahead = |index: usize, by: usize| match (index + by).checked_sub(last) {
        None | Some(0) => heights[index + by],
        Some(beyond) => 2.0 * heights[last] - heights[last - beyond],
    };
    let behind = |index: usize, by: usize| match index.checked_sub(by) {
        Some(inside) => heights[inside],
        None => 2.0 * heights[0] - heights[by - index],
    };
    (0..heights.len())
        .map(|index| {
            let both: f64 = (1..=half).map(|by| ahead(index, by) + behind(index, by)).sum();
            (heights[index] + both) / (2 * half + 1) as f64
        })
        .collect()
}

/// Missing heights straight between the neighbours that have one, level beyond the ends; `None`
/// where no point has one.
pub(super) fn filled(at: &[f64], heights: &[Option<f64>]) -> Option<Vec<f64>> {
    let known: Vec<(usize, f64)> = heights
        .iter()
        .enumerate()
        .filter_map(|(index, height)| height.map(|height| (index, height)))
        .collect();
    let (first, last) = (known.first()?, known.last()?);
    let mut filled = vec![first.1; heights.len()];
    filled[last.0..].fill(last.1);
    for pair in known.windows(2) {
        let ((before, low), (after, high)) = (pair[0], pair[1]);
        let span = at[after] - at[before];
        filled[before] = low;
        for index in before + 1..after {
            let share = if span > 0.0 {
                (at[index] - at[before]) / span
            } else {
                0.0
            };
            filled[index] = low + (high - low) * share;
        }
    }
    Some(filled)
}
