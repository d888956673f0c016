//! Electrics of a build: pack voltage windows, charger, currents, wire, fuse and pre-charge.
//!
//! A cell's voltages are the caller's: nothing here knows a chemistry.

use crate::doubt::{FitError, in_range};
use crate::quantity::{Capacitance, Charge, Current, Duration, Energy, Power, Resistance, Voltage};

mod wire;
pub use wire::{
    DERATING, FUSE_OVER_LOAD, FUSE_SIZES_A, FuseWindow, Gauge, contact_heat, fuse_window, thinnest_for,
    voltage_drop, wire_loss,
};

fn cells(series: u32) -> Result<f64, FitError> {
    in_range("cells in series", f64::from(series), 1.0, 30.0, "cells")
}

/// Voltage of a pack of `series` cells (1 to 30) at `per_cell` (1 to 5 V): `S·v`. With a
/// cell's full-charge voltage this is what every device must bear; a nominal label is not.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn pack_voltage(series: u32, per_cell: Voltage) -> Result<Voltage, FitError> {
    in_range("voltage of one cell", per_cell.as_volts(), 1.0, 5.0, "V")?;
    Ok(per_cell * cells(series)?)
}

/// Voltage of one cell of a pack of `series` cells: `V/S`. Pack 0 to 150 V.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn per_cell(pack: Voltage, series: u32) -> Result<Voltage, FitError> {
    in_range("pack voltage", pack.as_volts(), 0.0, 150.0, "V")?;
    Ok(pack / cells(series)?)
}

/// Input voltages a controller or display accepts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InputWindow {
    /// Lowest, when the maker names one.
    pub min: Option<Voltage>,
    /// Highest.
    pub max: Voltage,
}

/// How a pack's range sits in a device's window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindowMargin {
    /// Full-charge voltage as a fraction of the device's maximum: compare with 0.98 and 1.
    pub fraction_of_max: f64,
    /// What is left above full charge, as a fraction of the maximum; negative is over it.
    pub headroom: f64,
    /// Cut-off voltage minus the device's minimum; negative: the device gives up first.
    pub above_min: Option<Voltage>,
}

/// Compares full-charge and cut-off voltage of a pack with a device's input window; all
/// voltages 1 to 150 V.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range, or for a cut-off above full charge.
pub fn window_margin(
    full: Voltage,
    cut_off: Voltage,
    window: &InputWindow,
) -> Result<WindowMargin, FitError> {
    let volts = in_range("full-charge voltage", full.as_volts(), 1.0, 150.0, "V")?;
    in_range("cut-off voltage", cut_off.as_volts(), 1.0, volts, "V")?;
    let max = in_range("device's maximum input", window.max.as_volts(), 1.0, 150.0, "V")?;
    let fraction_of_max = volts / max;
    Ok(WindowMargin {
        fraction_of_max,
        headroom: 1.0 - fraction_of_max,
        above_min: window.min.map(|min| cut_off - min),
    })
}

/// Charger's open voltage against a pack's full-charge voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChargerMatch {
    /// Charger minus full charge: positive overcharges, negative never fills.
    pub difference: Voltage,
    /// What the charger would bring one cell to.
    pub per_cell: Voltage,
}

/// Compares a charger (0 to 150 V) with a pack of `series` cells that is full at `full`.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn charger_match(charger: Voltage, full: Voltage, series: u32) -> Result<ChargerMatch, FitError> {
    Ok(ChargerMatch {
        difference: charger - full,
        per_cell: per_cell(charger, series)?,
    })
}

/// Discharge rate, `I/Q`, in 1/h (the trade's "C"): current 0 to 500 A, charge 0.1 to 500 Ah.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn c_rate(current: Current, charge: Charge) -> Result<f64, FitError> {
    let amperes = in_range("current", current.as_amperes(), 0.0, 500.0, "A")?;
    let hours = in_range("pack charge", charge.as_ampere_hours(), 0.1, 500.0, "Ah")?;
    Ok(amperes / hours)
}

