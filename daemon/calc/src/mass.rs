//! Mass of a conversion: all of it, where it rests, and what may carry it.

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::{Length, Mass};
use crate::wheel::{front_share, on_axles};

mod limits;
mod tables;
pub use limits::{Bearer, LimitsKnown, MassLimit, NEARLY, Rating, Reach, mass_limits, tightest};
pub use tables::{
    PACK_PLACES, PACK_WH_PER_KG, PART_MASSES, PackPlace, PartMass, TEST_MASSES, TestMass, UNMARKED_FRAME_KG,
    pack_mass, part_mass,
};

/// Rounding of binary fractions, in the unit compared.
const ROUNDING: f64 = 1e-9;

/// Front axle's share that is usual with the rider on (dictionary of bicycle terms, read;
/// common practice). Measured for recreational riders: 45 % (Marchand, bicycle tyre pressure).
pub const FRONT_SHARE: [f64; 2] = [0.40, 0.45];
/// Basis of [`FRONT_SHARE`].
pub const FRONT_SHARE_BASIS: Basis = Basis::Read;

/// Everything that rolls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AllIn {
    /// Bicycle without the kit, 5 to 80 kg.
    pub bicycle: Mass,
    /// Motor, controller, leads and their like, 0 to 40 kg.
    pub kit: Mass,
    /// Packs, 0 to 40 kg.
    pub pack: Mass,
    /// Rider as dressed, 15 to 250 kg.
    pub rider: Mass,
    /// Luggage on carriers and in a box, 0 to 250 kg.
    pub luggage: Mass,
    /// Child with seat, 0 to 60 kg.
    pub child: Mass,
}

/// Gross mass, the sum of [`AllIn`].
///
/// # Errors
/// [`FitError::OutOfRange`] outside the ranges there.
pub fn gross(all: &AllIn) -> Result<Mass, FitError> {
    let parts = [
        ("mass of the bicycle", all.bicycle, 5.0, 80.0),
        ("mass of the kit", all.kit, 0.0, 40.0),
        ("mass of the packs", all.pack, 0.0, 40.0),
        ("mass of the rider", all.rider, 15.0, 250.0),
        ("mass of the luggage", all.luggage, 0.0, 250.0),
        ("mass of child and seat", all.child, 0.0, 60.0),
    ];
    for (name, mass, min, max) in parts {
        in_range(name, mass.as_kilograms(), min, max, "kg")?;
    }
    Ok(parts.iter().map(|(_, mass, ..)| *mass).sum())
}

/// How much heavier the scale says than the parts add up to; both 1 to 1 000 kg.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn unaccounted(parts: Mass, scale: Mass) -> Result<Mass, FitError> {
    in_range("sum of the parts", parts.as_kilograms(), 1.0, 1000.0, "kg")?;
    in_range("mass on the scale", scale.as_kilograms(), 1.0, 1000.0, "kg")?;
    Ok(scale - parts)
}

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

/// How far a part (0.01 to 300 kg) must go back to bring a mass from the front to the rear
/// axle, `Δ·L/m`; negative when it must go forward. Wheelbase 500 to 3 000 mm.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn shift_for(part: Mass, to_rear: Mass, wheelbase: Length) -> Result<Length, FitError> {
    in_range("mass of the part", part.as_kilograms(), 0.01, 300.0, "kg")?;
    in_range("wheelbase", wheelbase.as_millimetres(), 500.0, 3000.0, "mm")?;
    Ok(wheelbase * (to_rear / part))
}

#[cfg(test)]
mod tests;
