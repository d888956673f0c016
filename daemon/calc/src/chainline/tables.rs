//! Stored chainlines and sprocket spacings.
//!
//! Each row says how it is known. Rows from memory name the publication and were not
//! checked against it. The families are the two groups of makers whose sprockets differ.

use crate::doubt::Basis;
use crate::quantity::Length;

/// Group of makers a spacing belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Family {
    /// The spacing most makers share.
    A,
    /// The second group.
    B,
}

/// Spacing of the sprockets of one stack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spacing {
    /// Short name, unique in the table.
    pub id: &'static str,
    /// Number of sprockets.
    pub speeds: u8,
    /// Group of makers.
    pub family: Family,
    /// Centre to centre, mm.
    pub pitch_mm: f64,
    /// Sprocket thickness, mm.
    pub thickness_mm: f64,
    /// Width over the stack as the source prints it, mm.
    pub stack_mm: f64,
    /// How pitch and thickness are known.
    pub basis: Basis,
    /// Where they come from.
    pub source: &'static str,
}

impl Spacing {
    /// Centre to centre.
    pub fn pitch(&self) -> Length {
        Length::millimetres(self.pitch_mm)
    }

    /// Sprocket thickness.
    pub fn thickness(&self) -> Length {
        Length::millimetres(self.thickness_mm)
    }
}

const CRIB: &str = "Brown, Spacing Cribsheet";
const CRIB_MEMORY: &str = "Brown, Spacing Cribsheet (from memory)";
const CRIB_QUOTED: &str = "Brown, Spacing Cribsheet, as quoted in a worked chainline example";
const PRACTICE: &str = "common practice: tables of the trade, read; no publication";
const WEAK: &str = "from memory, weak: makers publish no one figure";

#[rustfmt::skip]
const fn row(id: &'static str, speeds: u8, family: Family, mm: [f64; 3], basis: Basis, source: &'static str) -> Spacing {
    Spacing { id, speeds, family, pitch_mm: mm[0], thickness_mm: mm[1], stack_mm: mm[2], basis, source }
}

/// Spacings for 5 to 12 sprockets; the first row of a speed and family is the usual one.
#[rustfmt::skip]
pub const SPACINGS: &[Spacing] = &[
    row("5-a", 5, Family::A, [5.5, 2.0, 24.0], Basis::Read, CRIB),
    row("5-b", 5, Family::B, [5.35, 1.85, 23.2], Basis::Read, CRIB),
    row("6-a", 6, Family::A, [5.5, 2.0, 29.5], Basis::Read, CRIB),
    row("6-a-narrow", 6, Family::A, [5.0, 1.85, 27.0], Basis::Memory, CRIB_MEMORY),
    row("7-a", 7, Family::A, [5.0, 1.85, 31.9], Basis::Memory, CRIB_MEMORY),
    row("8-a", 8, Family::A, [4.8, 1.8, 35.4], Basis::Read, PRACTICE),
    row("8-b", 8, Family::B, [5.0, 1.9, 36.9], Basis::Memory, CRIB_MEMORY),
    row("9-a", 9, Family::A, [4.34, 1.78, 36.5], Basis::Memory, CRIB_MEMORY),
    row("9-b", 9, Family::B, [4.55, 1.75, 38.15], Basis::Memory, CRIB_MEMORY),
    row("10-a", 10, Family::A, [3.95, 1.6, 37.2], Basis::Read, CRIB_QUOTED),
    row("10-b", 10, Family::B, [4.15, 1.7, 38.9], Basis::Memory, CRIB_MEMORY),
    row("11-a", 11, Family::A, [3.74, 1.6, 39.0], Basis::Memory, CRIB_MEMORY),
    row("11-a-wide", 11, Family::A, [3.9, 1.6, 40.6], Basis::Memory, WEAK),
    row("12-a", 12, Family::A, [3.65, 1.6, 41.8], Basis::Memory, WEAK),
];

/// The usual spacing for a number of speeds and family; `None` when none is stored.
pub fn spacing(speeds: u8, family: Family) -> Option<&'static Spacing> {
    SPACINGS
        .iter()
        .find(|row| row.speeds == speeds && row.family == family)
}

/// Every stored spacing for a number of speeds.
pub fn spacings(speeds: u8) -> impl Iterator<Item = &'static Spacing> {
    SPACINGS.iter().filter(move |row| row.speeds == speeds)
}

/// A customary front chainline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrontStandard {
    /// Short name, unique in the table.
    pub id: &'static str,
    /// Least, usual and greatest line, mm.
    pub mm: [f64; 3],
    /// How it is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

const LINE_MEMORY: &str = "Brown, Chainline (from memory)";
const SINGLE: &str = "Brown, Chainline for single-speed";
const DRAWINGS: &str = "component and frame makers' drawings (from memory)";

#[rustfmt::skip]
const fn line(id: &'static str, mm: [f64; 3], basis: Basis, source: &'static str) -> FrontStandard {
    FrontStandard { id, mm, basis, source }
}

/// Customary front chainlines: least, usual, greatest.
#[rustfmt::skip]
pub const FRONT_STANDARDS: &[FrontStandard] = &[
    line("road-double", [43.5, 43.5, 43.5], Basis::Memory, LINE_MEMORY),
    line("road-triple", [45.0, 45.0, 45.0], Basis::Memory, LINE_MEMORY),
    line("mountain-triple", [47.5, 48.5, 50.0], Basis::Read, PRACTICE),
    line("mountain-double", [48.8, 49.5, 50.4], Basis::Memory, DRAWINGS),
    line("mountain-single-135-142", [49.0, 50.0, 51.0], Basis::Memory, DRAWINGS),
    line("single-in-outer-position", [52.0, 52.0, 52.0], Basis::Read, PRACTICE),
    line("mountain-148", [52.0, 52.0, 55.0], Basis::Memory, DRAWINGS),
    line("mountain-157", [56.5, 56.5, 57.0], Basis::Memory, DRAWINGS),
    line("track-and-classic-single", [40.5, 42.0, 42.0], Basis::Read, SINGLE),
    line("mountain-single-speed", [52.0, 52.0, 54.0], Basis::Read, SINGLE),
    line("hub-gear-14", [54.0, 54.0, 58.0], Basis::Read, SINGLE),
    line("hub-gear-135", [42.0, 45.0, 50.0], Basis::Memory, SINGLE),
    line("fat-170-177", [61.0, 64.0, 67.0], Basis::Memory, DRAWINGS),
    line("fat-190-197", [73.0, 75.0, 77.0], Basis::Memory, DRAWINGS),
];
