//! How hard a start may be before the front wheel leaves the road.

use lockring_calc::brakes;
use lockring_calc::dropout::Wheel;
use lockring_calc::quantity::{Acceleration, Length};
use lockring_calc::solve;

use super::{axles, driven_hub, grade, unusable};
use crate::case::{Case, Known};
use crate::finding::Halt;

/// Where the mass lies, and whether anybody measured it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lift {
    /// Rear contact to the centre of mass along the road, m.
    pub behind: f64,
    /// Height of the centre of mass, m.
    pub height: f64,
    /// Whether wheelbase, height and both axle loads are this bicycle's own.
    pub measured: bool,
}

impl Lift {
    /// The bicycle at a gross mass; `None` where the motor drives the front wheel, which stops pulling as it lifts.
    ///
    /// # Errors
    /// [`Halt::Open`] when no motor is chosen, or the readings are outside the model.
    pub fn of(case: &Case<'_>, gross: Known) -> Result<Option<Self>, Halt> {
        if driven_hub(case)? == Some(Wheel::Front) {
            return Ok(None);
        }
        let base = case.optional_number("wheelbase").map(|base| base.value);
        let height = case.optional_number("mass-height").map(|height| height.value);
        let [front, _] = axles(case, gross)?;
        let weighed = case.knows("scale-front") && case.knows("scale-rear");
        Ok(Some(Self {
            // Balance of moments about the rear contact.
            behind: base.unwrap_or_else(|| case.rule("hill.lift-wheelbase")) * front.share.value,
            height: height.unwrap_or_else(|| case.rule("hill.lift-height")),
            measured: weighed && base.is_some() && height.is_some(),
        }))
    }

    /// The acceleration at which the front wheel lifts on a grade, a ratio; negative where it does at a standstill.
    ///
    /// # Errors
    /// [`Halt::Open`] when the readings are outside the model.
    pub fn most(&self, case: &Case<'_>, ratio: f64) -> Result<Acceleration, Halt> {
        let (behind, height) = (Length::metres(self.behind), Length::metres(self.height));
        brakes::front_lift_limit(behind, height, grade(ratio))
            .map_err(|error| unusable(case, "centre of mass", &error))
    }

    /// The steepest grade, a ratio from 0 to `most`, on which a start of so much keeps the front wheel on the road.
    ///
    /// # Errors
    /// [`Halt::Open`] when the readings are outside the model.
    pub fn steepest(&self, case: &Case<'_>, start: Acceleration, most: f64) -> Result<f64, Halt> {
        let spare = |ratio: f64| Ok::<f64, Halt>((self.most(case, ratio)? - start).si());
        if spare(most)? >= 0.0 {
            return Ok(most);
        }
        if spare(0.0)? <= 0.0 {
            return Ok(0.0);
        }
        solve::root(|ratio| spare(ratio).unwrap_or(f64::NAN), 0.0, most, 1e-9)
            .map_err(|error| unusable(case, "centre of mass", &error))
    }
}
