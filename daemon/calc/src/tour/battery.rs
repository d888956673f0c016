//! The pack of a tour: a tabulated open-circuit voltage, one resistance, charge and fold-back.

use super::TourError;
use crate::motor::Supply;
use crate::pack::{CurveTable, FoldBack, Load, Pack, PackError, PackState};
use crate::quantity::{Charge, Current, Resistance, Temperature, Voltage};

/// A pack as a tour draws on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Battery {
    /// Resistance with leads; a tour counts with the sustained one from end to end.
    pub resistance: Resistance,
    /// Charge between full and empty as the pack is now: rated charge times age and cold.
    pub charge: Charge,
    /// Voltages under load between which the controller takes its battery current back.
    pub fold: FoldBack,
    /// State of charge at which the tour starts, 0 to 1.
    pub state_of_charge: f64,
    curve: CurveTable,
}

impl Battery {
    /// A full pack at a cell temperature: sustained resistance, rated charge, held at the cells' own
    /// cut-off.
    ///
    /// Errors: those of [`Pack::resistance`].
    pub fn new(pack: &Pack, cell: Temperature) -> Result<Self, PackError> {
        Ok(Self {
            resistance: pack.resistance(Load::Sustained, cell)?,
            charge: pack.charge(),
            fold: FoldBack::at_cutoff(pack.cutoff()),
            state_of_charge: 1.0,
            curve: CurveTable::new(pack)?,
        })
    }

    /// A pack of one open-circuit voltage at any charge, for comparison with steady answers.
    pub fn constant(state: PackState, charge: Charge) -> Self {
        Self {
            resistance: state.resistance,
            charge,
            fold: FoldBack {
                start: state.open_circuit * 0.2,
                cutoff: state.open_circuit * 0.1,
            },
            state_of_charge: 1.0,
            curve: CurveTable::flat(state.open_circuit),
        }
    }

    /// Open-circuit voltage at a state of charge; the ends hold beyond 0 and 1.
    #[inline]
    pub fn open_circuit(&self, state_of_charge: f64) -> Voltage {
        self.curve.open_circuit(state_of_charge)
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
            ("cutoff", self.fold.cutoff.si(), f64::MIN_POSITIVE, most),
            (
                "fold_start",
                self.fold.start.si(),
                self.fold.cutoff.si(),
                f64::MAX,
            ),
            ("state_of_charge", self.state_of_charge, 0.0, 1.0),
        ];
        super::within(&figures)
    }

    /// What the controller finds at a state of charge: its current folded back, and none of it from an
    /// empty pack.
    #[inline]
    pub(super) fn supply(&self, state_of_charge: f64, limit: Current, efficiency: f64) -> Supply {
        let state = self.state(state_of_charge);
        let left = if state_of_charge > 0.0 {
            self.fold.limit(&state, limit)
        } else {
            Current::ZERO
        };
        Supply {
            open_circuit: state.open_circuit,
            resistance: state.resistance,
            battery_limit: left,
            controller_efficiency: efficiency,
        }
    }
}
