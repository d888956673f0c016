//! The conversion on the road: motor, controller, pack, gears, rider and road put together.
//!
//! Every answer is the speed at which the force at the wheel equals the road's resistance. The
//! force at full assist never rises with speed and the resistance never falls with it, so there
//! is one such speed, and it is stable. Where help or legs end the force falls at once: the speed may be
//! just that one.

mod reach;
mod run;
mod shaft;

pub use reach::{Reach, Wanted, full_pull, reach_by_gear, restart_by_gear, steepest};
pub use run::Place;
use run::Run;
pub(crate) use shaft::Shaft;

use crate::assist::{Assist, Legs};
use crate::doubt::FitError;
use crate::gearing::{Gear, GearError};
use crate::motor::{Motor, MotorError};
use crate::pack::{FoldBack, PackError, PackState};
use crate::quantity::{
    Acceleration, AngularSpeed, Current, Density, Grade, Length, Power, Speed, Torque, Voltage,
};
use crate::road::{RoadError, RoadLoad};

/// Why a performance figure could not be given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PerformanceError {
    /// The road load is out of range.
    Road(RoadError),
    /// The motor is out of range.
    Motor(MotorError),
    /// A gear is impossible.
    Gear(GearError),
    /// The controller's cut-off is out of range.
    Fold(PackError),
    /// The assist as set is out of range.
    Assist(FitError),
    /// The system has no cog to drive.
    NoGears,
    /// A figure of the system, rider or surroundings is out of range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
}

impl From<RoadError> for PerformanceError {
    fn from(error: RoadError) -> Self {
        Self::Road(error)
    }
}
impl From<MotorError> for PerformanceError {
    fn from(error: MotorError) -> Self {
        Self::Motor(error)
    }
}
impl From<FitError> for PerformanceError {
    fn from(error: FitError) -> Self {
        Self::Assist(error)
    }
}
impl From<GearError> for PerformanceError {
    fn from(error: GearError) -> Self {
        Self::Gear(error)
    }
}

/// Where the motor's output sits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DrivePlace {
    /// At the wheel that the chain drives, too: the output turns with it and does not pass the chain.
    Hub,
    /// At the other wheel, which has a tyre of its own.
    OtherHub {
        /// Rolling radius of that wheel, above 0 m.
        tyre_radius: Length,
    },
    /// At the crank: the output turns with the crank and shares the chain with the rider.
    Mid,
}

/// The chain drive, for the rider and for a mid-drive.
#[derive(Debug, Clone, PartialEq)]
pub struct Gears {
    /// Teeth of the chainring, of the largest where there are several.
    pub ring_teeth: u32,
    /// Teeth of the smallest chainring where there are several.
    pub least_ring: Option<u32>,
    /// Teeth of every cog.
    pub cogs: Vec<u32>,
    /// Wheel turns for each turn of the cog, 0.2 to 4, for every gear inside the hub, lowest first; empty where the cog turns
    /// the wheel by itself.
    pub hub_ratios: Vec<f64>,
    /// Efficiency from crank to wheel, 0.80 to 0.99.
    pub chain_efficiency: f64,
}

/// What is engaged of a chain drive in one gear.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Engaged {
    /// Teeth of the chainring.
    pub ring: u32,
    /// Teeth of the cog.
    pub cog: u32,
    /// The gear inside the hub, where it has any.
    pub hub: Option<HubGear>,
}

/// One gear of those inside a hub.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HubGear {
    /// Which it is, counted from the lowest, which is 1.
    pub number: u32,
    /// How many the hub has.
    pub of: u32,
    /// Wheel turns for each turn of the cog.
    pub ratio: f64,
}

impl Engaged {
    /// The gear, for what the road makes of it.
    ///
    /// Error: [`GearError`] for too few teeth or a ratio no hub has.
    pub fn gear(self) -> Result<Gear, GearError> {
        let gear = Gear::new(self.ring, self.cog)?;
        match self.hub {
            Some(hub) => gear.through_hub(hub.ratio),
            None => Ok(gear),
        }
    }

