//! The tour as it goes on: gear, charge, warmth and books from piece to piece.

use super::books::{Ledger, Outcome, Stretch};
use super::motion::{Before, Moved, Piece};
use super::push::{Drive, Level};
use super::track::Part;
use super::warm::Warm;
use super::{HELP_LEFT, Moment, TourError, Tourer};
use crate::motor::Motor;
use crate::performance::{self, DriveSystem, PerformanceError, Shaft};
use crate::quantity::{Duration, Energy, Length, Power, Speed, Voltage};
use crate::road::Drag;

/// Shortest piece of a step where the motion changes much, m.
const SHORTEST: f64 = 0.5;
/// Longest piece, m: charge and warmth count as constant within it.
const LONGEST_PIECE: f64 = 100.0;
/// Share of the kinetic energy that the net force may change in one piece.
const CHANGE: f64 = 0.5;
/// Way to the start of braking below which the rider brakes at once, m.
const TURN: f64 = 0.05;
/// Lag of a brake rotor's temperature behind its power, s: 30 to 120 s for rotors of 0.10 to 0.15 kg
/// at 5 to 10 m/s (workshop judgement, no source).
const ROTOR_LAG: f64 = 60.0;
/// Share of the folded-back battery limit from which on the current counts as held there.
const AT_LIMIT: f64 = 0.999;

struct InGear {
    shaft: Shaft,
    /// Speed at the rider's highest cadence, m/s; infinite without a rider.
    spun_out: f64,
}

pub(super) struct Engine<'a> {
    tourer: &'a Tourer<'a>,
    gears: Vec<InGear>,
    drag: Drag,
    mass: f64,
    motor: Option<Motor>,
    warm: Option<Warm>,
    gear: usize,
    speed: f64,
    charge: f64,
    walking: bool,
    before: Before,
    rotor: f64,
    drained: bool,
    outcome: Outcome,
}

impl<'a> Engine<'a> {
    pub(super) fn new(tourer: &'a Tourer<'a>) -> Result<Self, TourError> {
        tourer.battery.check()?;
        tourer.habits.check()?;
        tourer.assist.check().map_err(PerformanceError::from)?;
        let mut gears = performance::checked(tourer.system, tourer.rider, tourer.road, tourer.rho)?;
        gears.sort_by(|a, b| a.ratio().total_cmp(&b.ratio()));
        let in_gear = |gear| {
            let shaft = Shaft::new(tourer.system, tourer.road, gear);
            let spun_out = tourer
                .rider
                .map_or(f64::INFINITY, |rider| shaft.speed(rider.max_cadence).si());
            InGear { shaft, spun_out }
        };
        let warm = Warm::new(tourer)?;
        let motor = match &warm {
            Some(warm) => Some(warm.motor()),
            None => tourer.system.motor,
        };
        let full = tourer.battery.open_circuit(tourer.battery.state_of_charge);
        Ok(Self {
            gears: gears.into_iter().map(in_gear).collect(),
            drag: tourer.road.drag(tourer.rho),
            mass: tourer.road.equivalent_mass().si(),
            motor,
            gear: 0,
            speed: 0.0,
            charge: tourer.battery.state_of_charge,
            walking: false,
            before: Before::nothing(),
            rotor: 0.0,
            drained: false,
            outcome: Outcome {
                distance: Length::ZERO,
                time: Duration::ZERO,
                standing: Duration::ZERO,
                fastest: Speed::ZERO,
                lowest_voltage: full,
                lowest_at: Length::ZERO,
                hottest: warm.as_ref().map(Warm::hottest),
                walked: Vec::new(),
                rotor_power: Power::ZERO,
                state_of_charge: tourer.battery.state_of_charge,
                folded: None,
                ledger: Ledger::default(),
            },
            tourer,
            warm,
        })
    }

