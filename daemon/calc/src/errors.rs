//! How the errors of the physics read: the name, the value as given, the unit it is in.
//!
//! One place, so that every module names a value the same way.

use std::error::Error;
use std::fmt;

use crate::air::AirError;
use crate::energy::EnergyError;
use crate::gearing::{GearError, HUB_RATIOS};
use crate::motor::MotorError;
use crate::pack::PackError;
use crate::performance::PerformanceError;
use crate::ride_fit::RideFitError;
use crate::road::RoadError;
use crate::solve::SolveError;
use crate::speed_run::RunError;
use crate::thermal::ThermalError;
use crate::tour::TourError;
use crate::tour::described::DescribedError;
use crate::trace::{LONGEST, TraceError};

fn input(f: &mut fmt::Formatter<'_>, name: &str, value: f64) -> fmt::Result {
    write!(
        f,
        "{} is {value} (SI unit), outside the range the model holds for",
        name.replace('_', " ")
    )
}

impl fmt::Display for SolveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoBracket { low, high, .. } => write!(f, "no solution between {low} and {high}"),
            Self::NotFinite { at } => write!(f, "the equation has no value at {at}"),
            Self::NoConvergence { at } => write!(f, "the search did not settle; it came to {at}"),
        }
    }
}

impl fmt::Display for AirError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Altitude { altitude } => {
                write!(
                    f,
                    "altitude is {} m, outside -2000 to 11000 m",
                    altitude.as_metres()
                )
            }
            Self::Temperature { temperature } => {
                write!(
                    f,
                    "air temperature is {} °C, outside -60 to 60 °C",
                    temperature.as_celsius()
                )
            }
            Self::Pressure { pressure } => {
                write!(
                    f,
                    "air pressure is {} kPa, outside 20 to 120 kPa",
                    pressure.as_kilopascals()
                )
            }
            Self::Humidity { humidity } => write!(f, "relative humidity is {humidity}, outside 0 to 1"),
        }
    }
}

impl fmt::Display for RoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input { name, value } => input(f, name, *value),
            Self::Solve(error) => write!(f, "no speed below 200 m/s: {error}"),
        }
    }
}

impl fmt::Display for MotorError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input { name, value } => input(f, name, *value),
            Self::EfficiencyTooHigh { needed } => {
                write!(
                    f,
                    "the motor would need an efficiency of {needed:.3} before the gears, outside 0 to 1"
                )
            }
            Self::NoBackEmf { left } => write!(
                f,
                "the no-load current leaves {:.2} V for the back EMF; it must leave more than 0 V",
                left.as_volts()
            ),
            Self::TorqueAboveStall { stall } => write!(
                f,
                "the largest torque lies above the stall torque of {:.1} N m at nominal voltage",
                stall.as_newton_metres()
            ),
            Self::Points { resistance, drag } => write!(
                f,
                "the efficiency points ask for {resistance:.3} ohm and {drag:.3} N m of drag, which no motor with \
                 this sheet has; check torque, speed and efficiency of each, and that they lie apart"
            ),
        }
    }
}

impl fmt::Display for GearError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewTeeth { teeth } => {
                write!(f, "a sprocket has {teeth} teeth, too few for a bicycle chain")
            }
            Self::HubRatio { ratio } => {
                let (least, most) = HUB_RATIOS;
                write!(
                    f,
                    "a gear inside the hub turns the wheel {ratio} times for each turn of the cog, outside {least} to {most}"
                )
            }
            Self::SprocketsOverlap { centres, least } => write!(
                f,
                "the sprockets are {} mm apart; these need more than {:.1} mm",
                centres.as_millimetres(),
                least.as_millimetres()
            ),
        }
    }
}

impl fmt::Display for PackError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input { name, value } => input(f, name, *value),
            Self::VoltageOutside { cell, low, high } => write!(
                f,
                "a cell rests at {:.3} V, outside {:.2} to {:.2} V",
                cell.as_volts(),
                low.as_volts(),
                high.as_volts()
            ),
            Self::Solve(error) => error.fmt(f),
        }
    }
}

