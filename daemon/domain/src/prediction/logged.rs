//! The bicycle of a case, as the log of its ride is studied with.

use lockring_calc::quantity::Mass;
use lockring_calc::ride_fit::Ridden;

use crate::case::Case;
use crate::finding::Halt;
use crate::prediction;
use crate::ridelog::study::{Bicycle, Meter};

impl Bicycle {
    /// The bicycle of a case, as ridden.
    ///
    /// # Errors
    /// [`Halt::Open`] when mass, posture, tyres or wheel are not known.
    pub fn of(case: &Case<'_>, meter: Meter) -> Result<Self, Halt> {
        let mass = prediction::ridden_mass(case)?.value;
        let assumed = prediction::road(case, mass)?;
        let chain = prediction::chain_efficiency(case);
        // A motor in the hub drives the wheel past the chain; without a build the loss is the chain's.
        let motor = if prediction::is_mid(case).unwrap_or(true) {
            chain
        } else {
            1.0
        };
        Ok(Self {
            ridden: Ridden {
                mass: Mass::kilograms(mass),
                rotating: assumed.equivalent_mass() - assumed.mass,
                efficiency: 1.0,
                rho: prediction::air_density(case)?,
                gravity: assumed.gravity,
            },
            losses: meter.losses(chain, motor),
            assumed,
        })
    }
}