    /// Wheel turns per crank turn; infinite without a cog.
    pub fn ratio(self) -> f64 {
        f64::from(self.ring) / f64::from(self.cog) * self.hub.map_or(1.0, |hub| hub.ratio)
    }
}

impl Gears {
    /// Every gear, in the order in which answers name them: ring after ring, the largest first, with each cog in their
    /// order, and with each of those the gears inside the hub, highest first.
    pub fn all(&self) -> impl Iterator<Item = Engaged> {
        let least = self.least_ring.filter(|least| *least < self.ring_teeth);
        let rings = std::iter::once(self.ring_teeth).chain(least);
        let of = self.hub_ratios.len() as u32;
        let hub = self.hub_ratios.iter().enumerate().rev();
        let hub = hub.map(move |(below, ratio)| HubGear {
            number: below as u32 + 1,
            of,
            ratio: *ratio,
        });
        let inside = hub.map(Some).chain((of == 0).then_some(None));
        rings.flat_map(move |ring| {
            let inside = inside.clone();
            self.cogs.iter().flat_map(move |cog| {
                let engaged = move |hub| Engaged { ring, cog: *cog, hub };
                inside.clone().map(engaged)
            })
        })
    }

    /// How many gears [`Gears::all`] names.
    fn count(&self) -> usize {
        let rings = 1 + usize::from(self.least_ring.is_some_and(|least| least < self.ring_teeth));
        rings * self.cogs.len() * self.hub_ratios.len().max(1)
    }

    /// What is engaged in a gear by the index that answers name it with; `None` for no such gear.
    pub fn at(&self, gear: usize) -> Option<Engaged> {
        self.all().nth(gear)
    }

    /// The lowest gear, of equal ones the first; `None` without a cog.
    pub fn lowest(&self) -> Option<Engaged> {
        self.all()
            .reduce(|low, next| if next.ratio() < low.ratio() { next } else { low })
    }

    /// The highest gear, of equal ones the first; `None` without a cog.
    pub fn highest(&self) -> Option<Engaged> {
        self.all()
            .reduce(|high, next| if next.ratio() > high.ratio() { next } else { high })
    }
}

/// Everything that drives the bicycle apart from the rider.
#[derive(Debug, Clone, PartialEq)]
pub struct DriveSystem {
    /// The motor at its output; `None` for a bicycle without one.
    pub motor: Option<Motor>,
    /// Where the output sits.
    pub place: DrivePlace,
    /// The chain drive.
    pub gears: Gears,
    /// Largest battery current the controller draws, whatever the pack's voltage.
    pub battery_limit: Current,
    /// Where the controller takes that back as the pack's voltage falls; `None` for one that never does.
    pub fold: Option<FoldBack>,
    /// Efficiency of the controller, 0.90 to 1.
    pub controller_efficiency: f64,
    /// The pack at the state of charge looked at.
    pub pack: PackState,
    /// Road speed above which the motor gives nothing.
    pub assist_cutoff: Option<Speed>,
}

/// The rider.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rider {
    /// Power at the crank, 0 to 400 W.
    pub power: Power,
    /// Largest mean torque at the crank, at standstill and at low cadence. 30 N·m is the
    /// workshop's usual figure for a restart.
    pub crank_torque_max: Torque,
    /// Cadence the rider likes; decides between gears that give the same speed.
    pub preferred_cadence: AngularSpeed,
    /// Cadence above which the rider no longer pushes, and a pedal-assist motor stops.
    pub max_cadence: AngularSpeed,
}

impl Rider {
    /// The legs at a cadence.
    pub(crate) fn legs(&self, cadence: AngularSpeed) -> Legs {
        Legs::new(self.power, self.crank_torque_max, cadence)
    }
}

