//! What a rider, or a crew, turns the crank with.

use lockring_calc::road::RoadLoad;

use crate::case::Case;
use crate::finding::Halt;

/// Torques at the crank, N m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pedals {
    /// Of a rider who sits, or of all of a crew together: the most in the mean over a turn.
    pub sits: f64,
    /// Of one who stands with all weight on a pedal, the crank level: weight times crank (first principles). The mass of a
    /// crew is that of all.
    pub stands: f64,
}

/// The most in the mean over a turn of all who pedal, N m at the crank: on a tandem their cranks are joined by a chain.
pub(super) fn sitting(case: &Case<'_>) -> f64 {
    // A count inside the window of its code.
    let crew = case
        .optional_number("crew")
        .map_or(1.0, |crew| crew.value.round());
    crew * case.rule("model.rider-torque")
}

impl Pedals {
    /// The rider of a case.
    ///
    /// # Errors
    /// [`Halt::Open`] when the rider's mass is not known.
    pub fn of(case: &Case<'_>) -> Result<Self, Halt> {
        let crank = case
            .optional_number("crank-length")
            .map_or_else(|| case.rule("model.crank-length"), |crank| crank.value);
        let weight = case.number("rider-mass")?.value * RoadLoad::STANDARD_GRAVITY.si();
        Ok(Self {
            sits: sitting(case),
            stands: weight * crank,
        })
    }
}
