//! Voltage windows by series count and chemistry: devices, low cut-off, charger, and the
//! supply of lights and other accessories.

use crate::doubt::{Basis, FitError, in_range};
use crate::electrics::{InputWindow, pack_voltage, per_cell};
use crate::pack::Chemistry;
use crate::quantity::{Current, Power, Voltage};

mod accessory;
pub use accessory::{
    Accessory, Converter, ConverterLoad, Feed, OutletLoad, accessory_current, converter_load, feed,
    outlet_load,
};

/// How far a charger may lie from full charge, V for each cell (Battery University, BU-409:
/// 4.20 V ± 50 mV).
pub const CHARGER_CELL_V: f64 = 0.050;
/// Slack for rounding of binary fractions, V.
pub(crate) const ROUNDING: f64 = 1e-9;

/// Voltages a pack runs through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackWindow {
    /// Full charge; what every device must bear.
    pub full: Voltage,
    /// Nominal; a label, never a limit.
    pub nominal: Voltage,
    /// Cut-off of a bicycle pack.
    pub cut: Voltage,
    /// How full charge and cut-off of the chemistry are known.
    pub basis: Basis,
}

const fn basis(chemistry: Chemistry) -> Basis {
    match chemistry {
        Chemistry::NickelRich => Basis::Read,
        Chemistry::IronPhosphate => Basis::Memory,
    }
}

/// Window of a pack of `series` cells (1 to 30).
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn pack_window(series: u32, chemistry: Chemistry) -> Result<PackWindow, FitError> {
    Ok(PackWindow {
        full: pack_voltage(series, chemistry.full())?,
        nominal: pack_voltage(series, chemistry.nominal())?,
        cut: pack_voltage(series, chemistry.cutoff())?,
        basis: basis(chemistry),
    })
}

/// Where a controller's low-voltage cut-off belongs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutoffWindow {
    /// Below it the cells are emptied too far.
    pub min: Voltage,
    /// Above it charge is left unused.
    pub max: Voltage,
    /// How the lower end is known.
    pub min_basis: Basis,
    /// How the upper end is known.
    pub max_basis: Basis,
}

/// Low cut-off window of a pack of `series` cells (1 to 30): `S·2.75 V` to `S·3.3 V` for
/// nickel-rich cells (common practice: discharge cut of pack sheets, read; upper end
/// judgement), `S·2.5 V` (from memory) to `S·2.9 V` (judgement) for iron phosphate.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn cutoff_window(series: u32, chemistry: Chemistry) -> Result<CutoffWindow, FitError> {
    let (min, max) = match chemistry {
        Chemistry::NickelRich => (2.75, 3.3),
        Chemistry::IronPhosphate => (2.5, 2.9),
    };
    Ok(CutoffWindow {
        min: pack_voltage(series, Voltage::volts(min))?,
        max: pack_voltage(series, Voltage::volts(max))?,
        min_basis: basis(chemistry),
        max_basis: Basis::Judgement,
    })
}

/// Where a low cut-off lies in its window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CutoffStanding {
    /// Inside, ends included.
    Inside,
    /// Empties the cells too far: a setting for fewer cells.
    TooLow,
    /// Stops early: a setting for more cells.
    TooHigh,
}

impl CutoffWindow {
    /// Where a cut-off stands.
    pub fn standing(&self, cutoff: Voltage) -> CutoffStanding {
        if (self.min - cutoff).as_volts() > ROUNDING {
            CutoffStanding::TooLow
        } else if (cutoff - self.max).as_volts() > ROUNDING {
            CutoffStanding::TooHigh
        } else {
            CutoffStanding::Inside
        }
    }
}

/// How a charger stands to a pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ChargerStanding {
    /// Within the tolerance.
    Matches,
    /// Charges beyond full: never to be connected.
    Over,
    /// Never fills the pack.
    Under,
}

/// A charger against a pack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChargerJudged {
    /// How it stands.
    pub standing: ChargerStanding,
    /// Charger minus full charge.
    pub difference: Voltage,
    /// Difference the tolerance allows either way.
    pub tolerance: Voltage,
    /// What it brings one cell to.
    pub per_cell: Voltage,
}

