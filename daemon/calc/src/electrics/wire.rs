//! Copper wire by American Wire Gauge, its drop and loss, and the fuse that protects it.

use std::f64::consts::PI;

use crate::doubt::{FitError, in_range};
use crate::quantity::{Area, Current, Length, Power, Resistance, Temperature, Voltage};

/// Resistivity of annealed copper at 20 °C, Ω·m: 1/58 Ω·mm²/m (International Annealed Copper
/// Standard, from memory).
const RESISTIVITY: f64 = 1.7241e-8;
/// Temperature coefficient of copper's resistance at 20 °C, 1/K (the same standard, from
/// memory).
const COEFFICIENT: f64 = 0.003_93;

/// Share of the free-air current left to wires bundled inside a frame at 50 °C or more
/// (judgement).
pub const DERATING: f64 = 0.6;

/// Least rating of a fuse over the continuous current (common practice: fuse makers' selection
/// guides).
pub const FUSE_OVER_LOAD: f64 = 1.25;

/// Common fuse sizes, A (common practice, no source).
pub const FUSE_SIZES_A: &[f64] = &[
    1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 125.0,
    150.0, 175.0, 200.0,
];

/// Single wire in free air, A, by gauge (common practice: handbook tables; no code ampacity).
const FREE_AIR_A: &[(u8, f64)] = &[
    (6, 101.0),
    (8, 73.0),
    (10, 55.0),
    (12, 41.0),
    (14, 32.0),
    (16, 22.0),
    (18, 16.0),
    (20, 11.0),
    (22, 7.0),
    (24, 3.5),
];

/// A wire size of the American Wire Gauge, 0 to 40; larger numbers are thinner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Gauge(u8);

impl Gauge {
    /// From the gauge number.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] above 40.
    pub fn new(number: u8) -> Result<Self, FitError> {
        in_range("wire gauge", f64::from(number), 0.0, 40.0, "AWG")?;
        Ok(Self(number))
    }

    /// The thickest gauge that is no thicker than a wire of this cross-section, to the half per cent that cross-sections
    /// are rounded by in print; a millimetre size (IEC 60228) lies between two gauges and carries what the thinner one does.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside 0.005 to 54 mm², the gauges 40 to 0.
    pub fn within(area: Area) -> Result<Self, FitError> {
        let mm2 = area.si() * 1e6;
        in_range("cross-section of the wire", mm2, 0.005, 54.0, "mm²")?;
        let fits = |gauge: &Self| gauge.area().si() * 1e6 <= mm2 * 1.005;
        Ok((0..=40).map(Self).find(fits).unwrap_or(Self(40)))
    }

    /// The gauge number.
    pub const fn number(self) -> u8 {
        self.0
    }

    /// Diameter of the solid wire, `0.127·92^((36 − n)/39)` mm (ASTM B258, from memory).
    pub fn diameter(self) -> Length {
        Length::millimetres(0.127 * 92.0_f64.powf((36.0 - f64::from(self.0)) / 39.0))
    }

    /// Cross-section, `π·d²/4`.
    pub fn area(self) -> Area {
        let d = self.diameter().as_millimetres();
        Area::square_millimetres(PI * d * d / 4.0)
    }

    /// Resistance of a length of solid copper, `ρ·L/A·(1 + 0.00393(T − 20 °C))`; stranded wire
    /// has 2 to 5 % more. Length 0 to 1 000 m, temperature −40 to 120 °C.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside those ranges.
    pub fn resistance(self, length: Length, temperature: Temperature) -> Result<Resistance, FitError> {
        let metres = in_range("wire length", length.as_metres(), 0.0, 1000.0, "m")?;
        let celsius = in_range("wire temperature", temperature.as_celsius(), -40.0, 120.0, "°C")?;
        let cold = RESISTIVITY * metres / self.area().as_square_metres();
        Ok(Resistance::ohms(cold * (1.0 + COEFFICIENT * (celsius - 20.0))))
    }

    /// Current of a single wire in free air; `None` for a gauge not stored. Multiply by
    /// [`DERATING`] for wires bundled in a frame.
    pub fn free_air(self) -> Option<Current> {
        FREE_AIR_A
            .iter()
            .find(|(n, _)| *n == self.0)
            .map(|(_, amperes)| Current::amperes(*amperes))
    }
}

/// Drop over a pair of wires, `ΔV = 2·L·R'·I`, with the one-way length; current 0 to 500 A.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range or those of [`Gauge::resistance`].
pub fn voltage_drop(
    gauge: Gauge,
    one_way: Length,
    current: Current,
    temperature: Temperature,
) -> Result<Voltage, FitError> {
    in_range("current", current.as_amperes(), 0.0, 500.0, "A")?;
    Ok(current.times_resistance(gauge.resistance(one_way * 2.0, temperature)?))
}

/// Heat in a pair of wires, `2·L·R'·I²`; ranges and errors as [`voltage_drop`].
///
/// # Errors
/// As [`voltage_drop`].
pub fn wire_loss(
    gauge: Gauge,
    one_way: Length,
    current: Current,
    temperature: Temperature,
) -> Result<Power, FitError> {
    Ok(voltage_drop(gauge, one_way, current, temperature)?.times_current(current))
}

/// Heat in one contact, `I²·R`.
pub fn contact_heat(current: Current, contact: Resistance) -> Power {
    current.times_resistance(contact).times_current(current)
}

/// Fuse sizes a circuit admits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FuseWindow {
    /// Least rating, [`FUSE_OVER_LOAD`] × the continuous current.
    pub min: Current,
    /// Greatest rating, the derated current of the thinnest wire protected.
    pub max: Current,
    /// Smallest common size in the window; `None` asks for thicker wire, never a bigger fuse.
    pub smallest: Option<Current>,
    /// First common size from the window's middle up, else the smallest.
    pub middle: Option<Current>,
}

/// Fuse window for a continuous current and the derated ampacity of the thinnest wire (both
/// 0.1 to 500 A). Common practice (fuse makers' selection guides).
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn fuse_window(continuous: Current, ampacity: Current) -> Result<FuseWindow, FitError> {
    let low = FUSE_OVER_LOAD * in_range("continuous current", continuous.as_amperes(), 0.1, 500.0, "A")?;
    let high = in_range("wire ampacity", ampacity.as_amperes(), 0.1, 500.0, "A")?;
    let first = |from: f64| {
        let size = FUSE_SIZES_A
            .iter()
            .find(|&&size| size >= from - 1e-9 && size <= high + 1e-9);
        size.map(|&size| Current::amperes(size))
    };
    let smallest = first(low);
    let middle = smallest.and_then(|least| first((low + high) / 2.0).or(Some(least)));
    Ok(FuseWindow {
        min: Current::amperes(low),
        max: ampacity,
        smallest,
        middle,
    })
}

/// The thinnest stored wire, derated for a frame, that a common fuse for a continuous current
/// (0.1 to 500 A) protects; `None` when none of them is thick enough.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn thinnest_for(continuous: Current) -> Result<Option<Gauge>, FitError> {
    for (number, free_air) in FREE_AIR_A.iter().rev() {
        let window = fuse_window(continuous, Current::amperes(free_air * DERATING))?;
        if window.smallest.is_some() {
            return Ok(Some(Gauge(*number)));
        }
    }
    Ok(None)
}
