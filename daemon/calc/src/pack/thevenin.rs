//! A cell as a circuit: open-circuit voltage, a resistance, and one resistor-capacitor pair that
//! follows slowly. Exact for a constant current over any time.

use super::{Chemistry, PackError, cell_open_circuit};
use crate::quantity::{Charge, Current, Duration, Power, Resistance, Voltage};

/// The circuit of one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circuit {
    /// Chemistry, which gives the open-circuit voltage.
    pub chemistry: Chemistry,
    /// Charge between full and empty.
    pub charge: Charge,
    /// Resistance that answers at once, 0 or more.
    pub series: Resistance,
    /// Resistance of the slow pair, 0 or more.
    pub slow: Resistance,
    /// Time constant of the slow pair, above zero.
    pub time_constant: Duration,
}

/// State of a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// State of charge, 0 to 1.
    pub charge: f64,
    /// Voltage over the slow pair.
    pub slow: Voltage,
}

impl State {
    /// A cell that has rested at a state of charge.
    pub const fn rested(charge: f64) -> Self {
        Self {
            charge,
            slow: Voltage::ZERO,
        }
    }
}

impl Circuit {
    /// State after a time at a constant current (positive when discharging):
    /// `ds/dt = −I/Q`, `V1(t) = I·R1·(1 − e^(−t/τ)) + V1(0)·e^(−t/τ)`.
    ///
    /// The exact exponential step: stable and the same for any division of the time.
    /// Source: first-order Thevenin model (documentation of the `thevenin` solver).
    pub fn after(&self, start: State, current: Current, time: Duration) -> State {
        let fade = (-time.si() / self.time_constant.si()).exp();
        let settled = current.si() * self.slow.si();
        State {
            charge: start.charge - current.si() * time.si() / self.charge.si(),
            slow: Voltage::from_si(settled + (start.slow.si() - settled) * fade),
        }
    }

    /// Voltage of the cell under a current, `V = U(s) − V1 − I·R0`.
    ///
    /// Errors: [`PackError`] for a state of charge outside 0 to 1, or without a stored curve.
    pub fn voltage(&self, state: State, current: Current) -> Result<Voltage, PackError> {
        let open = cell_open_circuit(self.chemistry, state.charge)?;
        Ok(open - state.slow - current.times_resistance(self.series))
    }

    /// Heat made in the cell, `I·(U(s) − V)`; the entropic part is left out.
    ///
    /// Errors: as [`Circuit::voltage`].
    pub fn heat(&self, state: State, current: Current) -> Result<Power, PackError> {
        let open = cell_open_circuit(self.chemistry, state.charge)?;
        let under_load = self.voltage(state, current)?;
        Ok(Power::from_si(current.si() * (open.si() - under_load.si())))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::table::rows;

    const ECM: &str = include_str!("../../../../tests/reference/battery/ecm.csv");

    fn cell() -> Circuit {
        Circuit {
            chemistry: Chemistry::NickelRich,
            charge: Charge::from_si(5.153_197_98 * 3600.0),
            series: Resistance::from_si(0.024),
            slow: Resistance::from_si(0.0125),
            time_constant: Duration::from_si(30.0),
        }
    }

    #[test]
    fn a_simulated_circuit_is_followed() {
        let (mut state, mut before, mut worst) = (State::rested(0.9), 0.0, 0.0_f64);
        for row in rows(ECM) {
            let (at, current) = (row.number("t_s"), Current::from_si(row.number("current_A")));
            state = cell().after(state, current, Duration::from_si(at - before));
            before = at;
            assert!((state.charge - row.number("soc")).abs() < 1e-7, "{at}");
            assert!((state.slow.si() - row.number("v_rc_V")).abs() < 1e-5, "{at}");
            let found = cell().voltage(state, current).unwrap().si();
            worst = worst.max((found - row.number("voltage_V")).abs());
        }
        assert!(worst < 2e-4, "{worst}");
    }

    #[test]
    fn the_closed_form_comes_out_whatever_the_steps() {
        // Open solver `thevenin` 0.2.1 with OCV 3.0 + 1.2 s, R0 23 mohm, R1 10 mohm, C1 3000 F, 5 A
        // from s 0.8: without the open-circuit part the drop at 10, 60 and 600 s is 0.129174,
        // 0.158233 and 0.165000 V (3.96 V less the fall of the curve less what it prints).
        let circuit = Circuit {
            charge: Charge::from_si(5.0 * 3600.0),
            series: Resistance::from_si(0.023),
            slow: Resistance::from_si(0.010),
            ..cell()
        };
        for (seconds, printed) in [
            (10.0, 3.827_493),
            (30.0, 3.803_394),
            (60.0, 3.781_767),
            (300.0, 3.695_002),
            (600.0, 3.595_0),
        ] {
            let current = Current::from_si(5.0);
            let once = circuit.after(State::rested(0.8), current, Duration::from_si(seconds));
            let mut twice = circuit.after(State::rested(0.8), current, Duration::from_si(seconds / 2.0));
            twice = circuit.after(twice, current, Duration::from_si(seconds / 2.0));
            assert!((once.slow.si() - twice.slow.si()).abs() < 1e-12);
            assert!((once.charge - twice.charge).abs() < 1e-12);
            let voltage = 3.0 + 1.2 * once.charge - once.slow.si() - 5.0 * 0.023;
            assert!((voltage - printed).abs() < 1e-5, "{seconds}: {voltage}");
        }
    }

    #[test]
    fn heat_is_current_times_what_the_voltage_lacks() {
        let state = cell().after(
            State::rested(0.5),
            Current::from_si(5.0),
            Duration::from_si(1e4 / 50.0),
        );
        let heat = cell().heat(state, Current::from_si(5.0)).unwrap().si();
        // Settled: I²(R0 + R1) = 25 x 0.0365 = 0.9125 W by hand.
        assert!((heat - 0.9125).abs() < 2e-3, "{heat}");
        assert!(cell().heat(State::rested(1.1), Current::ZERO).is_err());
    }
}
