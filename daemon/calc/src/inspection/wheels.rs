//! Wheels of the donor bicycle: braked rim walls, run-out, room around the tyre.

use super::{Need, ROUNDING, Worn};
use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::Length;

/// Wall of a braked rim that is worn out, mm (common practice, read).
pub const RIM_WALL_LEAST_MM: f64 = 1.0;
/// Wall of a braked rim below which it is watched, mm (common practice, no source).
pub const RIM_WALL_WATCH_MM: f64 = 1.2;
/// Most run-out of a wheel in service, mm (an owner's manual, read).
pub const RUN_OUT_MOST_MM: f64 = 2.0;

/// What is seen and measured on a rim that a brake rubs on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimWall {
    /// Wall at its thinnest, 0.3 to 10 mm; `None` when it cannot be reached.
    pub thinnest: Option<Length>,
    /// The wear groove or dimple is gone.
    pub mark_gone: bool,
    /// The wall is hollow or bulges.
    pub out_of_shape: bool,
}

/// Judges a braked rim; `None` when nothing is wrong to the eye and no wall was measured, which
/// settles nothing.
///
/// # Errors
/// [`FitError::OutOfRange`] for a wall outside its range.
pub fn rim_wall(rim: &RimWall) -> Result<Option<Worn>, FitError> {
    let wall = rim
        .thinnest
        .map(|wall| in_range("rim wall", wall.as_millimetres(), 0.3, 10.0, "mm"))
        .transpose()?;
    if rim.mark_gone || rim.out_of_shape {
        return Ok(Some(Worn::seen(Need::Replace, Basis::Read)));
    }
    Ok(wall.map(|mm| {
        let (need, limit) = if mm <= RIM_WALL_LEAST_MM + ROUNDING {
            (Need::Replace, RIM_WALL_LEAST_MM)
        } else if mm < RIM_WALL_WATCH_MM - ROUNDING {
            (Need::Watch, RIM_WALL_WATCH_MM)
        } else {
            (Need::Nothing, RIM_WALL_WATCH_MM)
        };
        Worn::measured(need, limit, mm - limit, Basis::Read)
    }))
}

/// Kind of bicycle, as the standards sort them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BicycleKind {
    /// City.
    City,
    /// Trekking.
    Trekking,
    /// Mountain.
    Mountain,
    /// For young adults.
    YoungAdult,
    /// Racing.
    Racing,
}

impl BicycleKind {
    /// Most run-out of a newly built wheel with rim brakes, mm: 0.6 racing, else 0.8
    /// (TBIS 15194:2019).
    pub const fn run_out_new_mm(self) -> f64 {
        match self {
            Self::Racing => 0.6,
            Self::City | Self::Trekking | Self::Mountain | Self::YoungAdult => 0.8,
        }
    }

    /// Least room between tyre and frame, fork or mudguard, mm: 4 racing, else 6 (an owner's
    /// manual, read).
    pub const fn clearance_mm(self) -> f64 {
        match self {
            Self::Racing => 4.0,
            Self::City | Self::Trekking | Self::Mountain | Self::YoungAdult => 6.0,
        }
    }
}

/// Whether a wheel was just built or has run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WheelAge {
    /// Just built or rebuilt.
    New,
    /// In service.
    Used,
}

/// Judges the run-out (0 to 30 mm, sideways or up and down) of a wheel with rim brakes: trued
/// over the limit of a new one; a used one is replaced over [`RUN_OUT_MOST_MM`].
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn run_out(run_out: Length, age: WheelAge, kind: BicycleKind) -> Result<Worn, FitError> {
    let mm = in_range("run-out", run_out.as_millimetres(), 0.0, 30.0, "mm")?;
    let new = kind.run_out_new_mm();
    let (need, limit) = if mm <= new + ROUNDING {
        (Need::Nothing, new)
    } else if age == WheelAge::New || mm <= RUN_OUT_MOST_MM + ROUNDING {
        (Need::Adjust, new)
    } else {
        (Need::Replace, RUN_OUT_MOST_MM)
    };
    Ok(Worn::measured(need, limit, limit - mm, Basis::Read))
}

/// Judges the least room around the tyre (0 to 100 mm): below the limit a narrower tyre is
/// needed.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn wheel_clearance(gap: Length, kind: BicycleKind) -> Result<Worn, FitError> {
    let mm = in_range("room around the tyre", gap.as_millimetres(), 0.0, 100.0, "mm")?;
    let limit = kind.clearance_mm();
    let need = if mm < limit - ROUNDING {
        Need::Replace
    } else {
        Need::Nothing
    };
    Ok(Worn::measured(need, limit, mm - limit, Basis::Read))
}
