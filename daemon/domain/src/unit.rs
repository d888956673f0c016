//! Units: one table, one reader, one writer.
//!
//! A value is kept in the SI unit of its [`Kind`]. People write it in any unit of that kind
//! ([`parse`]) and read it in the unit a field names ([`show`]), with the other system's
//! unit behind it where there is one ([`show_both`]).

mod read;
mod table;
#[cfg(test)]
mod tests;

use table::{Other, Row};

/// What is measured; fixes the SI unit a value is kept in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Length, kept in metres.
    Length,
    /// Mass, kept in kilograms.
    Mass,
    /// Speed, kept in metres per second.
    Speed,
    /// Power, kept in watts.
    Power,
    /// Energy, kept in joules.
    Energy,
    /// Energy per distance, kept in joules per metre.
    EnergyPerDistance,
    /// Voltage, kept in volts.
    Voltage,
    /// Current, kept in amperes.
    Current,
    /// Charge, kept in coulombs.
    Charge,
    /// Resistance, kept in ohms.
    Resistance,
    /// Capacitance, kept in farads.
    Capacitance,
    /// Torque, kept in newton metres.
    Torque,
    /// Pressure, kept in pascals.
    Pressure,
    /// Temperature, kept in kelvins.
    Temperature,
    /// Ratio other than a gradient, kept as a plain number (8 % is 0.08).
    Ratio,
    /// Gradient of a road, kept as a plain ratio (8 % is 0.08).
    Grade,
    /// Angle, kept in radians.
    Angle,
    /// Time, kept in seconds.
    Time,
    /// Rotation, kept in radians per second.
    Rotation,
    /// Area, kept in square metres.
    Area,
    /// Acceleration, kept in metres per second squared.
    Acceleration,
    /// Level of sound, kept in decibels.
    Sound,
    /// Age of a person, kept in years.
    Age,
    /// A bare number.
    Count,
}

impl Kind {
    /// Whether nothing of this kind is less than nothing, as long as its amount is meant and no difference: a length as
    /// against a road that falls, a current that flows back or a level of sound. Temperature counts from absolute zero.
    pub const fn begins_at_nothing(self) -> bool {
        match self {
            Self::Length
            | Self::Mass
            | Self::Speed
            | Self::Resistance
            | Self::Capacitance
            | Self::Torque
            | Self::Temperature
            | Self::Time
            | Self::Area
            | Self::Age
            | Self::Count => true,
            Self::Power
            | Self::Energy
            | Self::EnergyPerDistance
            | Self::Voltage
            | Self::Current
            | Self::Charge
            | Self::Pressure
            | Self::Ratio
            | Self::Grade
            | Self::Angle
            | Self::Rotation
            | Self::Acceleration
            | Self::Sound => false,
        }
    }

    /// What it is called in a sentence.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::Mass => "mass",
            Self::Speed => "speed",
            Self::Power => "power",
            Self::Energy => "energy",
            Self::EnergyPerDistance => "energy per distance",
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::Charge => "charge",
            Self::Resistance => "resistance",
            Self::Capacitance => "capacitance",
            Self::Torque => "torque",
            Self::Pressure => "pressure",
            Self::Temperature => "temperature",
            Self::Ratio => "ratio",
            Self::Grade => "gradient",
            Self::Angle => "angle",
            Self::Time => "time",
            Self::Rotation => "rotation",
            Self::Area => "area",
            Self::Acceleration => "acceleration",
            Self::Sound => "level of sound",
            Self::Age => "age",
            Self::Count => "a bare number",
        }
    }
}

/// Why a text is not a quantity; the words name what was given and what is accepted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{0}")]
pub struct UnitError(pub String);

/// Reads a text into the SI value of `kind`; `default` is the unit taken when none is
/// written.
///
/// The number may use comma or point, a leading sign and a common fraction (`2 1/16in`);
/// the unit may be glued or spaced. Compound units (`12st 4`, `5'11"`, `1h30`), clock times
/// (`2:05`, minutes and seconds) and gradients (`8%`, `1:12`, `1 in 12`, `5 deg`) are read.
///
/// # Errors
/// [`UnitError`] when the text is empty, no number, has thousands separators, names a unit of
/// another kind or none known, is not finite, or lies below absolute zero.
pub fn parse(kind: Kind, default: &str, text: &str) -> Result<f64, UnitError> {
    read::quantity(kind, default, text)
}

