//! What a rider turns the crank with.

use lockring_calc::road::RoadLoad;

use crate::case::Case;
use crate::finding::Halt;

/// Torques at the crank, N m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pedals {
    /// Of a rider who sits: the most in the mean over a turn.
    pub sits: f64,
    /// Of one who stands with all weight on a pedal, the crank level: weight times crank (first principles).
    pub stands: f64,
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
            sits: case.rule("model.rider-torque"),
            stands: weight * crank,
        })
    }
}