    /// Rides one step of the road.
    pub(super) fn ride(&mut self, part: &Part, observe: &mut impl FnMut(&Moment)) {
        let mut left = part.length;
        if self.walking || self.speed == 0.0 {
            self.set_off(part);
        }
        while left > 0.0 {
            if self.walking {
                self.walk(part, left);
                left = 0.0;
                self.moment(None, observe);
                continue;
            }
            self.shift();
            let (mut piece, limit) = self.piece(part, left);
            piece.length = left.min(self.steady_for(piece.expected(self.speed, &self.before)));
            // The rider pushes on to where the braking for a stop begins.
            let braking = self.tourer.habits.braking.si();
            let free = part.to_stop + left - self.speed * self.speed / (2.0 * braking);
            if free > TURN && free < piece.length {
                piece.length = free;
            }
            // From standstill to standstill there must be a moving piece in between.
            if self.speed == 0.0 && piece.length == left && part.to_stop == 0.0 {
                piece.length = 0.5 * left;
            }
            let after = left - piece.length;
            let stop = (2.0 * braking * (part.to_stop + after)).sqrt();
            let end = limit.min(stop);
            piece.ends = piece.ends.map(|e| e.min(end));
            let moved = piece.ride(self.speed, &self.before);
            let walking = self.tourer.habits.walking.si();
            let (length, limit) = (piece.length, piece.drive.supply.battery_limit);
            match moved {
                Some(m) if m.last >= walking.min(self.speed) || m.last >= end => {
                    let folded = limit < self.tourer.system.battery_limit;
                    if folded && m.level == Level::Both && self.motor.is_some() {
                        let held = m.push.point.map(|p| p.battery_current >= limit * AT_LIMIT);
                        if held.unwrap_or(limit.si() == 0.0) && self.outcome.folded.is_none() {
                            self.outcome.folded = Some(self.outcome.distance);
                        }
                    }
                    self.book(&m, length);
                    left = if after > 1e-9 * part.length { after } else { 0.0 };
                    let volts = m.push.point.map(|p| p.pack_voltage);
                    self.moment(volts, observe);
                }
                _ => self.dismount(),
            }
        }
        if let Some(standing) = part.stop {
            self.stand(standing);
        }
    }

    /// Whether the pack gives hardly any help at its present charge.
    pub(super) fn at_cutoff(&self) -> bool {
        let DriveSystem {
            battery_limit: whole,
            controller_efficiency: efficiency,
            ..
        } = *self.tourer.system;
        let left = self.tourer.battery.supply(self.charge, whole, efficiency);
        self.motor.is_some() && left.battery_limit < whole * HELP_LEFT
    }

    pub(super) fn empty(&self) -> bool {
        self.drained
    }

    pub(super) fn distance(&self) -> Length {
        self.outcome.distance
    }

    pub(super) fn outcome(mut self) -> Outcome {
        self.update_heat();
        self.outcome.state_of_charge = self.charge;
        self.outcome.ledger.kinetic = Energy::from_si(self.kinetic(self.speed));
        self.outcome.hottest = self.warm.as_ref().map(Warm::hottest);
        self.outcome
    }

    fn kinetic(&self, speed: f64) -> f64 {
        0.5 * self.mass * speed * speed
    }

    /// Length over which a net force leaves the motion much as it is, m.
    fn steady_for(&self, force: f64) -> f64 {
        if self.speed == 0.0 {
            return SHORTEST;
        }
        (CHANGE * self.kinetic(self.speed) / force.abs()).clamp(SHORTEST, LONGEST_PIECE)
    }

    /// Shifts to the cadence the rider likes once it has left the band around it.
    fn shift(&mut self) {
        let habits = &self.tourer.habits;
        let wish = habits.cadence.si();
        let off = |gear: &InGear, speed: f64| {
            let cadence = gear.shaft.cadence(speed).si();
            (cadence / wish).max(wish / cadence)
        };
        if off(&self.gears[self.gear], self.speed) <= 1.0 + habits.slack {
            return;
        }
        let too_fast = self.gears[self.gear].shaft.cadence(self.speed).si() > wish;
        // One gear after another while the next is nearer to the wish.
        loop {
            let next = if too_fast {
                self.gear + 1
            } else {
                self.gear.wrapping_sub(1)
            };
            match self.gears.get(next) {
                Some(gear) if off(gear, self.speed) < off(&self.gears[self.gear], self.speed) => {
                    self.gear = next
                }
                _ => return,
            }
        }
    }

