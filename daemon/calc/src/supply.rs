//! Voltage windows of devices against a pack's, and the supply of lights and other accessories.

use crate::doubt::{FitError, in_range};
use crate::electrics::InputWindow;
use crate::quantity::{Current, Power, Voltage};

mod accessory;
pub use accessory::{
    Accessory, Converter, ConverterLoad, Feed, OutletLoad, accessory_current, converter_load, feed,
    outlet_load,
};

/// Slack for rounding of binary fractions, V.
pub(crate) const ROUNDING: f64 = 1e-9;

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

/// Current at a voltage, `P/V`.
pub(crate) fn current_at(power: Power, voltage: Voltage) -> Current {
    Current::amperes(power.as_watts() / voltage.as_volts())
}

#[cfg(test)]
mod tests;
