//! Doubt of a measurement, and decisions that respect it.
//!
//! Readings become a value with a standard uncertainty (JCGM 100:2008), the expanded
//! uncertainty (k = 2) becomes a guard band around a limit (JCGM 106:2012, clause 8.3),
//! and a decision says meets, misses or in doubt. All values here are plain `f64` in one
//! unit of the caller's choosing; the unit never changes inside a call.

use std::fmt;

/// Coverage factor of the expanded uncertainty: k = 2, about 95 % for a normal
/// distribution (JCGM 100:2008, 6.3.3).
pub const COVERAGE: f64 = 2.0;

/// Relative slack that keeps rounding of binary fractions from turning "exactly on the
/// limit" into "over it" (14 × 4.2 V is 58.800 000 000 000 004 V).
const ROUNDING: f64 = 1e-9;

/// How a stored figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    /// The publication, or the trade's own tables where there is no publication, was read.
    Read,
    /// Known from the named publication, which was not read.
    Memory,
    /// Computed from a stated equation.
    Computed,
    /// Workshop judgement, or a habit of the trade that no table states.
    Judgement,
}

impl Basis {
    /// Whether a check that rests on this figure may stop a job; memory and judgement
    /// only advise.
    pub const fn may_stop(self) -> bool {
        matches!(self, Self::Read | Self::Computed)
    }
}

/// An input that cannot be used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FitError {
    /// The value lies outside the range the equation holds for, or is not a number.
    OutOfRange {
        /// Name of the input.
        name: &'static str,
        /// The value given, in `unit`.
        value: f64,
        /// Smallest value accepted, in `unit`.
        min: f64,
        /// Largest value accepted, in `unit`.
        max: f64,
        /// Unit of the three numbers.
        unit: &'static str,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::OutOfRange {
            name,
            value,
            min,
            max,
            unit,
        } = self;
        write!(f, "{name} is {value} {unit}; the range is {min} to {max} {unit}")
    }
}

impl std::error::Error for FitError {}

/// The value itself when it lies in `min..=max`.
///
/// # Errors
/// [`FitError::OutOfRange`] when it does not, or is not a number.
pub fn in_range(
    name: &'static str,
    value: f64,
    min: f64,
    max: f64,
    unit: &'static str,
) -> Result<f64, FitError> {
    if (min..=max).contains(&value) {
        Ok(value)
    } else {
        Err(FitError::OutOfRange {
            name,
            value,
            min,
            max,
            unit,
        })
    }
}

/// Repeated readings of one measurand, in the order taken; at least one, all finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings(Vec<f64>);

/// What a set of readings settles to under the bench's repeat rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Settled {
    /// One reading only: nothing says how well it repeats.
    Single(f64),
    /// Two readings within the agreement: their mean.
    Agreed(f64),
    /// Two readings further apart than the agreement: take a third.
    NeedsThird {
        /// Distance between the two.
        spread: f64,
    },
    /// Three or more readings: the middle one.
    Middle(f64),
}

impl Settled {
    /// The settled value; `None` while a third reading is needed.
    pub const fn value(self) -> Option<f64> {
        match self {
            Self::Single(v) | Self::Agreed(v) | Self::Middle(v) => Some(v),
            Self::NeedsThird { .. } => None,
        }
    }
}

impl Readings {
    /// From readings in the order taken.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] when there is none, or one is not finite.
    pub fn new(values: &[f64]) -> Result<Self, FitError> {
        in_range("number of readings", values.len() as f64, 1.0, 1e6, "readings")?;
        for &value in values {
            in_range("reading", value, f64::MIN, f64::MAX, "in the unit given")?;
        }
        Ok(Self(values.to_vec()))
    }

    /// Number of readings.
    pub fn count(&self) -> usize {
        self.0.len()
    }

    /// The readings in the order taken.
    pub fn values(&self) -> &[f64] {
        &self.0
    }

    /// Arithmetic mean, `Σx/n` (JCGM 100:2008, equation 3).
    pub fn mean(&self) -> f64 {
        self.0.iter().sum::<f64>() / self.0.len() as f64
    }

    /// Middle reading; midway between the two middle ones for an even count.
    pub fn median(&self) -> f64 {
        let mut sorted = self.0.clone();
        sorted.sort_by(f64::total_cmp);
        let half = sorted.len() / 2;
        if sorted.len() % 2 == 1 {
            sorted[half]
        } else {
            (sorted[half - 1] + sorted[half]) / 2.0
        }
    }

    /// Largest minus smallest reading.
    pub fn spread(&self) -> f64 {
        let (low, high) = self
            .0
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| {
                (l.min(v), h.max(v))
            });
        high - low
    }

    /// Experimental standard deviation, `sqrt(Σ(x − mean)²/(n − 1))` (JCGM 100:2008,
    /// equation 4); `None` for a single reading.
    pub fn standard_deviation(&self) -> Option<f64> {
        if self.0.len() < 2 {
            return None;
        }
        let mean = self.mean();
        let squares: f64 = self.0.iter().map(|v| (v - mean).powi(2)).sum();
        Some((squares / (self.0.len() - 1) as f64).sqrt())
    }

    /// The bench's repeat rule: two readings that differ by more than `agree` need a third;
    /// with three the middle one is kept. Common practice, no source.
    pub fn settle(&self, agree: f64) -> Settled {
        match self.0.len() {
            1 => Settled::Single(self.0[0]),
            2 if self.spread() > agree + ROUNDING * agree.abs().max(1.0) => Settled::NeedsThird {
                spread: self.spread(),
            },
            2 => Settled::Agreed(self.mean()),
            _ => Settled::Middle(self.median()),
        }
    }
}

