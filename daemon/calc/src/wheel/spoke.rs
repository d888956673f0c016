//! Spokes of a wheel: length, entry angle at the rim, bracing angle, and how often they may cross.

use std::f64::consts::{PI, TAU};

use crate::doubt::{FitError, in_range};
use crate::quantity::{Angle, Length};

/// One side of a wheel to be laced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lacing {
    /// Flange from the middle of the hub, 0 to 100 mm.
    pub flange_distance: Length,
    /// Diameter of the hole circle of the flange, 20 to 350 mm.
    pub hole_circle: Length,
    /// Effective rim diameter, between the nipples' seats, 150 to 640 mm.
    pub rim: Length,
    /// Diameter of a spoke hole of the flange, 0 to 5 mm.
    pub hole: Length,
    /// Spokes on this side, 6 to 24.
    pub per_side: u32,
    /// Crossings of each spoke, 0 (radial) to [`most_crossings`].
    pub crossings: u32,
}

/// What a lacing gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laced {
    /// Length of a spoke, elbow to the nipple's seat.
    pub length: Length,
    /// Angle between the spoke and the radius at the rim, seen from the side.
    pub entry: Angle,
    /// Angle between the spoke and the wheel's plane.
    pub bracing: Angle,
}

/// Most crossings of a spoke: at a quarter of its side it leaves the flange at about a
/// tangent, and more would lead it back over the hub (geometry).
pub const fn most_crossings(per_side: u32) -> u32 {
    per_side / 4
}

