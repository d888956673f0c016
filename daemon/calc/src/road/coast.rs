//! Rolling out: how long a bicycle takes to slow down by itself.

use super::{RoadError, RoadLoad};
use crate::quantity::{Density, Duration, Grade, Speed};
use crate::simpson;

/// Pairs of strips of the integral; the integrand is smooth and this is far finer than it needs.
const PAIRS: u32 = 64;

/// Slope or wind keep it going.
struct KeepsGoing;

impl RoadLoad {
    /// Time to slow down from one speed to a lower one without drive or brake,
    /// `t = ∫ (m + Iw/r²)/F(v) dv`; `None` where slope or wind keep it going at one of the speeds
    /// between.
    ///
    /// Range: speeds of 0 or more, the first the greater.
    /// Error: [`RoadError::Input`].
    /// Source: Newton's second law with [`RoadLoad::resistance`] (Martin et al. 1998); the method is
    /// that of coast-down tests on the road (SAE J1263).
    pub fn coast_time(
        &self,
        from: Speed,
        to: Speed,
        grade: Grade,
        headwind: Speed,
        rho: Density,
    ) -> Result<Option<Duration>, RoadError> {
        self.check()?;
        for (name, value) in [("to", to.si()), ("from", from.si() - to.si())] {
            if !(value.is_finite() && value >= 0.0) {
                return Err(RoadError::Input { name, value });
            }
        }
        let time_per_speed = |speed: f64| {
            let force = self.resistance(Speed::from_si(speed), grade, headwind, rho).si();
            if force <= 0.0 {
                return Err(KeepsGoing);
            }
            Ok(self.equivalent_mass().si() / force)
        };
        let seconds = simpson::integral(time_per_speed, to.si(), from.si(), PAIRS);
        Ok(seconds.ok().map(Duration::from_si))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Area, Inertia, Length, Mass};
    use crate::solve::table::close;

    fn road(inertia: f64) -> RoadLoad {
        RoadLoad {
            mass: Mass::kilograms(90.0),
            cda: Area::square_metres(0.5),
            spoke_drag_area: Area::ZERO,
            crr: 0.006,
            bearing: false,
            wheel_inertia: Inertia::kilogram_m2(inertia),
            tyre_radius: Length::metres(0.34),
            gravity: RoadLoad::STANDARD_GRAVITY,
        }
    }

    const RHO: Density = Density::from_si(1.2);

    fn seconds(from: f64, to: f64, grade: f64, wind: f64, inertia: f64) -> Option<f64> {
        let speed = Speed::metres_per_second;
        road(inertia)
            .coast_time(speed(from), speed(to), Grade::ratio(grade), speed(wind), RHO)
            .unwrap()
            .map(Duration::si)
    }

    /// Closed form for `F = a + b·v²`: `t = m/√(ab)·[atan(v1·√(b/a)) − atan(v2·√(b/a))]` (the standard
    /// integral of 1/(a + b·x²)).
    #[test]
    fn on_the_level_it_is_the_closed_form() {
        let (a, b) = (0.006 * 90.0 * 9.806_65, 0.5 * 1.2 * 0.5);
        for (from, to) in [(9.0, 3.0), (5.0, 0.0), (12.0, 11.0)] {
            let angle = |v: f64| (v * f64::sqrt(b / a)).atan();
            let closed = 90.0 / f64::sqrt(a * b) * (angle(from) - angle(to));
            close(seconds(from, to, 0.0, 0.0, 0.0).unwrap(), closed, 1e-9);
            // The wheels' own inertia is carried along: Iw/r² more mass.
            let more = (90.0 + 0.14 / (0.34 * 0.34)) / 90.0;
            close(seconds(from, to, 0.0, 0.0, 0.14).unwrap(), closed * more, 1e-9);
        }
    }

    #[test]
    fn slope_and_wind_hasten_it_or_keep_it_going() {
        let still = seconds(6.0, 3.0, 0.0, 0.0, 0.14).unwrap();
        assert!(seconds(6.0, 3.0, 0.01, 0.0, 0.14).unwrap() < still);
        assert!(seconds(6.0, 3.0, 0.0, 2.0, 0.14).unwrap() < still);
        assert!(seconds(6.0, 3.0, 0.0, -2.0, 0.14).unwrap() > still);
        // Down a slope steeper than the rolling coefficient it does not stop by itself.
        assert_eq!(seconds(6.0, 0.0, -0.02, 0.0, 0.14), None);
    }

    #[test]
    fn speeds_the_wrong_way_round_are_refused() {
        let at = |from: f64, to: f64| {
            let speed = Speed::metres_per_second;
            road(0.0).coast_time(speed(from), speed(to), Grade::LEVEL, Speed::ZERO, RHO)
        };
        assert!(matches!(at(3.0, 4.0), Err(RoadError::Input { name: "from", .. })));
        assert!(matches!(at(3.0, -1.0), Err(RoadError::Input { name: "to", .. })));
        assert!(at(f64::NAN, 1.0).is_err());
    }
}
