//! Climbing by recipe. Recorders and programs differ by a factor of ten on a flat road, because
//! each filters the noise of the heights in its own way: a figure means nothing without its recipe.

use super::run::Run;
use super::{TraceError, within};
use crate::quantity::Length;

/// How climbing is added up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Recipe {
    /// Every rise counts.
    Raw,
    /// A rise counts once the height leaves a band of this width around the last height counted
    /// (0 to 100 m).
    Band(Length),
    /// From turning point to turning point, where a turn is a move back of at least this (0 to
    /// 100 m).
    Turns(Length),
    /// Raw over the mean of so many neighbouring points (odd, 1 to 999; fewer at the ends).
    Mean(usize),
    /// Raw over points at equal distances (1 to 1 000 m), straight between the recorded ones.
    Every(Length),
}

/// What a road climbs and falls.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Climb {
    /// Sum of the rises.
    pub ascent: Length,
    /// Sum of the falls, above zero.
    pub descent: Length,
}

impl Climb {
    fn of(up: f64, down: f64) -> Self {
        Self {
            ascent: Length::from_si(up),
            descent: Length::from_si(down),
        }
    }
}

pub(super) fn climb(run: &Run, recipe: Recipe) -> Result<Climb, TraceError> {
    let height = &run.height;
    match recipe {
        Recipe::Raw => Ok(raw(height)),
        Recipe::Band(width) => {
            within("band", width.si(), 0.0, 100.0)?;
            Ok(band(height, width.si()))
        }
        Recipe::Turns(back) => {
            within("turn", back.si(), 0.0, 100.0)?;
            Ok(turns(height, back.si()))
        }
        Recipe::Mean(points) => {
            within("points", points as f64, 1.0, 999.0)?;
            within("points over an even number", (points % 2) as f64, 1.0, 1.0)?;
            Ok(raw(&mean(height, points)))
        }
        Recipe::Every(step) => {
            within("step", step.si(), 1.0, 1_000.0)?;
            Ok(raw(&run.heights_at(&every(run.length(), step.si()))))
        }
    }
}

fn raw(height: &[f64]) -> Climb {
    let rise = |sign: f64| {
        height
            .windows(2)
            .map(|pair| (sign * (pair[1] - pair[0])).max(0.0))
            .sum()
    };
    Climb::of(rise(1.0), rise(-1.0))
}

fn band(height: &[f64], width: f64) -> Climb {
    let (mut up, mut down) = (0.0, 0.0);
    let mut counted = height.first().copied().unwrap_or_default();
    for now in height {
        if now - counted >= width {
            up += now - counted;
            counted = *now;
        } else if counted - now >= width {
            down += counted - now;
            counted = *now;
        }
    }
    Climb::of(up, down)
}

fn turns(height: &[f64], back: f64) -> Climb {
    let (mut up, mut down) = (0.0, 0.0);
    let first = height.first().copied().unwrap_or_default();
    // Lowest and highest since the last turn, the last turning point, and which way it goes.
    let (mut low, mut high, mut turned, mut way) = (first, first, first, 0);
    for now in height.iter().copied() {
        match way {
            0 => {
                low = low.min(now);
                high = high.max(now);
                if now - low >= back && now > low {
                    (way, turned, high) = (1, low, now);
                } else if high - now >= back && now < high {
                    (way, turned, low) = (-1, high, now);
                }
            }
            1 if now > high => high = now,
            1 if high - now >= back && now < high => {
                up += high - turned;
                (way, turned, low) = (-1, high, now);
            }
            -1 if now < low => low = now,
            -1 if now - low >= back && now > low => {
                down += turned - low;
                (way, turned, high) = (1, low, now);
            }
            _ => {}
        }
    }
    match way {
        1 => up += high - turned,
        -1 => down += turned - low,
        _ => {}
    }
    Climb::of(up, down)
}

/// Mean over so many neighbours, fewer at the ends.
fn mean(height: &[f64], points: usize) -> Vec<f64> {
    let half = points / 2;
    let last = height.len();
    (0..last)
        .map(|index| {
            let window = &height[index.saturating_sub(half)..(index + half + 1).min(last)];
            window.iter().sum::<f64>() / window.len() as f64
        })
        .collect()
}

/// Equal distances up to `end`, and the end.
fn every(end: f64, step: f64) -> Vec<f64> {
    let count = (end / step).floor() as usize;
    let mut posts: Vec<f64> = (0..=count).map(|index| index as f64 * step).collect();
    if posts.last().is_some_and(|last| *last < end) {
        posts.push(end);
    }
    posts
}
