//! Bicycle, rider and road as a forecast takes them, and how far each input may be off.

use lockring_calc::air::wind;
use lockring_calc::pack::Load;
use lockring_calc::performance::{DriveSystem, Rider};
use lockring_calc::quantity::{Density, Mass, Speed};
use lockring_calc::road::RoadLoad;
use lockring_calc::sampling::Shape;

use crate::assist::Help;
use crate::case::Case;
use crate::finding::Halt;
use crate::level::Level;
use crate::prediction;
use crate::ride_class::{MotorOnly, RideClass};
use crate::unit::{self, Kind};

/// Charge called low; common practice, no source.
pub const LOW: f64 = 0.2;
/// Efficiency that neither controller nor hub gear exceeds.
const LOSSLESS: f64 = 1.0;

/// Everything the road's answers depend on.
#[derive(Debug, Clone)]
pub(super) struct Machine {
    /// Drive with the pack full, and with [`LOW`] charge left.
    pub(super) full: DriveSystem,
    pub(super) low: DriveSystem,
    /// The rider on hills, and cruising where the brief says so.
    pub(super) climbing: Rider,
    pub(super) cruising: Option<Rider>,
    /// Road load with everything on board, and with the operator of 15 U.S.C. 2085 alone.
    pub(super) road: RoadLoad,
    pub(super) operator: RoadLoad,
    /// The help taken.
    pub(super) help: Help,
    /// The most that walk assistance is set to: the class's speed by the motor alone, no more than the shop's own.
    pub(super) walk: Speed,
    /// Air.
    pub(super) rho: Density,
    /// The worst hill's grade, a ratio; `None` when the brief has none.
    pub(super) grade: Option<f64>,
    /// Charge of the pack over that of its label.
    pub(super) charge: f64,
    /// Wind against the rider; negative from behind.
    pub(super) headwind: Speed,
}

/// What may be off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Input {
    Mass,
    Drag,
    Rolling,
    RiderPower,
    MotorTorque,
    Controller,
    HubGear,
    PackResistance,
    Charge,
    Grade,
    Wind,
}

/// How far one input may be off.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubtful {
    /// What it is, in words.
    pub name: &'static str,
    /// How far it may be off, in words.
    pub said: String,
    pub(super) input: Input,
    /// Kilograms, a ratio of rise to run, metres a second, or a factor on the best estimate.
    pub(super) shape: Shape,
}

impl Machine {
    /// The bicycle with all that is known.
    ///
    /// # Errors
    /// [`Halt::Open`] naming what is missing.
    pub(super) fn of(case: &Case<'_>, level: Option<Level>) -> Result<Self, Halt> {
        prediction::need(case, &["rider-power-hill"])?;
        let base = prediction::drive(case, Load::Sustained)?;
        let with = |pack| DriveSystem { pack, ..base.clone() };
        let rider = |code: &str| {
            let power = case.optional_number(code)?;
            Some(prediction::rider(case, power.value))
        };
        let gross = prediction::gross_mass(case)?.value;
        let road = prediction::road(case, gross)?;
        Ok(Self {
            full: with(prediction::full_pack(case, Load::Sustained)?),
            low: with(prediction::pack_at(case, LOW, Load::Sustained)?),
            climbing: prediction::rider(case, case.number("rider-power-hill")?.value),
            cruising: rider("rider-power"),
            operator: operator(case, &road)?,
            road,
            walk: walk(case),
            rho: prediction::air_density(case)?,
            help: Help::of(case, level)?,
            charge: 1.0,
            headwind: Speed::ZERO,
            grade: prediction::hill_grades(case)
                .ok()
                .and_then(|grades| Some(grades.first()?.grade.value)),
        })
    }

    /// The machine with each doubtful input at a drawn value.
    pub(super) fn shaken(&self, doubts: &[Doubtful], draw: &[f64]) -> Self {
        let mut machine = self.clone();
        for (doubt, value) in doubts.iter().zip(draw) {
            machine.shake(doubt.input, *value);
        }
        machine
    }

    fn shake(&mut self, input: Input, value: f64) {
        match input {
            Input::Mass => {
                let more = Mass::kilograms(value) - self.road.mass;
                self.road.mass = self.road.mass + more;
                self.operator.mass = self.operator.mass + more;
            }
            // The operator's are the fastest there are.
            Input::Drag => self.road.cda = self.road.cda * value,
            Input::Rolling => self.road.crr *= value,
            Input::RiderPower => {
                self.climbing.power = self.climbing.power * value;
                if let Some(rider) = &mut self.cruising {
                    rider.power = rider.power * value;
                }
            }
            Input::MotorTorque => self.each_drive(|drive| {
                if let Some(motor) = &mut drive.motor {
                    motor.phase_limit = motor.phase_limit * value;
                }
            }),
            Input::Controller => self.each_drive(|drive| {
                drive.controller_efficiency = (drive.controller_efficiency * value).min(LOSSLESS);
            }),
            Input::HubGear => self.each_drive(|drive| {
                let chain = &mut drive.gears.chain_efficiency;
                *chain = (*chain * value).min(LOSSLESS);
            }),
            Input::PackResistance => {
                self.each_drive(|drive| drive.pack.resistance = drive.pack.resistance * value);
            }
            Input::Charge => self.charge = value,
            Input::Grade => self.grade = Some(value),
            Input::Wind => self.headwind = Speed::from_si(value),
        }
    }

