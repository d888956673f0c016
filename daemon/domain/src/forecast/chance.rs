//! How likely a hill is climbed as fast as asked, for the finding of its check.

use lockring_calc::performance::DriveSystem;
use lockring_calc::sampling::Shape;

use super::machine::{self, Input, Machine};
use super::{Asked, Prepared, Question};
use crate::case::{Case, Known};
use crate::finding::Halt;

/// Draws behind a finding: enough for two digits, and quick enough to run at every gate.
const ASKED: Asked = Asked { draws: 200, seed: 1 };

/// Probability that a drive makes at least `wished`, m/s, on a grade with its doubt, everything
/// else as uncertain as in a forecast.
///
/// # Errors
/// [`Halt::Open`] naming what is missing.
pub fn chance_on_hill(case: &Case<'_>, drive: &DriveSystem, grade: Known, wished: f64) -> Result<f64, Halt> {
    let mut machine = Machine::of(case, None)?;
    machine.low = drive.clone();
    machine.grade = Some(grade.value);
    let mut doubts = machine::doubts(case)?;
    for doubt in doubts.iter_mut().filter(|doubt| doubt.input == Input::Grade) {
        doubt.shape = Shape::Normal {
            mean: grade.value,
            u: grade.u,
        };
    }
    let prepared = Prepared {
        machine,
        doubts,
        questions: vec![Question::Hill { low: true }],
    };
    let outcomes = prepared
        .sample(ASKED, &mut |_| true)
        .map_err(|refusal| crate::prediction::unusable(case, "doubt of the hill", &refusal.message))?;
    Ok(outcomes[0].probability_at_least(wished))
}
