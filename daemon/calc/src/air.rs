//! Air: density by the ISO 2533 standard atmosphere or from a weather reading, and the wind.

mod cipm;
pub mod wind;

pub use cipm::moist_cipm;

use crate::quantity::{Density, Length, Pressure, Temperature};

/// Radius of the nominal earth, m (ISO 2533:1975).
const EARTH_RADIUS: f64 = 6_356_766.0;
/// Specific gas constant of dry air in the standard atmosphere, J/(kg·K) (ISO 2533:1975).
const GAS_STANDARD: f64 = 287.052_87;
/// Temperature lapse up to 11 km, K/m (ISO 2533:1975).
const LAPSE: f64 = 0.006_5;
/// Sea-level temperature, K (ISO 2533:1975).
const SEA_TEMPERATURE: f64 = 288.15;
/// Sea-level pressure, Pa (ISO 2533:1975).
const SEA_PRESSURE: f64 = 101_325.0;
/// Specific gas constants of dry air and of water vapour, J/(kg·K).
const GAS_DRY: f64 = 287.058;
const GAS_VAPOUR: f64 = 461.495;

/// Why a density could not be given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AirError {
    /// The altitude is outside the lowest layer of the standard atmosphere, −2 to 11 km.
    Altitude {
        /// Geometric altitude as given.
        altitude: Length,
    },
    /// The temperature is outside −60 to 60 °C.
    Temperature {
        /// Temperature as given.
        temperature: Temperature,
    },
    /// The pressure is outside 20 to 120 kPa.
    Pressure {
        /// Pressure as given.
        pressure: Pressure,
    },
    /// The relative humidity is outside 0 to 1.
    Humidity {
        /// Relative humidity as given, 0 to 1.
        humidity: f64,
    },
}

/// One level of the standard atmosphere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandardAir {
    /// Temperature.
    pub temperature: Temperature,
    /// Pressure.
    pub pressure: Pressure,
    /// Density.
    pub density: Density,
}

/// The standard atmosphere at a geometric altitude `h`:
/// `H = R·h/(R + h)`, `T = 288.15 − 0.0065·H`, `p = 101325·(T/288.15)^(g/(Rs·L))`, `rho = p/(Rs·T)`.
///
/// Range: −2 to 11 km. Error: [`AirError::Altitude`].
/// Source: ISO 2533:1975, lowest layer.
pub fn standard(altitude: Length) -> Result<StandardAir, AirError> {
    let h = altitude.as_metres();
    if !(-2_000.0..=11_000.0).contains(&h) {
        return Err(AirError::Altitude { altitude });
    }
    let geopotential = EARTH_RADIUS * h / (EARTH_RADIUS + h);
    let temperature = SEA_TEMPERATURE - LAPSE * geopotential;
    let exponent = crate::quantity::G / (GAS_STANDARD * LAPSE);
    let pressure = SEA_PRESSURE * (temperature / SEA_TEMPERATURE).powf(exponent);
    Ok(StandardAir {
        temperature: Temperature::kelvins(temperature),
        pressure: Pressure::pascals(pressure),
        density: Density::kilograms_per_m3(pressure / (GAS_STANDARD * temperature)),
    })
}

/// Density where only the altitude and the air temperature are known: the standard pressure of
/// the altitude with the temperature as read, and moisture when `humidity` (0 to 1) is given.
///
/// Weather moves the pressure about ±2 %, and the density with it.
/// Errors: those of [`standard`] and [`moist`].
pub fn density(
    altitude: Length,
    temperature: Temperature,
    humidity: Option<f64>,
) -> Result<Density, AirError> {
    moist(standard(altitude)?.pressure, temperature, humidity.unwrap_or(0.0))
}

/// Density of moist air at a station pressure `p`:
/// `es = 611.2·exp(17.62·t/(243.12 + t))` Pa with `t` in °C, `e = RH·es`,
/// `rho = (p − e)/(287.058·T) + e/(461.495·T)`.
///
/// Range: 20 to 120 kPa, −60 to 60 °C, humidity 0 to 1. Errors: the matching [`AirError`].
/// Source: Magnus form of the WMO Guide to Instruments (WMO-No. 8, from memory), ideal gases.
pub fn moist(pressure: Pressure, temperature: Temperature, humidity: f64) -> Result<Density, AirError> {
    if !(20e3..=120e3).contains(&pressure.as_pascals()) {
        return Err(AirError::Pressure { pressure });
    }
    let t = temperature.as_celsius();
    if !(-60.0..=60.0).contains(&t) {
        return Err(AirError::Temperature { temperature });
    }
    if !(0.0..=1.0).contains(&humidity) {
        return Err(AirError::Humidity { humidity });
    }
    let saturated = 611.2 * (17.62 * t / (243.12 + t)).exp();
    let vapour = humidity * saturated;
    let kelvins = temperature.as_kelvins();
    let density = (pressure.as_pascals() - vapour) / (GAS_DRY * kelvins) + vapour / (GAS_VAPOUR * kelvins);
    Ok(Density::kilograms_per_m3(density))
}

