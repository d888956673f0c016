//! Battery pack arithmetic: series and parallel cells, energy, sag, state of charge.

pub mod ageing;
mod charging;
mod curves;
mod foldback;
pub use charging::{CHARGE_END, ChargeTime, Charging};
pub use curves::{CurveTable, cell_open_circuit};
pub use foldback::FoldBack;

use crate::quantity::{Charge, Current, Energy, Resistance, Temperature, Voltage};
use crate::solve::{SolveError, root};

/// Cell chemistry, as far as the voltages go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Chemistry {
    /// Nickel-rich layered oxide (NMC, NCA) on graphite: 3.6 V nominal, 4.20 V full, 3.0 V cut-off.
    NickelRich,
    /// Iron phosphate (LFP) on graphite: 3.2 V nominal, 3.65 V full, 2.5 V cut-off (from memory).
    IronPhosphate,
}

impl Chemistry {
    /// Nominal voltage of a cell. Some labels count 3.7 V for nickel-rich cells.
    pub fn nominal(self) -> Voltage {
        Voltage::volts(match self {
            Self::NickelRich => 3.6,
            Self::IronPhosphate => 3.2,
        })
    }

    /// Voltage of a full cell at the end of charge.
    pub fn full(self) -> Voltage {
        Voltage::volts(match self {
            Self::NickelRich => 4.2,
            Self::IronPhosphate => 3.65,
        })
    }

    /// Voltage at which a bicycle pack is cut off; the cells themselves may allow 2.5 V.
    pub fn cutoff(self) -> Voltage {
        Voltage::volts(match self {
            Self::NickelRich => 3.0,
            Self::IronPhosphate => 2.5,
        })
    }
}

/// What the resistance is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Load {
    /// The first milliseconds: a short circuit, a capacitor that fills.
    Instant,
    /// Ten seconds of current: pulling away, hill start.
    Pulse,
    /// The mean over a discharge, diffusion included: range.
    Sustained,
}

/// Why a pack figure could not be given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PackError {
    /// A figure is out of range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// The resting voltage is outside what a cell of this chemistry can have.
    VoltageOutside {
        /// Voltage of one cell.
        cell: Voltage,
        /// Lowest voltage of the curve.
        low: Voltage,
        /// Highest voltage of the curve.
        high: Voltage,
    },
    /// The curve could not be inverted.
    Solve(SolveError),
}

/// The pack as the controller sees it at one state of charge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackState {
    /// Open-circuit voltage.
    pub open_circuit: Voltage,
    /// Internal resistance with leads.
    pub resistance: Resistance,
}

impl PackState {
    /// Voltage under a current, `V = U0 − I·R`; the current is positive when discharging.
    pub fn loaded_voltage(&self, current: Current) -> Voltage {
        self.open_circuit - current.times_resistance(self.resistance)
    }
}

/// A pack of equal cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pack {
    /// Cells in series, 1 to 30.
    pub series: u32,
    /// Cells in parallel, 1 to 50.
    pub parallel: u32,
    /// Chemistry.
    pub chemistry: Chemistry,
    /// Rated charge of one cell.
    pub cell_charge: Charge,
    /// Ten-second resistance of one new cell at 25 °C; see [`PULSE_CELL`].
    pub cell_pulse: Resistance,
    /// Sustained resistance of one new cell at 25 °C; see [`SUSTAINED_CELL`].
    pub cell_sustained: Resistance,
    /// Leads, connectors and protection board together; see [`LEADS`].
    pub leads: Resistance,
    /// Resistance now over resistance new, 1 to 3.
    pub age_factor: f64,
}

/// Ten-second resistance of a 5 Ah 21700 nickel-rich cell at half charge and 25 °C: 28.7 mΩ.
///
/// Source: full physics model with the parameters of Chen et al. 2020, J. Electrochem. Soc. 167
/// 080534 (simulated, not measured). For another cell size scale by 5 Ah over its charge.
pub const PULSE_CELL: Resistance = Resistance::from_si(0.028_7);

