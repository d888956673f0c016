//! Chain: length, derailleur capacity, width between sprockets and bolt circles.
//!
//! One link here is one half-inch pitch (12.7 mm); a chain sold as 116 links is 58 inches.

use std::f64::consts::{PI, TAU};
use std::fmt;

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::Length;

mod tables;
pub use tables::{BOLT_CIRCLES, BoltCircle, CHAIN_WIDTHS, ChainWidth, chain_width};

/// Chain pitch, mm (half an inch; ISO 9633 and ISO 606, from memory).
pub const PITCH_MM: f64 = 12.7;

/// Side gap from which a chain runs clear of the neighbouring sprocket, mm (judgement).
pub const SIDE_GAP_CLEAR_MM: f64 = 0.10;

/// Largest difference at which a measured bolt circle is taken for a stored one, mm
/// (judgement: half the distance between the two closest five-arm circles).
pub const SNAP_MM: f64 = 1.0;

/// An input a chain calculation cannot use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ChainError {
    /// An input lies outside its range.
    Input(FitError),
    /// Ring and sprocket would overlap at this distance between centres.
    CentresTooClose {
        /// Distance between centres.
        centres: Length,
        /// Sum of the pitch radii.
        radii: Length,
    },
    /// A list of tooth counts is empty.
    NoTeeth {
        /// Which list.
        name: &'static str,
    },
}

impl From<FitError> for ChainError {
    fn from(error: FitError) -> Self {
        Self::Input(error)
    }
}

impl fmt::Display for ChainError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input(error) => error.fmt(f),
            Self::CentresTooClose { centres, radii } => write!(
                f,
                "distance between centres is {:.1} mm; it must exceed the pitch radii together, {:.1} mm",
                centres.as_millimetres(),
                radii.as_millimetres()
            ),
            Self::NoTeeth { name } => write!(f, "{name} is empty; at least one tooth count is needed"),
        }
    }
}

impl std::error::Error for ChainError {}

fn teeth(name: &'static str, count: u32) -> Result<f64, FitError> {
    in_range(name, f64::from(count), 8.0, 80.0, "teeth")
}

fn span(centres: Length, ring: u32, cog: u32) -> Result<(f64, f64, f64), ChainError> {
    let pitches = in_range(
        "distance between centres",
        centres.as_millimetres(),
        100.0,
        2000.0,
        "mm",
    )?;
    let (ring, cog) = (teeth("chainring", ring)?, teeth("sprocket", cog)?);
    let radii = (ring + cog) * PITCH_MM / TAU;
    if pitches <= radii {
        return Err(ChainError::CentresTooClose {
            centres,
            radii: Length::millimetres(radii),
        });
    }
    Ok((pitches / PITCH_MM, ring, cog))
}

/// Exact length of chain round two pitch circles, in links:
/// `[2C·cos φ + r1(π + 2φ) + r2(π − 2φ)]/p` with `φ = asin((r1 − r2)/C)`, `r = N·p/2π`.
///
/// `C` 100 to 2 000 mm, 8 to 80 teeth each; for a suspension frame give the longest `C` of
/// the travel. Elementary geometry.
///
/// # Errors
/// [`ChainError`] outside those ranges or when the circles would overlap.
pub fn links_exact(centres: Length, ring: u32, cog: u32) -> Result<f64, ChainError> {
    let (c, ring, cog) = span(centres, ring, cog)?;
    let (r1, r2) = (ring / TAU, cog / TAU);
    let phi = ((r1 - r2) / c).asin();
    Ok(2.0 * c * phi.cos() + r1 * (PI + 2.0 * phi) + r2 * (PI - 2.0 * phi))
}

/// Links to order for an exact length with a derailleur: the smallest even count of at least
/// `exact + 2` (a joining link keeps the count even). Common practice, no source.
pub fn links_to_order(exact: f64) -> u32 {
    2 * ((exact + 2.0 - 1e-9) / 2.0).ceil().max(0.0) as u32
}

/// What a rear derailleur can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DerailleurLimits {
    /// Rated total capacity, teeth.
    pub capacity: u32,
    /// Largest sprocket it clears.
    pub largest_cog: u32,
    /// Smallest sprocket it reaches, when its maker names one.
    pub smallest_cog: Option<u32>,
}

/// What the gears ask of a derailleur, and what is left; negative margins do not fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DerailleurFit {
    /// Capacity needed, teeth.
    pub need: u32,
    /// Difference between the largest and smallest ring: a front derailleur's capacity.
    pub front_need: u32,
    /// Rated capacity minus need, teeth.
    pub capacity_margin: i32,
    /// Largest sprocket allowed minus largest fitted, teeth.
    pub largest_margin: i32,
    /// Smallest fitted minus smallest allowed, teeth.
    pub smallest_margin: Option<i32>,
}