/// Ratio of a pack's current limit (0 to 500 A) to the controller's (1 to 500 A).
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn current_ratio(pack_limit: Current, controller_limit: Current) -> Result<f64, FitError> {
    let pack = in_range("pack current limit", pack_limit.as_amperes(), 0.0, 500.0, "A")?;
    Ok(pack
        / in_range(
            "controller current limit",
            controller_limit.as_amperes(),
            1.0,
            500.0,
            "A",
        )?)
}

/// Time to charge, `t = k·Q·(s1 − s0)/I`: the factor `k` (1 to 2) covers the taper; 1.2 is a
/// judgement, a published pack line gives 1.25 to 1.5. Charge 0.1 to 500 Ah, states of charge
/// 0 to 1 rising, current 0.1 to 50 A.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn charge_time(
    charge: Charge,
    from: f64,
    to: f64,
    current: Current,
    factor: f64,
) -> Result<Duration, FitError> {
    let hours = in_range("pack charge", charge.as_ampere_hours(), 0.1, 500.0, "Ah")?;
    let to = in_range("state of charge at the end", to, 0.0, 1.0, "of full")?;
    let from = in_range("state of charge at the start", from, 0.0, to, "of full")?;
    let amperes = in_range("charging current", current.as_amperes(), 0.1, 50.0, "A")?;
    let factor = in_range("charge-time factor", factor, 1.0, 2.0, "times")?;
    Ok(Duration::hours(factor * hours * (to - from) / amperes))
}

/// Pre-charge of a controller's capacitors through a resistor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Precharge {
    /// Current at the first instant, `V/R`.
    pub peak: Current,
    /// Time constant, `R·C`.
    pub time_constant: Duration,
    /// Time to wait, five time constants.
    pub wait: Duration,
    /// Energy stored, `C·V²/2`; the resistor turns as much into heat.
    pub stored: Energy,
}

/// Pre-charge through a resistor (0.1 to 100 000 Ω) at a pack voltage (1 to 150 V) into a
/// capacitance (1 µF to 1 F).
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn precharge(
    pack: Voltage,
    resistor: Resistance,
    capacitance: Capacitance,
) -> Result<Precharge, FitError> {
    let volts = in_range("pack voltage", pack.as_volts(), 1.0, 150.0, "V")?;
    let ohms = in_range("pre-charge resistor", resistor.as_ohms(), 0.1, 1e5, "ohm")?;
    let farads = in_range("capacitance", capacitance.as_farads(), 1e-6, 1.0, "F")?;
    let time_constant = Duration::seconds(ohms * farads);
    Ok(Precharge {
        peak: Current::amperes(volts / ohms),
        time_constant,
        wait: time_constant * 5.0,
        stored: Energy::joules(farads * volts * volts / 2.0),
    })
}

/// Current a source gives into a dead short, `V/R`: voltage 1 to 150 V, its own resistance
/// 0.1 mΩ to 100 Ω. Ohm's law.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn short_circuit(open: Voltage, source: Resistance) -> Result<Current, FitError> {
    let volts = in_range("open voltage", open.as_volts(), 1.0, 150.0, "V")?;
    let ohms = in_range("resistance of the source", source.as_ohms(), 1e-4, 100.0, "ohm")?;
    Ok(Current::amperes(volts / ohms))
}

/// Least resistor through which capacitors take no more than a current (0.01 to 500 A) at the
/// first instant, `V/I`; voltage 1 to 150 V.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn least_resistor(pack: Voltage, allowed: Current) -> Result<Resistance, FitError> {
    let volts = in_range("pack voltage", pack.as_volts(), 1.0, 150.0, "V")?;
    let amperes = in_range("current allowed", allowed.as_amperes(), 0.01, 500.0, "A")?;
    Ok(Resistance::ohms(volts / amperes))
}

/// Electric power a controller can take, `V·I`.
pub fn input_power(pack: Voltage, controller_limit: Current) -> Power {
    pack.times_current(controller_limit)
}

#[cfg(test)]
mod tests;