impl fmt::Display for PerformanceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Road(error) => error.fmt(f),
            Self::Motor(error) => error.fmt(f),
            Self::Gear(error) => error.fmt(f),
            Self::Assist(error) => error.fmt(f),
            Self::Fold(error) => error.fmt(f),
            Self::NoGears => f.write_str("the cassette has no cog"),
            Self::Input { name, value } => input(f, name, *value),
        }
    }
}

impl fmt::Display for ThermalError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input { name, value } => input(f, name, *value),
            Self::Solve(error) => error.fmt(f),
        }
    }
}

impl fmt::Display for TourError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSteps => f.write_str("the road has no step"),
            Self::Step { index, name, value } => {
                write!(f, "step {}: ", index + 1)?;
                input(f, name, *value)
            }
            Self::Input { name, value } => input(f, name, *value),
            Self::Performance(error) => error.fmt(f),
            Self::Thermal(error) => error.fmt(f),
        }
    }
}

impl fmt::Display for DescribedError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input { name, value } => input(f, name, *value),
            Self::HillTooHigh { rise, climb } => write!(
                f,
                "the worst hill rises {:.0} m; the whole road climbs {:.0} m",
                rise.as_metres(),
                climb.as_metres()
            ),
            Self::HillTooLong { hill, length } => write!(
                f,
                "the worst hill is {:.0} m long, up and down again; the whole road has {:.0} m",
                hill.as_metres(),
                length.as_metres()
            ),
            Self::TooSteep { most, climb } => write!(
                f,
                "the road climbs {:.0} m; on that length it can climb {:.0} m at most",
                climb.as_metres(),
                most.as_metres()
            ),
        }
    }
}

impl fmt::Display for TraceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::NoRoad => write!(f, "fewer than two points apart"),
            Self::TooLong { length } => write!(
                f,
                "the road is {:.0} km long before its end; at most {:.0} km are read",
                length.as_kilometres(),
                LONGEST.as_kilometres()
            ),
            Self::Point {
                index,
                latitude,
                longitude,
            } => write!(
                f,
                "point {index} at {latitude}, {longitude} degrees is on no ellipsoid"
            ),
            Self::Input { name, value } => input(f, name, value),
        }
    }
}

impl fmt::Display for EnergyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Road(error) => error.fmt(f),
            Self::Input { name, value } => input(f, name, *value),
        }
    }
}

impl fmt::Display for RunError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input { name, value } => input(f, name, *value),
            Self::NoAirForce { leg, force } => write!(
                f,
                "the run {leg:?} leaves {force:.2} N for the air; it must leave more than 0 N: power, mass, slope, \
                 rolling resistance and speed do not belong together, or the wind was faster than the bicycle"
            ),
            Self::Road(error) => error.fmt(f),
            Self::Solve(error) => error.fmt(f),
        }
    }
}

impl fmt::Display for RideFitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input { name, value } => input(f, name, *value),
            Self::TooFew { readings, least } => {
                write!(
                    f,
                    "{readings} readings can be used; the fit needs at least {least}"
                )
            }
            Self::NoHeading => {
                f.write_str("a search for wind needs a direction of travel with every reading")
            }
            Self::Undetermined => f.write_str(
                "the ride does not hold what is asked for: drag needs different speeds, mass needs hills, \
                 wind needs turns",
            ),
            Self::NoConvergence => f.write_str("the search for mass or wind did not settle"),
        }
    }
}

impl Error for SolveError {}
impl Error for AirError {}
impl Error for RoadError {}
impl Error for MotorError {}
impl Error for GearError {}
impl Error for PackError {}
impl Error for PerformanceError {}
impl Error for ThermalError {}
impl Error for TourError {}
impl Error for DescribedError {}
impl Error for EnergyError {}
impl Error for RunError {}
impl Error for RideFitError {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_input_names_itself_and_its_value() {
        let error = PerformanceError::Road(RoadError::Input {
            name: "wheel_inertia",
            value: -1.0,
        });
        assert_eq!(
            error.to_string(),
            "wheel inertia is -1 (SI unit), outside the range the model holds for"
        );
    }
}
