//! One gear on one road: forces at the wheel, their balance and the state there.

use super::{Climb, DriveSystem, Limit, Rider, Shaft};
use crate::assist::{Assist, Legs, Policy, Pull};
use crate::gearing::Gear;
use crate::motor::{MotorLimit, MotorPoint, Supply};
use crate::quantity::{AngularSpeed, Current, Density, Force, Grade, Power, Speed, Torque};
use crate::road::{Drag, RoadLoad, Slope};
use crate::solve::root;

/// Where a bicycle rides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Density of the air.
    pub rho: Density,
    /// Slope of the road.
    pub grade: Grade,
    /// Wind against the motion at the rider; negative from behind.
    pub headwind: Speed,
}

impl Place {
    /// A slope in still air.
    pub const fn still(rho: Density, grade: Grade) -> Self {
        Self {
            rho,
            grade,
            headwind: Speed::ZERO,
        }
    }
}

/// One gear on one road.
pub(super) struct Run<'a> {
    system: &'a DriveSystem,
    assist: Assist,
    rider: Option<&'a Rider>,
    drag: Drag,
    slope: Slope,
    headwind: f64,
    shaft: Shaft,
    supply: Supply,
}

/// What the motor could give and what it is asked for.
#[derive(Clone, Copy)]
struct Help {
    full: MotorPoint,
    torque: Torque,
}

/// Highest speed looked at, m/s, and the one at which looking begins.
const FASTEST: f64 = 256.0;
const USUAL: f64 = 4.0;
/// How much further it is looked each time.
const FURTHER: f64 = 2.0;
/// Force that counts as none, N: far above what is left at a root, far below what a jump takes away.
const BALANCED: f64 = 1e-6;
/// How close a speed is found, as a share of it.
const CLOSE: f64 = 1e-13;
/// Speed at which a bicycle counts as rolling already, m/s: what waits at standstill has woken.
const ROLLING: f64 = 1e-9;
/// Halvings of the speed interval: 256 m/s down to below 1e-12 m/s.
const HALVINGS: usize = 50;

/// What feeds the motor at the pack's charge: the current that its cut-off leaves of the controller's.
fn supply(system: &DriveSystem) -> Supply {
    let whole = system.battery_limit;
    Supply {
        open_circuit: system.pack.open_circuit,
        resistance: system.pack.resistance,
        battery_limit: system.fold.map_or(whole, |fold| fold.limit(&system.pack, whole)),
        controller_efficiency: system.controller_efficiency,
    }
}

impl<'a> Run<'a> {
    pub(super) fn new(
        system: &'a DriveSystem,
        rider: Option<&'a Rider>,
        road: &'a RoadLoad,
        place: Place,
        gear: Gear,
    ) -> Self {
        Self {
            system,
            assist: Assist::FULL,
            rider,
            drag: road.drag(place.rho),
            slope: Slope::of(place.grade),
            headwind: place.headwind.si(),
            shaft: Shaft::new(system, road, gear),
            supply: supply(system),
        }
    }

    /// The same run with another assist than the full one.
    pub(super) fn under(self, assist: Assist) -> Self {
        Self { assist, ..self }
    }

    fn cadence(&self, v: f64) -> AngularSpeed {
        self.shaft.cadence(v)
    }

    /// Whether the rider's legs still follow.
    fn pedalling(&self, v: f64) -> bool {
        self.rider
            .is_none_or(|rider| self.cadence(v) <= rider.max_cadence)
    }

    fn assisted(&self, v: f64) -> bool {
        let limits = [self.system.assist_cutoff, self.assist.ends_at()];
        let below = limits.into_iter().flatten().all(|limit| v <= limit.si());
        below && (self.by_thumb() || self.pedalling(v))
    }

    /// Whether the motor goes on when nobody pedals.
    fn by_thumb(&self) -> bool {
        matches!(self.assist.policy, Policy::Throttle { .. })
    }

    fn legs(&self, v: f64) -> Legs {
        self.rider
            .filter(|_| self.pedalling(v))
            .map_or(Legs::NONE, |rider| rider.legs(self.cadence(v)))
    }

    /// The motor while it helps at all.
    fn motor(&self, v: f64) -> Option<Help> {
        let motor = self.system.motor.as_ref().filter(|_| self.assisted(v))?;
        let output = self.shaft.output(v);
        let full = motor.full_assist(output.speed, &self.supply);
        let most = Pull {
            torque: full.torque,
            slope: 0.0,
        };
        let torque = self.assist.torque(self.legs(v), output, most).torque;
        Some(Help { full, torque })
    }

    /// The motor with all it has.
    pub(super) fn full(&self, v: f64) -> Option<MotorPoint> {
        self.motor(v).map(|help| help.full)
    }

    fn rider_force(&self, v: f64) -> f64 {
        self.shaft.crank_force(self.legs(v).torque).si()
    }

    fn resistance(&self, v: f64) -> f64 {
        self.drag.forces(v, self.headwind, &self.slope).iter().sum()
    }

    /// Force left over to speed up, N. A motor without push is taken to freewheel, not to drag.
    pub(super) fn surplus(&self, v: f64) -> f64 {
        let motor = self.motor(v).map_or(0.0, |help| {
            self.shaft.motor_force(help.torque.max(Torque::ZERO)).si()
        });
        motor + self.rider_force(v) - self.resistance(v)
    }