    /// The piece of road ahead in the gear chosen, with the speed that the rider never passes.
    #[inline]
    fn piece(&self, part: &Part, length: f64) -> (Piece<'_>, f64) {
        let (tourer, gear) = (self.tourer, &self.gears[self.gear]);
        let system = tourer.system;
        let fastest = tourer.habits.fastest.si();
        let cruise = tourer.habits.cruise.map_or(f64::INFINITY, Speed::si);
        let legs = gear.spun_out.min(cruise).min(fastest);
        let ends = [system.assist_cutoff, tourer.assist.ends_at()];
        let motor = ends.into_iter().flatten().map(Speed::si).fold(legs, f64::min);
        let supply = tourer
            .battery
            .supply(self.charge, system.battery_limit, system.controller_efficiency);
        let piece = Piece {
            drive: Drive {
                motor: self.motor.as_ref(),
                rider: tourer.rider,
                assist: tourer.assist,
                supply,
                shaft: gear.shaft,
            },
            drag: &self.drag,
            mass: self.mass,
            slope: part.slope,
            headwind: part.headwind,
            length,
            ends: [motor, legs, fastest],
        };
        (piece, fastest)
    }

    /// From standstill or on foot: rides if the drive has force to spare in its lowest gear.
    fn set_off(&mut self, part: &Part) {
        let from = if self.walking { self.speed } else { 0.0 };
        self.gear = 0;
        self.before = Before::nothing();
        let (piece, _) = self.piece(part, part.length);
        let rides = piece.surplus(from) > 0.0;
        self.walking = false;
        if !rides {
            self.dismount();
        }
    }

    /// On foot from here; what the speed differs from walking pace is braked or pushed.
    fn dismount(&mut self) {
        let pace = self.tourer.habits.walking.si();
        let gain = Energy::from_si(self.kinetic(pace) - self.kinetic(self.speed));
        let ledger = &mut self.outcome.ledger;
        ledger.pushed = ledger.pushed + gain.max(Energy::ZERO);
        ledger.brakes = ledger.brakes + (-gain).max(Energy::ZERO);
        self.speed = pace;
        self.walking = true;
        self.gear = 0;
    }

    fn walk(&mut self, part: &Part, length: f64) {
        let pace = self.tourer.habits.walking.si();
        let forces = self.drag.forces(pace, part.headwind, &part.slope);
        let push: f64 = forces.iter().sum();
        self.book_road(&forces, length);
        let ledger = &mut self.outcome.ledger;
        ledger.pushed = ledger.pushed + Energy::from_si(push.max(0.0) * length);
        ledger.brakes = ledger.brakes + Energy::from_si((-push).max(0.0) * length);
        let from = self.outcome.distance;
        let to = from + Length::from_si(length);
        match self.outcome.walked.last_mut() {
            Some(last) if last.to == from => last.to = to,
            _ => self.outcome.walked.push(Stretch { from, to }),
        }
        self.pass(length, length / pace, (-push).max(0.0));
        if let Some(warm) = &mut self.warm {
            warm.wait(length / pace);
        }
        self.update_heat();
        // A stop at the end of a stretch on foot needs no brakes.
        if part.stop.is_some() {
            let ledger = &mut self.outcome.ledger;
            ledger.brakes = ledger.brakes + Energy::from_si(0.5 * self.mass * pace * pace);
            self.speed = 0.0;
            self.walking = false;
        }
    }

