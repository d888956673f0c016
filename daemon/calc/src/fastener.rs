//! Tightening torques: what each source says, the part's own mark, and where a recorded
//! torque stands.
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

/// Slack for rounding of binary fractions, N·m.
const ROUNDING: f64 = 1e-9;

/// How the sources of a row go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Agreement {
    /// One range is stored.
    One,
    /// Ranges differ but share some torque.
    Overlap,
    /// No torque lies in all of them: only the part's mark tells which holds.
    Apart,
}

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

    fn holds(&self, torque: Torque, slack: f64) -> bool {
        self.limit().margin(torque.as_newton_metres()) >= -slack - ROUNDING
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

impl Fastener {
    /// Whether the sources of this row agree.
    pub fn agreement(&self) -> Agreement {
        let from = self.ranges.iter().map(|r| r.min_nm).fold(f64::MIN, f64::max);
        let to = self.ranges.iter().map(|r| r.max_nm).fold(f64::MAX, f64::min);
        match self.ranges.len() {
            1 => Agreement::One,
            _ if from <= to => Agreement::Overlap,
            _ => Agreement::Apart,
        }
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

/// What is clamped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Clamped {
    /// Metal throughout.
    Metal,
    /// A carbon part on either side.
    Carbon,
}

/// Where a recorded torque stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Inside the part's mark or the range to work to.
    Inside,
    /// Outside the range to work to, inside another source's: look for the part's mark.
    InsideOther,
    /// Outside a range that memory or judgement alone gives: it can advise, not stop.
    OutsideUnproven,
    /// Outside the mark, or outside every range, one of which was read.
    Outside,
    /// No figure is left for a carbon part: the part's mark is needed.
    NeedsMark,
}

impl Standing {
    /// Whether this may stop a job.
    pub fn may_stop(self) -> bool {
        self == Self::Outside
    }
}

/// A recorded torque, judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TorqueJudged {
    /// Where it stands.
    pub standing: Standing,
    /// The range it was held against: the mark, the range to work to, or the other source's
    /// range it lies in; `None` when none is left.
    pub range: Option<Range>,
    /// Distance to the nearer end of that range: positive inside, negative outside.
    pub margin: Option<Torque>,
}

fn judged(standing: Standing, range: Range, torque: Torque) -> TorqueJudged {
    TorqueJudged {
        standing,
        range: Some(range),
        margin: Some(Torque::newton_metres(
            range.limit().margin(torque.as_newton_metres()),
        )),
    }
}

/// Judges a recorded torque (0 to 200 N·m): the part's mark overrides the table; a carbon part
/// without a mark gets the lowered range, and even so never more than every read range allows.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range or for a mark that cannot be used.
pub fn judge(
    row: &Fastener,
    recorded: Torque,
    mark: Option<Mark>,
    clamped: Clamped,
) -> Result<TorqueJudged, FitError> {
    in_range("recorded torque", recorded.as_newton_metres(), 0.0, 200.0, "N·m")?;
    if let Some(mark) = mark {
        return Ok(by_mark(mark, mark.range()?, recorded));
    }
    Ok(match clamped {
        Clamped::Metal => by_table(row, recorded),
        Clamped::Carbon => by_table_on_carbon(row, recorded),
    })
}

fn by_mark(mark: Mark, range: Range, recorded: Torque) -> TorqueJudged {
    let standing = if range.holds(recorded, 0.0) {
        Standing::Inside
    } else if matches!(mark, Mark::UpTo(_)) && recorded < range.min {
        // A mark that names only the greatest torque says nothing of the least.
        Standing::OutsideUnproven
    } else {
        Standing::Outside
    };
    judged(standing, range, recorded)
}

fn by_table(row: &Fastener, recorded: Torque) -> TorqueJudged {
    let holder = row
        .ranges
        .iter()
        .position(|r| r.range().holds(recorded, PRINTED_NM));
    let standing = match holder {
        Some(0) => Standing::Inside,
        Some(_) => Standing::InsideOther,
        None if row.ranges.iter().any(|r| r.basis.may_stop()) => Standing::Outside,
        None => Standing::OutsideUnproven,
    };
    judged(standing, row.ranges[holder.unwrap_or(0)].range(), recorded)
}

fn by_table_on_carbon(row: &Fastener, recorded: Torque) -> TorqueJudged {
    let table = by_table(row, recorded);
    let above = table.range.is_some_and(|range| recorded > range.max);
    if table.standing == Standing::Outside && above {
        return table;
    }
    match row.ranges[0].on_carbon() {
        None => TorqueJudged {
            standing: Standing::NeedsMark,
            range: None,
            margin: None,
        },
        Some(range) if range.holds(recorded, PRINTED_NM) => judged(Standing::Inside, range, recorded),
        Some(range) => judged(Standing::OutsideUnproven, range, recorded),
    }
}

#[cfg(test)]
mod tests;
