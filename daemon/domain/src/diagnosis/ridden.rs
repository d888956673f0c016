//! The bicycle as it was ridden: what is known of it before any fault is looked for, and what
//! each reading of the ride would be.

use lockring_calc::assist::Assist;
use lockring_calc::energy::{self, Planning, Route};
use lockring_calc::motor::{MotorPoint, Supply};
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, Climb, DrivePlace, DriveSystem, Place, Rider, Wanted};
use lockring_calc::quantity::{Acceleration, AngularSpeed, Density, Grade, Power, Speed, Torque, Voltage};
use lockring_calc::road::RoadLoad;

use super::quantity::Quantity;
use crate::assist::Help;
use crate::case::Case;
use crate::finding::Halt;
use crate::prediction;

/// Everything the readings depend on.
#[derive(Debug, Clone)]
pub(super) struct Ridden {
    /// The drive with the pack as charged for the speed runs, and as charged for the hill. The
    /// cut-off in them is the speed shown.
    pub(super) level: DriveSystem,
    pub(super) hill: DriveSystem,
    /// How the motor answers.
    pub(super) assist: Assist,
    /// The rider cruising and climbing.
    pub(super) cruising: Rider,
    pub(super) climbing: Rider,
    /// Road load with what was on board.
    pub(super) road: RoadLoad,
    /// Air.
    pub(super) rho: Density,
    /// Wind along the strip against the outward run, m/s, and the strip's grade outward.
    pub(super) headwind: f64,
    pub(super) strip: f64,
    /// Grade of the hill, a ratio; `None` when nobody named one.
    pub(super) grade: Option<f64>,
    /// True speed over speed shown.
    pub(super) wheel: f64,
    /// Drag of a brake at the driven wheel's tyre, N.
    pub(super) brake: f64,
    /// The energy run, where the brief describes the road.
    pub(super) outing: Option<(Route, Planning)>,
    /// Share by which the energy run's road asks for more than the brief's.
    pub(super) outing_factor: f64,
}

/// Charge of the pack on the speed runs when nobody measured it at rest: between three fifths and
/// full (common practice, no source).
pub(super) const LEVEL_CHARGE: f64 = 0.8;
/// The same on the hill: between three tenths and two fifths (common practice, no source).
pub(super) const HILL_CHARGE: f64 = 0.35;

/// Acceleration at which half the starts come off, and how sharply that turns, m/s² (judgement: a
/// rider wobbles off below a tenth of walking pace gained each second).
const START_MIDDLE: f64 = 0.1;
const START_SPREAD: f64 = 0.08;

impl Ridden {
    /// The bicycle with all that is known.
    ///
    /// # Errors
    /// [`Halt::Open`] naming what is missing.
    pub(super) fn of(case: &Case<'_>) -> Result<Self, Halt> {
        prediction::need(case, &["rider-power", "rider-power-hill"])?;
        // A pack that is asked for more than its cut-off allows is a remark of its own, read off this model.
        let base = DriveSystem {
            fold: None,
            ..prediction::drive(case, Load::Sustained)?
        };
        let charged = |charge: f64, rest: &str| -> Result<DriveSystem, Halt> {
            let mut pack = prediction::pack_at(case, charge, Load::Sustained)?;
            if let Some(rest) = case.optional_number(rest) {
                pack.open_circuit = Voltage::volts(rest.value);
            }
            Ok(DriveSystem { pack, ..base.clone() })
        };
        let rider = |key: &str| Ok(prediction::rider(case, case.number(key)?.value));
        let rolled = case.optional_number("circumference");
        let set = case.optional_number("circumference-setting");
        let route = prediction::route(case).ok().zip(prediction::planning(case).ok());
        Ok(Self {
            level: charged(LEVEL_CHARGE, "speed-rest")?,
            hill: charged(HILL_CHARGE, "hill-rest")?,
            assist: Help::of(case, None)?.assist,
            cruising: rider("rider-power")?,
            climbing: rider("rider-power-hill")?,
            road: prediction::road(case, prediction::ridden_mass(case)?.value)?,
            rho: prediction::air_density(case)?,
            headwind: case.optional_number("strip-wind").map_or(0.0, |wind| wind.value),
            strip: case
                .optional_number("strip-grade")
                .map_or(0.0, |grade| grade.value),
            grade: prediction::hill_grade(case).ok().map(|grade| grade.value),
            wheel: match (rolled, set) {
                (Some(rolled), Some(set)) => rolled.value / set.value,
                _ => 1.0,
            },
            brake: 0.0,
            outing: route,
            outing_factor: 1.0,
        })
    }

    /// Both drives, for what changes motor, controller or pack.
    pub(super) fn each_drive(&mut self, change: impl Fn(&mut DriveSystem)) {
        change(&mut self.level);
        change(&mut self.hill);
    }

    /// Both riders.
    pub(super) fn each_rider(&mut self, change: impl Fn(&mut Rider)) {
        change(&mut self.cruising);
        change(&mut self.climbing);
    }

