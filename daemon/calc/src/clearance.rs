//! Room for the foot and the pedal: toes against the front wheel, a pedal against the ground.
//!
//! The lean itself comes from [`crate::shell::lean_angle`].

use crate::doubt::{FitError, Limit, in_range};
use crate::quantity::Length;

/// Least distance from the pedal's middle to the arc of front tyre or mudguard without toe
/// clips, mm (16 CFR 1512.17(d)).
pub const TOE_LEAST_MM: f64 = 89.0;
/// Least lean before the lowest pedal touches the ground, degrees (16 CFR 1512.17(c)).
pub const LEAN_LEAST_DEG: f64 = 25.0;

/// Distance from the pedal's middle, crank forward, to the front tyre or mudguard,
/// `D − c − r`; negative when they overlap. `D` bottom bracket to front axle (300 to 1 500 mm),
/// `c` crank (100 to 220 mm), `r` wheel over the tyre or outside of the mudguard, whichever
/// reaches further (80 to 420 mm). Plane geometry with the wheel straight and the crank pointing
/// at the axle; the rule asks for every position of the handlebar, and a wheel steered far can
/// come nearer beside the crank, so a near pass is to be measured at the bicycle.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn toe_clearance(front_centre: Length, crank: Length, outer_radius: Length) -> Result<Length, FitError> {
    in_range(
        "bottom bracket to front axle",
        front_centre.as_millimetres(),
        300.0,
        1500.0,
        "mm",
    )?;
    in_range("crank", crank.as_millimetres(), 100.0, 220.0, "mm")?;
    in_range(
        "radius over tyre or mudguard",
        outer_radius.as_millimetres(),
        80.0,
        420.0,
        "mm",
    )?;
    Ok(front_centre - crank - outer_radius)
}

/// The limit of [`toe_clearance`], on millimetres; none with toe clips, which hold the foot
/// where the rule does not ask (16 CFR 1512.17(d)).
pub fn toe_limit(toe_clips: bool) -> Option<Limit> {
    (!toe_clips).then_some(Limit::AtLeast(TOE_LEAST_MM))
}

/// Longest crank that keeps [`TOE_LEAST_MM`]; `None` when even none would. Ranges of `D` and
/// `r` as in [`toe_clearance`].
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn longest_crank(front_centre: Length, outer_radius: Length) -> Result<Option<Length>, FitError> {
    let none = toe_clearance(front_centre, Length::millimetres(100.0), outer_radius)?;
    let left = none + Length::millimetres(100.0 - TOE_LEAST_MM);
    Ok((left > Length::ZERO).then_some(left))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::doubt::{Decision, decide};
    use crate::shell::{PedalPosition, lean_angle};

    fn mm(value: f64) -> Length {
        Length::millimetres(value)
    }

    fn meets(front_centre: f64, crank: f64) -> Decision {
        let found = toe_clearance(mm(front_centre), mm(crank), mm(340.0)).unwrap();
        decide(found.as_millimetres(), 0.0, toe_limit(false).unwrap()).decision
    }

    #[test]
    fn toes_have_89_mm() {
        // 16 CFR 1512.17(d): 89 mm; distances by hand, wheel of 340 mm.
        let found = toe_clearance(mm(600.0), mm(170.0), mm(340.0)).unwrap();
        assert!((found.as_millimetres() - 90.0).abs() < 1e-9);
        assert_eq!(meets(599.0, 170.0), Decision::Meets);
        assert_eq!(meets(598.9, 170.0), Decision::Misses);
        assert_eq!(meets(599.0, 170.1), Decision::Misses);
        let overlap = toe_clearance(mm(500.0), mm(175.0), mm(340.0)).unwrap();
        assert!((overlap.as_millimetres() + 15.0).abs() < 1e-9);
        assert_eq!(toe_limit(true), None);
    }

    #[test]
    fn the_longest_crank_just_meets() {
        // By hand: 600 - 340 - 89 = 171 mm.
        let crank = longest_crank(mm(600.0), mm(340.0)).unwrap().unwrap();
        assert!((crank.as_millimetres() - 171.0).abs() < 1e-9);
        let left = toe_clearance(mm(600.0), crank, mm(340.0)).unwrap();
        assert!((left.as_millimetres() - TOE_LEAST_MM).abs() < 1e-9);
        assert_eq!(longest_crank(mm(428.0), mm(340.0)).unwrap(), None);
        assert!(longest_crank(mm(299.0), mm(340.0)).is_err());
    }

    #[test]
    fn what_is_no_bicycle_is_refused() {
        for (centre, crank, radius, word) in [
            (299.9, 170.0, 340.0, "front axle"),
            (1500.1, 170.0, 340.0, "front axle"),
            (600.0, 99.9, 340.0, "crank"),
            (600.0, 220.1, 340.0, "crank"),
            (600.0, 170.0, 79.9, "radius"),
            (600.0, 170.0, 420.1, "radius"),
        ] {
            let error = toe_clearance(mm(centre), mm(crank), mm(radius))
                .unwrap_err()
                .to_string();
            assert!(error.contains(word), "{error}");
        }
    }

    #[test]
    fn lean_against_its_limit() {
        // 16 CFR 1512.17(c): 25 degrees. By hand: atan(105/180) = 30.3, 40 mm more tread (20 a
        // side) atan(105/200) = 27.7, then crank 175 at 265 mm atan(80/200) = 21.8.
        for (height, crank, half_tread, degrees, meets) in [
            (285.0, 170.0, 85.0, 30.3, true),
            (285.0, 170.0, 105.0, 27.7, true),
            (265.0, 175.0, 105.0, 21.8, false),
        ] {
            let lean = lean_angle(&PedalPosition {
                bracket_height: mm(height),
                crank: mm(crank),
                pedal_half_thickness: mm(10.0),
                half_tread: mm(half_tread),
                pedal_width: mm(95.0),
            })
            .unwrap()
            .as_degrees();
            assert!((lean - degrees).abs() < 0.05, "{lean}");
            assert_eq!(lean >= LEAN_LEAST_DEG, meets);
        }
    }
}