    fn each_drive(&mut self, change: impl Fn(&mut DriveSystem)) {
        change(&mut self.full);
        change(&mut self.low);
    }
}

/// The road load with the operator of 15 U.S.C. 2085; nobody asks about it of another region's class, whose bicycle stays as
/// it is ridden.
fn operator(case: &Case<'_>, road: &RoadLoad) -> Result<RoadLoad, Halt> {
    if !prediction::ride_class(case).is_ok_and(RideClass::is_federal) {
        return Ok(*road);
    }
    let operated = prediction::bicycle_mass(case)?.value + case.rule("ride.motor-alone-rider");
    prediction::fastest_alone(case, operated)
}

fn walk(case: &Case<'_>) -> Speed {
    let own = case.rule("ride.walk-assist-most");
    let class = prediction::ride_class(case).ok().map(|class| class.motor_only);
    Speed::from_si(match class {
        Some(MotorOnly::UpTo(limit)) => own.min(limit.metres_per_second()),
        _ => own,
    })
}

/// How far each input of a job's forecast may be off. They are taken as independent.
///
/// # Errors
/// [`Halt::Open`] when the masses are not known.
pub(super) fn doubts(case: &Case<'_>) -> Result<Vec<Doubtful>, Halt> {
    let gross = prediction::gross_mass(case)?;
    let mut doubts = vec![Doubtful {
        name: "mass on the road",
        said: format!("{:.1} kg, standard uncertainty {:.1} kg", gross.value, gross.u),
        input: Input::Mass,
        shape: Shape::Normal {
            mean: gross.value,
            u: gross.u,
        },
    }];
    for (name, input, rule) in [
        ("drag of the air", Input::Drag, "cda.spread"),
        ("rolling of the tyres", Input::Rolling, "crr.spread"),
        (
            "losses of the controller",
            Input::Controller,
            "model.drive-efficiency-spread",
        ),
    ] {
        doubts.push(within_half(name, input, case.rule(rule)));
    }
    for (name, input, rule) in [
        ("rider's power", Input::RiderPower, "model.rider-spread"),
        ("motor's torque", Input::MotorTorque, "model.motor-spread"),
        (
            "pack's resistance",
            Input::PackResistance,
            "model.pack-resistance-spread",
        ),
    ] {
        let u = case.rule(rule);
        doubts.push(Doubtful {
            name,
            said: format!("standard uncertainty {:.0} %", 100.0 * u),
            input,
            // Neither gone nor more than double.
            shape: Shape::NormalWithin {
                mean: 1.0,
                u,
                low: 0.2,
                high: 2.0,
            },
        });
    }
    doubts.push(wind(case));
    doubts.extend(grade(case));
    if prediction::through_hub_gear(case) {
        let half = case.rule("model.hub-gear-spread");
        doubts.push(within_half("losses of chain and hub gear", Input::HubGear, half));
    }
    Ok(doubts)
}

/// A factor that is anywhere within half a width of 1.
fn within_half(name: &'static str, input: Input, half: f64) -> Doubtful {
    Doubtful {
        name,
        said: format!("within {} either way", unit::show(Kind::Ratio, "%", half)),
        input,
        shape: Shape::Rectangle {
            low: 1.0 - half,
            high: 1.0 + half,
        },
    }
}

/// A road has wind of which nobody knows anything but its mean over the years, from any side.
pub(super) fn wind(case: &Case<'_>) -> Doubtful {
    let mean = Speed::from_si(case.rule("model.wind-mean"));
    let u = wind::along_when_unknown(wind::at_rider(mean));
    let shown = |speed: Speed| unit::show(Kind::Speed, "m/s", speed.si());
    let operator = if prediction::ride_class(case).is_ok_and(RideClass::is_federal) {
        "; still air for the operator of 170 lb, who crouches on hard tyres"
    } else {
        ""
    };
    Doubtful {
        name: "wind along the road",
        said: format!(
            "none, standard uncertainty {}: from any side alike, {} at 10 m in the mean{operator}",
            shown(u),
            shown(mean)
        ),
        input: Input::Wind,
        shape: Shape::Normal { mean: 0.0, u: u.si() },
    }
}

/// The pack's charge against its label, for what depends on it.
pub(super) fn charge(case: &Case<'_>) -> Doubtful {
    let u = case.rule("range.charge-spread");
    Doubtful {
        name: "pack's charge",
        said: format!("standard uncertainty {:.0} %", 100.0 * u),
        input: Input::Charge,
        shape: Shape::NormalWithin {
            mean: 1.0,
            u,
            low: 0.2,
            high: 2.0,
        },
    }
}

/// The hill as told may be as steep as told hills turn out; measured ones have their doubt.
fn grade(case: &Case<'_>) -> Option<Doubtful> {
    let grades = prediction::hill_grades(case).ok()?;
    let (first, last) = (grades.first()?, grades.last()?);
    let shown = |grade: f64| unit::show(Kind::Grade, "%", grade);
    let (said, shape) = if grades.len() > 1 {
        let (low, high) = (first.grade.value, last.grade.value);
        let said = format!("told: anywhere from {} to {}", shown(low), shown(high));
        (said, Shape::Rectangle { low, high })
    } else {
        let (mean, u) = (first.grade.value, first.grade.u);
        let said = format!(
            "{} {}, standard uncertainty {}",
            shown(mean),
            first.said,
            shown(u)
        );
        (said, Shape::Normal { mean, u })
    };
    Some(Doubtful {
        name: "grade of the hill",
        said,
        input: Input::Grade,
        shape,
    })
}
