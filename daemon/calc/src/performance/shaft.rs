//! What one gear makes of a road speed and of a torque, for crank and motor.

use std::f64::consts::TAU;

use super::{DrivePlace, DriveSystem};
use crate::assist::Output;
use crate::gearing::Gear;
use crate::quantity::{AngularSpeed, Force, Length, Speed, Torque};
use crate::road::RoadLoad;

/// One gear between crank, motor and road.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shaft {
    /// Crank speed per road speed, rad/m.
    crank_turn: f64,
    /// Force at the wheel per torque at the crank, 1/m.
    crank_push: f64,
    /// Speed of the motor's output per road speed, rad/m.
    motor_turn: f64,
    /// Force at the wheel per torque at the motor's output, 1/m.
    motor_push: f64,
    /// Crank turns per turn of the motor's output.
    crank_per_motor: f64,
    /// Road rolled per radian of the motor's output, m.
    road_per_motor: f64,
}

impl Shaft {
    pub(crate) fn new(system: &DriveSystem, road: &RoadLoad, gear: Gear) -> Self {
        let (radius, one) = (road.tyre_radius, Torque::newton_metres(1.0));
        let crank_turn = gear.cadence(Speed::from_si(1.0), radius * TAU).si();
        let through_chain = gear.wheel_torque(one, system.gears.chain_efficiency);
        let crank_push = through_chain.over_radius(radius).si();
        let (motor_turn, motor_push) = match system.place {
            DrivePlace::Hub => (1.0 / radius.si(), one.over_radius(radius).si()),
            DrivePlace::OtherHub { tyre_radius } => {
                (1.0 / tyre_radius.si(), one.over_radius(tyre_radius).si())
            }
            DrivePlace::Mid => (crank_turn, crank_push),
        };
        Self {
            crank_turn,
            crank_push,
            motor_turn,
            motor_push,
            crank_per_motor: crank_turn / motor_turn,
            road_per_motor: 1.0 / motor_turn,
        }
    }

    pub(crate) fn cadence(&self, v: f64) -> AngularSpeed {
        AngularSpeed::from_si(v * self.crank_turn)
    }

    pub(crate) fn motor_speed(&self, v: f64) -> AngularSpeed {
        AngularSpeed::from_si(v * self.motor_turn)
    }

    /// The motor's output at a road speed, as the assist sees it.
    pub(crate) fn output(&self, v: f64) -> Output {
        Output {
            speed: self.motor_speed(v),
            crank_turns: self.crank_per_motor,
            road: Length::from_si(self.road_per_motor),
        }
    }

    /// Road speed at a cadence.
    pub(crate) fn speed(&self, cadence: AngularSpeed) -> Speed {
        Speed::from_si(cadence.si() / self.crank_turn)
    }

    pub(crate) fn crank_force(&self, torque: Torque) -> Force {
        Force::from_si(torque.si() * self.crank_push)
    }

    pub(crate) fn motor_force(&self, torque: Torque) -> Force {
        Force::from_si(torque.si() * self.motor_push)
    }

    /// Change of the wheel's force with road speed from that of the output's torque with its speed.
    pub(crate) fn motor_slope(&self, torque_slope: f64) -> f64 {
        torque_slope * self.motor_turn * self.motor_push
    }

    /// Torque at the motor's output that gives a force at the wheel.
    pub(crate) fn motor_torque(&self, force: Force) -> Torque {
        Torque::from_si(force.si() / self.motor_push)
    }
}