/// Laces one side: `l = √(d² + r1² + r2² − 2·r1·r2·cos α) − r3` with `α = 2πk/m`; d flange
/// distance, r1 half the hole circle, r2 half the rim's effective diameter, r3 half a spoke
/// hole, m spokes of the side, k crossings. In the wheel's plane
/// `l0 = √(r1² + r2² − 2·r1·r2·cos α)`; entry angle `asin(r1·sin α / l0)`; bracing angle
/// `atan(d / l0)` (encyclopaedia article on spokes; geometry).
///
/// # Errors
/// [`FitError::OutOfRange`] outside the ranges of [`Lacing`], or for a flange that does not
/// go inside the rim.
pub fn lace(lacing: &Lacing) -> Result<Laced, FitError> {
    let d = in_range(
        "flange distance",
        lacing.flange_distance.as_millimetres(),
        0.0,
        100.0,
        "mm",
    )?;
    let rim = in_range(
        "effective rim diameter",
        lacing.rim.as_millimetres(),
        150.0,
        640.0,
        "mm",
    )?;
    let circle = in_range(
        "hole circle",
        lacing.hole_circle.as_millimetres(),
        20.0,
        350.0,
        "mm",
    )?;
    // A spoke shorter than 20 mm is none: the flange would all but touch the rim.
    let circle = in_range("hole circle inside the rim", circle, 20.0, rim - 40.0, "mm")?;
    let hole = in_range("spoke hole", lacing.hole.as_millimetres(), 0.0, 5.0, "mm")?;
    let per_side = in_range(
        "spokes of a side",
        f64::from(lacing.per_side),
        6.0,
        24.0,
        "spokes",
    )?;
    let crossings = in_range(
        "crossings",
        f64::from(lacing.crossings),
        0.0,
        f64::from(most_crossings(lacing.per_side)),
        "crossings",
    )?;
    let (r1, r2) = (circle / 2.0, rim / 2.0);
    let angle = TAU * crossings / per_side;
    debug_assert!(angle <= PI / 2.0 + 1e-9, "not past the tangent");
    let flat = (r1 * r1 + r2 * r2 - 2.0 * r1 * r2 * angle.cos()).sqrt();
    Ok(Laced {
        length: Length::millimetres(d.hypot(flat) - hole / 2.0),
        entry: Angle::radians((r1 * angle.sin() / flat).asin()),
        bracing: Angle::radians((d / flat).atan()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn side(d: f64, circle: f64, rim: f64, hole: f64, crossings: u32) -> Lacing {
        let mm = Length::millimetres;
        Lacing {
            flange_distance: mm(d),
            hole_circle: mm(circle),
            rim: mm(rim),
            hole: mm(hole),
            per_side: 18,
            crossings,
        }
    }

    #[track_caller]
    fn gives(lacing: &Lacing, length: f64, entry: f64) {
        let laced = lace(lacing).unwrap();
        assert!(
            (laced.length.as_millimetres() - length).abs() < 0.006,
            "{laced:?}"
        );
        assert!((laced.entry.as_degrees() - entry).abs() < 0.006, "{laced:?}");
    }

    #[test]
    fn a_published_length_comes_out() {
        // A public note on spoke lengths (common practice) prints 265.8 mm for d 39, r1 29,
        // r2 277.5, r3 1.3, 18 a side, 3 crossings; its second rim misprints 539/2 as 289.5.
        let laced = lace(&side(39.0, 58.0, 555.0, 2.6, 3)).unwrap();
        assert!((laced.length.as_millimetres() - 265.8).abs() < 0.05, "{laced:?}");
        assert!((laced.entry.as_degrees() - 5.45).abs() < 0.01, "{laced:?}");
    }

    #[test]
    fn small_and_large_flanges_by_hand() {
        // Inputs of an encyclopaedia article on spokes; length and angle computed by hand from
        // the formula. The motor flanges (123 and 200 mm) are computed by hand as well.
        gives(&side(30.0, 39.0, 602.0, 2.2, 3), 292.18, 3.32);
        gives(&side(25.0, 123.0, 537.0, 3.0, 0), 207.00, 0.0);
        gives(&side(25.0, 123.0, 537.0, 3.0, 1), 211.73, 5.70);
        gives(&side(25.0, 123.0, 537.0, 3.0, 2), 224.78, 10.12);
        gives(&side(25.0, 200.0, 537.0, 3.0, 1), 178.10, 11.09);
        gives(&side(25.0, 200.0, 600.0, 3.0, 1), 208.84, 9.43);
        gives(&side(25.0, 200.0, 380.0, 3.0, 1), 103.46, 19.60);
        gives(&side(25.0, 200.0, 380.0, 3.0, 0), 91.91, 0.0);
    }

    #[test]
    fn the_bracing_angle_is_the_flange_over_the_spoke() {
        // Radial, by hand: atan(25 / (268.5 - 61.5)) = 6.887 degrees.
        let laced = lace(&side(25.0, 123.0, 537.0, 3.0, 0)).unwrap();
        assert!((laced.bracing.as_degrees() - 6.887).abs() < 0.001, "{laced:?}");
    }

    #[test]
    fn more_crossings_make_a_longer_spoke_up_to_the_tangent() {
        // Geometry: 36, 32, 28, 24 and 20 holes.
        let most: Vec<u32> = [18, 16, 14, 12, 10].map(most_crossings).into();
        assert_eq!(most, [4, 4, 3, 3, 2]);
        let lengths: Vec<f64> = (0..=4)
            .map(|k| lace(&side(30.0, 45.0, 602.0, 2.6, k)).unwrap().length.si())
            .collect();
        assert!(lengths.windows(2).all(|pair| pair[0] < pair[1]), "{lengths:?}");
    }

    #[test]
    fn what_is_no_wheel_is_refused() {
        for (lacing, word) in [
            (side(-1.0, 45.0, 602.0, 2.6, 3), "flange distance"),
            (side(30.0, 10.0, 602.0, 2.6, 3), "hole circle"),
            (side(30.0, 300.0, 320.0, 2.6, 0), "hole circle inside the rim"),
            (side(30.0, 45.0, 700.0, 2.6, 3), "effective rim diameter"),
            (side(30.0, 45.0, 602.0, 6.0, 3), "spoke hole"),
            (side(30.0, 45.0, 602.0, 2.6, 5), "crossings"),
            (
                Lacing {
                    per_side: 5,
                    ..side(30.0, 45.0, 602.0, 2.6, 0)
                },
                "spokes of a side",
            ),
        ] {
            let error = lace(&lacing).unwrap_err().to_string();
            assert!(error.contains(word), "{error}");
        }
    }
}