    /// What each reading would be, in SI; `None` where the model has no answer.
    pub(super) fn expect(&self, wanted: &[Quantity]) -> Vec<Option<f64>> {
        use Quantity as Q;
        let asked = |runs: &[&str]| wanted.iter().any(|quantity| runs.contains(&quantity.run()));
        let level = asked(&["speed"]).then(|| (self.on_strip(1.0), self.on_strip(-1.0)));
        let (out, back) = level.unwrap_or((None, None));
        let hill = asked(&["hill"]).then(|| self.on_hill()).flatten();
        let pulled = [Q::PullAmps, Q::PullVolts]
            .iter()
            .any(|quantity| wanted.contains(quantity));
        let pull = pulled.then(|| self.hardest_pull()).flatten();
        let start = asked(&["restart"]).then(|| self.start()).flatten();
        let stand = asked(&["stand"]).then(|| self.on_stand()).flatten();
        let energy = asked(&["energy"]).then(|| self.energy()).flatten();
        let speed = |climb: Option<Climb>| climb.map(|climb| climb.speed.si());
        let amps = |climb: Option<Climb>| climb.map(|climb| climb.battery_current.si());
        let volts = |climb: Option<Climb>| climb.map(|climb| climb.pack_voltage.si());
        let mean = |a: Option<f64>, b: Option<f64>| Some(f64::midpoint(a?, b?));
        let one = |quantity: &Quantity| match quantity {
            Q::StandFree => stand.map(|(speed, _)| speed),
            Q::StandAmps => stand.map(|(_, amps)| amps),
            Q::CutoffOut | Q::CutoffBack => self.level.assist_cutoff.map(Speed::si),
            Q::SpeedOut => speed(out),
            Q::SpeedBack => speed(back),
            Q::SpeedVolts => mean(volts(out), volts(back)),
            Q::SpeedAmps => mean(amps(out), amps(back)),
            Q::SpeedAmpsOut => amps(out),
            Q::SpeedAmpsBack => amps(back),
            Q::CoastOut => self.coasting(1.0),
            Q::CoastBack => self.coasting(-1.0),
            Q::LegsOut => self.by_legs(1.0),
            Q::LegsBack => self.by_legs(-1.0),
            Q::HillSpeed => speed(hill),
            Q::HillVolts => volts(hill),
            Q::HillAmps => amps(hill),
            Q::Starts => start,
            Q::Energy => energy,
            Q::PullAmps => pull.map(|point| point.battery_current.si()),
            Q::PullVolts => pull.map(|point| point.pack_voltage.si()),
            Q::HillHeld => self.hill_held(),
        };
        wanted.iter().map(one).collect()
    }

    /// The drive with its cut-off at the true speed.
    fn true_to_road(&self, drive: &DriveSystem) -> DriveSystem {
        DriveSystem {
            assist_cutoff: drive.assist_cutoff.map(|shown| shown * self.wheel),
            ..drive.clone()
        }
    }

    /// The road with a dragging brake: a force that does not ask how fast, as rolling does not.
    fn held_back(&self) -> RoadLoad {
        RoadLoad {
            crr: self.road.crr + self.brake / self.road.weight().si(),
            ..self.road
        }
    }

    /// Steady on the strip, out for 1 and back for -1.
    fn steady_on_strip(&self, drive: &DriveSystem, way: f64) -> Option<Climb> {
        let place = Place {
            rho: self.rho,
            grade: Grade::ratio(way * self.strip),
            headwind: Speed::from_si(way * self.headwind),
        };
        let (rider, road) = (Some(&self.cruising), self.held_back());
        performance::steady_climb_at(drive, self.assist, rider, &road, place).ok()
    }

    fn on_strip(&self, way: f64) -> Option<Climb> {
        self.steady_on_strip(&self.true_to_road(&self.level), way)
    }

    /// Time to roll from one speed shown to the other.
    fn coasting(&self, way: f64) -> Option<f64> {
        let true_to_road = |shown: f64| Speed::kilometres_per_hour(shown * self.wheel);
        let (from, to) = COAST;
        self.held_back()
            .coast_time(
                true_to_road(from),
                true_to_road(to),
                Grade::ratio(way * self.strip),
                Speed::from_si(way * self.headwind),
                self.rho,
            )
            .ok()?
            .map(|time| time.si())
    }

    /// Speed with the motor off.
    fn by_legs(&self, way: f64) -> Option<f64> {
        let off = DriveSystem {
            motor: None,
            ..self.level.clone()
        };
        Some(self.steady_on_strip(&off, way)?.speed.si())
    }

    fn on_hill(&self) -> Option<Climb> {
        let drive = self.true_to_road(&self.hill);
        let grade = Grade::ratio(self.grade?);
        let place = Place::still(self.rho, grade);
        performance::steady_climb_at(
            &drive,
            self.assist,
            Some(&self.climbing),
            &self.held_back(),
            place,
        )
        .ok()
    }

    /// The steepest grade held in the gear that climbs best, over the hill's.
    fn hill_held(&self) -> Option<f64> {
        let grade = self.grade.filter(|grade| *grade > 0.0)?;
        let (held, _) = self.steepest_held(&self.true_to_road(&self.hill))?;
        held.is_finite().then(|| held / grade)
    }

