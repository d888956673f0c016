//! Rear ends and forks: hub width, slot, axle, and what a hub motor's torque does to them.

use crate::doubt::{FitError, in_range};
use crate::quantity::{Force, Length, Torque};

mod arms;
pub use arms::{ArmQuestion, ArmReason, ArmsAsked, ONE_ARM_NM, ONE_ARM_W, Standing, Wheel, arms_asked};

/// How far a rear end or fork may be spread; the caller says what stands behind each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WidthLimits {
    /// Difference between dropouts and hub that needs nothing done.
    pub good: Length,
    /// The same for carbon, which may not be sprung.
    pub good_carbon: Length,
    /// Spreading any metal frame takes by hand.
    pub spring: Length,
    /// Spreading usual for cold-set steel.
    pub cold_set: Length,
}

/// Most that may be filed off a slot's width, mm (common practice).
pub const FILING_MM: f64 = 0.3;
/// Play between slot and flats that still is a close fit, mm (common practice: 10.0 to
/// 10.2 mm for 10 mm flats).
pub const CLOSE_PLAY_MM: f64 = 0.2;

/// What a frame or fork is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FrameMaterial {
    /// Steel: a magnet sticks.
    Steel,
    /// Aluminium alloy.
    Aluminium,
    /// Carbon fibre, or dropouts bonded into it.
    Carbon,
    /// Titanium alloy.
    Titanium,
    /// Another or an unknown metal, magnesium included.
    Other,
}

/// How a hub sits between dropouts. Lengths are never negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WidthFit {
    /// Goes in as it is; hub minus dropouts is small either way.
    Fits {
        /// Size of the difference.
        difference: Length,
    },
    /// The frame springs open by hand.
    Springs {
        /// How far.
        by: Length,
    },
    /// Steel to be cold-set and aligned again.
    ColdSet {
        /// How far.
        by: Length,
        /// Further than the usual [`WidthLimits::cold_set`].
        beyond_usual: bool,
    },
    /// The hub is narrower: spacers of this total fill the rest.
    Spacers {
        /// Thickness of all spacers together.
        total: Length,
    },
    /// This material may not be spread that far.
    Refused {
        /// How far it would have to go.
        by: Length,
    },
}

/// Compares the width between dropouts (60 to 210 mm) with a hub's over-locknut dimension
/// (60 to 210 mm).
///
/// Any metal springs a little; only steel may be cold-set (Brown, Frame Spacing: steel can,
/// others cannot); carbon is never spread; a wider frame is filled with spacers.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn fit_width(
    dropouts: Length,
    hub: Length,
    material: FrameMaterial,
    limits: &WidthLimits,
) -> Result<WidthFit, FitError> {
    in_range(
        "width between dropouts",
        dropouts.as_millimetres(),
        60.0,
        210.0,
        "mm",
    )?;
    in_range("hub width", hub.as_millimetres(), 60.0, 210.0, "mm")?;
    let by = hub - dropouts;
    let mm = by.as_millimetres();
    let at_most = |limit: Length| mm <= limit.as_millimetres() + 1e-9;
    let good = if material == FrameMaterial::Carbon {
        limits.good_carbon
    } else {
        limits.good
    };
    Ok(match material {
        _ if mm.abs() <= good.as_millimetres() + 1e-9 => WidthFit::Fits { difference: by.abs() },
        _ if mm < 0.0 => WidthFit::Spacers { total: -by },
        FrameMaterial::Carbon => WidthFit::Refused { by },
        _ if at_most(limits.spring) => WidthFit::Springs { by },
        FrameMaterial::Steel => WidthFit::ColdSet {
            by,
            beyond_usual: !at_most(limits.cold_set),
        },
        _ => WidthFit::Refused { by },
    })
}

/// How an axle's flats sit in a slot. Lengths are never negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SlotFit {
    /// Slides in without noticeable play.
    Close {
        /// Slot minus flats.
        play: Length,
    },
    /// The axle can rock.
    Loose {
        /// Slot minus flats.
        play: Length,
    },
    /// To be filed, within [`FILING_MM`].
    File {
        /// Amount to take off the width.
        remove: Length,
    },
    /// Too narrow to file.
    BeyondFiling {
        /// Amount that would have to go.
        remove: Length,
    },
}

