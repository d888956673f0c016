//! Permanent-magnet motor behind a step-down controller, solved together with the pack's sag.
//!
//! The motor is the direct-current equivalent of a six-step machine: one resistance, one
//! constant `Kt` (N·m/A) that is also the back-EMF constant `Ke` (V·s/rad), a constant drag and
//! a viscous drag at the rotor, and a reduction to the output (the wheel of a hub motor, the
//! crank of a mid-drive).

mod measured;
mod sheet;

pub use measured::EfficiencyPoint;
pub use sheet::{DataSheet, LinearPoint, LinearSheet};

use crate::quantity::{AngularSpeed, Current, Power, Resistance, Torque, Voltage};

/// Why a motor could not be described.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MotorError {
    /// A constant is not finite or outside its range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// The best efficiency, once the gears are taken out, is not below 1.
    EfficiencyTooHigh {
        /// Best efficiency of the winding and iron the sheet would need.
        needed: f64,
    },
    /// The no-load current drops the whole nominal voltage in the winding: no speed would be left.
    NoBackEmf {
        /// Voltage left for the back EMF at no load.
        left: Voltage,
    },
    /// The largest torque needs more current than the nominal voltage can push through the winding.
    TorqueAboveStall {
        /// Stall torque at the output at the nominal voltage.
        stall: Torque,
    },
    /// The measured efficiencies ask for a resistance or a drag that no motor with this sheet has.
    Points {
        /// Resistance asked for, ohm.
        resistance: f64,
        /// Drag asked for, N·m at the rotor.
        drag: f64,
    },
}

/// A motor with its reduction, as its output shaft shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    /// Terminal (line to line) resistance, warm or cold as the caller chooses; 0.02 to 2 Ω.
    pub resistance: Resistance,
    /// Torque and back-EMF constant of the rotor, N·m/A = V·s/rad; 0.01 to 3.
    pub kt: f64,
    /// Rotor turns per output turn; 1 for direct drive.
    pub reduction: f64,
    /// Efficiency of the reduction, 0.5 to 1.
    pub gear_efficiency: f64,
    /// Constant drag torque at the rotor.
    pub drag_torque: Torque,
    /// Viscous drag at the rotor, N·m·s/rad.
    pub viscous: f64,
    /// Largest motor (phase) current the controller gives.
    pub phase_limit: Current,
}

/// What feeds the motor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supply {
    /// Open-circuit voltage of the pack.
    pub open_circuit: Voltage,
    /// Internal resistance of the pack with its leads.
    pub resistance: Resistance,
    /// Largest battery current the controller draws.
    pub battery_limit: Current,
    /// Efficiency of the controller, 0 to 1.
    pub controller_efficiency: f64,
}

/// What holds the motor back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MotorLimit {
    /// The controller's motor-current limit: full torque.
    PhaseCurrent,
    /// The controller's battery-current limit, or the most the pack can give: full power.
    BatteryCurrent,
    /// Full duty: the back EMF has used up the sagged pack voltage.
    Voltage,
}

/// A steady operating point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotorPoint {
    /// What limits, at full assist.
    pub limit: MotorLimit,
    /// Motor current.
    pub phase_current: Current,
    /// Battery current.
    pub battery_current: Current,
    /// Pack voltage under this load.
    pub pack_voltage: Voltage,
    /// Bridge duty, motor voltage over pack voltage, 0 to 1.
    pub duty: f64,
    /// Torque at the output; negative when the drag outweighs the current.
    pub torque: Torque,
    /// Mechanical power at the output.
    pub output: Power,
    /// Power at the pack's terminals.
    pub terminals: Power,
    /// Power out of the cells, before the pack's own resistance.
    pub cells: Power,
    /// Heat in winding, iron and gears (not in the controller or the pack).
    pub loss: Power,
}

