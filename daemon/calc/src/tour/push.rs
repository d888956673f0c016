//! What legs and motor push with at a speed.

use crate::assist::{Assist, Legs, Policy, Pull};
use crate::motor::{Motor, MotorPoint, Supply};
use crate::performance::{Rider, Shaft};
use crate::quantity::{Force, Torque};

/// Who pushes. Each push ends at a speed of its own, so along the speed there are three ranges.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Level {
    /// Legs and motor.
    Both,
    /// Legs alone: above the assist cut-off.
    Legs,
    /// Nobody: above the cadence or the speed that the rider wants.
    Nobody,
}

impl Level {
    pub(super) const RISING: [Self; 3] = [Self::Both, Self::Legs, Self::Nobody];
}

/// Forces at the wheel at one speed.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Push {
    /// From the motor, N.
    pub(super) motor: f64,
    /// From the legs, N.
    pub(super) legs: f64,
    /// Change of both with speed, N·s/m.
    pub(super) slope: f64,
    /// The motor's state while it pushes.
    pub(super) point: Option<MotorPoint>,
}

impl Push {
    pub(super) fn force(&self) -> f64 {
        self.motor + self.legs
    }
}

/// Everything that pushes, in one gear at one state of charge.
pub(super) struct Drive<'a> {
    pub(super) motor: Option<&'a Motor>,
    pub(super) rider: Option<&'a Rider>,
    pub(super) assist: Assist,
    pub(super) supply: Supply,
    pub(super) shaft: Shaft,
}

impl Drive<'_> {
    /// The most that a level pushes at a speed `v > 0`.
    #[inline]
    pub(super) fn at(&self, v: f64, level: Level) -> Push {
        if level == Level::Nobody {
            return Push::default();
        }
        let mut push = Push::default();
        let legs = self
            .rider
            .map_or(Legs::NONE, |rider| rider.legs(self.shaft.cadence(v)));
        push.legs = self.shaft.crank_force(legs.torque).si();
        if legs.steady_power {
            push.slope = -push.legs / v;
        }
        if let (Level::Both, Some(motor)) = (level, self.motor) {
            self.add_motor(&mut push, motor, v, legs);
        }
        push
    }

    #[inline]
    fn add_motor(&self, push: &mut Push, motor: &Motor, v: f64, legs: Legs) {
        if self.assist.policy == Policy::Off {
            return;
        }
        let output = self.shaft.output(v);
        let full = motor.full_assist(output.speed, &self.supply);
        let most = Pull {
            torque: full.torque,
            slope: motor.torque_slope(&full, output.speed, &self.supply),
        };
        let pull = self.assist.torque(legs, output, most);
        let point = motor.cut_back(full, pull.torque, output.speed, &self.supply);
        // A motor without push freewheels.
        if point.torque > Torque::ZERO {
            push.motor = self.shaft.motor_force(point.torque).si();
            push.slope += self.shaft.motor_slope(pull.slope);
            push.point = Some(point);
        }
    }

    /// Cuts a push at a speed back to the force that is needed there, from 0 to what it gives. The legs
    /// go on as they are and the motor gives the rest; only where rider and motor end together and the
    /// motor follows the legs do both give way alike.
    pub(super) fn cut(&self, push: &Push, v: f64, need: f64, together: bool) -> Push {
        let share = match self.assist.policy {
            Policy::TorqueSensor { .. } if together && push.force() > 0.0 => (need / push.force()).min(1.0),
            _ => 1.0,
        };
        let legs = (push.legs * share).min(need);
        let wanted = (need - legs).clamp(0.0, push.motor);
        let point = push.point.zip(self.motor).filter(|_| wanted > 0.0);
        let point = point.map(|(full, motor)| {
            let torque = self.shaft.motor_torque(Force::from_si(wanted));
            motor.cut_back(full, torque, self.shaft.motor_speed(v), &self.supply)
        });
        Push {
            motor: point.map_or(0.0, |p| self.shaft.motor_force(p.torque).si()),
            legs,
            slope: push.slope,
            point,
        }
    }
}