    /// The last speeds at which the motor helps and the legs follow: beyond them the force falls at once.
    fn ends(&self) -> [Option<f64>; 3] {
        let of_system = self.system.assist_cutoff.map(Speed::si);
        let of_assist = self.assist.ends_at().map(|end| {
            let answers = |v: f64| v <= end.si() && self.assist.reaches(self.shaft.output(v).road_speed());
            last(end, answers)
        });
        let of_legs = self.rider.map(|rider| {
            let fastest = self.shaft.speed(rider.max_cadence);
            last(fastest, |v| self.pedalling(v))
        });
        [of_system, of_assist, of_legs]
    }

    /// The speed at which the surplus turns negative; zero when it is not positive even at a crawl.
    /// At a jump it is the last speed before it.
    pub(super) fn equilibrium(&self) -> f64 {
        if self.surplus(ROLLING) <= 0.0 {
            return 0.0;
        }
        self.equilibrium_above(ROLLING)
    }

    /// [`Run::equilibrium`] where the surplus is known to be positive at a speed above zero.
    pub(super) fn equilibrium_above(&self, speed: f64) -> f64 {
        let (mut low, mut high) = (speed, f64::INFINITY);
        for last in self.ends().into_iter().flatten() {
            if !(low < last && last < high) {
                continue;
            }
            let beyond = last.next_up();
            if self.surplus(last) <= 0.0 {
                high = last;
            } else if self.surplus(beyond) <= 0.0 {
                return last;
            } else {
                low = beyond;
            }
        }
        if high.is_infinite() {
            high = USUAL.max(FURTHER * low);
            while self.surplus(high) > 0.0 {
                if high >= FASTEST {
                    return FASTEST;
                }
                (low, high) = (high, FURTHER * high);
            }
        }
        let found = root(|v| self.surplus(v), low, high, CLOSE);
        // The root found may lie beyond the sign, by no more than the search looked at.
        let before = found.map(|v| [v, v * (1.0 - 2.0 * CLOSE)]).unwrap_or([0.0; 2]);
        let is_root = |v: &f64| *v > 0.0 && (0.0..BALANCED).contains(&self.surplus(*v));
        // At a jump halving comes to the same speed whatever else changes a little.
        before.into_iter().find(is_root).unwrap_or_else(|| self.halved())
    }

    /// As [`Run::equilibrium`], whatever the force does on the way.
    pub(super) fn halved(&self) -> f64 {
        let (mut low, mut high) = (0.0, FASTEST);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.surplus(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }

    /// The state at the equilibrium. Just below a jump (cut-off, highest cadence) the motor gives
    /// only the force that is missing.
    pub(super) fn climb(&self, index: usize, v: f64) -> Climb {
        let help = self.motor(v);
        let part = help.and_then(|Help { full, torque: asked }| {
            let motor = self.system.motor.as_ref()?;
            let missing = Force::from_si(self.resistance(v) - self.rider_force(v));
            let missing = self.shaft.motor_torque(missing).si();
            let wanted = if v == 0.0 {
                asked
            } else {
                Torque::from_si(missing.clamp(0.0, asked.si().max(0.0)))
            };
            if wanted >= full.torque {
                return Some(full);
            }
            Some(motor.part_load(wanted, self.shaft.motor_speed(v), &self.supply))
        });
        let point = part.filter(|p| p.torque.si() > 0.0);
        // Legs that alone would go past a jump hold back to what the road takes.
        let legs = self.rider_force(v).min(self.resistance(v).max(0.0));
        let rider_power = legs * v / self.system.gears.chain_efficiency;
        Climb {
            speed: Speed::from_si(v),
            gear: index,
            cadence: self.cadence(v),
            limit: self.limit(v, help),
            motor_power: point.map_or(Power::ZERO, |p| p.output),
            motor_torque: point.map_or(Torque::ZERO, |p| p.torque),
            motor_speed: self.shaft.motor_speed(v),
            rider_power: Power::from_si(rider_power),
            battery_current: point.map_or(Current::ZERO, |p| p.battery_current),
            pack_voltage: point.map_or(self.system.pack.open_circuit, |p| p.pack_voltage),
            motor_loss: point.map_or(Power::ZERO, |p| p.loss),
        }
    }

    fn limit(&self, v: f64, help: Option<Help>) -> Limit {
        // Bisection stops a hair below a jump; look a hair above it for what ends there.
        let above = v * (1.0 + 1e-9) + 1e-9;
        if !self.pedalling(above) && (self.pedalling(v) || !self.by_thumb()) {
            return Limit::Cadence;
        }
        if self.system.motor.is_none() || self.assist.policy == Policy::Off {
            return Limit::NoMotor;
        }
        if !self.assisted(above) {
            return Limit::AssistCutoff;
        }
        match help {
            Some(Help { full, torque }) if torque < full.torque => Limit::AssistLevel,
            Some(Help { full, .. }) => match full.limit {
                MotorLimit::PhaseCurrent => Limit::PhaseCurrent,
                MotorLimit::BatteryCurrent if self.supply.battery_limit < self.system.battery_limit => {
                    Limit::LowVoltage
                }
                MotorLimit::BatteryCurrent => Limit::BatteryCurrent,
                MotorLimit::Voltage => Limit::Voltage,
            },
            None => Limit::NoMotor,
        }
    }
}

/// The last number up to which something holds, where rounding puts it beside the speed at which it should end.
fn last(end: Speed, holds: impl Fn(f64) -> bool) -> f64 {
    let mut last = end.si();
    while !holds(last) {
        last = last.next_down();
    }
    while holds(last.next_up()) {
        last = last.next_up();
    }
    last
}