/// The number that expresses `si` in `unit`, rounded to 14 digits so that what was written
/// comes back as written.
///
/// `unit` must be a symbol of the table for `kind`; any other word leaves the value in SI
/// (the tests of this module hold every unit that fields name against the table).
pub fn from_si(kind: Kind, unit: &str, si: f64) -> f64 {
    match table::find(kind, unit) {
        Some(row) => tidy(si / row.factor - row.offset, row.offset),
        None => si,
    }
}

/// The SI value of a number in `unit`; `None` when `unit` is no symbol of `kind`.
pub fn to_si(kind: Kind, unit: &str, number: f64) -> Option<f64> {
    table::find(kind, unit).map(|row| row.to_si(number))
}

/// The kind a unit's symbol belongs to; `None` when it is not in the table.
pub fn kind_of(symbol: &str) -> Option<Kind> {
    table::ROWS
        .iter()
        .find(|row| row.symbol == symbol)
        .map(|row| row.kind)
}

/// The symbols of the units of a kind, in the order people are offered them.
pub fn symbols(kind: Kind) -> Vec<&'static str> {
    table::of(kind)
        .map(|row| row.symbol)
        .filter(|symbol| !symbol.is_empty())
        .collect()
}

/// Shows an SI value in `unit` with about four digits: `51.5 mm`, `14 km/h`, `0.58 %`.
pub fn show(kind: Kind, unit: &str, si: f64) -> String {
    with_unit(from_si(kind, unit, si), unit)
}

/// As [`show`] with about three digits: what a model says is never surer than that.
pub fn show_about(kind: Kind, unit: &str, si: f64) -> String {
    let number = digits(from_si(kind, unit, si), 3);
    if unit.is_empty() {
        number
    } else {
        format!("{number} {unit}")
    }
}

/// Shows an SI value in `unit` and, behind it, in the other system's unit with about three
/// digits: `51.5 mm (2.03 in)`, `8 % (1:12.5)`; as [`show`] where there is no other unit.
pub fn show_both(kind: Kind, unit: &str, si: f64) -> String {
    let shown = show(kind, unit, si);
    let other = match table::find(kind, unit).map(|row| row.other) {
        Some(Other::Unit(other)) => {
            format!("{} {other}", digits(from_si(kind, other, si), 3))
        }
        // Ratios also hold wear, charge and efficiency; only a road's gradient is said as 1:n.
        Some(Other::OneIn) if (0.02..=0.25).contains(&si.abs()) => {
            format!(
                "{}1:{}",
                if si < 0.0 { "-" } else { "" },
                digits(1.0 / si.abs(), 3)
            )
        }
        _ => return shown,
    };
    format!("{shown} ({other})")
}

/// A number with a unit, about four digits; the bare number when the unit is empty.
pub fn with_unit(number: f64, unit: &str) -> String {
    if unit.is_empty() {
        plain(number)
    } else {
        format!("{} {unit}", plain(number))
    }
}

/// A number with about four significant digits, whole part always whole, no trailing zeros.
pub fn plain(number: f64) -> String {
    digits(number, 4)
}

/// As [`plain`] with `significant` digits.
fn digits(number: f64, significant: i32) -> String {
    // Twelve decimals reach below every resolution in the shop; smaller values show as 0.
    const MOST_DECIMALS: i32 = 12;
    if !number.is_finite() {
        return number.to_string();
    }
    let magnitude = if number == 0.0 {
        0
    } else {
        number.abs().log10().floor() as i32
    };
    let decimals = (significant - 1 - magnitude).clamp(0, MOST_DECIMALS) as usize;
    let text = format!("{number:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Rounds to 14 significant digits of the larger of value and offset: conversion there and
/// back leaves errors in the 16th digit that would put a boundary value outside its window.
fn tidy(value: f64, offset: f64) -> f64 {
    let scale = value.abs().max(offset.abs());
    if scale == 0.0 || !scale.is_finite() {
        return value;
    }
    let places = 13 - scale.log10().floor() as i32;
    // Powers of ten are exact in an f64 up to 10^22.
    match places {
        0..=22 => (value * 10f64.powi(places)).round() / 10f64.powi(places),
        -22..0 => (value / 10f64.powi(-places)).round() * 10f64.powi(-places),
        _ => value,
    }
}

impl Row {
    /// `(number + offset)·factor`.
    fn to_si(self, number: f64) -> f64 {
        (number + self.offset) * self.factor
    }
}