/// What holds the speed down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// Controller's motor-current limit: torque-limited.
    PhaseCurrent,
    /// Controller's battery-current limit or the pack's most power: power-limited.
    BatteryCurrent,
    /// The low-voltage cut-off: more current would pull the pack below it.
    LowVoltage,
    /// Back EMF against the sagged pack voltage.
    Voltage,
    /// The assist cut-off: the motor gives only what holds that speed, or nothing above it.
    AssistCutoff,
    /// The assist as set: the motor could give more than it is asked for.
    AssistLevel,
    /// The rider's highest cadence.
    Cadence,
    /// There is no motor, or nothing is asked of it.
    NoMotor,
}

/// A steady state on a road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climb {
    /// Ground speed; zero when the drive stalls on the grade.
    pub speed: Speed,
    /// Index of the gear, as [`Gears::at`] takes it.
    pub gear: usize,
    /// Crank speed in that gear.
    pub cadence: AngularSpeed,
    /// What holds the speed down.
    pub limit: Limit,
    /// Power at the motor's output.
    pub motor_power: Power,
    /// Torque at the motor's output.
    pub motor_torque: Torque,
    /// Speed of the motor's output.
    pub motor_speed: AngularSpeed,
    /// Power the rider puts into the crank.
    pub rider_power: Power,
    /// Battery current.
    pub battery_current: Current,
    /// Pack voltage under load.
    pub pack_voltage: Voltage,
    /// Heat in the motor: winding, iron, gears.
    pub motor_loss: Power,
}

/// Highest steady speed with full assist on a grade in still air, over all gears, with the
/// gear that gives it: of gears within a thousandth of the fastest, the one nearest to the
/// preferred cadence.
///
/// `rider` `None` is the motor alone (a throttle): nobody's cadence limits it.
/// A drive that cannot hold the grade gives speed zero, in the gear with the most force.
/// Errors: [`PerformanceError`] for figures out of range.
pub fn steady_climb(
    system: &DriveSystem,
    rider: Option<&Rider>,
    road: &RoadLoad,
    rho: Density,
    grade: Grade,
) -> Result<Climb, PerformanceError> {
    steady_climb_at(system, Assist::FULL, rider, road, Place::still(rho, grade))
}

/// [`steady_climb`] in a wind and with the motor answering as `assist` says; its taper and the end of a
/// throttle count beside the system's own cut-off. A throttle goes on when the rider no longer keeps up.
///
/// Errors: [`PerformanceError`] for figures out of range.
pub fn steady_climb_at(
    system: &DriveSystem,
    assist: Assist,
    rider: Option<&Rider>,
    road: &RoadLoad,
    place: Place,
) -> Result<Climb, PerformanceError> {
    let runs = runs(system, assist, rider, road, place)?;
    let preferred = rider.map_or(0.0, |r| r.preferred_cadence.si());
    // A gear without force left over at the fastest speed so far is slower, and is not solved.
    let (mut fastest, mut solved) = (0.0_f64, Vec::with_capacity(runs.len()));
    for (gear, run) in runs.iter().enumerate() {
        let nearly = fastest * (1.0 - AS_FAST);
        let speed = match fastest > 0.0 {
            false => run.equilibrium(),
            true if run.surplus(nearly) > 0.0 => run.equilibrium_above(nearly),
            true => continue,
        };
        fastest = fastest.max(speed);
        solved.push((gear, speed));
    }
    if fastest == 0.0 {
        let lowest = system.gears.lowest();
        let gear = system.gears.all().position(|engaged| Some(engaged) == lowest);
        let gear = gear.expect("at least one gear was checked");
        return Ok(runs[gear].climb(gear, 0.0));
    }
    let discomfort = |c: &Climb| (c.cadence.si() - preferred).abs();
    let as_fast = solved
        .into_iter()
        .filter(|(_, speed)| *speed >= fastest * (1.0 - AS_FAST));
    let climbs = as_fast.map(|(gear, speed)| runs[gear].climb(gear, speed));
    let best = climbs.min_by(|a, b| discomfort(a).total_cmp(&discomfort(b)));
    Ok(best.expect("the fastest gear is as fast as itself"))
}