/// Resistance of the same cell in the first milliseconds, at half charge: 23.3 mΩ. Source: as [`PULSE_CELL`].
pub const INSTANT_CELL: Resistance = Resistance::from_si(0.023_3);

/// Sustained resistance of the same cell: 42 mΩ, between 43 mΩ at 1 C and 40 mΩ at 2 C by the mean
/// voltage lost over a discharge. Source: as [`PULSE_CELL`].
pub const SUSTAINED_CELL: Resistance = Resistance::from_si(0.042);

/// Leads, connectors and protection board: 20 mΩ (10 to 50 mΩ; common practice, no source).
pub const LEADS: Resistance = Resistance::from_si(0.020);

/// Activation energy of the cell resistance, J/mol (a demonstration circuit set; about 20 kJ/mol).
const ACTIVATION: f64 = 20_000.0;
/// Molar gas constant, J/(mol·K).
const GAS: f64 = 8.314;

/// Factor on the cell resistance at a cell temperature, 1 at 25 °C:
/// `exp(20000/8.314·(1/T − 1/298.15))`.
///
/// Range: −20 to 60 °C. Error: [`PackError::Input`].
/// Source: Arrhenius form with the activation energy of a published example circuit model (a
/// demonstration set, not a measured cell).
pub fn temperature_factor(cell: Temperature) -> Result<f64, PackError> {
    if !(-20.0..=60.0).contains(&cell.as_celsius()) {
        return Err(PackError::Input {
            name: "cell_temperature",
            value: cell.as_kelvins(),
        });
    }
    Ok((ACTIVATION / GAS * (1.0 / cell.as_kelvins() - 1.0 / 298.15)).exp())
}

/// Share of a pack's energy left at a cell temperature, −20 to 60 °C, at bicycle currents: 1 at
/// 25 °C and above, 0.95 at 10, 0.85 at 0, 0.75 at −10, straight between and beyond (workshop
/// judgement between C/5 and 1C of ORegan et al. 2022, simulated). It stands for the cold's
/// higher resistance too: do not count that twice.
///
/// Errors: [`PackError::Input`] outside that range.
pub fn cold_energy_factor(cell: Temperature) -> Result<f64, PackError> {
    const TABLE: [(f64, f64); 5] = [
        (-20.0, 0.65),
        (-10.0, 0.75),
        (0.0, 0.85),
        (10.0, 0.95),
        (25.0, 1.0),
    ];
    let celsius = cell.as_celsius();
    if !(-20.0..=60.0).contains(&celsius) {
        return Err(PackError::Input {
            name: "cell_temperature",
            value: cell.si(),
        });
    }
    let above = TABLE
        .iter()
        .position(|(at, _)| celsius <= *at)
        .unwrap_or(TABLE.len() - 1)
        .max(1);
    let ((cold, low), (warm, high)) = (TABLE[above - 1], TABLE[above]);
    Ok((low + (high - low) * (celsius - cold) / (warm - cold)).min(1.0))
}

impl Pack {
    /// Checks counts and figures. Error: [`PackError::Input`] naming the field.
    pub fn check(&self) -> Result<(), PackError> {
        for (name, value, most) in [("series", self.series, 30), ("parallel", self.parallel, 50)] {
            if !(1..=most).contains(&value) {
                return Err(PackError::Input {
                    name,
                    value: f64::from(value),
                });
            }
        }
        for (name, value) in [
            ("cell_charge", self.cell_charge.si()),
            ("cell_pulse", self.cell_pulse.si()),
            ("cell_sustained", self.cell_sustained.si()),
            ("age_factor", self.age_factor),
        ] {
            if !(value.is_finite() && value > 0.0) {
                return Err(PackError::Input { name, value });
            }
        }
        let leads = self.leads.si();
        if !(leads.is_finite() && leads >= 0.0) {
            return Err(PackError::Input {
                name: "leads",
                value: leads,
            });
        }
        Ok(())
    }

