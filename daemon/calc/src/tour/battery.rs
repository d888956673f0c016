//! The pack of a tour: a tabulated open-circuit voltage, one resistance, charge and fold-back.

use super::TourError;
use crate::motor::Supply;
use crate::pack::{Load, Pack, PackError, PackState};
use crate::quantity::{Charge, Current, Resistance, Temperature, Voltage};

/// Pieces of the open-circuit table. At 512 a straight line is off by less than 0.5 mV a cell.
const PIECES: usize = 512;

/// A pack as a tour draws on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Battery {
    /// Resistance with leads; a tour counts with the sustained one from end to end.
    pub resistance: Resistance,
    /// Charge between full and empty as the pack is now: rated charge times age and cold.
    pub charge: Charge,
    /// Loaded voltage below which the controller takes its battery current back.
    pub fold_from: Voltage,
    /// Loaded voltage at which nothing is left of that current; below `fold_from`.
    pub fold_to: Voltage,
    /// State of charge at which the tour starts, 0 to 1.
    pub state_of_charge: f64,
    open_circuit: Vec<f64>,
}

impl Battery {
    /// A full pack at a cell temperature: sustained resistance, rated charge, current taken back over
    /// the last 7 % of voltage above the cut-off (common practice, no source).
    ///
    /// Errors: those of [`Pack::state`].
    pub fn new(pack: &Pack, cell: Temperature) -> Result<Self, PackError> {
        let table = (0..=PIECES).map(|i| pack.open_circuit(i as f64 / PIECES as f64).map(Voltage::si));
        Ok(Self {
            resistance: pack.resistance(Load::Sustained, cell)?,
            charge: pack.charge(),
            fold_from: pack.cutoff() * 1.07,
            fold_to: pack.cutoff(),
            state_of_charge: 1.0,
            open_circuit: table.collect::<Result<_, _>>()?,
        })
    }

    /// A pack of one open-circuit voltage at any charge, for comparison with steady answers.
    pub fn constant(state: PackState, charge: Charge) -> Self {
        Self {
            resistance: state.resistance,
            charge,
            fold_from: state.open_circuit * 0.2,
            fold_to: state.open_circuit * 0.1,
            state_of_charge: 1.0,
            open_circuit: vec![state.open_circuit.si(); 2],
        }
    }

    /// Open-circuit voltage at a state of charge; the ends hold beyond 0 and 1.
    pub fn open_circuit(&self, state_of_charge: f64) -> Voltage {
        let last = self.open_circuit.len() - 1;
        let place = state_of_charge.clamp(0.0, 1.0) * last as f64;
        let below = (place as usize).min(last - 1);
        let share = place - below as f64;
        let (low, high) = (self.open_circuit[below], self.open_circuit[below + 1]);
        Voltage::from_si(low + (high - low) * share)
    }

    /// The pack at a state of charge.
    pub fn state(&self, state_of_charge: f64) -> PackState {
        PackState {
            open_circuit: self.open_circuit(state_of_charge),
            resistance: self.resistance,
        }
    }

    pub(super) fn check(&self) -> Result<(), TourError> {
        let most = self.open_circuit(1.0).si();
        let figures = [
            ("battery_resistance", self.resistance.si(), 0.0, 10.0),
            ("battery_charge", self.charge.si(), f64::MIN_POSITIVE, f64::MAX),
            ("fold_to", self.fold_to.si(), f64::MIN_POSITIVE, most),
            (
                "fold_from",
                self.fold_from.si() - self.fold_to.si(),
                f64::MIN_POSITIVE,
                most,
            ),
            ("state_of_charge", self.state_of_charge, 0.0, 1.0),
        ];
        super::within(&figures)
    }

    /// What the controller finds at a state of charge. Between the two fold-back voltages the current
    /// limit falls in a straight line with the loaded voltage, `I = L·(U0 − R·I − Vt)/(Vf − Vt)`; solved
    /// for `I` that is `L·(U0 − Vt)/(Vf − Vt + L·R)`.
    pub(super) fn supply(&self, state_of_charge: f64, limit: Current, efficiency: f64) -> Supply {
        let state = self.state(state_of_charge);
        let (full, sag) = (limit.si(), limit.si() * self.resistance.si());
        let room = (state.open_circuit - self.fold_to).si().max(0.0);
        let folded = full * room / ((self.fold_from - self.fold_to).si() + sag);
        let left = if state_of_charge > 0.0 {
            folded.min(full)
        } else {
            0.0
        };
        Supply {
            open_circuit: state.open_circuit,
            resistance: state.resistance,
            battery_limit: Current::from_si(left),
            controller_efficiency: efficiency,
        }
    }
}
