//! Stored tightening torques, each source's range kept apart.

use crate::doubt::Basis;

/// One source's range for a fastener.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Published {
    /// Least torque, N·m.
    pub min_nm: f64,
    /// Greatest torque, N·m.
    pub max_nm: f64,
    /// How the range is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

/// A fastener with what each source says; the first range is the one to work to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fastener {
    /// Name of the row.
    pub id: &'static str,
    /// Ranges by source, the one to work to first.
    pub ranges: &'static [Published],
}

const MAINTENANCE: &str = "common practice: torque table of a maintenance handbook, read; no publication";
const MANUAL: &str = "owner's manual, appendix of fastener torques, p. 74, read";
const SHOP: &str = "common practice: shop table in lbf·in, read; no publication";
const SHOP_AND_MAINTENANCE: &str =
    "common practice: shop table and maintenance handbook agree, read; no publication";
const MANUAL_AND_MAINTENANCE: &str = "owner's manual and maintenance handbook agree, read; no publication";
const NOT_READ: &str = "from memory";
const AXLE: &str = "common practice: about 25 N·m, read; upper end from memory";

#[rustfmt::skip]
const fn read(min_nm: f64, max_nm: f64, source: &'static str) -> Published {
    Published { min_nm, max_nm, basis: Basis::Read, source }
}

#[rustfmt::skip]
const fn recalled(min_nm: f64, max_nm: f64, source: &'static str) -> Published {
    Published { min_nm, max_nm, basis: Basis::Memory, source }
}

const fn row(id: &'static str, ranges: &'static [Published]) -> Fastener {
    Fastener { id, ranges }
}

/// Fasteners a conversion touches. The bottom-bracket row starts at 300 lbf·in, 33.9 N·m; the
/// 32.9 N·m printed beside it in one table is a slip of conversion.
#[rustfmt::skip]
pub const FASTENERS: &[Fastener] = &[
    row("stem-faceplate", &[read(4.0, 6.0, MAINTENANCE)]),
    row("stem-steerer", &[read(5.0, 7.0, MAINTENANCE)]),
    row("stem-quill-binder", &[read(19.7, 29.4, MANUAL)]),
    row("headset-top-cap", &[read(1.0, 2.0, MAINTENANCE)]),
    row("headset-locknut", &[read(14.7, 16.9, MANUAL)]),
    row("brake-lever-clamp", &[read(4.0, 5.0, MAINTENANCE)]),
    row("shifter-clamp", &[read(3.0, 4.0, MAINTENANCE)]),
    row("seatpost-clamp-one-bolt", &[read(5.0, 7.0, MAINTENANCE)]),
    row("seatpost-clamp-two-bolt", &[read(4.0, 5.0, MAINTENANCE)]),
    row("saddle-rail-clamp", &[read(8.0, 14.0, MAINTENANCE)]),
    row("saddle-rail-single-binder", &[read(19.7, 39.2, MANUAL)]),
    row("crank-bolt-m8", &[
        read(38.0, 42.0, SHOP), read(40.0, 55.0, MAINTENANCE), read(34.5, 44.2, MANUAL),
    ]),
    row("crank-bolt-m12-m15", &[read(47.5, 54.2, SHOP)]),
    row("crank-pinch-bolt", &[read(12.0, 15.0, SHOP)]),
    row("chainring-bolt-aluminium", &[
        read(8.0, 9.0, SHOP), read(8.0, 12.0, MAINTENANCE), read(5.0, 9.9, MANUAL),
    ]),
    row("chainring-bolt-steel", &[read(12.0, 14.0, SHOP), read(7.9, 10.7, MANUAL)]),
    row("pedal", &[read(34.7, 40.0, MANUAL_AND_MAINTENANCE)]),
    row("cassette-lockring", &[read(30.0, 50.0, SHOP), read(40.0, 40.0, MAINTENANCE)]),
    row("bottom-bracket-cup", &[read(33.9, 40.7, SHOP)]),
    row("motor-lock-ring", &[recalled(30.0, 40.0, NOT_READ)]),
    row("rear-derailleur-mount", &[read(7.9, 10.0, SHOP_AND_MAINTENANCE)]),
    row("derailleur-cable-anchor", &[read(4.0, 5.0, MAINTENANCE)]),
    row("front-derailleur-band", &[read(2.8, 4.0, SHOP)]),
    row("disc-caliper-mount", &[read(6.0, 8.0, MAINTENANCE), read(11.3, 12.4, SHOP)]),
    row("disc-adapter-m6", &[read(11.3, 12.4, SHOP)]),
    row("disc-adapter-m5", &[read(6.8, 7.3, SHOP)]),
    row("rotor-six-bolt", &[read(4.0, 6.2, SHOP_AND_MAINTENANCE)]),
    row("rotor-lock-ring", &[read(39.5, 40.2, SHOP)]),
    row("rim-brake-pad", &[read(7.9, 9.0, SHOP)]),
    row("rim-brake-arm", &[read(7.9, 9.6, SHOP)]),
    row("road-caliper-pad", &[read(4.5, 6.8, SHOP)]),
    row("brake-cable-anchor", &[read(5.7, 8.0, SHOP_AND_MAINTENANCE)]),
    row("coaster-arm-clamp", &[read(2.0, 3.0, SHOP)]),
    row("through-axle-front", &[read(12.0, 15.0, MAINTENANCE)]),
    row("through-axle-rear", &[read(12.0, 18.0, MAINTENANCE)]),
    row("quick-release", &[read(5.0, 7.5, MAINTENANCE)]),
    row("axle-nut-plain-rear", &[recalled(25.0, 40.0, AXLE)]),
    row("axle-nut-hub-motor-m12", &[recalled(35.0, 50.0, NOT_READ)]),
    row("hub-motor-cover-m5", &[recalled(5.0, 6.0, NOT_READ)]),
    row("battery-rail-m5-rivet-nut", &[recalled(3.0, 5.0, NOT_READ)]),
];

/// Stored fastener of this name; `None` when there is none.
pub fn fastener(id: &str) -> Option<&'static Fastener> {
    FASTENERS.iter().find(|row| row.id == id)
}