    /// Nominal voltage, `Ns·V_nominal`.
    pub fn nominal(&self) -> Voltage {
        self.chemistry.nominal() * f64::from(self.series)
    }

    /// Voltage when full, `Ns·V_full`; what every device on the pack must stand.
    pub fn full(&self) -> Voltage {
        self.chemistry.full() * f64::from(self.series)
    }

    /// Cut-off voltage, `Ns·V_cutoff`.
    pub fn cutoff(&self) -> Voltage {
        self.chemistry.cutoff() * f64::from(self.series)
    }

    /// Rated charge, `Np·Q_cell`.
    pub fn charge(&self) -> Charge {
        self.cell_charge * f64::from(self.parallel)
    }

    /// Nameplate energy, `Ns·V_nominal·Np·Q_cell`.
    pub fn energy(&self) -> Energy {
        self.charge().times_voltage(self.nominal())
    }

    /// Resistance of the pack, `R_cell·f_T·f_age·Ns/Np + R_leads`.
    ///
    /// Errors: those of [`Pack::check`] and [`temperature_factor`].
    pub fn resistance(&self, load: Load, cell: Temperature) -> Result<Resistance, PackError> {
        self.check()?;
        let one = match load {
            // As far below the ten-second resistance as the reference cell's.
            Load::Instant => self.cell_pulse * (INSTANT_CELL / PULSE_CELL),
            Load::Pulse => self.cell_pulse,
            Load::Sustained => self.cell_sustained,
        };
        let cells = f64::from(self.series) / f64::from(self.parallel);
        Ok(one * (temperature_factor(cell)? * self.age_factor * cells) + self.leads)
    }

    /// Open-circuit voltage at a state of charge 0 to 1, by [`cell_open_circuit`].
    ///
    /// Error: [`PackError::Input`] outside 0 to 1.
    pub fn open_circuit(&self, soc: f64) -> Result<Voltage, PackError> {
        Ok(cell_open_circuit(self.chemistry, soc)? * f64::from(self.series))
    }

    /// The pack at a state of charge, for a kind of load and a cell temperature.
    ///
    /// Errors: those of [`Pack::open_circuit`] and [`Pack::resistance`].
    pub fn state(&self, soc: f64, load: Load, cell: Temperature) -> Result<PackState, PackError> {
        Ok(PackState {
            open_circuit: self.open_circuit(soc)?,
            resistance: self.resistance(load, cell)?,
        })
    }

    /// State of charge from the voltage at rest, 0 to 1; the inverse of [`Pack::open_circuit`].
    ///
    /// Between nickel-rich cells the answer is good to about ±0.08 only; between iron-phosphate cells
    /// it says next to nothing from 0.2 to 0.95, where 0.1 V separates the two. A voltage under load
    /// is no state of charge. Errors: [`PackError::Input`], [`PackError::VoltageOutside`].
    pub fn state_of_charge(&self, at_rest: Voltage) -> Result<f64, PackError> {
        self.check()?;
        let cell = at_rest / f64::from(self.series);
        let (low, high) = (
            cell_open_circuit(self.chemistry, 0.0)?,
            cell_open_circuit(self.chemistry, 1.0)?,
        );
        if !(low..=high).contains(&cell) {
            return Err(PackError::VoltageOutside { cell, low, high });
        }
        root(
            |s| cell_open_circuit(self.chemistry, s).map_or(f64::NAN, |volts| (volts - cell).si()),
            0.0,
            1.0,
            1e-12,
        )
        .map_err(PackError::Solve)
    }

    /// State of charge at which the pack rests at a voltage; 0 or 1 beyond the ends.
    fn charge_left_at(&self, open: Voltage) -> Result<f64, PackError> {
        if open <= self.open_circuit(0.0)? {
            Ok(0.0)
        } else if open >= self.open_circuit(1.0)? {
            Ok(1.0)
        } else {
            self.state_of_charge(open)
        }
    }
}

#[cfg(test)]
mod tests;
