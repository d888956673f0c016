//! Measured and stated figures against a class's limits.

use super::{PowerBasis, RideClass, SpeedLimit};

/// Relative error taken for an instrument whose error is unknown: the accuracy EN 15194 asks
/// of the speed measurement (as adopted in TBIS 15194:2019, 4.2.11).
pub const UNKNOWN_INSTRUMENT: f64 = 0.02;

/// A measured speed against a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedVerdict {
    /// Within the stored limit, instrument error included.
    Within,
    /// Over the stored limit and the test allowance, instrument error included.
    Over,
    /// The instrument's error or the test allowance decides.
    Uncertain,
    /// The class names no such limit.
    NoLimit,
}

/// A stated power against a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PowerVerdict {
    /// Within the stored limit.
    Within,
    /// Over the stored limit.
    Over,
    /// The stated figure is of another kind than the limit speaks of.
    NotComparable,
    /// The class names no power limit.
    NoLimit,
}

impl RideClass {
    /// Judges the speed (m/s) at which assistance was measured to end, with the instrument's
    /// relative error `u` (0.02 for 2 %; its sign is ignored).
    ///
    /// `lo = v(1-u)`, `hi = v(1+u)`; within when `hi` keeps the limit L by its comparator, over
    /// when `lo` breaks L(1+t) with t the class's test allowance, uncertain between.
    pub fn judge_assist_speed(&self, speed: f64, u: f64) -> SpeedVerdict {
        match self.max_assist_speed {
            Some(limit) => judge(limit, self.test_allowance, speed, u),
            None => SpeedVerdict::NoLimit,
        }
    }

    /// Judges a motor's stated power (W) against the limit, if both speak of the same kind of figure. A motor's greatest output
    /// is no less than anything it is rated at, so that any rating over a limit of output is over it.
    pub fn judge_power(&self, watts: f64, stated: PowerBasis) -> PowerVerdict {
        match self.max_power {
            None => PowerVerdict::NoLimit,
            Some(limit)
                if self.power_basis == PowerBasis::MaxOutput
                    && !limit.comparator.holds(watts, limit.watts) =>
            {
                PowerVerdict::Over
            }
            Some(_) if stated != self.power_basis => PowerVerdict::NotComparable,
            Some(limit) if limit.comparator.holds(watts, limit.watts) => PowerVerdict::Within,
            Some(_) => PowerVerdict::Over,
        }
    }
}

fn judge(limit: SpeedLimit, allowance: f64, speed: f64, u: f64) -> SpeedVerdict {
    let edge = limit.metres_per_second();
    let (lo, hi) = (speed * (1.0 - u.abs()), speed * (1.0 + u.abs()));
    if limit.comparator.holds(hi, edge) {
        SpeedVerdict::Within
    } else if lo > edge * (1.0 + allowance) {
        SpeedVerdict::Over
    } else {
        SpeedVerdict::Uncertain
    }
}
