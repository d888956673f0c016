//! A motor with its heat: for how long it gives a torque.

use super::{Heating, Nodes, Temperatures, ThermalError, copper_resistance, temperatures};
use crate::motor::Motor;
use crate::quantity::{AngularSpeed, Current, Duration, Power, Temperature, Torque};

/// Magnet material; its flux falls as it warms, and the torque constant with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Magnet {
    /// Neodymium-iron-boron, −0.11 % per kelvin (from memory).
    Neodymium,
    /// Ferrite, −0.20 % per kelvin (from memory).
    Ferrite,
}

impl Magnet {
    /// Flux at a temperature over the flux at 20 °C, `1 − b·(T − 20 °C)`; −20 to 120 °C.
    pub fn strength(self, at: Temperature) -> f64 {
        let fall = match self {
            Self::Neodymium => 0.001_1,
            Self::Ferrite => 0.002,
        };
        1.0 - fall * (at.si() - super::REFERENCE.si())
    }
}

/// A motor, the way it sheds heat and what limits it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HotMotor {
    /// The motor with resistance and constant at 20 °C.
    pub motor: Motor,
    /// Its heat paths.
    pub nodes: Nodes,
    /// Magnets that weaken with the case's temperature; `None` leaves the constant as it is.
    pub magnet: Option<Magnet>,
    /// Temperature the winding must not pass: 100 to 120 °C for hub motors (common practice, no
    /// source), or what the data sheet says.
    pub limit: Temperature,
}

/// Pieces of the winding's time constant in which the current counts as constant while magnets fade.
const PIECES: f64 = 20.0;
/// Slow time constants after which nothing moves any more.
const SETTLED: f64 = 15.0;

impl HotMotor {
    /// Checks motor, nodes and limit; the motor's own complaint is that of [`Motor::check`].
    ///
    /// Error: [`ThermalError::Input`] naming the field.
    pub fn check(&self) -> Result<(), ThermalError> {
        if let Err(crate::motor::MotorError::Input { name, value }) = self.motor.check() {
            return Err(ThermalError::Input { name, value });
        }
        self.nodes.check()?;
        temperatures(&[("limit", self.limit)])
    }

    /// The motor as it is at two temperatures: warm copper, faded magnets.
    pub fn at(&self, temperatures: Temperatures) -> Motor {
        let strength = self.magnet.map_or(1.0, |m| m.strength(temperatures.case));
        Motor {
            resistance: copper_resistance(self.motor.resistance, temperatures.winding),
            kt: self.motor.kt * strength,
            ..self.motor
        }
    }

    /// Heat at an output torque and speed with the magnets at a temperature: copper in the winding,
    /// drag and gears in the case.
    pub fn heating(&self, torque: Torque, speed: AngularSpeed, now: Temperatures) -> Heating {
        let motor = self.at(now);
        let current = motor.current_for(torque, speed);
        let in_case = Power::from_si(motor.idle_loss(torque, speed).si().max(0.0));
        Heating::copper(current, self.motor.resistance, in_case)
    }

    /// Current that holds the winding at its limit while the case is as warm as it is, copper alone:
    /// `√((T_limit − T_case)/(R_wc·R(T_limit)))`; zero with a case as warm as that.
    ///
    /// Source: the steady state of the winding's node, `P = ΔT/R_wc`.
    pub fn holding(&self, now: Temperatures) -> Current {
        let flow = (self.limit.si() - now.case.si()) / self.nodes.winding_to_case.si();
        let resistance = copper_resistance(self.motor.resistance, self.limit).si();
        Current::from_si((flow / resistance).max(0.0).sqrt())
    }

    /// How long the motor gives an output torque at a speed before its winding comes to the limit;
    /// `None` for ever, zero when it is there already.
    ///
    /// The controller and the pack are taken to allow the torque; only heat is looked at.
    /// Errors: [`ThermalError::Input`] for figures out of range.
    pub fn holds(
        &self,
        torque: Torque,
        speed: AngularSpeed,
        start: Temperatures,
        air: Temperature,
    ) -> Result<Option<Duration>, ThermalError> {
        self.check()?;
        super::not_negative(&[("torque", torque.si()), ("speed", speed.si())])?;
        if self.magnet.is_none() {
            let heating = self.heating(torque, speed, start);
            return self.nodes.holds(start, &heating, air, self.limit);
        }
        if self.stays_below(torque, speed, start, air) {
            return Ok(None);
        }
        self.step_by_step(torque, speed, start, air)
    }

    /// Whether the winding is sure to stay below its limit.
    ///
    /// A warmer case only warms the winding more, and weaker magnets and warmer copper only make more heat; so
    /// temperatures that start below a corner at which neither rises never leave the box below it. The corner
    /// looked at is the limit and the case that settles with it.
    pub(super) fn stays_below(
        &self,
        torque: Torque,
        speed: AngularSpeed,
        start: Temperatures,
        air: Temperature,
    ) -> bool {
        let nodes = &self.nodes;
        let (between, out) = (1.0 / nodes.winding_to_case.si(), 1.0 / nodes.case_to_air.si());
        let made = self.heating(torque, speed, start).in_case.si();
        let case = (made + self.limit.si() * between + air.si() * out) / (between + out);
        let corner = Temperatures {
            winding: self.limit,
            case: Temperature::kelvins(case),
        };
        let [winding, _] = nodes.slope(corner, &self.heating(torque, speed, corner), air);
        start.winding < corner.winding && start.case <= corner.case && winding < 0.0
    }

    /// [`HotMotor::holds`] by pieces of time in which the current counts as constant.
    pub(super) fn step_by_step(
        &self,
        torque: Torque,
        speed: AngularSpeed,
        start: Temperatures,
        air: Temperature,
    ) -> Result<Option<Duration>, ThermalError> {
        let nodes = &self.nodes;
        let piece = Duration::from_si(nodes.winding_to_case.si() * nodes.winding.si() / PIECES);
        let slow = nodes.case_to_air.si() * (nodes.winding.si() + nodes.case.si());
        let (mut now, mut time) = (start, 0.0);
        while time < SETTLED * slow {
            // The magnets half a piece on decide the current of the piece.
            let guess = nodes.after(now, &self.heating(torque, speed, now), air, piece * 0.5);
            let heating = self.heating(torque, speed, guess);
            let next = nodes.after(now, &heating, air, piece);
            // When exactly costs more to find than a piece, and most pieces end below the limit.
            if now.winding.si().max(next.winding.si()) >= self.limit.si()
                && let Some(rest) = nodes.holds(now, &heating, air, self.limit)?
                && rest <= piece
            {
                return Ok(Some(Duration::seconds(time) + rest));
            }
            now = next;
            time += piece.si();
        }
        Ok(None)
    }
}
