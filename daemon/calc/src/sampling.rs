//! Propagation of distributions by seeded sampling (JCGM 101:2008).
//!
//! Inputs are drawn by [`Draws`], the model is the caller's, and [`Outcomes`] keeps what came
//! out. The caller's loop decides how many and may stop between any two, so that a long
//! forecast can show how far it is and be broken off.
//!
//! The generator is ChaCha with eight rounds and the normal numbers are a ziggurat's, both
//! from crates that promise the same stream from the same seed on every machine.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};

use crate::doubt::{FitError, in_range};

/// How an input may lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Normal, with its standard uncertainty (0 or more).
    Normal {
        /// Best estimate.
        mean: f64,
        /// Standard uncertainty.
        u: f64,
    },
    /// Normal, drawn again until it lies inside; for what cannot be negative or over a whole.
    NormalWithin {
        /// Best estimate, inside the range.
        mean: f64,
        /// Standard uncertainty, at most the width of the range.
        u: f64,
        /// Least value.
        low: f64,
        /// Greatest value.
        high: f64,
    },
    /// Anywhere between two ends alike.
    Rectangle {
        /// Least value.
        low: f64,
        /// Greatest value.
        high: f64,
    },
    /// Between two ends, likeliest at `mode`.
    Triangle {
        /// Least value.
        low: f64,
        /// Likeliest value, between the ends.
        mode: f64,
        /// Greatest value.
        high: f64,
    },
}

/// Most an input's figures may be.
const LARGEST: f64 = 1e12;

impl Shape {
    /// The value in the middle of what is believed: the mean, or the likeliest.
    pub fn best(self) -> f64 {
        match self {
            Self::Normal { mean, .. } | Self::NormalWithin { mean, .. } => mean,
            Self::Rectangle { low, high } => f64::midpoint(low, high),
            Self::Triangle { mode, .. } => mode,
        }
    }

    /// # Errors
    /// [`FitError::OutOfRange`] for figures that are no distribution.
    fn check(self) -> Result<(), FitError> {
        let finite = |name, value| in_range(name, value, -LARGEST, LARGEST, "");
        match self {
            Self::Normal { mean, u } => {
                finite("mean", mean)?;
                in_range("standard uncertainty", u, 0.0, LARGEST, "")?;
            }
            Self::NormalWithin { mean, u, low, high } => {
                ends(low, high)?;
                in_range("mean", mean, low, high, "")?;
                // Wider, most draws would fall outside and the shape be a rectangle's.
                in_range("standard uncertainty", u, 0.0, high - low, "")?;
            }
            Self::Rectangle { low, high } => ends(low, high)?,
            Self::Triangle { low, mode, high } => {
                ends(low, high)?;
                in_range("mode", mode, low, high, "")?;
            }
        }
        Ok(())
    }

    fn draw(self, rng: &mut ChaCha8Rng) -> f64 {
        let normal = |rng: &mut ChaCha8Rng| -> f64 { StandardNormal.sample(rng) };
        let uniform = |rng: &mut ChaCha8Rng| -> f64 { StandardUniform.sample(rng) };
        match self {
            Self::Normal { mean, u } => mean + u * normal(rng),
            Self::NormalWithin { mean, u, low, high } => loop {
                let value = mean + u * normal(rng);
                if (low..=high).contains(&value) {
                    return value;
                }
            },
            Self::Rectangle { low, high } => low + (high - low) * uniform(rng),
            // By the inverse of the distribution function.
            Self::Triangle { low, mode, high } => {
                let (width, share) = (high - low, uniform(rng));
                if width <= 0.0 {
                    low
                } else if share < (mode - low) / width {
                    low + (share * width * (mode - low)).sqrt()
                } else {
                    high - ((1.0 - share) * width * (high - mode)).sqrt()
                }
            }
        }
    }
}

fn ends(low: f64, high: f64) -> Result<(), FitError> {
    in_range("lower end", low, -LARGEST, LARGEST, "")?;
    in_range("upper end", high, low, LARGEST, "").map(|_| ())
}

/// Draws of a set of inputs; the same seed gives the same draws.
#[derive(Debug, Clone)]
pub struct Draws {
    shapes: Vec<Shape>,
    rng: ChaCha8Rng,
}

impl Draws {
    /// Draws from shapes with a seed. The inputs are independent of each other.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] for a shape that is no distribution.
    pub fn new(shapes: &[Shape], seed: u64) -> Result<Self, FitError> {
        shapes.iter().try_for_each(|shape| shape.check())?;
        Ok(Self {
            shapes: shapes.to_vec(),
            rng: ChaCha8Rng::seed_from_u64(seed),
        })
    }