impl Motor {
    /// Checks that every constant is finite and inside its range.
    ///
    /// Error: [`MotorError::Input`] naming the field.
    pub fn check(&self) -> Result<(), MotorError> {
        let positive = [
            ("resistance", self.resistance.si()),
            ("kt", self.kt),
            ("reduction", self.reduction),
            ("gear_efficiency", self.gear_efficiency),
            ("phase_limit", self.phase_limit.si()),
        ];
        for (name, value) in positive {
            if !(value.is_finite() && value > 0.0) || (name == "gear_efficiency" && value > 1.0) {
                return Err(MotorError::Input { name, value });
            }
        }
        for (name, value) in [("drag_torque", self.drag_torque.si()), ("viscous", self.viscous)] {
            if !(value.is_finite() && value >= 0.0) {
                return Err(MotorError::Input { name, value });
            }
        }
        Ok(())
    }

    /// Full assist at an output speed `w ≥ 0`: the motor current is the lesser of `I_phase` and
    /// `(−E + √(E² + 4·R·P))/(2·R)`, with `E = Ke·N·w` and `P = eta_c·V_b·I_b` at the battery limit,
    /// unless that needs a duty above 1; then it is `(U0 − E)/(R + Rp/eta_c)`. Pack sag
    /// `V_b = U0 − Rp·I_b` is part of each.
    ///
    /// Above the speed where the back EMF reaches the open-circuit voltage the current is zero
    /// and only the drag remains.
    /// Source: power balance of a step-down converter, `V_b·I_b·eta_c = (I·R + E)·I`.
    pub fn full_assist(&self, speed: AngularSpeed, supply: &Supply) -> MotorPoint {
        let (u0, rp, eta) = (
            supply.open_circuit.si(),
            supply.resistance.si(),
            supply.controller_efficiency,
        );
        let r = self.resistance.si();
        let emf = self.kt * self.reduction * speed.si();

        // A pack gives the most power at half its open-circuit voltage; more current gives less.
        let battery = if rp > 0.0 {
            supply.battery_limit.si().min(u0 / (2.0 * rp))
        } else {
            supply.battery_limit.si()
        };
        let power = eta * battery * (u0 - rp * battery);
        let by_phase = self.phase_limit.si();
        // 2P/(E + sqrt(E² + 4RP)) is the quadratic's root without cancellation at high speed.
        let by_battery = if power > 0.0 {
            2.0 * power / (emf + (emf * emf + 4.0 * r * power).sqrt())
        } else {
            0.0
        };
        let by_voltage = ((u0 - emf) / (r + rp / eta)).max(0.0);

        let (current, limit) = if by_phase <= by_battery {
            (by_phase, MotorLimit::PhaseCurrent)
        } else {
            (by_battery, MotorLimit::BatteryCurrent)
        };
        // The plain least of three would be wrong for a pack loaded past half its voltage, where
        // full duty draws more current for less power; the duty itself tells.
        let point = self.at_current(current, speed, supply, limit);
        if emf < u0 && point.duty <= 1.0 {
            return point;
        }
        self.at_current(by_voltage, speed, supply, MotorLimit::Voltage)
    }

    /// Part load: the point at which the output gives `torque` (at most the full-assist torque;
    /// more is cut back to it) at an output speed.
    pub fn part_load(&self, torque: Torque, speed: AngularSpeed, supply: &Supply) -> MotorPoint {
        self.cut_back(self.full_assist(speed, supply), torque, speed, supply)
    }

    /// [`Motor::part_load`] where the full-assist point at that speed is known already.
    #[inline]
    pub(crate) fn cut_back(
        &self,
        full: MotorPoint,
        torque: Torque,
        speed: AngularSpeed,
        supply: &Supply,
    ) -> MotorPoint {
        if torque >= full.torque {
            return full;
        }
        self.at_current(self.current_for(torque, speed).si(), speed, supply, full.limit)
    }

    /// How the full-assist torque changes with the output speed at a full-assist point,
    /// N·m·s/rad; zero or negative. The derivative of [`Motor::full_assist`] limit by limit.
    pub(crate) fn torque_slope(&self, full: &MotorPoint, speed: AngularSpeed, supply: &Supply) -> f64 {
        let r = self.resistance.si();
        let current = full.phase_current.si();
        let emf = self.kt * self.reduction * speed.si();
        let per_emf = match full.limit {
            MotorLimit::PhaseCurrent => 0.0,
            MotorLimit::BatteryCurrent => -current / (2.0 * r * current + emf),
            MotorLimit::Voltage => -1.0 / (r + supply.resistance.si() / supply.controller_efficiency),
        };
        let rotor = (self.kt * self.kt * per_emf - self.viscous) * self.reduction;
        rotor * self.reduction * self.gear_efficiency
    }

