//! The climbing of the brief's road, held against its worst hill.

use lockring_calc::quantity::Grade;

use super::brief_grades;
use crate::case::Case;
use crate::finding::Halt;
use crate::unit::{self, Kind};

/// What the brief's road climbs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climbing {
    /// As the brief has it, m.
    pub told: f64,
    /// What its worst hill rises by itself, m; `None` where its grade or length is not known.
    pub hill: Option<f64>,
    /// Grade of the road were it uphill from end to end, and of the worst hill as steep as it may turn out, where the first is
    /// more. A road may climb one way only: how much of it does is nobody's to guess.
    pub steeper: Option<(f64, f64)>,
}

impl Climbing {
    /// The climbing of a case.
    ///
    /// # Errors
    /// [`Halt::Open`] when the climbing or the distance are not known.
    pub fn of(case: &Case<'_>) -> Result<Self, Halt> {
        let (told, range) = (case.number("climb")?.value, case.number("range")?.value);
        let grade = case.optional_number("hill-grade").map(|grade| grade.value);
        let length = case.optional_number("hill-length").map(|length| length.value);
        let rises = |(grade, length): (f64, f64)| length * Grade::ratio(grade).sin();
        let worst = || {
            let grades = brief_grades(case).ok()?;
            grades.iter().map(|hill| hill.grade.value).reduce(f64::max)
        };
        let mean = told / range;
        Ok(Self {
            told,
            hill: grade.zip(length).map(rises),
            steeper: grade
                .and_then(|_| worst())
                .filter(|worst| mean > Grade::ratio(*worst).sin())
                .map(|worst| (mean, worst)),
        })
    }

    /// What is counted with, m: no road climbs less than its worst hill.
    pub fn counted(&self) -> f64 {
        self.hill.map_or(self.told, |hill| hill.max(self.told))
    }

    /// Where the brief contradicts itself: what is counted with, and what to do about it.
    pub fn contradiction(&self, job: u32) -> Option<(String, String)> {
        let shown = |metres: f64| unit::show(Kind::Length, "m", metres.round());
        let percent = |ratio: f64| unit::show(Kind::Grade, "%", ratio);
        if let Some(hill) = self.hill.filter(|hill| *hill > self.told) {
            let said = format!(
                "climbing of {}, which the worst hill takes by itself where the brief has {} for the whole road",
                shown(hill),
                shown(self.told)
            );
            let cure = format!(
                "the climbing of the whole road, or the worst hill as it is: lockring brief {job} climb={}",
                shown(hill.ceil()).replace(' ', "")
            );
            return Some((said, cure));
        }
        let (mean, worst) = self.steeper?;
        let said = format!(
            "climbing of {}, {} were the whole road uphill, where the worst hill has {}",
            shown(self.told),
            percent(mean),
            percent(worst)
        );
        let cure = format!(
            "the climbing of the whole road, or the worst hill as it is: lockring brief {job} climb=LENGTH hill-grade=GRADE"
        );
        Some((said, cure))
    }
}
