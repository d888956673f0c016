//! A road ridden step by step: rider, motor, controller, sagging pack, gears, heat and brakes together.
//!
//! Speed is followed through its energy over the distance. In a step of length `h` the bicycle of
//! mass `m` (wheels' rotation included) goes from `v0` to `v1` with `m·(v1² − v0²)/2 = h·F(v)`, every
//! force taken at one speed `v = v0 + θ·(v1 − v0)` and the time being `h/v`. With `θ = 1/2` that is
//! the implicit midpoint rule; where the drive answers a change of speed within less than the step,
//! `θ` moves towards 1 so that the speed never swings about its equilibrium (the θ-method, any
//! numerical analysis text). Since all works and powers are taken at the same speed, the energy books
//! balance at any step length. Short pieces are taken where a step changes the motion much.

mod battery;
mod books;
pub mod described;
mod engine;
mod motion;
mod push;
mod track;
mod warm;

pub use crate::assist::{Assist, Policy, Taper};
pub use battery::Battery;
pub use books::{Hottest, Ledger, Outcome, Stretch};
pub use track::{Step, Track};

use engine::Engine;

use crate::performance::{DriveSystem, PerformanceError, Rider};
use crate::quantity::{Acceleration, AngularSpeed, Density, Length, Speed, Temperature, Voltage};
use crate::road::RoadLoad;
use crate::thermal::{Magnet, Nodes, Temperatures, ThermalError};

/// Why a tour could not be ridden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TourError {
    /// The road has no step.
    NoSteps,
    /// A step of the road is out of range.
    Step {
        /// Its place in the list, from 0.
        index: usize,
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// A figure of battery, habits or assist is out of range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// The bicycle, its drive or its rider is out of range.
    Performance(PerformanceError),
    /// The motor's heat paths are out of range.
    Thermal(ThermalError),
}

impl From<PerformanceError> for TourError {
    fn from(error: PerformanceError) -> Self {
        Self::Performance(error)
    }
}
impl From<ThermalError> for TourError {
    fn from(error: ThermalError) -> Self {
        Self::Thermal(error)
    }
}

/// How the rider rides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// Speed above which the rider neither pedals nor asks the motor; `None` pedals as fast as it goes.
    pub cruise: Option<Speed>,
    /// Speed above which the rider brakes.
    pub fastest: Speed,
    /// Deceleration to a stop.
    pub braking: Acceleration,
    /// Speed on foot; a climb that the drive cannot hold at this speed is walked.
    pub walking: Speed,
    /// Cadence that the rider shifts towards.
    pub cadence: AngularSpeed,
    /// Share by which the cadence may leave that before the rider shifts, 0.02 to 1.
    pub slack: f64,
}

impl Habits {
    /// Brakes at 40 km/h, stops at 1.5 m/s², walks at 4 km/h, shifts 15 % off 70 rpm (common
    /// practice, no source).
    pub fn usual() -> Self {
        Self {
            cruise: None,
            fastest: Speed::kilometres_per_hour(40.0),
            braking: Acceleration::metres_per_second2(1.5),
            walking: Speed::kilometres_per_hour(4.0),
            cadence: AngularSpeed::rpm(70.0),
            slack: 0.15,
        }
    }

    fn check(&self) -> Result<(), TourError> {
        const TINY: f64 = 1e-3;
        within(&[
            ("cruise", self.cruise.map_or(1.0, Speed::si), TINY, 50.0),
            ("fastest", self.fastest.si(), TINY, 50.0),
            ("braking", self.braking.si(), TINY, 20.0),
            ("walking", self.walking.si(), 0.1, 3.0),
            ("cadence", self.cadence.si(), TINY, 100.0),
            ("slack", self.slack, 0.02, 1.0),
        ])
    }
}

/// The motor's heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heat {
    /// Its heat paths; the drive system's motor is then its state at 20 °C.
    pub nodes: Nodes,
    /// Its magnets, when their fading counts.
    pub magnet: Option<Magnet>,
    /// Temperature the winding must not pass. A tour names the place where it first does and from there on rides
    /// with no more motor current than holds it there; what one update of the temperatures lets by (a few kelvins
    /// at the hardest pull) is not taken back.
    pub limit: Temperature,
    /// Air along the road.
    pub air: Temperature,
    /// Temperatures at the start.
    pub start: Temperatures,
}

