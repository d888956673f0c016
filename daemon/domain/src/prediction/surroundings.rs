//! The air a bicycle meets: as the place has it, or as it was read on the day of the ride.

use lockring_calc::air;
use lockring_calc::quantity::{Density, Length, Pressure, Temperature};

use super::unusable;
use crate::case::Case;
use crate::finding::Halt;

/// Air density of the place, at the rule `model.air-temperature` unless the ride's air was
/// measured. Without an altitude it is that of the sea, without a humidity that of dry air: the
/// densest, so that no speed or range is flattered by it.
///
/// A barometer read at the strip goes before the weather report's pressure at sea level, that
/// before the standard pressure of the altitude.
///
/// # Errors
/// [`Halt::Open`] when altitude, temperature or pressure lie outside the model.
pub fn air_density(case: &Case<'_>) -> Result<Density, Halt> {
    let read = |key: &str| case.optional_number(key).map(|known| known.value);
    let altitude = Length::metres(read("altitude").unwrap_or(0.0));
    let temperature =
        Temperature::kelvins(read("test-air").unwrap_or_else(|| case.rule("model.air-temperature")));
    let pressure = match (read("test-pressure"), read("test-sea-pressure")) {
        (Some(here), _) => Ok(Pressure::pascals(here)),
        (None, Some(sea)) => air::station_pressure(Pressure::pascals(sea), altitude, temperature),
        (None, None) => air::standard(altitude).map(|standard| standard.pressure),
    };
    pressure
        .and_then(|pressure| air::moist(pressure, temperature, read("test-humidity").unwrap_or(0.0)))
        .map_err(|error| unusable(case, "air", &error))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;
    use crate::rules::RuleSheet;
    use crate::stage::Stage;

    #[track_caller]
    fn density(brief: &[(&str, &str)], fields: &[(&str, &str)], wanted: f64, within: f64) {
        let mut bench = trekking().state(brief);
        if !fields.is_empty() {
            bench = bench.ride("conditions", fields);
        }
        let rules = RuleSheet::shipped();
        let found = air_density(&Case::new(&bench.job, &rules, Stage::TestRide))
            .unwrap()
            .si();
        assert!((found / wanted - 1.0).abs() < within, "{found} is not {wanted}");
    }

    #[test]
    fn the_air_as_read_goes_before_the_standard_one() {
        // ISO 2533:1975, 1000 m: 1.11166 kg/m³ at its own 281.651 K (8.501 C).
        density(&[("altitude", "1000m")], &[("air", "8.5C")], 1.111_66, 1e-4);
        // ASHRAE formulation at 101 325 Pa and 20 C: dry 1.204478, at 70 % 1.197144 kg/m³; 5e-4 for
        // the ideal gases of the simple form.
        let by_barometer = [("air", "20C"), ("pressure", "1013.25hPa")];
        density(&[("altitude", "1000m")], &by_barometer, 1.204_478, 5e-4);
        let moist = [("air", "20C"), ("pressure", "101.325kPa"), ("humidity", "70%")];
        density(&[("altitude", "0m")], &moist, 1.197_144, 5e-4);
    }

    #[test]
    fn a_weather_report_is_brought_up_to_the_place() {
        // The standard's own sea-level pressure gives the standard's air at 1000 m; 3e-4 for the formula.
        let report = [("air", "8.5C"), ("sea-pressure", "1013.25hPa")];
        density(&[("altitude", "1000m")], &report, 1.111_66, 4e-4);
        // A barometer at the strip needs no altitude and goes before the report.
        let both = [
            ("air", "8.5C"),
            ("sea-pressure", "1040hPa"),
            ("pressure", "898.763hPa"),
        ];
        density(&[("altitude", "1000m")], &both, 1.111_66, 1e-4);
    }
}