/// Pressure at a place from the sea-level pressure a weather service quotes:
/// `p = p0·(1 − 0.0065·h/(T + 0.0065·h))^5.256`, `T` the temperature at the place, K.
///
/// Range: −2 to 11 km. Error: [`AirError::Altitude`].
/// Source: hypsometric equation with the standard lapse (from memory).
pub fn station_pressure(
    sea_level: Pressure,
    altitude: Length,
    temperature: Temperature,
) -> Result<Pressure, AirError> {
    let h = altitude.as_metres();
    if !(-2_000.0..=11_000.0).contains(&h) {
        return Err(AirError::Altitude { altitude });
    }
    let below = temperature.as_kelvins() + LAPSE * h;
    Ok(sea_level * (1.0 - LAPSE * h / below).powf(5.256))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::table::{close, rows};

    #[test]
    fn standard_atmosphere_reproduces_the_table() {
        // ISO 2533:1975 values as two independent programs give them; 1e-6 relative (6 to 7 printed digits).
        for row in rows(include_str!("../../../tests/reference/tables/isa.csv")) {
            let air = standard(Length::metres(row.number("altitude_m"))).unwrap();
            close(air.temperature.as_kelvins(), row.number("T_K"), 1e-6);
            close(air.pressure.as_pascals(), row.number("p_Pa"), 1e-6);
            close(air.density.si(), row.number("rho_kgm3_ambiance"), 1e-6);
        }
    }

    #[test]
    fn printed_rows_of_the_standard() {
        // ISO 2533:1975 table rows, transcribed: h m, T K, p Pa, rho kg/m³; 1e-5 relative.
        for (h, t, p, rho) in [
            (0.0, 288.15, 101_325.0, 1.225),
            (1_000.0, 281.651, 89_876.3, 1.111_66),
            (2_000.0, 275.154, 79_501.4, 1.006_55),
        ] {
            let air = standard(Length::metres(h)).unwrap();
            close(air.temperature.as_kelvins(), t, 1e-5);
            close(air.pressure.as_pascals(), p, 1e-5);
            close(air.density.si(), rho, 1e-5);
        }
    }

    #[test]
    fn moist_air_agrees_with_two_property_codes() {
        // psychrolib (ASHRAE) and CoolProp; 0.1 % (ideal gas against real gas), whole table 230 to 320 K.
        for row in rows(include_str!("../../../tests/reference/tables/moist_air.csv")) {
            let t = Temperature::celsius(row.number("T_C"));
            let rho = moist(Pressure::pascals(row.number("p_Pa")), t, row.number("RH"))
                .unwrap()
                .si();
            close(rho, row.number("rho_psychrolib"), 1e-3);
            close(rho, row.number("rho_coolprop"), 2e-3);
        }
    }

    #[test]
    fn printed_moist_air_densities() {
        // 20 °C, 101 325 Pa dry and 70 %: ASHRAE formulation, 1.204478 and 1.197144 kg/m³; 5e-4 relative
        // (the simple form leaves out the enhancement factor and compressibility).
        let at = |rh| {
            moist(Pressure::pascals(101_325.0), Temperature::celsius(20.0), rh)
                .unwrap()
                .si()
        };
        close(at(0.0), 1.204_478, 5e-4);
        close(at(0.7), 1.197_144, 5e-4);
        // 15 °C dry: 1.2250, worked line of a shooting club's page on air density.
        let mild = moist(Pressure::pascals(101_325.0), Temperature::celsius(15.0), 0.0);
        close(mild.unwrap().si(), 1.225_0, 1e-4);
        // 50 %: CIPM-2007 (Picard et al. 2008, Metrologia 45 149), from memory 1.1992.
        close(at(0.5), 1.199_2, 5e-4);
    }

    #[test]
    fn station_pressure_undoes_the_standard_atmosphere() {
        for h in [0.0, 500.0, 1_500.0] {
            let air = standard(Length::metres(h)).unwrap();
            let p = station_pressure(
                Pressure::pascals(SEA_PRESSURE),
                Length::metres(h),
                air.temperature,
            );
            close(p.unwrap().si(), air.pressure.si(), 3e-4);
        }
    }

    #[test]
    fn a_measured_air_term_is_brought_to_reference_air() {
        // ISO 10521-1 (from memory) multiplies by K2 = (T/293)·(100/p), T in K and p in kPa: 278.15 K and 101.3 kPa
        // 0.9371, 303.15 K and 95.0 kPa 1.0891: for dry air the ratio of the densities.
        let dry = |kelvins, kilopascals| {
            moist(
                Pressure::kilopascals(kilopascals),
                Temperature::kelvins(kelvins),
                0.0,
            )
            .unwrap()
            .si()
        };
        close(dry(293.0, 100.0) / dry(278.15, 101.3), 0.937_1, 1e-4);
        close(dry(293.0, 100.0) / dry(303.15, 95.0), 1.089_1, 1e-4);
    }

    #[test]
    fn out_of_range_is_refused() {
        let t = Temperature::celsius(20.0);
        assert!(matches!(
            standard(Length::metres(12_000.0)),
            Err(AirError::Altitude { .. })
        ));
        assert!(matches!(
            density(Length::ZERO, Temperature::celsius(80.0), None),
            Err(AirError::Temperature { .. })
        ));
        assert!(matches!(
            moist(Pressure::kilopascals(100.0), t, 70.0),
            Err(AirError::Humidity { .. })
        ));
        assert!(matches!(
            moist(Pressure::pascals(1013.0), t, 0.7),
            Err(AirError::Pressure { .. })
        ));
        assert!(matches!(
            moist(Pressure::kilopascals(100.0), t, f64::NAN),
            Err(AirError::Humidity { .. })
        ));
    }
}