/// Gears within this share of the fastest count as fast as it: far below what anyone measures, and a
/// comfortable cadence is worth more.
const AS_FAST: f64 = 1e-3;

/// Whether the speed of [`steady_climb_at`] is `wished` or more; a drive that cannot hold the grade
/// reaches nothing. The speed itself is solved only where it is within some thousandths of the wish.
///
/// Errors: [`PerformanceError`] for figures out of range.
pub fn climbs_at_least(
    system: &DriveSystem,
    assist: Assist,
    rider: Option<&Rider>,
    road: &RoadLoad,
    place: Place,
    wished: Speed,
) -> Result<bool, PerformanceError> {
    assist.check()?;
    let gears = checked_gears(system, rider, road, place)?;
    if wished > Speed::ZERO {
        // On a hill the low gears are the ones that hold.
        let mut may_be = false;
        for gear in gears.into_iter().rev() {
            let run = Run::new(system, rider, road, place, gear).under(assist);
            if run.surplus(wished.si()) > 0.0 {
                may_be = true;
                if run.surplus(wished.si() * (1.0 + 2.0 * AS_FAST)) > 0.0 {
                    return Ok(true);
                }
            }
        }
        if !may_be {
            return Ok(false);
        }
    }
    let speed = steady_climb_at(system, assist, rider, road, place)?.speed;
    Ok(speed > Speed::ZERO && speed >= wished)
}

/// Every gear on a road, once every figure was looked at.
fn runs<'a>(
    system: &'a DriveSystem,
    assist: Assist,
    rider: Option<&'a Rider>,
    road: &'a RoadLoad,
    place: Place,
) -> Result<Vec<Run<'a>>, PerformanceError> {
    assist.check()?;
    let gears = checked_gears(system, rider, road, place)?;
    let run = |gear| Run::new(system, rider, road, place, gear).under(assist);
    Ok(gears.into_iter().map(run).collect())
}

/// Highest steady speed in every gear, in the order of [`Gears::all`], in a wind and with the motor answering
/// as `assist` says.
///
/// Errors: [`PerformanceError`] for figures out of range.
pub fn speed_by_gear_at(
    system: &DriveSystem,
    assist: Assist,
    rider: Option<&Rider>,
    road: &RoadLoad,
    place: Place,
) -> Result<Vec<Climb>, PerformanceError> {
    let runs = runs(system, assist, rider, road, place)?;
    let climbs = runs.iter().enumerate();
    Ok(climbs
        .map(|(gear, run)| run.climb(gear, run.equilibrium()))
        .collect())
}

/// Highest steady speed in every gear that goes faster than `floor`, in the order of
/// [`Gears::all`]; `None` for a gear that does not.
///
/// The speeds are those of [`speed_by_gear_at`]. A gear without force left over at the floor is not
/// solved, which makes it quick where few gears matter.
/// Errors: [`PerformanceError`] for figures out of range.
pub fn speeds_above(
    system: &DriveSystem,
    assist: Assist,
    rider: Option<&Rider>,
    road: &RoadLoad,
    place: Place,
    floor: Speed,
) -> Result<Vec<Option<Speed>>, PerformanceError> {
    let speeds = runs(system, assist, rider, road, place)?
        .into_iter()
        .map(|run| (run.surplus(floor.si()) > 0.0).then(|| Speed::from_si(run.equilibrium())));
    Ok(speeds.collect())
}

