//! Density of moist air by the laboratories' equation, CIPM-2007.

use crate::doubt::{FitError, in_range};
use crate::quantity::{Density, Pressure, Temperature};

/// Molar gas constant of the equation, J/(mol·K) (CODATA 2006, as CIPM-2007 uses it).
const GAS: f64 = 8.314_472;
/// Molar masses of dry air with 0.04 % carbon dioxide and of water, kg/mol.
const DRY: f64 = 0.028_965_46;
const WATER: f64 = 0.018_015;

/// Density of moist air at a pressure `p` (Pa), temperature `T` (K; `t` in °C) and relative humidity
/// `h` (0 to 1), with 400 ppm of carbon dioxide:
/// `psv = exp(A·T² + B·T + C + D/T)`, `f = 1.00062 + 3.14e-8·p + 5.6e-7·t²`, `x = h·f·psv/p`,
/// `Z = 1 − p/T·(a0 + a1·t + a2·t² + (b0 + b1·t)·x + (c0 + c1·t)·x²) + (p/T)²·(d + e·x²)`,
/// `rho = p·Ma/(Z·R·T)·(1 − x·(1 − Mv/Ma))`.
///
/// Range: 60 to 110 kPa, 15 to 27 °C, for which the equation is stated. Outside it the ideal gases of
/// [`super::moist`] serve; inside it the two differ by less than 0.06 %.
/// Source: Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149; coefficients as public programs quote them.
///
/// # Errors
/// [`FitError::OutOfRange`] for pressure, temperature or humidity outside the range.
pub fn moist_cipm(pressure: Pressure, temperature: Temperature, humidity: f64) -> Result<Density, FitError> {
    let p = in_range("air pressure", pressure.as_pascals(), 60e3, 110e3, "Pa")?;
    let t = in_range("air temperature", temperature.as_celsius(), 15.0, 27.0, "°C")?;
    let humidity = in_range("relative humidity", humidity, 0.0, 1.0, "")?;
    let kelvins = temperature.as_kelvins();

    let saturated = (1.237_884_7e-5 * kelvins * kelvins - 1.912_131_6e-2 * kelvins + 33.937_110_47
        - 6.343_164_5e3 / kelvins)
        .exp();
    let enhancement = 1.000_62 + 3.14e-8 * p + 5.6e-7 * t * t;
    let x = humidity * enhancement * saturated / p;
    let first = 1.581_23e-6 - 2.933_1e-8 * t
        + 1.104_3e-10 * t * t
        + (5.707e-6 - 2.051e-8 * t) * x
        + (1.989_8e-4 - 2.376e-6 * t) * x * x;
    let second = 1.83e-11 - 0.765e-8 * x * x;
    let ratio = p / kelvins;
    let compressibility = 1.0 - ratio * first + ratio * ratio * second;
    let density = p * DRY / (compressibility * GAS * kelvins) * (1.0 - x * (1.0 - WATER / DRY));
    Ok(Density::kilograms_per_m3(density))
}

#[cfg(test)]
mod tests {
    use super::super::moist;
    use super::*;
    use crate::solve::table::{close, near};

    fn cipm(t: f64, p: f64, humidity: f64) -> f64 {
        moist_cipm(Pressure::pascals(p), Temperature::celsius(t), humidity)
            .unwrap()
            .si()
    }

    #[test]
    fn printed_densities() {
        // ASHRAE formulation as a psychrometric program documents it: 20 °C, 101 325 Pa dry and 70 %; 1e-4 (the two
        // formulations take dry air's molar mass from different years).
        close(cipm(20.0, 101_325.0, 0.0), 1.204_478, 1e-4);
        close(cipm(20.0, 101_325.0, 0.7), 1.197_144, 1e-4);
        // Picard et al. 2008, from memory: 1.1992 at 50 %.
        close(cipm(20.0, 101_325.0, 0.5), 1.199_2, 1.5e-4);
    }

    #[test]
    fn a_second_working_out_of_the_equation() {
        // Regression values: the same equation and coefficients worked out apart in another language. The first five
        // agree to 1e-5 kg/m³ with a third working out.
        for (t, p, humidity, rho) in [
            (20.0, 101_325.0, 0.0, 1.204_557_341_6),
            (20.0, 101_325.0, 0.7, 1.197_221_043_1),
            (20.0, 101_325.0, 0.5, 1.199_313_760_5),
            (25.0, 100_000.0, 0.6, 1.160_429_758_9),
            (20.0, 75_000.0, 0.5, 0.886_276_460_0),
            (15.0, 60_000.0, 1.0, 0.717_801_597_7),
            (27.0, 110_000.0, 1.0, 1.261_551_215_1),
        ] {
            near(cipm(t, p, humidity), rho, 1e-9);
        }
    }

    #[test]
    fn the_approximation_of_the_weighing_rooms_agrees() {
        // OIML R 111 (from memory): rho = (0.34848·p − 0.009·RH·exp(0.061·t))/(273.15 + t), p in hPa, RH in %;
        // stated to 2e-4 for 900 to 1100 hPa, 10 to 30 °C and up to 80 %.
        for t in [15.0, 18.0, 20.0, 24.0, 27.0] {
            for p in [90e3, 95e3, 101_325.0, 110e3] {
                for humidity in [0.0, 0.3, 0.5, 0.8] {
                    let simple = (0.348_48 * p / 100.0 - 0.9 * humidity * f64::exp(0.061 * t)) / (273.15 + t);
                    close(cipm(t, p, humidity), simple, 2e-4);
                }
            }
        }
    }

    #[test]
    fn ideal_gases_stay_within_their_stated_error() {
        let mut worst = 0.0_f64;
        for t in 15..=27 {
            for p in [60e3, 75e3, 90e3, 101_325.0, 110e3] {
                for humidity in [0.0, 0.5, 1.0] {
                    let ideal = moist(Pressure::pascals(p), Temperature::celsius(f64::from(t)), humidity);
                    worst = worst.max((ideal.unwrap().si() / cipm(f64::from(t), p, humidity) - 1.0).abs());
                }
            }
        }
        assert!(worst < 6e-4 && worst > 4e-4, "{worst}");
    }

    #[test]
    fn outside_its_range_it_says_nothing() {
        let of = |t, p: f64, humidity| {
            moist_cipm(Pressure::pascals(p), Temperature::kelvins(273.15 + t), humidity).is_ok()
        };
        assert!(of(15.1, 60e3, 0.0) && of(26.9, 110e3, 1.0));
        assert!(!of(14.9, 1e5, 0.5) && !of(27.1, 1e5, 0.5));
        assert!(!of(20.0, 59_999.0, 0.5) && !of(20.0, 110_001.0, 0.5));
        assert!(!of(20.0, 1e5, -0.01) && !of(20.0, 1e5, 1.01) && !of(f64::NAN, 1e5, 0.5));
    }
}