/// Compares a slot's width with the distance over an axle's flats (both 5 to 20 mm).
/// Common practice, no source.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn fit_slot(slot: Length, flats: Length) -> Result<SlotFit, FitError> {
    in_range("slot width", slot.as_millimetres(), 5.0, 20.0, "mm")?;
    in_range("axle flats", flats.as_millimetres(), 5.0, 20.0, "mm")?;
    let play = slot - flats;
    let mm = play.as_millimetres();
    Ok(if mm < -FILING_MM - 1e-9 {
        SlotFit::BeyondFiling { remove: -play }
    } else if mm < -1e-9 {
        SlotFit::File { remove: -play }
    } else if mm <= CLOSE_PLAY_MM + 1e-9 {
        SlotFit::Close { play }
    } else {
        SlotFit::Loose { play }
    })
}

/// How the frame or fork holds an axle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Dropout {
    /// Open U slot.
    OpenSlot,
    /// Closed hole for a through axle of this diameter.
    Through(Length),
}

/// An axle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Axle {
    /// Hollow axle with quick release.
    QuickRelease,
    /// Round axle with nuts, no flats.
    Nutted,
    /// Motor axle with flats.
    Flatted {
        /// Diameter over the thread.
        diameter: Length,
        /// Distance over the flats.
        flats: Length,
    },
    /// Through axle of this diameter.
    Through(Length),
}

/// How an axle and a dropout go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AxleFit {
    /// The kinds go together; widths are compared elsewhere.
    SameKind,
    /// A slotted axle cannot go into a closed hole: the frame needs dropouts made for it.
    SlotAxleInHole,
    /// A through axle cannot be held by an open slot.
    ThroughAxleInSlot,
    /// Both are through axles, of different diameter.
    DiameterDiffers,
}

/// Compares the kind of axle with the kind of dropout. Common practice, no source.
pub fn fit_axle(dropout: Dropout, axle: Axle) -> AxleFit {
    match (dropout, axle) {
        (Dropout::Through(hole), Axle::Through(axle)) => {
            let differs = !(0.0..=0.1).contains(&(hole - axle).abs().as_millimetres());
            if differs {
                AxleFit::DiameterDiffers
            } else {
                AxleFit::SameKind
            }
        }
        (Dropout::Through(_), _) => AxleFit::SlotAxleInHole,
        (Dropout::OpenSlot, Axle::Through(_)) => AxleFit::ThroughAxleInSlot,
        (Dropout::OpenSlot, _) => AxleFit::SameKind,
    }
}

/// Lever at which an axle's torque spreads a dropout: 9 mm for a 12 mm axle, 10 mm for a
/// 14 mm one; `None` for another diameter. Judgement, chosen to stay with the published
/// magnitude (common practice: 40 N·m put at just under 1 000 lbf).
pub fn effective_length(diameter: Length) -> Option<Length> {
    let mm = diameter.as_millimetres();
    [(12.0, 9.0), (14.0, 10.0)]
        .into_iter()
        .find(|(standard, _)| (mm - standard).abs() <= 0.3)
        .map(|(_, lever)| Length::millimetres(lever))
}

/// Force with which an axle spreads a dropout, `F = T/l`, `l` 1 to 30 mm. The stall torque,
/// not that at rated power, is what counts.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn spreading_force(torque: Torque, effective_length: Length) -> Result<Force, FitError> {
    in_range(
        "effective length",
        effective_length.as_millimetres(),
        1.0,
        30.0,
        "mm",
    )?;
    Ok(torque.over_radius(effective_length))
}

/// Force at the far fixing of a torque arm, `F = T/L`, `L` 20 to 500 mm.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn arm_force(torque: Torque, arm: Length) -> Result<Force, FitError> {
    in_range("torque arm", arm.as_millimetres(), 20.0, 500.0, "mm")?;
    Ok(torque.over_radius(arm))
}

#[cfg(test)]
mod tests;
