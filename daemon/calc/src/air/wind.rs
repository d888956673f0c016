//! Wind as the rider meets it: along and across the way, and at the rider's height.

use crate::doubt::{FitError, in_range};
use crate::quantity::{Angle, Length, Speed};

/// Exponent of the power law over open ground, `1/7` as handbooks of wind engineering round it (from memory).
pub const OPEN_EXPONENT: f64 = 0.143;
/// Roughness length of open ground with few obstacles (handbooks of wind engineering, from memory).
pub const OPEN_ROUGHNESS: Length = Length::from_si(0.03);
/// Height at which weather services state the wind, 10 m (WMO Guide to Instruments, WMO-No. 8, from memory).
pub const FORECAST_HEIGHT: Length = Length::from_si(10.0);
/// Height of a rider's body for the wind (common practice, no source).
pub const RIDER_HEIGHT: Length = Length::from_si(1.0);

/// Wind seen along the way of a bicycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Along {
    /// Against the motion; negative from behind.
    pub head: Speed,
    /// Across the motion; positive from the right.
    pub cross: Speed,
}

impl Along {
    /// From a wind of speed `W` that comes from a direction `DW` (as weather reports say it) for a
    /// bicycle that heads to `DB`, both clockwise from north: `head = W·cos(DW − DB)`,
    /// `cross = W·sin(DW − DB)`.
    ///
    /// Source: Martin et al., J. Appl. Biomech. 14 (1998) 276.
    pub fn new(wind: Speed, from: Angle, heading: Angle) -> Self {
        let angle = (from - heading).as_radians();
        Self {
            head: wind * angle.cos(),
            cross: wind * angle.sin(),
        }
    }

    /// Angle between the air that meets the bicycle and its way, `atan(cross/(V + head))`, −180° to 180°;
    /// beyond ±90° the air comes from behind.
    pub fn yaw(&self, ground: Speed) -> Angle {
        Angle::radians(self.cross.si().atan2((ground + self.head).si()))
    }
}

/// Wind at a rider over open ground from the wind at 10 m, where weather services give it: 0.72 of it by
/// the power law of [`at_height_by_power`]. Streets are calmer: take it as the most.
pub fn at_rider(forecast: Speed) -> Speed {
    forecast * (RIDER_HEIGHT / FORECAST_HEIGHT).powf(OPEN_EXPONENT)
}

/// Standard uncertainty along the way of a wind of which only the long-term mean speed is known:
/// `mean·√(2/π)`.
///
/// Such speeds follow a Rayleigh distribution, which is that of the length of two independent normal
/// components; each has this standard deviation. Source: the distribution that IEC 61400-1 takes for
/// wind speeds (from memory); closed form of its mean.
pub fn along_when_unknown(mean: Speed) -> Speed {
    mean * std::f64::consts::FRAC_2_PI.sqrt()
}

/// Wind at a height `z` from one known at a height `zr`, power law `W·(z/zr)^a`.
///
/// Range: heights 0.5 to 200 m, `a` 0.05 to 0.5 ([`OPEN_EXPONENT`] over open ground). Between houses there
/// is less wind than that: take a forecast brought down so as an upper bound.
/// Source: handbooks of wind engineering (from memory).
///
/// # Errors
/// [`FitError::OutOfRange`] for a height or exponent outside the range.
pub fn at_height_by_power(
    wind: Speed,
    known_at: Length,
    height: Length,
    exponent: f64,
) -> Result<Speed, FitError> {
    let (known_at, height) = heights(known_at, height)?;
    let exponent = in_range("exponent of the wind profile", exponent, 0.05, 0.5, "")?;
    Ok(wind * (height / known_at).powf(exponent))
}

/// Wind at a height `z` from one known at a height `zr`, logarithmic law `W·ln(z/z0)/ln(zr/z0)`.
///
/// Range: heights 0.5 to 200 m, roughness length `z0` 0.1 mm (water) to 0.25 m ([`OPEN_ROUGHNESS`] over
/// open ground); rougher ground shelters a rider wholly. Source: as [`at_height_by_power`].
///
/// # Errors
/// [`FitError::OutOfRange`] for a height or roughness outside the range.
pub fn at_height_by_log(
    wind: Speed,
    known_at: Length,
    height: Length,
    roughness: Length,
) -> Result<Speed, FitError> {
    let (known_at, height) = heights(known_at, height)?;
    let z0 = in_range("roughness length", roughness.as_metres(), 1e-4, 0.25, "m")?;
    Ok(wind * ((height / z0).ln() / (known_at / z0).ln()))
}

