//! From a number and its limits to a finding: the guard bands of JCGM 106:2012 in one place.
//!
//! A check gives what it compares, in SI, with the unit people read; the judgement gives
//! the verdict, the figure with margin and doubt, and a line that says all of it.

use lockring_calc::doubt::{self, Decision, Graded, Limit};

use crate::case::Known;
use crate::fact::Provenance;
use crate::finding::{Figure, Finding, Verdict};
use crate::unit::{self, Kind};

/// A number under judgement, in SI, with the unit it is shown in.
#[derive(Debug, Clone, Copy)]
pub struct Judged<'a> {
    /// What it is, as the beginning of a sentence.
    pub what: &'a str,
    /// The number with its doubt, in SI.
    pub known: Known,
    /// What is measured.
    pub kind: Kind,
    /// The unit shown.
    pub unit: &'static str,
    /// The readings behind it.
    each: &'a [Known],
    /// What settles it where its doubt decides; empty for the usual words.
    settled_by: &'a str,
    /// How much less and how much more it may be, where that is not the same either way.
    sides: Option<(f64, f64)>,
}

/// What settles a figure that was read off an instrument and lies too near its limit.
const MEASURED: &str = "inside the measurement's doubt: measure again or with a better instrument";
/// The same of a figure that nobody measured: off a sheet, told, or worked out from such.
const STATED: &str = "inside the doubt of the stated figures behind it: measure them, or ask their maker";
/// A measured figure that misses the good limit for certain, and the wider one perhaps.
const SHORT: &str =
    "short of good, and the measurement's doubt reaches past what is tolerable: cure it, or measure again";

impl<'a> Judged<'a> {
    /// A number under judgement.
    pub const fn new(what: &'a str, known: Known, kind: Kind, unit: &'static str) -> Self {
        Self {
            what,
            known,
            kind,
            unit,
            each: &[],
            settled_by: "",
            sides: None,
        }
    }

    /// The same with an expanded doubt, in SI, that reaches further down than up or the other way round, for a
    /// limit from below.
    #[must_use]
    pub const fn uneven(self, less: f64, more: f64) -> Self {
        Self {
            sides: Some((less, more)),
            ..self
        }
    }

    /// The same with what settles it where its doubt decides: a count or a figure off a sheet is not measured again.
    #[must_use]
    pub const fn settled_by(self, settled_by: &'a str) -> Self {
        Self { settled_by, ..self }
    }

    /// The same with the readings behind it: where every one of them misses a limit by itself, their
    /// scatter is no doubt that it is missed.
    #[must_use]
    pub const fn each(self, each: &'a [Known]) -> Self {
        Self { each, ..self }
    }

    /// Judges against one limit, in SI: inside with its doubt passes, outside with its doubt
    /// fails, between is a caution that asks for a better measurement.
    pub fn against(&self, limit: Limit) -> Finding {
        self.graded(limit, None)
    }

    /// Judges against a good limit and a wider one that may be conceded up to, in SI.
    pub fn between(&self, good: Limit, tolerable: Limit) -> Finding {
        self.graded(good, Some(tolerable))
    }

    /// The number as shown: no finer than its doubt.
    pub fn shown(&self) -> String {
        let sides = self.sides.map(|(less, more)| less.min(more));
        self.rounded(self.known.value, sides.unwrap_or(self.known.expanded()))
    }

    /// A value in SI, no finer than a doubt.
    fn rounded(&self, si: f64, doubt: f64) -> String {
        let doubt = self.difference_number(doubt);
        if doubt <= 0.0 {
            return unit::show(self.kind, self.unit, si);
        }
        let step = 10f64.powf(doubt.log10().floor() - 1.0);
        let number = unit::from_si(self.kind, self.unit, si);
        unit::with_unit((number / step).round() * step, self.unit)
    }

    /// The expanded doubt on the side on which a limit is.
    fn doubt_towards(&self, limit: Limit) -> f64 {
        match (self.sides, limit) {
            (Some((_, more)), Limit::AtLeast(least)) if self.known.value < least => more,
            (Some((less, _)), _) => less,
            (None, _) => self.known.expanded(),
        }
    }