/// Standard uncertainty of an instrument known only as "± `half_width`", taken as a
/// rectangular distribution: `a/√3` (JCGM 100:2008, 4.3.7).
pub fn standard_from_half_width(half_width: f64) -> f64 {
    half_width.abs() / 3.0_f64.sqrt()
}

/// Combined standard uncertainty of independent components in the unit of the result,
/// `sqrt(Σu²)` (JCGM 100:2008, equation 10 with the sensitivities already applied).
pub fn combined(components: &[f64]) -> f64 {
    components.iter().map(|u| u * u).sum::<f64>().sqrt()
}

/// A value with its doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubted {
    /// Best estimate.
    pub value: f64,
    /// Combined standard uncertainty.
    pub standard: f64,
    /// Expanded uncertainty, [`COVERAGE`] × `standard`.
    pub expanded: f64,
}

impl Doubted {
    /// From a value and its combined standard uncertainty.
    pub fn new(value: f64, standard: f64) -> Self {
        Self {
            value,
            standard: standard.abs(),
            expanded: COVERAGE * standard.abs(),
        }
    }
}

/// A limit on one value, in the value's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// The value may be at most this.
    AtMost(f64),
    /// The value must be at least this.
    AtLeast(f64),
    /// The value must lie between these two, ends included.
    Within(f64, f64),
    /// The value must be strictly less than this.
    Below(f64),
}

impl Limit {
    /// Signed distance from the value to the limit: positive inside, negative outside.
    pub fn margin(self, value: f64) -> f64 {
        match self {
            Self::AtMost(max) | Self::Below(max) => max - value,
            Self::AtLeast(min) => value - min,
            // A range turned upside down admits nothing, so `min` of both is right for it too.
            Self::Within(min, max) => (value - min).min(max - value),
        }
    }

    fn scale(self, value: f64) -> f64 {
        let size = match self {
            Self::AtMost(a) | Self::AtLeast(a) | Self::Below(a) => a.abs(),
            Self::Within(a, b) => a.abs().max(b.abs()),
        };
        size.max(value.abs())
    }
}

/// Outcome of one guarded comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Decision {
    /// Meets the limit even at the far end of the doubt.
    Meets,
    /// Misses the limit even at the near end of the doubt.
    Misses,
    /// The interval value ± expanded uncertainty contains the limit.
    InDoubt,
}

/// A decision with the distance it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decided {
    /// The outcome.
    pub decision: Decision,
    /// Distance to the limit in the value's unit: positive inside, negative outside.
    pub margin: f64,
}

/// Compares a value with a limit under guard bands as wide as the expanded uncertainty
/// (JCGM 106:2012, 8.3.2 guarded acceptance and 8.3.3 guarded rejection).
///
/// Meets when `margin ≥ U`, misses when `margin < −U`, in doubt between; for
/// [`Limit::Below`] equality with the limit misses. A value or uncertainty that is not a
/// number decides nothing: in doubt.
pub fn decide(value: f64, expanded_uncertainty: f64, limit: Limit) -> Decided {
    let margin = limit.margin(value);
    let doubt = expanded_uncertainty.abs();
    let slack = ROUNDING * limit.scale(value);
    let (meets, misses) = match limit {
        Limit::Below(_) => (margin > doubt + slack, margin <= slack - doubt),
        _ => (margin >= doubt - slack, margin < -doubt - slack),
    };
    let decision = match (meets, misses) {
        (true, _) => Decision::Meets,
        (_, true) => Decision::Misses,
        _ => Decision::InDoubt,
    };
    Decided { decision, margin }
}

/// Outcome against a good and a tolerable limit (go, look, stop).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Graded {
    /// Meets the good limit at both ends of the doubt.
    Pass,
    /// Neither a pass nor a fail.
    Caution {
        /// The interval of doubt contains one of the limits: a better reading may settle it.
        in_doubt: bool,
    },
    /// Misses the tolerable limit (or the good one when there is no other) by more than
    /// the doubt.
    Fail,
}

/// Grades a value against `good` and, when given, a wider `tolerable` limit.
///
/// Guard bands as in [`decide`]. `tolerable` is expected to admit everything `good` admits.
pub fn grade(value: f64, expanded_uncertainty: f64, good: Limit, tolerable: Option<Limit>) -> Graded {
    let inner = decide(value, expanded_uncertainty, good).decision;
    let outer = decide(value, expanded_uncertainty, tolerable.unwrap_or(good)).decision;
    match (inner, outer) {
        (Decision::Meets, _) => Graded::Pass,
        (_, Decision::Misses) => Graded::Fail,
        _ => Graded::Caution {
            in_doubt: inner == Decision::InDoubt || outer == Decision::InDoubt,
        },
    }
}

#[cfg(test)]
mod tests;
