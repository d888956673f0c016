//! Tyre pressure: what tyre and rim allow, what a wheel load asks for (about 15 % of the tyre's
//! height pressed flat).

use crate::doubt::{FitError, in_range};
use crate::quantity::{Length, Mass, Pressure};

/// Width up to which [`pressure_usual`] is used, mm (judgement).
pub const USUAL_TO_MM: f64 = 40.0;

/// Least share of a tyre's height that is left under load (Heine, Optimizing Your Tire
/// Pressure: a drop of 15 %).
pub const HEIGHT_KEPT: f64 = 0.85;

fn inputs(load: Mass, width: Length) -> Result<(f64, f64), FitError> {
    in_range("wheel load", load.as_kilograms(), 9.0, 150.0, "kg")?;
    let mm = in_range("tyre width", width.as_millimetres(), 18.0, 75.0, "mm")?;
    Ok((load.as_pounds(), mm))
}

/// Pressure for a wheel load, `P = 600·L/W² + 0.75·W − 25` (psi, lb on this wheel, mm
/// measured), a fit of Berto's chart within ±2 psi for 20 to 220 lb (10.5281/zenodo.20671797).
/// Load 9 to 150 kg, width 18 to 75 mm.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn pressure_usual(load: Mass, width: Length) -> Result<Pressure, FitError> {
    let (pounds, mm) = inputs(load, width)?;
    Ok(Pressure::psi(600.0 * pounds / (mm * mm) + 0.75 * mm - 25.0))
}

/// Pressure for a wheel load on a wide tyre, `P = 120·L·W^−1.5` (psi, lb on this wheel, mm):
/// steadier outside the chart. Common practice, no source. Load 9 to 150 kg, width 18 to 75 mm.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn pressure_wide(load: Mass, width: Length) -> Result<Pressure, FitError> {
    let (pounds, mm) = inputs(load, width)?;
    Ok(Pressure::psi(120.0 * pounds * mm.powf(-1.5)))
}

/// Lowest pressure of a tyre by width (ISO 5775-1, as summarised by an encyclopaedia):
/// 300 kPa up to 25 mm, else 200 kPa, 150 kPa for off-road tyres.
pub fn sidewall_minimum(width: Length, off_road: bool) -> Pressure {
    let kilopascals = match (width.as_millimetres() <= 25.0 + 1e-9, off_road) {
        (true, _) => 300.0,
        (false, false) => 200.0,
        (false, true) => 150.0,
    };
    Pressure::kilopascals(kilopascals)
}

/// Greatest pressure of tyre and rim together: where both are marked the lower one (ISO 4210-1,
/// as adopted in TBIS 4210-1:2018). Marks 0.5 to 15 bar. What a hookless rim without a mark
/// allows is not inferred: do not ask without one.
///
/// # Errors
/// [`FitError::OutOfRange`] for a mark outside that range.
pub fn greatest_pressure(tyre: Pressure, rim: Option<Pressure>) -> Result<Pressure, FitError> {
    in_range("maximum pressure of the tyre", tyre.as_bars(), 0.5, 15.0, "bar")?;
    let Some(rim) = rim else { return Ok(tyre) };
    in_range("maximum pressure of the rim", rim.as_bars(), 0.5, 15.0, "bar")?;
    Ok(tyre.min(rim))
}

/// Share of the tyre's height left under the rider, `h_loaded/h_unloaded`; both over the rim's
/// edge, 5 to 130 mm, loaded no more than unloaded. To be held against [`HEIGHT_KEPT`].
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn height_kept(unloaded: Length, loaded: Length) -> Result<f64, FitError> {
    let high = in_range(
        "tyre height unloaded",
        unloaded.as_millimetres(),
        5.0,
        130.0,
        "mm",
    )?;
    let low = in_range("tyre height loaded", loaded.as_millimetres(), 5.0, high, "mm")?;
    Ok(low / high)
}

/// What tyre and rim allow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressureLimits {
    /// The higher of the marked minima.
    pub min: Pressure,
    /// Greatest pressure of tyre and rim, by [`greatest_pressure`].
    pub max: Pressure,
}

/// Pressure to set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recommended {
    /// Pressure within the marks.
    pub pressure: Pressure,
    /// Pressure the load alone asks for.
    pub wanted: Pressure,
    /// The marks changed it.
    pub clamped: bool,
}

/// Pressure for a wheel load within the marks: [`pressure_usual`] up to 40 mm,
/// [`pressure_wide`] above (judgement).
///
/// # Errors
/// [`FitError::OutOfRange`] for a load or width outside the fits' range, a maximum outside 0.5
/// to 15 bar, or a minimum above the maximum.
pub fn recommended_pressure(
    load: Mass,
    width: Length,
    limits: PressureLimits,
) -> Result<Recommended, FitError> {
    let max = greatest_pressure(limits.max, None)?;
    in_range(
        "minimum pressure",
        limits.min.as_bars(),
        0.0,
        max.as_bars(),
        "bar",
    )?;
    let usual = width.as_millimetres() <= USUAL_TO_MM + 1e-9;
    let wanted = if usual {
        pressure_usual(load, width)?
    } else {
        pressure_wide(load, width)?
    };
    let pressure = wanted.max(limits.min).min(max);
    Ok(Recommended {
        pressure,
        wanted,
        clamped: pressure != wanted,
    })
}
