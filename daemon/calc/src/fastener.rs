//! Tightening torques: what each source says, the part's own mark, and what carbon takes off it.
//!
//! Fasteners come loose from too little preload, so too little counts as much as too much.

use crate::doubt::{Basis, FitError, Limit, in_range};
use crate::quantity::Torque;

mod tables;
pub use tables::{FASTENERS, Fastener, Published, fastener};

/// Share of a marked single figure that a torque may lie away from it (judgement).
pub const MARK_BAND: f64 = 0.10;
/// Share of a marked greatest torque below which the bolt counts as loose (judgement).
pub const MARK_LEAST: f64 = 0.80;
/// How much less a carbon part gets, N·m, with assembly paste: off the upper and off the lower
/// end of the range (from memory: 2 to 3 N·m).
pub const CARBON_LESS_NM: [f64; 2] = [2.0, 3.0];

/// Half the last digit that the stored tables print, N·m: 300 lbf·in is 33.895 N·m and printed
/// as 33.9, so a torque this far outside a stored end still is at that end.
pub const PRINTED_NM: f64 = 0.05;

/// A range of torque, ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Least.
    pub min: Torque,
    /// Greatest.
    pub max: Torque,
    /// How it is known.
    pub basis: Basis,
}

impl Range {
    /// The range as a limit on newton metres; a stored range is printed to [`PRINTED_NM`] only.
    pub fn limit(&self) -> Limit {
        Limit::Within(self.min.as_newton_metres(), self.max.as_newton_metres())
    }
}

impl Published {
    /// The stored range.
    pub fn range(&self) -> Range {
        Range {
            min: Torque::newton_metres(self.min_nm),
            max: Torque::newton_metres(self.max_nm),
            basis: self.basis,
        }
    }

    /// The range for a carbon part, [`CARBON_LESS_NM`] lower and known from memory; `None`
    /// when nothing usable is left, and only the part's mark can tell.
    pub fn on_carbon(&self) -> Option<Range> {
        let [off_max, off_min] = CARBON_LESS_NM;
        (self.min_nm > off_min).then(|| Range {
            min: Torque::newton_metres(self.min_nm - off_min),
            max: Torque::newton_metres(self.max_nm - off_max),
            basis: Basis::Memory,
        })
    }
}

/// What is marked on the part itself; it overrides every table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mark {
    /// "max 5 N·m": from [`MARK_LEAST`] of it up to it.
    UpTo(Torque),
    /// "40 N·m": within [`MARK_BAND`] of it.
    Single(Torque),
    /// "6 – 8 N·m".
    Between(Torque, Torque),
}

impl Mark {
    /// The range a mark (0.1 to 200 N·m, a pair rising) asks for.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside that range.
    pub fn range(self) -> Result<Range, FitError> {
        let (min, max) = match self {
            Self::UpTo(max) => (marked(max, 0.1)? * MARK_LEAST, max),
            Self::Single(figure) => {
                let figure = marked(figure, 0.1)?;
                (figure * (1.0 - MARK_BAND), figure * (1.0 + MARK_BAND))
            }
            Self::Between(min, max) => (marked(min, 0.1)?, marked(max, min.as_newton_metres())?),
        };
        Ok(Range {
            min,
            max,
            basis: Basis::Read,
        })
    }
}

fn marked(torque: Torque, least: f64) -> Result<Torque, FitError> {
    in_range("marked torque", torque.as_newton_metres(), least, 200.0, "N·m")?;
    Ok(torque)
}

#[cfg(test)]
mod tests;