impl DerailleurFit {
    /// Whether no margin is negative.
    pub fn fits(&self) -> bool {
        self.capacity_margin >= 0
            && self.largest_margin >= 0
            && self.smallest_margin.is_none_or(|margin| margin >= 0)
    }
}

/// Least and greatest tooth count of a list, each checked to lie in 8 to 80.
fn extent(name: &'static str, list: &[u32]) -> Result<(u32, u32), ChainError> {
    for &count in list {
        teeth(name, count)?;
    }
    match (list.iter().min(), list.iter().max()) {
        (Some(&low), Some(&high)) => Ok((low, high)),
        _ => Err(ChainError::NoTeeth { name }),
    }
}

/// Compares rings and sprockets (8 to 80 teeth) with a derailleur:
/// `need = (F_max − F_min) + (R_max − R_min)`. Leave out gears that will not be used.
/// Common practice; the definition is the makers' own.
///
/// # Errors
/// [`ChainError`] for an empty list or a tooth count outside its range.
pub fn derailleur_fit(
    rings: &[u32],
    cogs: &[u32],
    limits: DerailleurLimits,
) -> Result<DerailleurFit, ChainError> {
    let (ring_min, ring_max) = extent("chainrings", rings)?;
    let (cog_min, cog_max) = extent("sprockets", cogs)?;
    let front_need = ring_max - ring_min;
    let need = front_need + cog_max - cog_min;
    let minus = |a: u32, b: u32| i32::try_from(i64::from(a) - i64::from(b)).unwrap_or(i32::MAX);
    Ok(DerailleurFit {
        need,
        front_need,
        capacity_margin: minus(limits.capacity, need),
        largest_margin: minus(limits.largest_cog, cog_max),
        smallest_margin: limits.smallest_cog.map(|smallest| minus(cog_min, smallest)),
    })
}

/// Gap between a chain's outer plate and the neighbouring sprocket, `p − t/2 − w/2`
/// (pitch, sprocket thickness, chain's outer width). Computed; negative means contact.
pub fn side_gap(sprocket_pitch: Length, sprocket_thickness: Length, chain_outer: Length) -> Length {
    sprocket_pitch - sprocket_thickness / 2.0 - chain_outer / 2.0
}

/// Bolt-circle diameter from the distance between adjacent bolts, `c/sin(π/n)`, for 3 to 8
/// arms and 10 to 150 mm.
///
/// # Errors
/// [`ChainError::Input`] outside those ranges.
pub fn bolt_circle(arms: u8, adjacent: Length) -> Result<Length, ChainError> {
    let arms = in_range("arms", f64::from(arms), 3.0, 8.0, "arms")?;
    in_range(
        "distance between bolts",
        adjacent.as_millimetres(),
        10.0,
        150.0,
        "mm",
    )?;
    Ok(adjacent / (PI / arms).sin())
}

/// The stored bolt circle nearest a measured one, within [`SNAP_MM`]; `None` when no stored
/// circle of that many arms is that close.
pub fn snap_bolt_circle(arms: u8, measured: Length) -> Option<&'static BoltCircle> {
    let distance = |row: &BoltCircle| (row.diameter_mm - measured.as_millimetres()).abs();
    BOLT_CIRCLES
        .iter()
        .filter(|row| row.arms == arms && distance(row) <= SNAP_MM)
        .min_by(|a, b| distance(a).total_cmp(&distance(b)))
}

/// Fewest teeth whose root circle clears the bolt heads, `12.7/sin(π/N) − 8.5 ≥ BCD + 11.3`
/// (mm). One or two teeth optimistic on some circles: use the stored figure first. Judgement
/// fitted to published minima. Valid for 40 to 200 mm.
///
/// # Errors
/// [`ChainError::Input`] outside that range.
pub fn fewest_teeth(bolt_circle: Length) -> Result<u32, ChainError> {
    let mm = in_range("bolt circle", bolt_circle.as_millimetres(), 40.0, 200.0, "mm")?;
    let root = |n: u32| PITCH_MM / (PI / f64::from(n)).sin() - 8.5;
    let fewest = (8..=80).find(|&n| root(n) >= mm + 11.3);
    Ok(fewest.expect("80 teeth have a 315 mm root circle, beyond the 200 mm accepted"))
}

/// Basis of [`fewest_teeth`].
pub const FEWEST_TEETH_BASIS: Basis = Basis::Judgement;

#[cfg(test)]
mod tests;