    /// The most the motor draws between arriving at the hill and giving up, in the gear that climbs best.
    fn hardest_pull(&self) -> Option<MotorPoint> {
        let drive = self.true_to_road(&self.hill);
        let (_, gear) = self.steepest_held(&drive)?;
        let (rider, road) = (Some(&self.climbing), self.held_back());
        let steps = 2 * (ARRIVING - LEAST_RIDDEN) as u32;
        let pulls = (0..=steps).filter_map(|step| {
            let speed = Speed::kilometres_per_hour(LEAST_RIDDEN + 0.5 * f64::from(step));
            performance::full_pull(&drive, rider, &road, gear, speed).ok()?
        });
        pulls.reduce(|most, next| {
            if next.battery_current > most.battery_current {
                next
            } else {
                most
            }
        })
    }

    /// The steepest grade that is held, and the gear that holds it.
    fn steepest_held(&self, drive: &DriveSystem) -> Option<(f64, usize)> {
        let wanted = Wanted {
            speed: Speed::kilometres_per_hour(LEAST_RIDDEN),
            start: Acceleration::ZERO,
            starting_pack: drive.pack,
            assist: self.assist,
        };
        let rider = Some(&self.climbing);
        let gears = performance::reach_by_gear(drive, rider, &self.held_back(), self.rho, &wanted).ok()?;
        let held = gears.iter().map(|reach| (reach.held.as_ratio(), reach.gear));
        held.max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// The share of starts that should come off.
    fn start(&self) -> Option<f64> {
        let grade = Grade::ratio(self.grade?);
        let road = self.held_back();
        let gained = performance::restart_acceleration_under(
            &self.hill,
            self.assist,
            Some(&self.climbing),
            &road,
            grade,
        )
        .ok()?;
        // The logistic curve nearest to a normal one (scale 1.7; standard approximation, from memory).
        let over = (gained.si() - START_MIDDLE) / START_SPREAD;
        Some(1.0 / (1.0 + (-1.7 * over).exp()))
    }

    /// Energy over the distance shown, J/m.
    fn energy(&self) -> Option<f64> {
        let (route, planning) = self.outing.as_ref()?;
        let need = energy::wheel_need(&self.held_back(), route, planning).ok()?;
        let drawn = energy::battery_need(&need, self.cruising.power, route, planning).ok()?;
        // Shown too long, the distance makes the energy look too small.
        Some(drawn.si() * self.outing_factor * self.wheel)
    }

    /// With the driven wheel up and in the highest gear: the speed shown without the limit, and the pack
    /// current with it.
    fn on_stand(&self) -> Option<(f64, f64)> {
        let motor = self.level.motor.as_ref()?;
        let radius = self.road.tyre_radius;
        let gears = &self.level.gears;
        let gear = gears.highest()?.gear().ok()?;
        // Turns of the motor's output per metre of tyre, and torque there against the brake.
        let (turn, against) = match self.level.place {
            DrivePlace::Hub => (1.0 / radius.si(), self.brake * radius.si()),
            DrivePlace::OtherHub { tyre_radius } => (1.0 / tyre_radius.si(), self.brake * tyre_radius.si()),
            DrivePlace::Mid => {
                let at_crank = self.brake * radius.si() * gear.ratio() / gears.chain_efficiency;
                let one = gear.cadence(Speed::from_si(1.0), radius * std::f64::consts::TAU);
                (one.si(), at_crank)
            }
        };
        let supply = Supply {
            open_circuit: self.level.pack.open_circuit,
            resistance: self.level.pack.resistance,
            battery_limit: self.level.battery_limit,
            controller_efficiency: self.level.controller_efficiency,
        };
        let spare = |v: f64| {
            motor
                .full_assist(AngularSpeed::from_si(v * turn), &supply)
                .torque
                .si()
                - against
        };
        let (mut low, mut high) = (0.0, FASTEST_STAND);
        for _ in 0..40 {
            let middle = f64::midpoint(low, high);
            if spare(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        let limit = self
            .level
            .assist_cutoff
            .map_or(f64::INFINITY, |shown| shown.si() * self.wheel);
        let speed = low.min(limit);
        let turning = AngularSpeed::from_si(speed * turn);
        let point = motor.part_load(Torque::from_si(against), turning, &supply);
        Some((low / self.wheel, point.battery_current.si()))
    }

    /// Power of the rider, for words.
    pub(super) const fn pushing(&self) -> (Power, Power) {
        (self.cruising.power, self.climbing.power)
    }
}

/// Speeds shown at which rolling out is timed, km/h; the names of the codes say them too.
const COAST: (f64, f64) = (20.0, 10.0);
/// Below this nobody rides up a hill, km/h: the least that can be recorded (code `hill-speed-ridden`).
pub(super) const LEAST_RIDDEN: f64 = 1.0;
/// Speed at which people come to a hill, km/h (judgement).
const ARRIVING: f64 = 15.0;
/// No wheel on a stand turns faster, m/s.
const FASTEST_STAND: f64 = 60.0;