/// A bicycle, its rider and how they ride.
#[derive(Debug, Clone, Copy)]
pub struct Tourer<'a> {
    /// The drive; its pack is not looked at, `battery` stands for it.
    pub system: &'a DriveSystem,
    /// The pack.
    pub battery: &'a Battery,
    /// The loaded bicycle.
    pub road: &'a RoadLoad,
    /// Air density.
    pub rho: Density,
    /// The rider; `None` lets the motor run alone.
    pub rider: Option<&'a Rider>,
    /// How the motor answers, beside the system's own cut-off. A throttle ends with the legs, where there
    /// are any; a cadence sensor wakes as the bicycle is set off.
    pub assist: Assist,
    /// How the rider rides.
    pub habits: Habits,
    /// The motor's heat; `None` keeps the motor as it is given.
    pub heat: Option<Heat>,
}

/// The state at the end of a piece of road, for a trace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Distance from the start.
    pub at: Length,
    /// Speed.
    pub speed: Speed,
    /// State of charge.
    pub state_of_charge: f64,
    /// Pack voltage under the load of the piece.
    pub voltage: Voltage,
    /// Temperature of the winding, when heat is followed.
    pub winding: Option<Temperature>,
}

/// Rides a road once, from standstill.
///
/// Motor resistance, battery resistance and open-circuit voltage count as constant within a piece;
/// the motor freewheels when it does not push, and nothing is fed back to the pack.
/// Errors: [`TourError`] for figures out of range.
pub fn ride(track: &Track, tourer: &Tourer<'_>) -> Result<Outcome, TourError> {
    ride_observed(track, tourer, |_| ())
}

/// [`ride`] with a look at every piece, in the order ridden.
///
/// Errors: [`TourError`] for figures out of range.
pub fn ride_observed(
    track: &Track,
    tourer: &Tourer<'_>,
    mut observe: impl FnMut(&Moment),
) -> Result<Outcome, TourError> {
    let mut engine = Engine::new(tourer)?;
    for part in track.parts() {
        engine.ride(part, &mut observe);
    }
    Ok(engine.outcome())
}

/// What ends a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RangeEnd {
    /// The pack is at its cut-off: the controller allows less than [`HELP_LEFT`] of its current.
    AtCutoff,
    /// The pack is empty.
    Empty,
    /// Neither within [`LONGEST`].
    Beyond,
}

/// How far a charge goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// What ended it.
    pub end: RangeEnd,
    /// The tour up to there; its distance is the range, to the length of a step. Where the pack first
    /// could not give all that was asked stands in its `folded`.
    pub outcome: Outcome,
}

/// Share of the controller's battery current below which the help is gone: a tenth (workshop judgement).
/// What is left at it dies away within some minutes of help, so that its size matters little.
pub const HELP_LEFT: f64 = 0.1;

/// Distance after which a range is no longer followed, 1,000 km.
pub const LONGEST: Length = Length::from_si(1e6);

/// Rides a road over and over until the pack is at its cut-off or empty. The motion, the warmth and the
/// charge go on from round to round. A stop is braked for from within its round only; a road whose
/// first stop comes within a few metres belongs started elsewhere.
///
/// Errors: [`TourError`] for figures out of range.
pub fn range(track: &Track, tourer: &Tourer<'_>) -> Result<Range, TourError> {
    let mut engine = Engine::new(tourer)?;
    let end = 'rounds: loop {
        for part in track.parts() {
            engine.ride(part, &mut |_| ());
            if engine.empty() {
                break 'rounds RangeEnd::Empty;
            }
            if engine.at_cutoff() {
                break 'rounds RangeEnd::AtCutoff;
            }
            if engine.distance() >= LONGEST {
                break 'rounds RangeEnd::Beyond;
            }
        }
    };
    Ok(Range {
        end,
        outcome: engine.outcome(),
    })
}

fn within(figures: &[(&'static str, f64, f64, f64)]) -> Result<(), TourError> {
    let bad = figures
        .iter()
        .find(|(_, value, low, high)| !(*low..=*high).contains(value));
    match bad {
        Some((name, value, ..)) => Err(TourError::Input { name, value: *value }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
