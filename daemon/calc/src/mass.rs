//! Mass of a conversion: where it rests, and what is usual where nothing was weighed.

use crate::doubt::{Basis, FitError};
use crate::quantity::{Length, Mass};
use crate::wheel::{front_share, on_axles};

mod tables;
pub use tables::{
    PACK_WH_PER_KG, PART_MASSES, PartMass, TEST_MASSES, TestMass, UNMARKED_FRAME_KG, pack_mass, part_mass,
};

/// Share of a limit below which the margin left is remarked on (workshop judgement).
pub const NEARLY: f64 = 0.05;

/// Rounding of binary fractions, in the unit compared.
const ROUNDING: f64 = 1e-9;

/// Front axle's share that is usual with the rider on (dictionary of bicycle terms, read;
/// common practice). Measured for recreational riders: 45 % (Marchand, bicycle tyre pressure).
pub const FRONT_SHARE: [f64; 2] = [0.40, 0.45];
/// Basis of [`FRONT_SHARE`].
pub const FRONT_SHARE_BASIS: Basis = Basis::Read;

/// Loads on the two axles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axles {
    /// On the front axle.
    pub front: Mass,
    /// On the rear axle.
    pub rear: Mass,
}

/// Where the front axle's share stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Split {
    /// Inside [`FRONT_SHARE`].
    Usual,
    /// Less on the front wheel: light steering.
    LightFront {
        /// Mass to bring from the rear to the front axle.
        move_forward: Mass,
    },
    /// More on the front wheel.
    HeavyFront {
        /// Mass to bring from the front to the rear axle.
        move_back: Mass,
    },
}

impl Axles {
    /// From two readings of one scale, the other wheel on a block as high; each 0.1 to
    /// 1 000 kg.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside that range.
    pub fn weighed(front: Mass, rear: Mass) -> Result<Self, FitError> {
        front_share(front, rear)?;
        Ok(Self { front, rear })
    }

    /// Both axles together.
    pub fn total(&self) -> Mass {
        self.front + self.rear
    }

    /// Front axle's share, `F/(F + R)`.
    pub fn front_share(&self) -> f64 {
        self.front / self.total()
    }

    /// With a part added, its middle `behind` the front axle. Ranges as in
    /// [`on_axles`].
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside those ranges.
    pub fn with(&self, part: Mass, behind: Length, wheelbase: Length) -> Result<Self, FitError> {
        let (front, rear) = on_axles(part, behind, wheelbase)?;
        Ok(Self {
            front: self.front + front,
            rear: self.rear + rear,
        })
    }

    /// With a part taken off; ranges and errors as in [`Axles::with`].
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside those ranges.
    pub fn without(&self, part: Mass, behind: Length, wheelbase: Length) -> Result<Self, FitError> {
        let (front, rear) = on_axles(part, behind, wheelbase)?;
        Ok(Self {
            front: self.front - front,
            rear: self.rear - rear,
        })
    }

    /// With a part moved `from` one place `to` another: `m·(to − from)/L` goes to the rear
    /// axle. Ranges and errors as in [`Axles::with`].
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside those ranges.
    pub fn moved(&self, part: Mass, from: Length, to: Length, wheelbase: Length) -> Result<Self, FitError> {
        self.without(part, from, wheelbase)?.with(part, to, wheelbase)
    }

    /// Judges the split against [`FRONT_SHARE`], read as common practice: it can advise.
    pub fn split(&self) -> Split {
        let (share, total) = (self.front_share(), self.total());
        if share < FRONT_SHARE[0] - ROUNDING {
            Split::LightFront {
                move_forward: total * FRONT_SHARE[0] - self.front,
            }
        } else if share > FRONT_SHARE[1] + ROUNDING {
            Split::HeavyFront {
                move_back: self.front - total * FRONT_SHARE[1],
            }
        } else {
            Split::Usual
        }
    }
}

#[cfg(test)]
mod tests;