/// Acceleration from standstill in the gear with the most force, with the motor answering as `assist` says:
/// `(F_motor + F_rider − F_road)/(m + Iw/r²)`; negative when the bicycle would roll back.
///
/// Errors: [`PerformanceError`] for figures out of range.
pub fn restart_acceleration_under(
    system: &DriveSystem,
    assist: Assist,
    rider: Option<&Rider>,
    road: &RoadLoad,
    grade: Grade,
) -> Result<Acceleration, PerformanceError> {
    let by_gear = restart_by_gear(system, assist, rider, road, grade)?;
    let most = by_gear.iter().map(|a| a.si()).fold(f64::NEG_INFINITY, f64::max);
    Ok(Acceleration::from_si(most))
}

/// Highest steady speed on the level in still air by the motor alone, its cut-off included; the
/// mass of the rider is part of `road` (170 lb where 15 U.S.C. 2085 is meant).
///
/// Errors: [`PerformanceError`] for figures out of range.
pub fn top_speed_motor_alone(
    system: &DriveSystem,
    road: &RoadLoad,
    rho: Density,
) -> Result<Climb, PerformanceError> {
    steady_climb(system, None, road, rho, Grade::LEVEL)
}

fn checked_gears(
    system: &DriveSystem,
    rider: Option<&Rider>,
    road: &RoadLoad,
    place: Place,
) -> Result<Vec<Gear>, PerformanceError> {
    for (name, value) in [
        ("grade", place.grade.as_ratio()),
        ("headwind", place.headwind.si()),
    ] {
        if !value.is_finite() {
            return Err(PerformanceError::Input { name, value });
        }
    }
    checked(system, rider, road, place.rho)
}

/// The gears, once every figure of system, rider, road and air has been looked at.
pub(crate) fn checked(
    system: &DriveSystem,
    rider: Option<&Rider>,
    road: &RoadLoad,
    rho: Density,
) -> Result<Vec<Gear>, PerformanceError> {
    road.check()?;
    if let Some(motor) = &system.motor {
        motor.check()?;
    }
    if let Some(fold) = &system.fold {
        fold.check().map_err(PerformanceError::Fold)?;
    }
    let not_negative = [
        ("battery_limit", system.battery_limit.si()),
        ("pack.resistance", system.pack.resistance.si()),
        ("assist_cutoff", system.assist_cutoff.map_or(0.0, Speed::si)),
        ("rider.power", rider.map_or(0.0, |r| r.power.si())),
        (
            "rider.crank_torque_max",
            rider.map_or(0.0, |r| r.crank_torque_max.si()),
        ),
        ("rho", rho.si()),
    ];
    let positive = [
        (
            "place.tyre_radius",
            match system.place {
                DrivePlace::OtherHub { tyre_radius } => tyre_radius.si(),
                DrivePlace::Hub | DrivePlace::Mid => road.tyre_radius.si(),
            },
        ),
        ("pack.open_circuit", system.pack.open_circuit.si()),
        ("rider.max_cadence", rider.map_or(1.0, |r| r.max_cadence.si())),
    ];
    let fractions = [
        ("controller_efficiency", system.controller_efficiency),
        ("chain_efficiency", system.gears.chain_efficiency),
    ];
    for (name, value) in not_negative {
        if !(value.is_finite() && value >= 0.0) {
            return Err(PerformanceError::Input { name, value });
        }
    }
    for (name, value) in positive {
        if !(value.is_finite() && value > 0.0) {
            return Err(PerformanceError::Input { name, value });
        }
    }
    for (name, value) in fractions {
        if !(value > 0.0 && value <= 1.0) {
            return Err(PerformanceError::Input { name, value });
        }
    }
    if system.gears.cogs.is_empty() {
        return Err(PerformanceError::NoGears);
    }
    let mut gears = Vec::with_capacity(system.gears.count());
    system.gears.all().try_for_each(|engaged| {
        gears.push(engaged.gear()?);
        Ok::<_, GearError>(())
    })?;
    Ok(gears)
}

#[cfg(test)]
mod tests;
