//! Lights and other accessories: fed from the pack, an outlet or a converter.

use crate::doubt::{FitError, in_range};
use crate::electrics::InputWindow;
use crate::quantity::{Current, Power, Voltage};

use super::{ROUNDING, WindowStanding, current_at, judge_device};

/// A lamp, horn or charger that the pack feeds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accessory {
    /// Input voltages it accepts.
    pub window: InputWindow,
    /// Power it takes, whatever the voltage inside its window.
    pub power: Power,
}

impl Accessory {
    fn check(&self) -> Result<(), FitError> {
        let max = in_range(
            "accessory's maximum input",
            self.window.max.as_volts(),
            1.0,
            150.0,
            "V",
        )?;
        if let Some(min) = self.window.min {
            in_range("accessory's minimum input", min.as_volts(), 0.0, max, "V")?;
        }
        in_range("accessory's power", self.power.as_watts(), 0.0, 1000.0, "W")?;
        Ok(())
    }

    /// Whether a steady voltage suits it; a lowest input that is not known is not held against it.
    pub fn takes(&self, voltage: Voltage) -> bool {
        let volts = voltage.as_volts();
        let least = self.window.min.map_or(f64::MIN, Voltage::as_volts);
        volts >= least - ROUNDING && volts <= self.window.max.as_volts() + ROUNDING
    }
}

/// How an accessory can be fed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Feed {
    /// Straight from the pack, behind its fuse: its window holds the pack's range.
    Pack,
    /// From the controller's outlet, whose voltage suits it.
    Outlet,
    /// Only through a converter.
    Converter,
}

/// The least that feeds an accessory: the controller's outlet where there is one of a voltage
/// that suits, else the pack itself when full charge and cut-off lie in its window, else a
/// converter. An unknown lowest input counts as not holding the pack's cut-off. Power 0 to
/// 1 000 W, voltages as for [`judge_device`].
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn feed(
    accessory: &Accessory,
    full: Voltage,
    cut: Voltage,
    outlet: Option<Voltage>,
) -> Result<Feed, FitError> {
    accessory.check()?;
    let direct = judge_device(full, cut, &accessory.window)?.standing;
    Ok(if outlet.is_some_and(|outlet| accessory.takes(outlet)) {
        Feed::Outlet
    } else if direct == WindowStanding::Inside {
        Feed::Pack
    } else {
        Feed::Converter
    })
}

/// Total current of accessories on one steady voltage (1 to 150 V), `ΣP/V`. Against a pack use
/// its cut-off voltage, where constant power draws most.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range, or for an accessory's own figures.
pub fn accessory_current(accessories: &[Accessory], voltage: Voltage) -> Result<Current, FitError> {
    in_range("supply voltage", voltage.as_volts(), 1.0, 150.0, "V")?;
    Ok(current_at(total(accessories)?, voltage))
}

fn total(accessories: &[Accessory]) -> Result<Power, FitError> {
    for accessory in accessories {
        accessory.check()?;
    }
    Ok(accessories.iter().map(|accessory| accessory.power).sum())
}

/// Load of an outlet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutletLoad {
    /// Current drawn.
    pub current: Current,
    /// What the outlet has left; negative is overload.
    pub margin: Current,
    /// Accessories whose window does not take the outlet's voltage.
    pub unsuited: usize,
}

/// Load of an outlet of a steady voltage (1 to 150 V) and greatest current (0 to 100 A).
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges, or for an accessory's own figures.
pub fn outlet_load(
    accessories: &[Accessory],
    voltage: Voltage,
    greatest: Current,
) -> Result<OutletLoad, FitError> {
    in_range(
        "outlet's greatest current",
        greatest.as_amperes(),
        0.0,
        100.0,
        "A",
    )?;
    let current = accessory_current(accessories, voltage)?;
    Ok(OutletLoad {
        current,
        margin: greatest - current,
        unsuited: accessories.iter().filter(|a| !a.takes(voltage)).count(),
    })
}

/// A converter from the pack to a steady lower voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Converter {
    /// Input voltages it accepts.
    pub input: InputWindow,
    /// Output voltage.
    pub output: Voltage,
    /// Greatest output current.
    pub output_current: Current,
    /// Output power over input power, 0.5 to 1.
    pub efficiency: f64,
}

/// A converter with its load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConverterLoad {
    /// Output current and what is left of it, and accessories its voltage does not suit.
    pub output: OutletLoad,
    /// Power given out.
    pub output_power: Power,
    /// Power taken from the pack, `P/η`.
    pub input_power: Power,
    /// Greatest current taken from the pack, at its cut-off: `P/(η·V_cut)`.
    pub input_current: Current,
    /// How its input window holds the pack's range.
    pub input: WindowStanding,
}

/// Load of a converter on a pack (voltages as for [`judge_device`]; output 1 to 150 V, 0 to
/// 100 A; efficiency 0.5 to 1).
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges, or for an accessory's own figures.
pub fn converter_load(
    accessories: &[Accessory],
    converter: &Converter,
    full: Voltage,
    cut: Voltage,
) -> Result<ConverterLoad, FitError> {
    let efficiency = in_range("converter efficiency", converter.efficiency, 0.5, 1.0, "of 1")?;
    let input = judge_device(full, cut, &converter.input)?.standing;
    let output = outlet_load(accessories, converter.output, converter.output_current)?;
    let output_power = total(accessories)?;
    let input_power = output_power / efficiency;
    Ok(ConverterLoad {
        output,
        output_power,
        input_power,
        input_current: current_at(input_power, cut),
        input,
    })
}