    /// Motor current that gives a driving output torque at a speed,
    /// `I = (T/(N·eta_g) + T_drag + c·N·w)/Kt`; never negative.
    pub fn current_for(&self, torque: Torque, speed: AngularSpeed) -> Current {
        let rotor = torque.si() / (self.reduction * self.gear_efficiency);
        Current::from_si(((rotor + self.drag(speed)) / self.kt).max(0.0))
    }

    /// Heat outside the winding at a driving output torque and speed: drag and gears,
    /// `(T_drag + c·N·w)·N·w + T·w·(1/eta_g − 1)`.
    pub fn idle_loss(&self, torque: Torque, speed: AngularSpeed) -> Power {
        let gears = torque.si() * speed.si() * (1.0 / self.gear_efficiency - 1.0);
        Power::from_si(self.drag(speed) * self.reduction * speed.si() + gears)
    }

    /// Output speed at which the full-assist torque is zero, by the voltage limit.
    ///
    /// `U0 − E = I·(R + Rp/eta_c)` with `Kt·I = T_drag + c·N·w`. Zero when the drag alone stops it.
    pub fn no_load_speed(&self, supply: &Supply) -> AngularSpeed {
        let total = self.resistance.si() + supply.resistance.si() / supply.controller_efficiency;
        let drop = total * self.drag_torque.si() / self.kt;
        let per_speed = self.kt + total * self.viscous / self.kt;
        AngularSpeed::from_si(((supply.open_circuit.si() - drop) / (per_speed * self.reduction)).max(0.0))
    }

    /// Output torque at standstill with the motor current at its phase limit.
    pub fn stall_torque(&self) -> Torque {
        self.output_torque(self.kt * self.phase_limit.si() - self.drag_torque.si())
    }

    fn drag(&self, speed: AngularSpeed) -> f64 {
        self.drag_torque.si() + self.viscous * self.reduction * speed.si()
    }

    /// Rotor torque through the gears: their loss is taken from whichever side drives.
    fn output_torque(&self, rotor: f64) -> Torque {
        let eta = if rotor >= 0.0 {
            self.gear_efficiency
        } else {
            1.0 / self.gear_efficiency
        };
        Torque::from_si(rotor * self.reduction * eta)
    }

    #[inline]
    fn at_current(
        &self,
        current: f64,
        speed: AngularSpeed,
        supply: &Supply,
        limit: MotorLimit,
    ) -> MotorPoint {
        let (u0, rp) = (supply.open_circuit.si(), supply.resistance.si());
        let motor_voltage = current * self.resistance.si() + self.kt * self.reduction * speed.si();
        let electric = if current > 0.0 {
            motor_voltage * current
        } else {
            0.0
        };
        let terminals = electric / supply.controller_efficiency;
        // The smaller root of V·I = P on the pack's line V = U0 − Rp·I, written without cancellation.
        let room = (u0 * u0 - 4.0 * rp * terminals).max(0.0).sqrt();
        let battery = 2.0 * terminals / (u0 + room);
        let pack = u0 - rp * battery;
        let torque = self.output_torque(self.kt * current - self.drag(speed));
        let output = torque.si() * speed.si();
        MotorPoint {
            limit,
            phase_current: Current::from_si(current),
            battery_current: Current::from_si(battery),
            pack_voltage: Voltage::from_si(pack),
            duty: if current > 0.0 { motor_voltage / pack } else { 1.0 },
            torque,
            output: Power::from_si(output),
            terminals: Power::from_si(terminals),
            cells: Power::from_si(u0 * battery),
            loss: Power::from_si(electric - output),
        }
    }
}

#[cfg(test)]
mod tests;