    fn graded(&self, good: Limit, tolerable: Option<Limit>) -> Finding {
        let doubt = self.doubt_towards(good);
        let missed_by =
            |known: &Known| doubt::grade(known.value, known.expanded(), good, tolerable) == Graded::Fail;
        let graded = if !self.each.is_empty() && self.each.iter().all(missed_by) {
            Graded::Fail
        } else {
            doubt::grade(self.known.value, doubt, good, tolerable)
        };
        let meets_good = doubt::decide(self.known.value, doubt, good).decision;
        let limits = match tolerable {
            Some(tolerable) => format!(
                "{}; with a concession {}",
                self.limit(good),
                self.limit(tolerable)
            ),
            None => self.limit(good),
        };
        let (verdict, remark) = match graded {
            Graded::Pass => (Verdict::Pass, "within stored limit"),
            Graded::Fail => (Verdict::Fail, missed(tolerable.unwrap_or(good))),
            Graded::Caution { in_doubt: true } if doubt > 0.0 => {
                let is_short = tolerable.is_some() && meets_good == Decision::Misses;
                let usual = match self.known.provenance {
                    Provenance::Measured if is_short => SHORT,
                    Provenance::Measured => MEASURED,
                    Provenance::Stated | Provenance::Assumed => STATED,
                };
                let own = Some(self.settled_by).filter(|words| !words.is_empty());
                (Verdict::Caution, own.unwrap_or(usual))
            }
            Graded::Caution { .. } if meets_good == Decision::Misses => {
                (Verdict::Caution, "short of good, tolerable")
            }
            Graded::Caution { .. } => (Verdict::Caution, "on the limit"),
        };
        let doubt_shown = match self.sides {
            Some((less, more)) => format!(
                " (from {} to {})",
                self.rounded((self.known.value - less).max(0.0), doubt),
                self.rounded(self.known.value + more, doubt)
            ),
            None if doubt > 0.0 => format!(" ± {}", self.difference(doubt)),
            None => String::new(),
        };
        let summary = format!("{} {}{doubt_shown}, {limits}: {remark}", self.what, self.shown());
        let figure = Figure {
            name: self.what.to_owned(),
            value: unit::from_si(self.kind, self.unit, self.known.value),
            unit: self.unit.to_owned(),
            limit: limits,
            margin: Some(self.difference_number(good.margin(self.known.value))),
            uncertainty: (doubt > 0.0).then(|| self.difference_number(doubt)),
        };
        Finding::new(verdict, summary).with_figure(figure)
    }

    fn limit(&self, limit: Limit) -> String {
        let show = |si| unit::show(self.kind, self.unit, si);
        match limit {
            Limit::AtMost(most) => format!("at most {}", show(most)),
            Limit::AtLeast(least) => format!("at least {}", show(least)),
            Limit::Within(least, most) => format!("{} to {}", show(least), show(most)),
            Limit::Below(below) => format!("less than {}", show(below)),
        }
    }

    /// A difference in the shown unit: offsets (as between K and °C) cancel.
    fn difference_number(&self, si: f64) -> f64 {
        unit::from_si(self.kind, self.unit, si) - unit::from_si(self.kind, self.unit, 0.0)
    }

    /// A doubt as shown: two digits say all that is known of it (JCGM 100:2008, 7.2.6).
    fn difference(&self, si: f64) -> String {
        unit::with_unit(two_digits(self.difference_number(si)), self.unit)
    }
}

const fn missed(limit: Limit) -> &'static str {
    match limit {
        Limit::AtMost(_) | Limit::Below(_) => "over stored limit",
        Limit::AtLeast(_) => "short of stored limit",
        Limit::Within(..) => "outside stored limit",
    }
}

fn two_digits(number: f64) -> f64 {
    format!("{number:.1e}").parse().unwrap_or(number)
}

/// A plain figure without a limit, in SI.
pub fn figure(name: &str, kind: Kind, unit: &'static str, si: f64) -> Figure {
    Figure {
        name: name.to_owned(),
        value: unit::from_si(kind, unit, si),
        unit: unit.to_owned(),
        limit: String::new(),
        margin: None,
        uncertainty: None,
    }
}

#[cfg(test)]
mod tests;