    #[inline]
    fn book(&mut self, moved: &Moved, length: f64) {
        let time = length / moved.mean;
        self.book_road(&moved.resistance, length);
        let ledger = &mut self.outcome.ledger;
        ledger.motor_work = ledger.motor_work + Energy::from_si(moved.push.motor * length);
        ledger.rider_work = ledger.rider_work + Energy::from_si(moved.push.legs * length);
        ledger.brakes = ledger.brakes + Energy::from_si(moved.brake * length);
        if let Some(point) = &moved.push.point {
            let over = |power: Power| Energy::from_si(power.si() * time);
            let resistance = self.motor.map_or(0.0, |m| m.resistance.si());
            let copper = Power::from_si(resistance * point.phase_current.si().powi(2));
            let rest = point.loss - copper;
            ledger.cells = ledger.cells + over(point.cells);
            ledger.pack = ledger.pack + over(point.cells - point.terminals);
            ledger.controller = ledger.controller + over(point.terminals - point.loss - point.output);
            let (over_copper, over_rest) = (over(copper), over(rest));
            ledger.copper = ledger.copper + over_copper;
            ledger.motor_rest = ledger.motor_rest + over_rest;
            let at_wheel = moved.push.motor * moved.mean;
            ledger.chain = ledger.chain + over(point.output - Power::from_si(at_wheel));
            self.charge -= point.battery_current.si() * time / self.tourer.battery.charge.si();
            self.drained |= self.charge <= 0.0;
            if point.pack_voltage < self.outcome.lowest_voltage {
                self.outcome.lowest_voltage = point.pack_voltage;
                self.outcome.lowest_at = self.outcome.distance;
            }
            if let Some(warm) = &mut self.warm {
                warm.heat(over_copper, over_rest);
            }
        }
        self.before = Before {
            level: moved.level,
            speed: moved.mean,
            force: moved.push.force(),
            slope: moved.push.slope,
        };
        self.speed = moved.last;
        self.outcome.fastest = self.outcome.fastest.max(Speed::from_si(moved.last));
        self.pass(length, time, moved.brake * moved.mean);
        if self.warm.as_mut().is_some_and(|warm| warm.wait(time)) {
            self.update_heat();
        }
    }

    #[inline]
    fn book_road(&mut self, forces: &[f64; 4], length: f64) {
        let ledger = &mut self.outcome.ledger;
        let [air, rolling, bearing, climbing] = forces.map(|force| Energy::from_si(force * length));
        ledger.air = ledger.air + air;
        ledger.rolling = ledger.rolling + rolling;
        ledger.bearing = ledger.bearing + bearing;
        ledger.climbing = ledger.climbing + climbing;
    }

    /// Distance and time go on, and the rotors follow the braking power with their lag.
    #[inline]
    fn pass(&mut self, length: f64, time: f64, braking: f64) {
        self.outcome.distance = self.outcome.distance + Length::from_si(length);
        self.outcome.time = self.outcome.time + Duration::from_si(time);
        if braking > 0.0 || self.rotor > 0.0 {
            self.rotor += (braking - self.rotor) * time / (ROTOR_LAG + time);
            self.outcome.rotor_power = self.outcome.rotor_power.max(Power::from_si(self.rotor));
        }
    }

    fn stand(&mut self, time: f64) {
        self.outcome.standing = self.outcome.standing + Duration::from_si(time);
        self.pass(0.0, time, 0.0);
        if let Some(warm) = &mut self.warm {
            warm.wait(time);
        }
        self.update_heat();
    }

    fn update_heat(&mut self) {
        let at = self.outcome.distance;
        if let Some(warm) = &mut self.warm {
            warm.update(at);
            self.motor = Some(warm.motor());
        }
    }

    fn moment(&self, volts: Option<Voltage>, observe: &mut impl FnMut(&Moment)) {
        observe(&Moment {
            at: self.outcome.distance,
            speed: Speed::from_si(self.speed),
            state_of_charge: self.charge,
            voltage: volts.unwrap_or_else(|| self.tourer.battery.open_circuit(self.charge)),
            winding: self.warm.as_ref().map(Warm::winding),
        });
    }
}

impl Before {
    fn nothing() -> Self {
        Self {
            level: Level::Nobody,
            speed: 0.0,
            force: 0.0,
            slope: 0.0,
        }
    }
}
