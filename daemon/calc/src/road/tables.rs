//! Published drag areas by posture and rolling coefficients by tyre and surface, with their spread.
//!
//! These are the figures of others, not the workshop's defaults. They disagree: a drag area is about the
//! bicycle, the body and the clothing, a rolling coefficient about tyre, pressure and ground, and no
//! publication states all of them.

use crate::doubt::Basis;

/// How a rider sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Seat {
    /// Upright, in everyday clothes.
    Upright,
    /// Upright on a racing bicycle, in racing clothes.
    UprightRacing,
    /// Hands on the hoods, or touring.
    Hoods,
    /// Hands in the drops, or a racing crouch.
    Drops,
    /// Arms on aero bars, or an extreme crouch.
    Aero,
}

/// A published drag area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Posture {
    /// Short name, unique in the table.
    pub id: &'static str,
    /// How the rider sits.
    pub seat: Seat,
    /// Drag area, m².
    pub cda: f64,
    /// How it is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

#[rustfmt::skip]
const fn posture(id: &'static str, seat: Seat, cda: f64, basis: Basis, source: &'static str) -> Posture {
    Posture { id, seat, cda, basis, source }
}

const WILSON: &str = "Wilson, Bicycling Science, table of drag, as restated publicly";
const GRAPPE_1997: &str = "Grappe et al. 1997, Ergonomics 40, measured on a track, from memory";
const PROGRAM: &str = "defaults of a public cycling power program";

/// Published drag areas of rider and bicycle. A product of a printed coefficient and area is counted as read.
#[rustfmt::skip]
pub const POSTURES: &[Posture] = &[
    posture("commuter-upright", Seat::Upright, 1.15 * 0.55, Basis::Read, WILSON),
    posture("racer-upright", Seat::UprightRacing, 0.299, Basis::Memory, GRAPPE_1997),
    posture("touring-hoods", Seat::Hoods, 1.00 * 0.40, Basis::Read, WILSON),
    posture("program-hoods", Seat::Hoods, 0.350, Basis::Read, PROGRAM),
    posture("climbing", Seat::Hoods, 0.473, Basis::Read, "Sports Engineering 2021, doi 10.1007/s12283-021-00345-2, table 1: lone rider"),
    posture("racing-crouch", Seat::Drops, 0.88 * 0.36, Basis::Read, WILSON),
    posture("program-drops", Seat::Drops, 0.310, Basis::Read, PROGRAM),
    posture("racer-drops", Seat::Drops, 0.276, Basis::Memory, GRAPPE_1997),
    posture("validation-subject", Seat::Drops, 0.90 * 0.285, Basis::Read, "Martin et al. 1998, J. Appl. Biomech. 14:276, as restated publicly"),
    posture("program-aero-frame", Seat::Aero, 0.290, Basis::Read, PROGRAM),
    posture("program-time-trial", Seat::Aero, 0.270, Basis::Read, PROGRAM),
    posture("racer-aero", Seat::Aero, 0.262, Basis::Memory, GRAPPE_1997),
    posture("racer-extreme", Seat::Aero, 0.216, Basis::Memory, GRAPPE_1997),
];

/// A figure with the ends of what is published.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Least.
    pub low: f64,
    /// Mean of the published figures.
    pub mean: f64,
    /// Greatest.
    pub high: f64,
}

/// Least, mean and greatest published drag area of a way to sit, m².
///
/// One row alone says nothing about the spread: then all three are the same.
pub fn drag_area_span(seat: Seat) -> Span {
    let areas = POSTURES.iter().filter(|row| row.seat == seat).map(|row| row.cda);
    let (mut low, mut high, mut sum, mut count) = (f64::INFINITY, 0.0_f64, 0.0, 0.0);
    for cda in areas {
        (low, high) = (low.min(cda), high.max(cda));
        (sum, count) = (sum + cda, count + 1.0);
    }
    Span {
        low,
        mean: sum / count,
        high,
    }
}

/// A published rolling coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tyre {
    /// Short name, unique in the table: tyre and ground.
    pub id: &'static str,
    /// Least and greatest rolling coefficient as published; alike where one figure is printed.
    pub crr: [f64; 2],
    /// How it is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

#[rustfmt::skip]
const fn tyre(id: &'static str, crr: [f64; 2], basis: Basis, source: &'static str) -> Tyre {
    Tyre { id, crr, basis, source }
}