fn heights(known_at: Length, height: Length) -> Result<(f64, f64), FitError> {
    Ok((
        in_range("height of the known wind", known_at.as_metres(), 0.5, 200.0, "m")?,
        in_range("height above ground", height.as_metres(), 0.5, 200.0, "m")?,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::table::{close, near};

    fn metres(v: f64) -> Length {
        Length::metres(v)
    }

    #[test]
    fn wind_and_yaw_of_martin_1998() {
        // Martin et al. 1998, appendix I, as restated publicly: 2.94 m/s from 310°, heading 340°, 8.36 m/s: air
        // speed 10.91 m/s, yaw 7.67° in size (the wind comes from the left); 0.02°.
        let wind = Along::new(Speed::from_si(2.94), Angle::degrees(310.0), Angle::degrees(340.0));
        near(8.36 + wind.head.si(), 10.91, 0.01);
        near(wind.yaw(Speed::from_si(8.36)).as_degrees(), -7.67, 0.02);
    }

    #[test]
    fn the_four_quarters() {
        let north = |heading: f64| Along::new(Speed::from_si(5.0), Angle::ZERO, Angle::degrees(heading));
        for (heading, head, cross) in [
            (0.0, 5.0, 0.0),
            (90.0, 0.0, -5.0),
            (180.0, -5.0, 0.0),
            (270.0, 0.0, 5.0),
        ] {
            near(north(heading).head.si(), head, 1e-12);
            near(north(heading).cross.si(), cross, 1e-12);
        }
        // A wind faster than the bicycle from behind: the air comes from behind.
        near(
            north(180.0).yaw(Speed::from_si(3.0)).as_degrees().abs(),
            180.0,
            1e-9,
        );
        near(north(180.0).yaw(Speed::from_si(7.0)).as_degrees(), 0.0, 1e-9);
        let aslant = Along::new(Speed::from_si(5.0), Angle::degrees(90.0), Angle::ZERO);
        near(aslant.yaw(Speed::from_si(5.0)).as_degrees(), 45.0, 1e-12);
    }

    #[test]
    fn forecast_wind_at_the_riders_height() {
        // Common factors from 10 m to 1 m over open ground (from memory): 0.72 by the power law, 0.60 by the log law.
        let wind = Speed::from_si(1.0);
        let power = at_height_by_power(wind, FORECAST_HEIGHT, RIDER_HEIGHT, OPEN_EXPONENT).unwrap();
        near(power.si(), 0.72, 0.005);
        let log = at_height_by_log(wind, FORECAST_HEIGHT, RIDER_HEIGHT, OPEN_ROUGHNESS).unwrap();
        near(log.si(), 0.60, 0.005);
        // At the known height both change nothing; two steps are one.
        assert_eq!(
            at_height_by_power(wind, metres(3.0), metres(3.0), 0.2).unwrap(),
            wind
        );
        let half = at_height_by_log(wind, metres(10.0), metres(4.0), OPEN_ROUGHNESS).unwrap();
        let both = at_height_by_log(half, metres(4.0), metres(1.0), OPEN_ROUGHNESS).unwrap();
        close(both.si(), log.si(), 1e-14);
    }

    #[test]
    fn heights_and_ground_out_of_range_are_refused() {
        let wind = Speed::from_si(4.0);
        let power = |from, to, a| at_height_by_power(wind, metres(from), metres(to), a).is_ok();
        assert!(power(0.5, 200.0, 0.05) && power(200.0, 0.5, 0.5));
        assert!(!power(0.49, 1.0, 0.143) && !power(10.0, 0.49, 0.143) && !power(201.0, 1.0, 0.143));
        assert!(!power(10.0, 201.0, 0.143) && !power(10.0, 1.0, 0.049) && !power(10.0, 1.0, 0.51));
        let log = |from, to, z0| at_height_by_log(wind, metres(from), metres(to), metres(z0)).is_ok();
        assert!(log(10.0, 1.0, 1e-4) && log(10.0, 0.5, 0.25));
        assert!(!log(10.0, 1.0, 0.9e-4) && !log(10.0, 1.0, 0.26) && !log(10.0, 0.0, 0.03));
    }

    #[test]
    fn a_rider_feels_less_than_the_forecast() {
        // Power law: a factor of 0.72 at 1 m; the same law asked for by its heights.
        let felt = at_rider(Speed::from_si(5.0)).si();
        near(felt, 3.6, 0.025);
        let long = at_height_by_power(Speed::from_si(5.0), FORECAST_HEIGHT, RIDER_HEIGHT, OPEN_EXPONENT);
        near(felt, long.unwrap().si(), 1e-12);
    }

    #[test]
    fn an_unknown_wind_along_the_way_is_a_rayleigh_wind_s_component() {
        // scipy.stats.rayleigh: mean 1.2533141 for scale 1 (√(π/2)); the scale is the components' deviation.
        near(along_when_unknown(Speed::from_si(1.253_314_1)).si(), 1.0, 1e-7);
    }
}
