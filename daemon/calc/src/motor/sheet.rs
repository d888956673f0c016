//! Motors as data sheets describe them.

use super::{Motor, MotorError};
use crate::quantity::{AngularSpeed, Current, Power, Resistance, Torque, Voltage};

impl Motor {
    /// The electrical constants behind a data sheet that gives only output figures.
    ///
    /// With `V` nominal voltage, `I0` no-load current, `w0` no-load speed of the output, `eta`
    /// best efficiency of the winding (`best_efficiency / gear_efficiency`), `N` reduction:
    /// `R = V·(1 − √eta)²/I0` (from `eta = (1 − √(I0·R/V))²`), `Ke = Kt = (V − I0·R)/(N·w0)`,
    /// rotor drag `Kt·I0` (no viscous part), phase limit `(T_max/(N·eta_g) + Kt·I0)/Kt`.
    ///
    /// Range: all positive, `best_efficiency` below `gear_efficiency ≤ 1`.
    /// Errors: [`MotorError`] for a figure out of range or a sheet that contradicts itself.
    /// Source: direct-current motor theory (any machines text).
    pub fn from_data_sheet(sheet: &DataSheet) -> Result<Self, MotorError> {
        sheet.check()?;
        let v = sheet.nominal_voltage.si();
        let i0 = sheet.no_load_current.si();
        let eta = sheet.best_efficiency / sheet.gear_efficiency;
        if eta >= 1.0 {
            return Err(MotorError::EfficiencyTooHigh { needed: eta });
        }
        let resistance = v * (1.0 - eta.sqrt()).powi(2) / i0;
        let back_emf = v - i0 * resistance;
        if back_emf <= 0.0 {
            return Err(MotorError::NoBackEmf {
                left: Voltage::from_si(back_emf),
            });
        }
        let kt = back_emf / (sheet.reduction * sheet.no_load_speed.si());
        let at_rotor = sheet.max_output_torque.si() / (sheet.reduction * sheet.gear_efficiency);
        let phase = at_rotor / kt + i0;
        let stall = v / resistance;
        if phase > stall {
            let torque = kt * (stall - i0) * sheet.reduction * sheet.gear_efficiency;
            return Err(MotorError::TorqueAboveStall {
                stall: Torque::from_si(torque),
            });
        }
        Ok(Self {
            resistance: Resistance::from_si(resistance),
            kt,
            reduction: sheet.reduction,
            gear_efficiency: sheet.gear_efficiency,
            drag_torque: Torque::from_si(kt * i0),
            viscous: 0.0,
            phase_limit: Current::from_si(phase),
        })
    }
}

/// The figures a kit's data sheet usually prints, all at the output shaft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DataSheet {
    /// Nominal voltage.
    pub nominal_voltage: Voltage,
    /// No-load speed of the output (wheel or crank) at the nominal voltage.
    pub no_load_speed: AngularSpeed,
    /// No-load current at the nominal voltage.
    pub no_load_current: Current,
    /// Best efficiency from terminals to output, 0 to 1.
    pub best_efficiency: f64,
    /// Largest torque at the output.
    pub max_output_torque: Torque,
    /// Rotor turns per output turn; 1 when unknown (only the rotor figures depend on it).
    pub reduction: f64,
    /// Efficiency of the reduction, above `best_efficiency`; 1 when unknown.
    pub gear_efficiency: f64,
}

impl DataSheet {
    fn check(&self) -> Result<(), MotorError> {
        let figures = [
            ("nominal_voltage", self.nominal_voltage.si(), f64::MAX),
            ("no_load_speed", self.no_load_speed.si(), f64::MAX),
            ("no_load_current", self.no_load_current.si(), f64::MAX),
            ("best_efficiency", self.best_efficiency, 1.0),
            ("max_output_torque", self.max_output_torque.si(), f64::MAX),
            ("reduction", self.reduction, f64::MAX),
            ("gear_efficiency", self.gear_efficiency, 1.0),
        ];
        for (name, value, most) in figures {
            if !(value > 0.0 && value <= most) {
                return Err(MotorError::Input { name, value });
            }
        }
        Ok(())
    }
}

/// The four end points of a data sheet, for a machine whose torque and back-EMF constants do not
/// agree (losses that grow with speed hide in the figures): a straight line between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinearSheet {
    /// Voltage of the test.
    pub voltage: Voltage,
    /// Speed without load.
    pub no_load_speed: AngularSpeed,
    /// Current without load.
    pub no_load_current: Current,
    /// Torque at standstill.
    pub stall_torque: Torque,
    /// Current at standstill.
    pub stall_current: Current,
}

/// A point on the line of a [`LinearSheet`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinearPoint {
    /// Speed of the shaft.
    pub speed: AngularSpeed,
    /// Current.
    pub current: Current,
    /// Shaft power.
    pub output: Power,
    /// Shaft power over electric power.
    pub efficiency: f64,
}

impl LinearSheet {
    /// The point at a torque `T`: with `f = T/T_stall`, `w = w0·(1 − f)`, `I = I0 + (Is − I0)·f`.
    ///
    /// Range: all figures above zero, `T` from 0 to the stall torque. Error: [`MotorError::Input`].
    /// Source: common practice of brushed-motor data sheets.
    pub fn at(&self, torque: Torque) -> Result<LinearPoint, MotorError> {
        let figures = [
            ("voltage", self.voltage.si()),
            ("no_load_speed", self.no_load_speed.si()),
            ("no_load_current", self.no_load_current.si()),
            ("stall_torque", self.stall_torque.si()),
            ("stall_current", self.stall_current.si()),
        ];
        for (name, value) in figures {
            if !(value.is_finite() && value > 0.0) {
                return Err(MotorError::Input { name, value });
            }
        }
        let share = torque / self.stall_torque;
        if !(0.0..=1.0).contains(&share) {
            return Err(MotorError::Input {
                name: "torque",
                value: torque.si(),
            });
        }
        let speed = self.no_load_speed * (1.0 - share);
        let current = self.no_load_current + (self.stall_current - self.no_load_current) * share;
        let output = Power::from_si(torque.si() * speed.si());
        let efficiency = output / self.voltage.times_current(current);
        Ok(LinearPoint {
            speed,
            current,
            output,
            efficiency,
        })
    }
}