const FORCES: &str = "table of a public page on the forces in cycling; the tyre is not named";
const UTILITY: &str = "Wilson, Bicycling Science, order of magnitude, from memory";

/// Published rolling coefficients.
#[rustfmt::skip]
pub const TYRES: &[Tyre] = &[
    tyre("any-wooden-track", [0.001; 2], Basis::Read, FORCES),
    tyre("any-smooth-concrete", [0.002; 2], Basis::Read, FORCES),
    tyre("any-asphalt", [0.004; 2], Basis::Read, FORCES),
    tyre("any-rough-pavement", [0.008; 2], Basis::Read, FORCES),
    tyre("racing-rollers", [0.0022; 2], Basis::Read, "comment in a public program: production tyre, 120 psi, 50 km/h"),
    tyre("racing-taxiway", [0.0032; 2], Basis::Read, "Martin et al. 1998, J. Appl. Biomech. 14:276, as restated publicly"),
    tyre("racing-road", [0.004; 2], Basis::Read, "public program: clincher at about 95 psi"),
    tyre("knobbly-road", [0.013; 2], Basis::Read, "public program: BMX tyre at 45 psi"),
    // 12.6 ± 3.4 N at 2 bar on 85 kg (the mass is an assumption), of which 4 bar differs by less than the spread.
    tyre("mountain-climb", [9.2 / (85.0 * 9.806_65), 16.0 / (85.0 * 9.806_65)], Basis::Computed, "Bertucci, Rogier, Reiser 2013, as cited publicly: 12.6 ± 3.4 N, for 85 kg"),
    tyre("utility-tarmac", [0.006, 0.010], Basis::Memory, UTILITY),
    tyre("utility-gravel", [0.010, 0.020], Basis::Memory, UTILITY),
    tyre("utility-grass", [0.03, 0.06], Basis::Memory, UTILITY),
];

/// Row of [`TYRES`] by its name.
pub fn rolling(id: &str) -> Option<&'static Tyre> {
    TYRES.iter().find(|row| row.id == id)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::solve::table::near;

    #[test]
    fn rows_are_named_once_and_within_what_the_road_model_holds_for() {
        let names: BTreeSet<_> = POSTURES
            .iter()
            .map(|p| p.id)
            .chain(TYRES.iter().map(|t| t.id))
            .collect();
        assert_eq!(names.len(), POSTURES.len() + TYRES.len());
        for row in POSTURES {
            assert!((0.2..=1.0).contains(&row.cda), "{}", row.id);
            assert!(
                row.source.contains("memory") == (row.basis == Basis::Memory),
                "{}",
                row.id
            );
        }
        for row in TYRES {
            let [low, high] = row.crr;
            assert!(0.001 <= low && low <= high && high <= 0.06, "{}", row.id);
            assert!(
                row.source.contains("memory") == (row.basis == Basis::Memory),
                "{}",
                row.id
            );
        }
    }

    #[test]
    fn the_sources_disagree_as_they_print() {
        // Wilson prints 0.632, 0.400 and 0.317 m² for the three products; the others print the area itself.
        let upright = drag_area_span(Seat::Upright);
        near(upright.mean, 0.632, 6e-4);
        assert_eq!(upright.low, upright.high);
        let hoods = drag_area_span(Seat::Hoods);
        assert_eq!((hoods.low, hoods.high), (0.350, 0.473));
        near(hoods.mean, (0.400 + 0.350 + 0.473) / 3.0, 1e-12);
        let drops = drag_area_span(Seat::Drops);
        near(drops.low, 0.2565, 1e-12);
        near(drops.high, 0.317, 3e-4);
        let aero = drag_area_span(Seat::Aero);
        assert_eq!((aero.low, aero.high), (0.216, 0.290));
        assert_eq!(drag_area_span(Seat::UprightRacing).mean, 0.299);
    }

    #[test]
    fn a_mountain_bikes_force_as_a_coefficient() {
        // Bertucci et al. 2013: 12.6 N is about 0.015 for 85 kg.
        let row = rolling("mountain-climb").unwrap();
        near((row.crr[0] + row.crr[1]) / 2.0, 0.015, 2e-4);
        assert_eq!(rolling("square"), None);
    }
}