/// Difference from full charge that a charger of a pack of `series` cells (1 to 30) may have:
/// `S·50 mV`.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn charger_tolerance(series: u32) -> Result<Voltage, FitError> {
    in_range("cells in series", f64::from(series), 1.0, 30.0, "cells")?;
    Ok(Voltage::volts(CHARGER_CELL_V * f64::from(series)))
}

/// Judges a charger's open voltage (0 to 150 V) against a pack of `series` cells (1 to 30). For
/// iron phosphate both full charge and the tolerance are from memory.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn judge_charger(charger: Voltage, series: u32, chemistry: Chemistry) -> Result<ChargerJudged, FitError> {
    let per_cell = per_cell(charger, series)?;
    let difference = charger - pack_window(series, chemistry)?.full;
    let tolerance = charger_tolerance(series)?;
    let standing = if (difference - tolerance).as_volts() > ROUNDING {
        ChargerStanding::Over
    } else if (-difference - tolerance).as_volts() > ROUNDING {
        ChargerStanding::Under
    } else {
        ChargerStanding::Matches
    };
    Ok(ChargerJudged {
        standing,
        difference,
        tolerance,
        per_cell,
    })
}

/// How a device's window holds a pack's range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WindowStanding {
    /// Full charge and cut-off both lie inside.
    Inside,
    /// Full charge is over the device's greatest input.
    Over,
    /// The device gives up above the cut-off.
    GivesUpFirst,
    /// Both at once: made for another, higher and narrower pack range.
    Both,
    /// Full charge lies inside; the device's lowest input is not known.
    LowerUnknown,
}

/// A device against a pack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DeviceJudged {
    /// How its window holds the pack's range.
    pub standing: WindowStanding,
    /// Device's maximum minus full charge; negative is over it.
    pub headroom: Voltage,
    /// Cut-off minus the device's minimum; negative: it gives up first. `None` when not known.
    pub above_min: Option<Voltage>,
}

/// Judges a device's input window (ends included; maximum 1 to 150 V, minimum from 0 V up to
/// it) against full charge and the voltage at which the pack or controller cuts off (full 1 to
/// 150 V, cut-off from 1 V up to it).
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn judge_device(full: Voltage, cut: Voltage, device: &InputWindow) -> Result<DeviceJudged, FitError> {
    let volts = in_range("full-charge voltage", full.as_volts(), 1.0, 150.0, "V")?;
    in_range("cut-off voltage", cut.as_volts(), 1.0, volts, "V")?;
    let max = in_range("device's maximum input", device.max.as_volts(), 1.0, 150.0, "V")?;
    if let Some(min) = device.min {
        in_range("device's minimum input", min.as_volts(), 0.0, max, "V")?;
    }
    let headroom = device.max - full;
    let above_min = device.min.map(|min| cut - min);
    let over = headroom.as_volts() < -ROUNDING;
    let early = above_min.map(|above| above.as_volts() < -ROUNDING);
    Ok(DeviceJudged {
        standing: match (over, early) {
            (true, Some(true)) => WindowStanding::Both,
            (true, _) => WindowStanding::Over,
            (false, Some(true)) => WindowStanding::GivesUpFirst,
            (false, Some(false)) => WindowStanding::Inside,
            (false, None) => WindowStanding::LowerUnknown,
        },
        headroom,
        above_min,
    })
}

/// Charge a display shows at a pack voltage (0 to 150 V) when it counts on `assumed` cells in
/// series (1 to 30): `(V − V_cut)/(V_full − V_cut)` of the pack it assumes, not clipped to 0
/// to 1. A straight scale: it tells by how much a wrong series count misleads, not the charge.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn apparent_charge(pack: Voltage, assumed: u32, chemistry: Chemistry) -> Result<f64, FitError> {
    in_range("pack voltage", pack.as_volts(), 0.0, 150.0, "V")?;
    let window = pack_window(assumed, chemistry)?;
    Ok((pack - window.cut) / (window.full - window.cut))
}

/// Current at a voltage, `P/V`.
pub(crate) fn current_at(power: Power, voltage: Voltage) -> Current {
    Current::amperes(power.as_watts() / voltage.as_volts())
}

#[cfg(test)]
mod tests;
