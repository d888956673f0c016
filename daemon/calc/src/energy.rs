//! Energy per distance and range by the workshop's planning model.
//!
//! Fixed efficiencies instead of a motor map: quick, every constant visible. The constants
//! come in as values; the usual ones are workshop judgement.

use crate::quantity::{Consumption, Density, Energy, Grade, Length, Power, Speed};
use crate::road::{RoadError, RoadLoad};

/// Why an energy figure could not be given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EnergyError {
    /// The road load is out of range.
    Road(RoadError),
    /// A figure is out of range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
}

impl From<RoadError> for EnergyError {
    fn from(error: RoadError) -> Self {
        Self::Road(error)
    }
}

/// The route as the rider tells it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Route {
    /// Length of the route, above zero.
    pub distance: Length,
    /// Sum of all climbing.
    pub ascent: Length,
    /// Cruising speed, above zero.
    pub speed: Speed,
    /// Stops from cruising speed per kilometre, 0 to 10.
    pub stops_per_km: f64,
}

/// Constants of the planning model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Planning {
    /// Air density.
    pub rho: Density,
    /// Share of the climbing energy the descents do not give back, 0 to 1 (0.6 usual, 0.7 cargo).
    pub climb_share: f64,
    /// Efficiency of the rider's chain drive, 0 to 1 (0.95 usual).
    pub chain_efficiency: f64,
    /// Efficiency from battery to wheel, 0 to 1 (hub 0.72; mid-drive 0.78 times the chain).
    pub drive_efficiency: f64,
    /// Share of the nameplate energy a range is promised on, 0 to 1 (0.8 usual: age, reserve).
    pub range_factor: f64,
    /// Least share of the work at the wheel that the drive does while it helps, 0 to below 1: with help of `r` times the
    /// rider's power `r/(1+r)`.
    pub least_share: f64,
}

/// Energy per distance at the wheel, by what it is spent on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelNeed {
    /// Rolling resistance and bearings.
    pub rolling: Consumption,
    /// Air drag.
    pub air: Consumption,
    /// Speeding up again after stops.
    pub stops: Consumption,
    /// Climbing that descents do not give back.
    pub climbing: Consumption,
}

impl WheelNeed {
    /// Sum of the parts.
    pub fn total(&self) -> Consumption {
        self.rolling + self.air + self.stops + self.climbing
    }
}

/// Energy per distance at the wheel:
/// `F_roll + F_air + n·0.5·m·v² + m·g·h·k/d`, with `n` stops per metre, `h` ascent, `d` distance,
/// `k` the climb share; level road and still air for the first two.
///
/// Errors: [`EnergyError`] for figures out of range.
/// Source: energy balance with [`RoadLoad::wheel_power`] (Martin et al. 1998); the stop and climb
/// terms are common practice, no source.
pub fn wheel_need(road: &RoadLoad, route: &Route, planning: &Planning) -> Result<WheelNeed, EnergyError> {
    road.check()?;
    check(route, planning)?;
    let v = route.speed;
    let terms = road.wheel_power(v, Grade::LEVEL, Speed::ZERO, planning.rho);
    let per_metre = |power: Power| Consumption::from_si(power.over_speed(v).si());
    let kinetic = 0.5 * road.equivalent_mass().si() * v.si().powi(2);
    let climb = road.weight().si() * route.ascent.si() * planning.climb_share / route.distance.si();
    Ok(WheelNeed {
        rolling: per_metre(terms.rolling + terms.bearing),
        air: per_metre(terms.air),
        stops: Consumption::from_si(route.stops_per_km * kinetic / 1_000.0),
        climbing: Consumption::from_si(climb),
    })
}

/// Energy per distance from the battery, `max(need − eta_chain·P_rider/v, s·need)/eta_drive` with the drive's least share
/// `s`; zero when the rider alone covers the need. Where rider and need are nearly equal their difference says nothing:
/// a drive that helps does its share, and the rider takes it easier.
///
/// Errors: [`EnergyError`] for figures out of range.
pub fn battery_need(
    wheel: &WheelNeed,
    rider: Power,
    route: &Route,
    planning: &Planning,
) -> Result<Consumption, EnergyError> {
    check(route, planning)?;
    within("rider", rider.si(), 0.0, 2_000.0)?;
    let from_rider = Consumption::from_si((rider * planning.chain_efficiency).over_speed(route.speed).si());
    let left = wheel.total() - from_rider;
    if left <= Consumption::ZERO {
        return Ok(Consumption::ZERO);
    }
    let motor = left.max(wheel.total() * planning.least_share);
    Ok(motor / planning.drive_efficiency)
}

