//! Wind as the rider meets it: along and across the way, and at the rider's height.

use crate::quantity::{Angle, Length, Speed};

/// Exponent of the power law over open ground, `1/7` as handbooks of wind engineering round it (from memory).
pub const OPEN_EXPONENT: f64 = 0.143;
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
}

/// Wind at a rider over open ground from the wind at 10 m, where weather services give it: 0.72 of it by
/// the power law `W·(z/zr)^a` with [`OPEN_EXPONENT`] (handbooks of wind engineering, from memory). Streets are calmer:
/// take it as the most.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::table::near;

    #[test]
    fn wind_and_yaw_of_martin_1998() {
        // Martin et al. 1998, appendix I, as restated publicly: 2.94 m/s from 310°, heading 340°, 8.36 m/s: air
        // speed 10.91 m/s, yaw 7.67° in size (the wind comes from the left); 0.02°.
        let wind = Along::new(Speed::from_si(2.94), Angle::degrees(310.0), Angle::degrees(340.0));
        near(8.36 + wind.head.si(), 10.91, 0.01);
        let yaw = wind.cross.si().atan2(8.36 + wind.head.si()).to_degrees();
        near(yaw, -7.67, 0.02);
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
    }

    #[test]
    fn a_rider_feels_less_than_the_forecast() {
        // Power law: a common factor of 0.72 from 10 m to 1 m over open ground (from memory).
        near(at_rider(Speed::from_si(5.0)).si(), 3.6, 0.025);
    }

    #[test]
    fn an_unknown_wind_along_the_way_is_a_rayleigh_wind_s_component() {
        // scipy.stats.rayleigh: mean 1.2533141 for scale 1 (√(π/2)); the scale is the components' deviation.
        near(along_when_unknown(Speed::from_si(1.253_314_1)).si(), 1.0, 1e-7);
    }
}
