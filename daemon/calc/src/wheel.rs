//! Wheels and tyres: size marks, circumference, the speed setting, load and pressure.

use std::f64::consts::PI;

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::{Length, Mass, Speed};

mod load;
mod mark;
mod pressure;
mod rim;
pub mod spoke;
pub use load::{front_share, on_axles};
pub use mark::{BEAD_SEATS, BeadSeat, Tyre, TyreError, TyreMark, parse_tyre};
pub use pressure::{
    HEIGHT_KEPT, PressureLimits, Recommended, USUAL_TO_MM, greatest_pressure, height_kept, pressure_usual,
    pressure_wide, recommended_pressure, sidewall_minimum,
};
pub use rim::{RIM_WIDTHS, RimWidth, rim_width, same_bead_seat, usual_inner};

/// Circumference of an unloaded tyre, `C = π·(BSD + 2W)`; bead seat 130 to 640 mm, width 10
/// to 130 mm. Common practice (the computer makers' rule); the tyre under a rider rolls about
/// 1 % less, so a roll-out is always the better figure.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn circumference(bead_seat: Length, width: Length) -> Result<Length, FitError> {
    in_range(
        "bead-seat diameter",
        bead_seat.as_millimetres(),
        130.0,
        640.0,
        "mm",
    )?;
    in_range("tyre width", width.as_millimetres(), 10.0, 130.0, "mm")?;
    Ok((bead_seat + width * 2.0) * PI)
}

/// Largest deviation of [`circumference`] from a published table of computer settings, as a
/// fraction: 1 % on 622 mm rims, 1.5 % on 559, 4 % on 406; `None` for a rim not compared.
pub fn circumference_tolerance(bead_seat: Length) -> Option<f64> {
    match bead_seat.as_millimetres().round() as i64 {
        622 => Some(0.01),
        559 => Some(0.015),
        406 => Some(0.04),
        _ => None,
    }
}

/// Circumference from a roll-out: distance over whole turns (1 to 100), result 0.4 to 3 m.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn rolled_out(distance: Length, turns: u32) -> Result<Length, FitError> {
    let turns = in_range("turns", f64::from(turns), 1.0, 100.0, "turns")?;
    let one = distance / turns;
    in_range("circumference", one.as_metres(), 0.4, 3.0, "m")?;
    Ok(one)
}

fn checked(name: &'static str, circumference: Length) -> Result<f64, FitError> {
    in_range(name, circumference.as_millimetres(), 400.0, 3000.0, "mm")
}

/// Error of a circumference setting as a fraction of the actual one, `setting/actual − 1`;
/// negative when the setting is too small (the display then shows less than the truth).
/// Both 400 to 3 000 mm.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn setting_error(setting: Length, actual: Length) -> Result<f64, FitError> {
    Ok(checked("circumference setting", setting)? / checked("circumference", actual)? - 1.0)
}

/// True speed while the display shows `shown`: `shown · actual/setting`. Both lengths 400 to
/// 3 000 mm.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn true_speed(shown: Speed, setting: Length, actual: Length) -> Result<Speed, FitError> {
    Ok(shown * (checked("circumference", actual)? / checked("circumference setting", setting)?))
}

/// Load on the front and rear tyre for a gross mass and the rear's share (0 to 1).
///
/// # Errors
/// [`FitError::OutOfRange`] for a share outside 0 to 1 or a mass outside 0 to 1 000 kg.
pub fn axle_loads(gross: Mass, rear_share: f64) -> Result<(Mass, Mass), FitError> {
    in_range("gross mass", gross.as_kilograms(), 0.0, 1000.0, "kg")?;
    let share = in_range("rear share", rear_share, 0.0, 1.0, "of the gross mass")?;
    Ok((gross * (1.0 - share), gross * share))
}

/// A stored load rating of one tyre size; the mark on the tyre always goes first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadRating {
    /// Nominal width and bead seat, mm.
    pub size_mm: [f64; 2],
    /// Least and greatest rating met, kg.
    pub load_kg: [f64; 2],
    /// How it is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

const JIS: &str = "JIS D 9112, reference maximum loads";
/// The standard names these sizes in inches; 20 x 1.75 is 47-406 in a published table of wheel settings.
const JIS_MM: &str = "JIS D 9112, reference maximum loads, of the size that is 1.75 wide in inches";
const JIS_MEMORY: &str = "JIS D 9112, reference maximum loads, of the size that is 1.5 wide in inches (which is 40 mm, from memory)";
const MAKERS: &str = "tyre makers' tables (from memory)";

#[rustfmt::skip]
const fn load(size_mm: [f64; 2], load_kg: [f64; 2], basis: Basis, source: &'static str) -> LoadRating {
    LoadRating { size_mm, load_kg, basis, source }
}

/// Load ratings met in a standard's appendix and, from memory, on sidewalls.
#[rustfmt::skip]
pub const LOAD_RATINGS: &[LoadRating] = &[
    load([38.1, 305.0], [45.0, 45.0], Basis::Read, JIS),
    load([44.45, 305.0], [50.0, 50.0], Basis::Read, JIS),
    load([38.1, 406.0], [60.0, 60.0], Basis::Read, JIS),
    load([44.45, 406.0], [65.0, 65.0], Basis::Read, JIS),
    load([40.0, 305.0], [45.0, 45.0], Basis::Memory, JIS_MEMORY),
    load([47.0, 305.0], [50.0, 50.0], Basis::Read, JIS_MM),
    load([40.0, 406.0], [60.0, 60.0], Basis::Memory, JIS_MEMORY),
    load([47.0, 406.0], [65.0, 65.0], Basis::Read, JIS_MM),
    load([28.0, 622.0], [70.0, 70.0], Basis::Read, JIS),
    load([28.0, 622.0], [80.0, 90.0], Basis::Memory, MAKERS),
    load([32.0, 622.0], [90.0, 100.0], Basis::Memory, MAKERS),
    load([37.0, 622.0], [105.0, 115.0], Basis::Memory, MAKERS),
    load([40.0, 622.0], [105.0, 115.0], Basis::Memory, MAKERS),
    load([47.0, 622.0], [130.0, 130.0], Basis::Memory, MAKERS),
    load([50.0, 622.0], [130.0, 140.0], Basis::Memory, MAKERS),
    load([50.0, 584.0], [130.0, 140.0], Basis::Memory, MAKERS),
    load([57.0, 584.0], [140.0, 140.0], Basis::Memory, MAKERS),
    load([62.0, 584.0], [155.0, 155.0], Basis::Memory, MAKERS),
];

/// The lowest stored rating for a size (bead seat to 1 mm, width to 1 mm); `None` when none
/// is stored.
pub fn stored_load(bead_seat: Length, width: Length) -> Option<&'static LoadRating> {
    let near = |a: f64, b: Length| (a - b.as_millimetres()).abs() <= 1.0;
    LOAD_RATINGS
        .iter()
        .filter(|row| near(row.size_mm[0], width) && near(row.size_mm[1], bead_seat))
        .min_by(|a, b| a.load_kg[0].total_cmp(&b.load_kg[0]))
}

#[cfg(test)]
mod tests;