/// Distance a nameplate energy is promised for, `factor·E/need`; `None` when nothing is drawn.
pub fn planned_range(nameplate: Energy, need: Consumption, planning: &Planning) -> Option<Length> {
    (need > Consumption::ZERO).then(|| Length::from_si(planning.range_factor * nameplate.si() / need.si()))
}

/// Nameplate energy a distance calls for, `distance·need/factor`.
pub fn nameplate_needed(distance: Length, need: Consumption, planning: &Planning) -> Energy {
    Energy::from_si(distance.si() * need.si() / planning.range_factor)
}

fn check(route: &Route, planning: &Planning) -> Result<(), EnergyError> {
    const TINY: f64 = f64::MIN_POSITIVE;
    within("distance", route.distance.si(), TINY, 1e7)?;
    within("ascent", route.ascent.si(), 0.0, 1e5)?;
    within("speed", route.speed.si(), TINY, 50.0)?;
    within("stops_per_km", route.stops_per_km, 0.0, 100.0)?;
    within("rho", planning.rho.si(), 0.0, 2.0)?;
    within("climb_share", planning.climb_share, 0.0, 1.0)?;
    within("chain_efficiency", planning.chain_efficiency, TINY, 1.0)?;
    within("drive_efficiency", planning.drive_efficiency, TINY, 1.0)?;
    within("range_factor", planning.range_factor, TINY, 1.0)?;
    within("least_share", planning.least_share, 0.0, 0.99)
}

