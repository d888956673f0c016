//! Stored masses: of the standards' tests, of parts, of packs by place.

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::{Energy, Mass};

/// What a frame without a mark is trusted with, kg (workshop judgement: bicycle and rider weigh
/// as much in the tests of ISO 4210-4; 120 to 130 only with evidence).
pub const UNMARKED_FRAME_KG: f64 = 100.0;

/// Mass of bicycle and rider in a test of a standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestMass {
    /// Short name, unique in the table.
    pub id: &'static str,
    /// Bicycle and rider, kg.
    pub kg: f64,
    /// How it is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

#[rustfmt::skip]
const fn test(id: &'static str, kg: f64, source: &'static str) -> TestMass {
    TestMass { id, kg, basis: Basis::Read, source }
}

/// Masses that standards test with.
#[rustfmt::skip]
pub const TEST_MASSES: &[TestMass] = &[
    test("brake", 100.0, "EN ISO 4210-4:2014, extract"),
    test("brake-young-adult", 60.0, "EN ISO 4210-4:2014, extract"),
    test("electric-reference", 100.0, "TBIS 15194:2019; the maker's greatest total where it is more"),
    test("electric-security", 120.0, "TBIS 15194:2019"),
];

/// Usual mass of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartMass {
    /// Short name, unique in the table.
    pub id: &'static str,
    /// Lightest and heaviest, kg.
    pub kg: [f64; 2],
    /// How it is known.
    pub basis: Basis,
}

#[rustfmt::skip]
const fn part(id: &'static str, kg: [f64; 2]) -> PartMass {
    PartMass { id, kg, basis: Basis::Memory }
}

/// Usual masses of kit parts, all from memory: a stand-in until the part is on the scale.
#[rustfmt::skip]
pub const PART_MASSES: &[PartMass] = &[
    part("hub-motor-geared", [2.0, 4.0]),
    part("hub-motor-direct", [4.5, 8.0]),
    part("mid-motor", [3.0, 6.0]),
    part("controller", [0.3, 0.6]),
    part("cockpit-and-loom", [0.5, 0.9]),
    part("torque-arm", [0.1, 0.1]),
    part("charger", [0.6, 1.0]),
];

/// Row of [`PART_MASSES`] by its name.
pub fn part_mass(id: &str) -> Option<&'static PartMass> {
    PART_MASSES.iter().find(|row| row.id == id)
}

/// Energy of a pack per mass, W·h/kg (from memory; older packs come out heavier, one data sheet
/// read gives 103 to 123).
pub const PACK_WH_PER_KG: [f64; 2] = [140.0, 200.0];

/// Lightest and heaviest mass usual for a pack of an energy (50 to 5 000 W·h), by
/// [`PACK_WH_PER_KG`]: from memory.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn pack_mass(energy: Energy) -> Result<(Mass, Mass), FitError> {
    let energy = in_range("energy of the pack", energy.as_watt_hours(), 50.0, 5000.0, "W·h")?;
    let [low, high] = PACK_WH_PER_KG;
    Ok((Mass::kilograms(energy / high), Mass::kilograms(energy / low)))
}
