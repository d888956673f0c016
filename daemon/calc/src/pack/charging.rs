//! Charging at constant current and then at constant voltage.

use super::PackError;
use crate::quantity::{Charge, Current, Duration};

/// Share of the first phase's plain time that it really takes, and the second phase's time constant,
/// hours (a fit of a simulated cell, Chen et al. 2020, within −1 to +7 % for C/5 to C/2).
const FIRST_PHASE: f64 = 0.93;
const TAPER_HOURS: f64 = 0.30;

/// Time to charge from a state of charge to full, `t = 0.93·Q·(1 − s)/I + 0.30 h·ln(I/I_end)`: the
/// current is held, then falls away to `end`.
///
/// Range: currents of C/10 to C/2, `end` below `current` and above C/100, start 0 to 0.9. Error:
/// [`PackError::Input`]. Source: fit of the simulated charge of one cell (see the test).
pub fn charging_time(
    charge: Charge,
    current: Current,
    end: Current,
    start: f64,
) -> Result<Duration, PackError> {
    let rate = |current: Current| current.as_amperes() / charge.as_ampere_hours();
    let figures = [
        ("charge", charge.as_ampere_hours(), 0.1, 200.0),
        ("current", rate(current), 0.1, 0.5 + 1e-9),
        ("end", rate(end), 0.01, rate(current)),
        ("start", start, 0.0, 0.9),
    ];
    if let Some((name, value, ..)) = figures
        .into_iter()
        .find(|(_, value, low, high)| !(low..=high).contains(&value))
    {
        return Err(PackError::Input { name, value });
    }
    let hours = FIRST_PHASE * (1.0 - start) / rate(current) + TAPER_HOURS * (rate(current) / rate(end)).ln();
    Ok(Duration::seconds(hours * 3600.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hours(rate: f64, start: f64) -> Result<f64, PackError> {
        let charge = Charge::ampere_hours(5.15);
        charging_time(
            charge,
            Current::amperes(5.0 * rate),
            Current::amperes(0.25),
            start,
        )
        .map(|time| time.as_seconds() / 3600.0)
    }

    #[test]
    fn a_simulated_cell_is_met_within_what_the_fit_claims() {
        // Chen et al. 2020 simulated, 0 to 100 %, end at 0.05C of 5 Ah: 5.258 h at C/5, 3.351 h at C/3,
        // 2.447 h at C/2.
        for (rate, simulated, low, high) in [
            (0.2, 5.258, -0.015, 0.0),
            (1.0 / 3.0, 3.351, 0.0, 0.035),
            (0.5, 2.447, 0.05, 0.075),
        ] {
            let off = hours(rate, 0.0).unwrap() / simulated - 1.0;
            assert!((low..=high).contains(&off), "{rate}: {off}");
        }
    }

    #[test]
    fn a_fuller_pack_and_a_stronger_charger_take_less_time() {
        assert!(hours(0.2, 0.5).unwrap() < hours(0.2, 0.0).unwrap());
        assert!(hours(0.4, 0.0).unwrap() < hours(0.2, 0.0).unwrap());
    }

    #[test]
    fn what_the_fit_does_not_hold_for_is_refused() {
        for (rate, start) in [(0.05, 0.0), (0.6, 0.0), (0.2, 0.95), (0.2, -0.1), (f64::NAN, 0.0)] {
            assert!(hours(rate, start).is_err(), "{rate} {start}");
        }
        let charge = Charge::ampere_hours(10.0);
        let (strong, end) = (Current::amperes(2.0), Current::amperes(2.5));
        assert!(charging_time(charge, strong, end, 0.0).is_err());
    }
}