fn within(name: &'static str, value: f64, low: f64, high: f64) -> Result<(), EnergyError> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(EnergyError::Input { name, value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Acceleration, Area, Inertia, Mass};
    use crate::solve::table::{close, near};

    // The three worked examples use workshop judgement constants (no source) and g = 9.81; the
    // expected figures are printed to 0.01 Wh/km and 0.1 km, worked by hand with rounded steps.

    fn road(mass: f64, crr: f64, cda: f64) -> RoadLoad {
        RoadLoad {
            mass: Mass::kilograms(mass),
            cda: Area::square_metres(cda),
            spoke_drag_area: Area::ZERO,
            crr,
            bearing: false,
            wheel_inertia: Inertia::ZERO,
            tyre_radius: Length::metres(0.34),
            gravity: Acceleration::metres_per_second2(9.81),
        }
    }

    fn planning(climb_share: f64, drive_efficiency: f64) -> Planning {
        Planning {
            rho: Density::kilograms_per_m3(1.2),
            climb_share,
            chain_efficiency: 0.95,
            drive_efficiency,
            range_factor: 0.8,
            least_share: 0.0,
        }
    }

    fn route(km: f64, ascent: f64, kmh: f64, stops: f64) -> Route {
        Route {
            distance: Length::kilometres(km),
            ascent: Length::metres(ascent),
            speed: Speed::kilometres_per_hour(kmh),
            stops_per_km: stops,
        }
    }

    #[test]
    fn worked_example_of_a_trekking_bike_with_rear_hub() {
        let (plan, route) = (planning(0.6, 0.72), route(35.0, 220.0, 22.0, 1.0));
        let wheel = wheel_need(&road(100.0, 0.008, 0.65), &route, &plan).unwrap();
        near(wheel.rolling.as_watt_hours_per_km(), 2.18, 0.006);
        near(wheel.air.as_watt_hours_per_km(), 4.05, 0.006);
        near(wheel.stops.as_watt_hours_per_km(), 0.52, 0.006);
        near(wheel.climbing.as_watt_hours_per_km(), 1.03, 0.006);
        near(wheel.total().as_watt_hours_per_km(), 7.77, 0.01);
        let battery = battery_need(&wheel, Power::watts(70.0), &route, &plan).unwrap();
        near(battery.as_watt_hours_per_km(), 6.60, 0.01);
        near(
            planned_range(Energy::watt_hours(374.4), battery, &plan)
                .unwrap()
                .as_kilometres(),
            45.4,
            0.1,
        );
        near(
            nameplate_needed(Length::kilometres(35.0), battery, &plan).as_watt_hours(),
            288.6,
            0.5,
        );
    }

    #[test]
    fn worked_example_of_a_longtail_with_mid_drive() {
        let (plan, route) = (planning(0.7, 0.741), route(24.0, 180.0, 20.0, 1.2));
        let wheel = wheel_need(&road(190.0, 0.010, 0.75), &route, &plan).unwrap();
        near(wheel.total().as_watt_hours_per_km(), 12.73, 0.015);
        let battery = battery_need(&wheel, Power::watts(90.0), &route, &plan).unwrap();
        near(battery.as_watt_hours_per_km(), 11.41, 0.015);
        near(
            planned_range(Energy::watt_hours(608.4), battery, &plan)
                .unwrap()
                .as_kilometres(),
            42.7,
            0.1,
        );
    }

    #[test]
    fn worked_example_of_a_hardtail_in_miles() {
        let (plan, route) = (planning(0.6, 0.741), route(48.28, 400.0, 32.19, 0.4));
        let wheel = wheel_need(&road(123.4, 0.008, 0.60), &route, &plan).unwrap();
        near(wheel.total().as_watt_hours_per_km(), 12.90, 0.015);
        let battery = battery_need(&wheel, Power::watts(120.0), &route, &plan).unwrap();
        near(battery.as_watt_hours_per_km(), 12.63, 0.015);
        near(battery.as_watt_hours_per_mile(), 20.3, 0.05);
        near(
            planned_range(Energy::watt_hours(819.0), battery, &plan)
                .unwrap()
                .as_miles(),
            32.2,
            0.1,
        );
    }

    #[test]
    fn flat_energy_is_force_over_distance() {
        // 25 km/h, CdA 0.60, Crr 0.007, 110 kg, rho 1.2: 173 W at the wheel is 6.9 Wh/km (first principles).
        let plan = planning(0.6, 0.75);
        let wheel = wheel_need(&road(110.0, 0.007, 0.60), &route(10.0, 0.0, 25.0, 0.0), &plan).unwrap();
        near(wheel.total().as_watt_hours_per_km(), 6.9, 0.05);
        let alone = battery_need(&wheel, Power::ZERO, &route(10.0, 0.0, 25.0, 0.0), &plan).unwrap();
        close(alone.si(), wheel.total().si() / 0.75, 1e-14);
    }

    #[test]
    fn a_drive_that_helps_does_its_share_however_little_the_rider_leaves() {
        // By hand: 4.84 Wh/km at the wheel less 70 W x 0.95 / 15 km/h = 4.43 leaves 0.41; a third of the work, which is
        // help of half the rider's power, is 1.61, and 1.61 / 0.72 = 2.24 Wh/km.
        let need = WheelNeed {
            rolling: Consumption::watt_hours_per_km(4.84),
            air: Consumption::ZERO,
            stops: Consumption::ZERO,
            climbing: Consumption::ZERO,
        };
        let route = route(20.0, 80.0, 15.0, 0.0);
        let at = |least_share, rider| {
            let plan = Planning {
                least_share,
                ..planning(0.6, 0.72)
            };
            battery_need(&need, Power::watts(rider), &route, &plan)
                .unwrap()
                .as_watt_hours_per_km()
        };
        near(at(0.0, 70.0), 0.56, 0.01);
        near(at(1.0 / 3.0, 70.0), 2.24, 0.01);
        // What the rider leaves counts where it is more, and nothing where the rider covers all.
        close(at(1.0 / 3.0, 20.0), at(0.0, 20.0), 1e-12);
        assert_eq!(at(1.0 / 3.0, 100.0), 0.0);
        let wild = Planning {
            least_share: 1.0,
            ..planning(0.6, 0.72)
        };
        assert!(battery_need(&need, Power::watts(70.0), &route, &wild).is_err());
    }

    #[test]
    fn a_strong_rider_needs_no_battery() {
        let (plan, route) = (planning(0.6, 0.72), route(10.0, 0.0, 15.0, 0.0));
        let wheel = wheel_need(&road(90.0, 0.006, 0.5), &route, &plan).unwrap();
        let battery = battery_need(&wheel, Power::watts(300.0), &route, &plan).unwrap();
        assert_eq!(battery, Consumption::ZERO);
        assert_eq!(planned_range(Energy::watt_hours(400.0), battery, &plan), None);
    }

    #[test]
    fn impossible_figures_are_refused() {
        let plan = planning(0.6, 0.72);
        let standing = wheel_need(&road(90.0, 0.006, 0.5), &route(10.0, 0.0, 0.0, 0.0), &plan);
        assert!(matches!(standing, Err(EnergyError::Input { name: "speed", .. })));
        let over = wheel_need(
            &road(90.0, 0.006, 0.5),
            &route(10.0, 0.0, 20.0, 0.0),
            &planning(0.6, 1.2),
        );
        assert!(matches!(
            over,
            Err(EnergyError::Input {
                name: "drive_efficiency",
                ..
            })
        ));
        let weightless = wheel_need(&road(0.0, 0.006, 0.5), &route(10.0, 0.0, 20.0, 0.0), &plan);
        assert!(matches!(weightless, Err(EnergyError::Road(_))));
    }
}
