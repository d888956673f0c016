//! Stored chain widths and bolt circles.

use crate::doubt::Basis;

/// Width of chains made for a number of sprockets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChainWidth {
    /// Sprockets the chain is made for.
    pub speeds: u8,
    /// Least and greatest width over the rivets, mm.
    pub outer_mm: [f64; 2],
    /// Width to compute with when the chain was not measured, mm.
    pub usual_mm: f64,
    /// Width between the inner plates, mm.
    pub inner_mm: f64,
    /// How the outer width is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

const PRACTICE: &str = "common practice: tables of the trade, read; no publication";

#[rustfmt::skip]
const fn width(speeds: u8, outer_mm: [f64; 2], usual_mm: f64, inner_mm: f64, basis: Basis) -> ChainWidth {
    let source = match basis { Basis::Memory => "from memory", _ => PRACTICE };
    ChainWidth { speeds, outer_mm, usual_mm, inner_mm, basis, source }
}

/// Chain widths for 1 and 6 to 12 sprockets (5 uses the 6 row).
#[rustfmt::skip]
pub const CHAIN_WIDTHS: &[ChainWidth] = &[
    width(1, [8.6, 9.5], 9.0, 3.175, Basis::Memory),
    width(6, [7.8, 7.8], 7.8, 2.38, Basis::Read),
    width(7, [7.3, 7.3], 7.3, 2.38, Basis::Read),
    width(8, [7.0, 7.3], 7.1, 2.38, Basis::Read),
    width(9, [6.5, 6.9], 6.6, 2.18, Basis::Read),
    width(10, [5.84, 6.2], 5.9, 2.18, Basis::Read),
    width(11, [5.46, 5.74], 5.6, 2.18, Basis::Read),
    width(12, [5.15, 5.3], 5.25, 2.18, Basis::Read),
];

/// Stored width for a number of sprockets; `None` when none is stored.
pub fn chain_width(speeds: u8) -> Option<&'static ChainWidth> {
    let speeds = if speeds == 5 { 6 } else { speeds };
    CHAIN_WIDTHS.iter().find(|row| row.speeds == speeds)
}

/// A bolt circle of chainrings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoltCircle {
    /// Number of arms.
    pub arms: u8,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Smallest ring sold for it, teeth; `None` when not known.
    pub fewest_teeth: Option<u32>,
    /// Distance between adjacent bolts as published, mm; `None` when not known.
    pub adjacent_mm: Option<f64>,
    /// How the row is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

#[rustfmt::skip]
const fn read(arms: u8, diameter_mm: f64, fewest: u32, adjacent: f64) -> BoltCircle {
    BoltCircle {
        arms, diameter_mm, fewest_teeth: Some(fewest), adjacent_mm: Some(adjacent),
        basis: Basis::Read, source: "Brown, Bicycle Numbers: bolt circle cribsheet",
    }
}

#[rustfmt::skip]
const fn recalled(arms: u8, diameter_mm: f64, fewest_teeth: Option<u32>, adjacent_mm: Option<f64>) -> BoltCircle {
    BoltCircle { arms, diameter_mm, fewest_teeth, adjacent_mm, basis: Basis::Memory, source: "from memory" }
}

/// Bolt circles of five and four arms.
#[rustfmt::skip]
pub const BOLT_CIRCLES: &[BoltCircle] = &[
    read(5, 151.0, 44, 88.8), read(5, 144.0, 41, 84.6), read(5, 135.0, 39, 79.5), read(5, 130.0, 38, 76.4),
    read(5, 128.0, 38, 75.2), read(5, 122.0, 38, 71.7), read(5, 118.0, 36, 69.4), read(5, 116.0, 35, 68.2),
    read(5, 110.0, 34, 64.7), read(5, 94.0, 29, 55.4), read(5, 86.0, 28, 50.5), read(5, 74.0, 24, 43.5),
    read(5, 58.0, 20, 34.3), read(5, 56.0, 20, 32.9),
    read(4, 112.0, 34, 79.2), read(4, 104.0, 32, 73.6), read(4, 68.0, 22, 48.1), read(4, 64.0, 22, 45.3),
    recalled(4, 96.0, Some(32), Some(67.9)), recalled(4, 76.0, Some(30), Some(53.7)),
    recalled(4, 88.0, None, None), recalled(4, 120.0, None, None),
];
