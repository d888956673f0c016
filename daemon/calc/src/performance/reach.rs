//! The steepest road that a gear holds and starts on.
//!
//! At a given speed the drive has one force to spare, and rolling and climbing take it on exactly one grade:
//! `F = m·g·(sin θ + Crr·cos θ)`. So no search is needed.

use super::run::{Place, Run};
use super::{DriveSystem, PerformanceError, Rider, checked};
use crate::assist::Assist;
use crate::motor::MotorPoint;
use crate::pack::PackState;
use crate::quantity::{Acceleration, Density, Force, Grade, Speed};
use crate::road::RoadLoad;

/// What one gear climbs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Index of the gear, as [`super::Gears::at`] takes it.
    pub gear: usize,
    /// Steepest grade that is held at the speed asked for; negative where it takes a descent, infinite
    /// where the drive would lift the bicycle.
    pub held: Grade,
    /// Steepest grade on which it starts with the acceleration asked for.
    pub started: Grade,
}

impl Reach {
    /// Steepest grade that can be both started on and held in this gear.
    pub fn ridden(&self) -> Grade {
        if self.started < self.held {
            self.started
        } else {
            self.held
        }
    }
}

/// What is asked of a climb.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Speed to be held, 0.1 m/s or more: a walking pace, or what the rider calls climbing.
    pub speed: Speed,
    /// Acceleration to be had from standstill, 0 or more.
    pub start: Acceleration,
    /// The pack while starting, with its resistance to a short load.
    pub starting_pack: PackState,
    /// How the motor answers.
    pub assist: Assist,
}

/// Steepest grades in every gear, in the order of [`super::Gears::all`].
///
/// A gear that would spin the rider out below the speed, or whose motor has ended there, holds what is left.
/// Errors: [`PerformanceError`] for figures out of range.
pub fn reach_by_gear(
    system: &DriveSystem,
    rider: Option<&Rider>,
    road: &RoadLoad,
    rho: Density,
    wanted: &Wanted,
) -> Result<Vec<Reach>, PerformanceError> {
    for (name, value, low) in [
        ("wanted.speed", wanted.speed.si(), 0.1),
        ("wanted.start", wanted.start.si(), 0.0),
    ] {
        if !(value.is_finite() && value >= low) {
            return Err(PerformanceError::Input { name, value });
        }
    }
    let starting = DriveSystem {
        pack: wanted.starting_pack,
        ..system.clone()
    };
    wanted.assist.check()?;
    let gears = checked(system, rider, road, rho)?;
    checked(&starting, rider, road, rho)?;
    let level = |rho| Place::still(rho, Grade::LEVEL);
    let inertia = road.equivalent_mass().si() * wanted.start.si();
    let reach = |(index, gear)| {
        // What is left over on the level would have rolled there: climbing takes it with the rolling.
        let holding = Run::new(system, rider, road, level(rho), gear).under(wanted.assist);
        let beginning = Run::new(&starting, rider, road, level(Density::ZERO), gear).under(wanted.assist);
        let rolling = road.weight().si() * road.crr;
        let grade = |spare: f64| road.steepest_for(Force::from_si(spare + rolling));
        Reach {
            gear: index,
            held: grade(holding.surplus(wanted.speed.si())),
            started: grade(beginning.surplus(0.0) - inertia),
        }
    };
    Ok(gears.into_iter().enumerate().map(reach).collect())
}

/// The gear that rides the steepest grade, held and started alike; of equal ones the first.
/// `None` for no gear at all.
pub fn steepest(gears: &[Reach]) -> Option<Reach> {
    gears.iter().copied().reduce(
        |best, next| {
            if next.ridden() > best.ridden() { next } else { best }
        },
    )
}

/// What the motor gives and draws with all it has at a speed in a gear, whatever the road asks; `None`
/// without a motor, beyond its limits, or where the rider's legs no longer follow.
///
/// `gear` is an index of [`super::Gears::all`].
/// Errors: [`PerformanceError`] for figures out of range, a gear that is not there among them.
pub fn full_pull(
    system: &DriveSystem,
    rider: Option<&Rider>,
    road: &RoadLoad,
    gear: usize,
    speed: Speed,
) -> Result<Option<MotorPoint>, PerformanceError> {
    let value = speed.si();
    if !(value.is_finite() && value >= 0.0) {
        return Err(PerformanceError::Input { name: "speed", value });
    }
    let gears = checked(system, rider, road, Density::ZERO)?;
    let missing = PerformanceError::Input {
        name: "gear",
        value: gear as f64,
    };
    let gear = *gears.get(gear).ok_or(missing)?;
    let place = Place::still(Density::ZERO, Grade::LEVEL);
    Ok(Run::new(system, rider, road, place, gear).full(speed.si()))
}

/// Acceleration from standstill in every gear with the motor answering as `assist` says, in the order of [`super::Gears::all`]:
/// `(F_motor + F_rider − F_road)/(m + Iw/r²)`; negative where the bicycle would roll back.
///
/// Errors: [`PerformanceError`] for figures out of range.
pub fn restart_by_gear(
    system: &DriveSystem,
    assist: Assist,
    rider: Option<&Rider>,
    road: &RoadLoad,
    grade: Grade,
) -> Result<Vec<Acceleration>, PerformanceError> {
    // The air does not matter at standstill.
    let place = Place::still(Density::ZERO, grade);
    assist.check()?;
    let gears = super::checked_gears(system, rider, road, place)?;
    let inertia = road.equivalent_mass().si();
    let start = |gear| {
        let run = Run::new(system, rider, road, place, gear).under(assist);
        Acceleration::from_si(run.surplus(0.0) / inertia)
    };
    Ok(gears.into_iter().map(start).collect())
}