    /// The next draw, a value for each shape in their order.
    pub fn draw(&mut self) -> Vec<f64> {
        let Self { shapes, rng } = self;
        shapes.iter().map(|shape| shape.draw(rng)).collect()
    }
}

/// What a model made of the draws.
#[derive(Debug, Clone, Default)]
pub struct Outcomes {
    inputs: Vec<Vec<f64>>,
    outputs: Vec<f64>,
    without: usize,
}

impl Outcomes {
    /// Keeps an output with the draw it came from; `None` where the model has no answer, such
    /// as a drive that stalls. It counts as the least of all.
    pub fn keep(&mut self, inputs: &[f64], output: Option<f64>) {
        match output.filter(|value| value.is_finite()) {
            Some(output) => {
                self.inputs.push(inputs.to_vec());
                self.outputs.push(output);
            }
            None => self.without += 1,
        }
    }

    /// How many were kept, with and without an answer.
    pub fn count(&self) -> usize {
        self.outputs.len() + self.without
    }

    /// How many had no answer.
    pub const fn without(&self) -> usize {
        self.without
    }

    /// Mean of the answers; `None` without one (JCGM 101:2008, 7.6).
    pub fn mean(&self) -> Option<f64> {
        let n = self.outputs.len();
        (n > 0).then(|| self.outputs.iter().sum::<f64>() / n as f64)
    }

    /// Standard uncertainty, the standard deviation of the answers; `None` with fewer than two
    /// (JCGM 101:2008, 7.6).
    pub fn standard(&self) -> Option<f64> {
        let (mean, n) = (self.mean()?, self.outputs.len());
        let squares: f64 = self.outputs.iter().map(|value| (value - mean).powi(2)).sum();
        (n > 1).then(|| (squares / (n - 1) as f64).sqrt())
    }

    /// Values below which the given shares (0 to 1) of all draws lie, straight between
    /// neighbours in rank; a draw without an answer lies below every other, and a share that
    /// falls among them gives `None`.
    pub fn quantiles<const N: usize>(&self, shares: [f64; N]) -> [Option<f64>; N] {
        let mut sorted = self.outputs.clone();
        sorted.sort_by(f64::total_cmp);
        shares.map(|share| {
            let place = share.clamp(0.0, 1.0) * self.count().checked_sub(1)? as f64 - self.without as f64;
            if place < 0.0 {
                return None;
            }
            let below = *sorted.get(place.floor() as usize)?;
            let above = *sorted.get(place.ceil() as usize)?;
            Some(below + (above - below) * place.fract())
        })
    }

    /// Share of all draws whose answer is at least a limit.
    pub fn probability_at_least(&self, limit: f64) -> f64 {
        let reached = self.outputs.iter().filter(|value| **value >= limit).count();
        reached as f64 / self.count().max(1) as f64
    }

    /// Share of the output's spread that each input explains, in the inputs' order: squared
    /// rank correlations (Spearman), scaled to sum to 1; all zero when nothing varies.
    ///
    /// It orders inputs whose effect goes one way; it does not see one that turns.
    pub fn matters(&self) -> Vec<f64> {
        let width = self.inputs.first().map_or(0, Vec::len);
        let outputs = ranks(&self.outputs);
        let squares: Vec<f64> = (0..width)
            .map(|index| {
                let column: Vec<f64> = self.inputs.iter().map(|draw| draw[index]).collect();
                correlation(&ranks(&column), &outputs).powi(2)
            })
            .collect();
        let sum: f64 = squares.iter().sum();
        if sum > 0.0 {
            squares.iter().map(|square| square / sum).collect()
        } else {
            squares
        }
    }
}

/// Ranks from 0, equal values sharing the mean of theirs.
fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut ranks = vec![0.0; values.len()];
    let mut start = 0;
    while start < order.len() {
        let value = values[order[start]];
        let alike = order[start..]
            .iter()
            .take_while(|index| values[**index] == value)
            .count();
        let shared = start as f64 + (alike - 1) as f64 / 2.0;
        for index in &order[start..start + alike] {
            ranks[*index] = shared;
        }
        start += alike;
    }
    ranks
}

/// Correlation coefficient (JCGM 100:2008, 5.2.2); 0 when one of them does not vary.
fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len().max(1) as f64;
    let (mean_a, mean_b) = (mean(a), mean(b));
    let sum = |of: &dyn Fn(f64, f64) -> f64| -> f64 {
        a.iter().zip(b).map(|(x, y)| of(x - mean_a, y - mean_b)).sum()
    };
    let spread = (sum(&|x, _| x * x) * sum(&|_, y| y * y)).sqrt();
    if spread > 0.0 {
        sum(&|x, y| x * y) / spread
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests;
