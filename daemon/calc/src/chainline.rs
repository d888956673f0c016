//! Chainline: where ring and sprockets sit beside the frame's centre plane, and the angle
//! the chain runs at.
//!
//! Every lateral position is a distance from the centre plane, positive outboard on the
//! drive side. Sprocket 1 is the smallest and outermost.

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::{Angle, Length};

mod tables;
pub use tables::{FRONT_STANDARDS, Family, FrontStandard, SPACINGS, Spacing, spacing, spacings};

/// What the gap from the tube was measured to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GapTo {
    /// Face of the ring next to the tube.
    NearFace,
    /// Middle of the teeth.
    ToothCentre,
    /// Face of the ring away from the tube.
    FarFace,
}

/// Front chainline from a calliper reading, `z = D/2 + g ± t/2`.
///
/// `D` tube diameter (10 to 120 mm), `g` gap from the tube's face to the ring (0 to
/// 120 mm), `t` ring thickness (0 to 6 mm); `t/2` is added for the near face, taken off for
/// the far face. Common practice, no source.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn front_line(
    tube_diameter: Length,
    gap: Length,
    gap_to: GapTo,
    ring_thickness: Length,
) -> Result<Length, FitError> {
    in_range("tube diameter", tube_diameter.as_millimetres(), 10.0, 120.0, "mm")?;
    in_range("gap from tube to ring", gap.as_millimetres(), 0.0, 120.0, "mm")?;
    in_range("ring thickness", ring_thickness.as_millimetres(), 0.0, 6.0, "mm")?;
    let to_centre = match gap_to {
        GapTo::NearFace => ring_thickness / 2.0,
        GapTo::ToothCentre => Length::ZERO,
        GapTo::FarFace => -ring_thickness / 2.0,
    };
    Ok(tube_diameter / 2.0 + gap + to_centre)
}

/// Front line of a ring whose teeth sit `dish` inboard of its mounting face: `z − d`.
/// A negative dish is a ring dished outward.
pub fn dished(front: Length, dish: Length) -> Length {
    front - dish
}

/// Over-locknut dimension as the cassette sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EffectiveOld {
    /// Dimension to use for sprocket positions.
    pub length: Length,
    /// Axle ends sit in recesses, so the hub is 7 mm narrower than the number says.
    pub recessed: bool,
    /// How the correction is known.
    pub basis: Basis,
}

/// Effective over-locknut dimension: hubs whose axle ends sit in recesses of 3.5 mm keep
/// the cassette where the slotted-dropout hub had it (142 → 135, 148 → 141, 157 → 150 mm);
/// every other dimension is returned unchanged. A reading within 0.5 mm counts as the
/// standard one. Common practice for 142 and 148; 157 from memory of frame makers' drawings.
///
/// # Errors
/// [`FitError::OutOfRange`] outside 70 to 210 mm.
pub fn effective_old(old: Length) -> Result<EffectiveOld, FitError> {
    let mm = in_range("over-locknut dimension", old.as_millimetres(), 70.0, 210.0, "mm")?;
    let recessed = [(142.0, Basis::Read), (148.0, Basis::Read), (157.0, Basis::Memory)];
    let found = recessed
        .into_iter()
        .find(|(standard, _)| (mm - standard).abs() <= 0.5 + 1e-9);
    Ok(match found {
        Some((_, basis)) => EffectiveOld {
            length: old - Length::millimetres(7.0),
            recessed: true,
            basis,
        },
        None => EffectiveOld {
            length: old,
            recessed: false,
            basis: Basis::Computed,
        },
    })
}

/// Rear line of a single sprocket, `z = OLD/2 − d`, with `d` from the locknut's outer face
/// to the tooth centre (0 to 80 mm). Common practice, no source.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range or for an over-locknut dimension outside 70
/// to 210 mm.
pub fn rear_single(old: Length, locknut_to_tooth: Length) -> Result<Length, FitError> {
    in_range("over-locknut dimension", old.as_millimetres(), 70.0, 210.0, "mm")?;
    in_range(
        "locknut to tooth centre",
        locknut_to_tooth.as_millimetres(),
        0.0,
        80.0,
        "mm",
    )?;
    Ok(old / 2.0 - locknut_to_tooth)
}

/// A stack of sprockets on a hub.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cassette {
    smallest_line: Length,
    pitch: Length,
    thickness: Length,
    count: u8,
}

impl Cassette {
    /// From the effective over-locknut dimension (70 to 210 mm), the gap `c` from the
    /// dropout's inner face to the outer face of the smallest sprocket (0 to 15 mm, usually
    /// 2.5 to 4), pitch `p` (3 to 6 mm), sprocket thickness `t` (1 to 3.5 mm) and count
    /// (1 to 14): `z_1 = OLD/2 − c − t/2`, `z_i = z_1 − (i − 1)·p`.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside those ranges.
    pub fn new(
        old_effective: Length,
        first_gap: Length,
        pitch: Length,
        thickness: Length,
        count: u8,
    ) -> Result<Self, FitError> {
        in_range(
            "over-locknut dimension",
            old_effective.as_millimetres(),
            70.0,
            210.0,
            "mm",
        )?;
        in_range(
            "gap to smallest sprocket",
            first_gap.as_millimetres(),
            0.0,
            15.0,
            "mm",
        )?;
        in_range("sprocket pitch", pitch.as_millimetres(), 3.0, 6.0, "mm")?;
        in_range("sprocket thickness", thickness.as_millimetres(), 1.0, 3.5, "mm")?;
        in_range("number of sprockets", f64::from(count), 1.0, 14.0, "sprockets")?;
        let smallest_line = old_effective / 2.0 - first_gap - thickness / 2.0;
        Ok(Self {
            smallest_line,
            pitch,
            thickness,
            count,
        })
    }

    /// Number of sprockets.
    pub const fn count(&self) -> u8 {
        self.count
    }

    /// Tooth-centre positions, smallest sprocket first.
    pub fn positions(&self) -> Vec<Length> {
        (0..self.count)
            .map(|i| self.smallest_line - self.pitch * f64::from(i))
            .collect()
    }

    /// Middle of the stack (the rear chainline), `z_1 − (n − 1)·p/2`.
    pub fn centre(&self) -> Length {
        self.smallest_line - self.pitch * (f64::from(self.count - 1) / 2.0)
    }

    /// Width over the stack, `(n − 1)·p + t`.
    pub fn width(&self) -> Length {
        self.pitch * f64::from(self.count - 1) + self.thickness
    }

    /// Chain angle on each sprocket, smallest first.
    ///
    /// # Errors
    /// As [`chain_angle`].
    pub fn angles(&self, front: Length, chainstay: Length) -> Result<Vec<Angle>, FitError> {
        self.positions()
            .into_iter()
            .map(|z| chain_angle(front, z, chainstay))
            .collect()
    }
}

/// Ring line minus sprocket line (cassette centre or single sprocket): positive when the
/// ring is outboard.
pub fn offset(front: Length, rear: Length) -> Length {
    front - rear
}

/// Chain angle, `θ = atan((z_front − z_rear)/L)`, positive when the ring is outboard; `L`
/// from the bottom bracket's centre to the axle's (200 to 2 000 mm).
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn chain_angle(front: Length, rear: Length, chainstay: Length) -> Result<Angle, FitError> {
    in_range(
        "chainstay length",
        chainstay.as_millimetres(),
        200.0,
        2000.0,
        "mm",
    )?;
    Ok(Angle::radians((offset(front, rear) / chainstay).atan()))
}

#[cfg(test)]
mod tests;
