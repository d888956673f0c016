//! What the finished bicycle will do, with how sure that is.
//!
//! Every input that may be off is drawn from its distribution (JCGM 101:2008), the bicycle is
//! ridden steadily with each draw, and the answers come out as percentiles with the chance of
//! reaching what the brief asks and the inputs that matter most. The same seed gives the same
//! figures.

use lockring_calc::performance::{self, DriveSystem, Engaged, PerformanceError, Place, Rider};
use lockring_calc::quantity::{Grade, Speed};
use lockring_calc::road::RoadLoad;
use lockring_calc::sampling::{Draws, Outcomes, Shape};

use crate::case::Case;
use crate::finding::Halt;
use crate::job::Job;
use crate::level::Level;
use crate::prediction;
use crate::refusal::{Reason, Refusal};
use crate::ride_class::{self, MotorOnly, Throttle};
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::unit::{self, Kind};

mod chance;
mod heat;
mod machine;
mod range;
mod road;
pub use chance::{Shaken, chance_of_distance, chance_on_hill, look_for_distance, look_for_hill};
pub use heat::{Heat, Hold};
pub(crate) use heat::{on_grade, stands};
use machine::Machine;
pub use machine::{Doubtful, LOW};
pub use range::{PackCase, Point, RangeForecast, Recharge, RideAsked, WindingLimit, range};
pub use road::{Road, RoadAsked, climb_by};

pub use lockring_calc::tour::{Ledger, Outcome, Stretch};

/// Draws of a forecast when nobody asks for more.
pub const DRAWS: u32 = 500;
/// Most draws that may be asked for.
pub const MOST_DRAWS: u32 = 20_000;
/// Grades of the curves, in percent.
const CURVE_GRADES: std::ops::RangeInclusive<u32> = 0..=25;
/// The class whose text fixes the operator of the motor alone.
const OPERATOR_CLASS: &str = "us-fed-lseb";
/// Share of a speed that is left of it by solving for it.
const SOLVED: f64 = 1e-6;
/// Inputs named beside an answer.
const NAMED: usize = 3;

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked {
    /// How many draws, 10 to [`MOST_DRAWS`].
    pub draws: u32,
    /// Seed of the draws.
    pub seed: u64,
}

/// One answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// What it answers, in words.
    pub name: String,
    /// Kind of the figures, which are in its SI unit.
    pub kind: Kind,
    /// Unit people read it in.
    pub unit: &'static str,
    /// With every input at its best estimate; `None` where it stalls.
    pub best: Option<f64>,
    /// Values that 10, 50 and 90 % of the draws stay below; `None` where they stall.
    pub percentiles: [Option<f64>; 3],
    /// What is asked for, where something is, and how likely it is reached, 0 to 1.
    pub wish: Option<Wish>,
    /// What holds the best estimate down, in words.
    pub held_by: &'static str,
    /// Inputs that matter most and their share of the spread, 0 to 1.
    pub matters: Vec<(&'static str, f64)>,
    /// Whether the rider of this build can ride it: no operator of a test.
    pub for_rider: bool,
}

/// What an answer is compared with.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// The limit, SI.
    pub limit: f64,
    /// Whether it is to be stayed below, as a limit of the law is, rather than reached.
    pub below: bool,
    /// Where it comes from, in words.
    pub source: &'static str,
    /// Share of the draws that hold it.
    pub probability: f64,
}

/// Speed in one gear for each grade that it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct GearCurve {
    /// Ring, cog and gear inside the hub.
    pub gear: Engaged,
    /// Grade as a ratio and speed in m/s.
    pub points: Vec<(f64, f64)>,
}

/// A job's forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// Bicycle, rider and load, kg.
    pub gross: f64,
    /// The help taken, in words.
    pub help: String,
    /// Teeth of the ring.
    pub ring: u32,
    /// Draws made.
    pub draws: u32,
    /// Their seed.
    pub seed: u64,
    /// The answers.
    pub answers: Vec<Answer>,
    /// What was drawn and from what.
    pub doubts: Vec<Doubtful>,
    /// Speed against grade on the (largest) ring for each cog with a full pack, smallest cog first.
    pub curves: Vec<GearCurve>,
    /// How long each grade is held before the winding is too hot; `None` without a motor.
    pub heat: Option<Heat>,
    /// The hill: its grade as a ratio, and the slowest speed the brief accepts, m/s.
    pub hill: Option<(f64, Option<f64>)>,
}

/// What is asked of the machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Question {
    TopAssisted { low: bool },
    TopMotorAlone { low: bool },
    TopOfOperator { low: bool },
    Walk,
    Hill { low: bool },
    StartOnHill,
}

/// A probability in words: no forecast is certain, and hundreds of draws tell two digits.
pub fn shown_probability(share: f64) -> String {
    if share > 0.99 {
        "over 0.99".to_owned()
    } else if share < 0.01 {
        "under 0.01".to_owned()
    } else {
        format!("{share:.2}")
    }
}

/// Computes a job's forecast at a level of help (`None` is full); `still_wanted` is told how many draws are done and answers
/// whether to go on.
///
/// # Errors
/// A refusal naming what is missing and the command that records it, what was asked for beyond
/// the range, or that nobody waits any more.
pub fn forecast(
    job: &Job,
    rules: &RuleSheet,
    level: Option<Level>,
    asked: Asked,
    still_wanted: &mut dyn FnMut(u32) -> bool,
) -> Result<Forecast, Refusal> {
    if !(10..=MOST_DRAWS).contains(&asked.draws) {
        return Err(Refusal::new(
            Reason::OutsideWindow,
            format!(
                "{} draws are outside 10 to {MOST_DRAWS}; for example 1000",
                asked.draws
            ),
        ));
    }
    let case = Case::new(job, rules, Stage::TestRide);
    let prepared = prepare(&case, level).map_err(|halt| halt.refuse(job.number))?;
    let sampled = prepared.sample(asked, still_wanted)?;
    let answers = prepared.answers(&case, &sampled);
    let curves = prepared.curves(&case).map_err(|halt| halt.refuse(job.number))?;
    Ok(Forecast {
        gross: prepared.machine.road.mass.as_kilograms(),
        help: prepared.machine.help.said.clone(),
        ring: prepared.machine.full.gears.ring_teeth,
        draws: asked.draws,
        seed: asked.seed,
        answers: answers.map_err(|halt| halt.refuse(job.number))?,
        heat: heat::heat(&case, &prepared.machine).map_err(|halt| halt.refuse(job.number))?,
        curves,
        hill: prepared.machine.grade.map(|grade| {
            let wished = case.optional_number("hill-speed");
            (grade, wished.map(|known| known.value))
        }),
        doubts: prepared.doubts,
    })
}

/// What throttle and class let the motor do by itself.
enum Alone {
    /// Drive; whether a speed with the operator of 15 U.S.C. 2085 is asked of it.
    Rides { federal: bool },
    /// Push the bicycle at a walk.
    Walks,
    /// Nothing.
    Never,
}

/// A speed that nobody may come to ride is no forecast.
fn alone(case: &Case<'_>) -> Alone {
    let Ok(class) = prediction::ride_class(case) else {
        return Alone::Never;
    };
    match (case.optional_word("throttle"), class.throttle) {
        (Some("full"), Throttle::Full) => Alone::Rides {
            // Of a state's class as well it decides whether the federal product rules hold.
            federal: class.is_federal(),
        },
        (Some("walk"), Throttle::Walk | Throttle::Full) => Alone::Walks,
        _ => Alone::Never,
    }
}

/// The machine with its doubts and what is asked of it.
struct Prepared {
    machine: Machine,
    doubts: Vec<Doubtful>,
    questions: Vec<Question>,
}

fn prepare(case: &Case<'_>, level: Option<Level>) -> Result<Prepared, Halt> {
    let machine = Machine::of(case, level)?;
    let mut questions = Vec::new();
    if machine.cruising.is_some() {
        questions.extend([
            Question::TopAssisted { low: false },
            Question::TopAssisted { low: true },
        ]);
    }
    match alone(case) {
        Alone::Rides { federal } => {
            for low in [false, true] {
                questions.push(Question::TopMotorAlone { low });
                questions.extend(federal.then_some(Question::TopOfOperator { low }));
            }
        }
        Alone::Walks => questions.push(Question::Walk),
        Alone::Never => {}
    }
    if machine.grade.is_some() {
        questions.extend([
            Question::Hill { low: false },
            Question::Hill { low: true },
            Question::StartOnHill,
        ]);
    }
    Ok(Prepared {
        doubts: machine::doubts(case)?,
        machine,
        questions,
    })
}

impl Prepared {
    fn sample(
        &self,
        asked: Asked,
        still_wanted: &mut dyn FnMut(u32) -> bool,
    ) -> Result<Vec<Outcomes>, Refusal> {
        let shapes: Vec<Shape> = self.doubts.iter().map(|doubt| doubt.shape).collect();
        let mut draws = Draws::new(&shapes, asked.seed).map_err(|error| {
            Refusal::new(
                Reason::BadInput,
                format!("the doubts cannot be drawn from: {error}"),
            )
        })?;
        let mut outcomes = vec![Outcomes::default(); self.questions.len()];
        for done in 0..asked.draws {
            if !still_wanted(done) {
                return Err(Refusal::new(Reason::BadInput, "the forecast was broken off"));
            }
            let draw = draws.draw();
            let machine = self.machine.shaken(&self.doubts, &draw);
            for (question, outcome) in self.questions.iter().zip(&mut outcomes) {
                // A draw beyond the model's range has no answer, which counts against the build.
                outcome.keep(&draw, machine.ask(*question).ok().and_then(|answer| answer.0));
            }
        }
        Ok(outcomes)
    }

    fn answers(&self, case: &Case<'_>, sampled: &[Outcomes]) -> Result<Vec<Answer>, Halt> {
        let answer = |(question, outcomes): (&Question, &Outcomes)| {
            let (best, held_by) = self
                .machine
                .ask(*question)
                .map_err(|error| prediction::unusable(case, "drive", &error))?;
            let (kind, unit) = question.unit();
            Ok(Answer {
                name: question.name(&self.machine),
                kind,
                unit,
                best,
                percentiles: outcomes.quantiles([0.1, 0.5, 0.9]),
                wish: question.wish(case, outcomes),
                held_by,
                matters: if spreads(outcomes) {
                    matters(&self.doubts, outcomes, NAMED)
                } else {
                    Vec::new()
                },
                for_rider: question.is_for_rider(),
            })
        };
        self.questions.iter().zip(sampled).map(answer).collect()
    }

    fn curves(&self, case: &Case<'_>) -> Result<Vec<GearCurve>, Halt> {
        let Machine {
            full,
            climbing,
            road,
            rho,
            help,
            ..
        } = &self.machine;
        // Those of the largest ring come first.
        let of_ring = full
            .gears
            .all()
            .take_while(|gear| gear.ring == full.gears.ring_teeth);
        let mut curves: Vec<GearCurve> = of_ring
            .map(|gear| GearCurve {
                gear,
                points: Vec::new(),
            })
            .collect();
        for percent in CURVE_GRADES {
            let grade = f64::from(percent) / 100.0;
            let place = Place::still(*rho, Grade::ratio(grade));
            let climbs = performance::speed_by_gear_at(full, help.assist, Some(climbing), road, place)
                .map_err(|error| prediction::unusable(case, "drive", &error))?;
            for (curve, climb) in curves
                .iter_mut()
                .zip(climbs)
                .filter(|(_, climb)| climb.speed.si() > 0.0)
            {
                curve.points.push((grade, climb.speed.si()));
            }
        }
        Ok(curves)
    }
}

/// Whether an answer varies by more than a five-hundredth between its tenth and ninetieth percentile. Where
/// a limit holds nearly every draw, the few that it does not would name inputs that decide nothing.
fn spreads(outcomes: &Outcomes) -> bool {
    match outcomes.quantiles([0.1, 0.9]) {
        [Some(low), Some(high)] => high - low > 0.002 * high.abs(),
        [low, high] => low != high,
    }
}

/// The inputs that matter most to an answer, and their shares of its spread.
fn matters(doubts: &[Doubtful], outcomes: &Outcomes, most: usize) -> Vec<(&'static str, f64)> {
    let shares = outcomes.matters();
    let mut named: Vec<_> = doubts.iter().map(|doubt| doubt.name).zip(shares).collect();
    named.sort_by(|a, b| b.1.total_cmp(&a.1));
    named.truncate(most);
    named
}

impl Machine {
    /// Whether the hill is climbed at a speed or faster with [`LOW`] charge left: what
    /// [`Question::Hill`] answers, asked without the speed.
    pub(super) fn climbs_at_least(&self, wished: Speed) -> Result<bool, PerformanceError> {
        let place = Place {
            rho: self.rho,
            grade: Grade::ratio(self.grade.unwrap_or(0.0)),
            headwind: self.headwind,
        };
        let (assist, rider) = (self.help.assist, Some(&self.climbing));
        performance::climbs_at_least(&self.low, assist, rider, &self.road, place, wished)
    }

    /// The answer in SI, `None` where it stalls, and what holds it down.
    fn ask(&self, question: Question) -> Result<(Option<f64>, &'static str), PerformanceError> {
        let steady_in = |headwind, drive: &DriveSystem, rider: Option<&Rider>, road: &RoadLoad, grade| {
            let place = Place {
                rho: self.rho,
                grade: Grade::ratio(grade),
                headwind,
            };
            // Without a rider it is the thumb that asks.
            let assist = rider.map_or_else(|| self.help.alone(), |_| self.help.assist);
            let climb = performance::steady_climb_at(drive, assist, rider, road, place)?;
            let speed = climb.speed.si();
            Ok(((speed > 0.0).then_some(speed), prediction::held_by(climb.limit)))
        };
        let steady = |drive, rider, road, grade| steady_in(self.headwind, drive, rider, road, grade);
        let grade = self.grade.unwrap_or(0.0);
        let charged = |low: bool| if low { &self.low } else { &self.full };
        match question {
            Question::TopAssisted { low } => steady(charged(low), self.cruising.as_ref(), &self.road, 0.0),
            Question::TopMotorAlone { low } => steady(charged(low), None, &self.road, 0.0),
            // A limit of the law is not met by a head wind.
            Question::TopOfOperator { low } => {
                steady_in(Speed::ZERO, charged(low), None, &self.operator, 0.0)
            }
            Question::Walk => {
                let held = DriveSystem {
                    assist_cutoff: Some(self.walk),
                    ..self.full.clone()
                };
                steady(&held, None, &self.road, 0.0)
            }
            Question::Hill { low } => steady(charged(low), Some(&self.climbing), &self.road, grade),
            Question::StartOnHill => performance::restart_acceleration_under(
                &self.low,
                self.help.assist,
                Some(&self.climbing),
                &self.road,
                Grade::ratio(grade),
            )
            .map(|start| (Some(start.si()), "")),
        }
    }
}

impl Question {
    const fn unit(self) -> (Kind, &'static str) {
        match self {
            Self::StartOnHill => (Kind::Acceleration, "m/s2"),
            _ => (Kind::Speed, "km/h"),
        }
    }

    fn name(self, machine: &Machine) -> String {
        let charge = |low: bool| {
            if low {
                "a fifth of the charge left"
            } else {
                "full pack"
            }
        };
        let hill = || unit::show(Kind::Grade, "%", machine.grade.unwrap_or(0.0));
        match self {
            Self::TopAssisted { low } => format!("level, rider and motor, {}", charge(low)),
            Self::TopMotorAlone { low } => format!("level, motor alone, {}", charge(low)),
            Self::TopOfOperator { low } => format!("level, motor alone, operator of 170 lb, {}", charge(low)),
            Self::Walk => format!(
                "walk assistance, set to {} at most",
                unit::show(Kind::Speed, "km/h", machine.walk.si())
            ),
            Self::Hill { low } => format!("hill of {}, {}", hill(), charge(low)),
            Self::StartOnHill => format!("start on {}, {}", hill(), charge(true)),
        }
    }

    /// Whether whoever rides this build can come to ask it.
    const fn is_for_rider(self) -> bool {
        !matches!(self, Self::TopOfOperator { .. })
    }

    /// What the brief or a stored rule asks, and how likely it holds.
    fn wish(self, case: &Case<'_>, outcomes: &Outcomes) -> Option<Wish> {
        // A governed speed is the limit itself but for what the solver leaves.
        let at_least = |limit: f64| outcomes.probability_at_least(limit * (1.0 - SOLVED));
        let reached = |limit, source| Wish {
            limit,
            below: false,
            source,
            probability: at_least(limit),
        };
        let brief = |code: &str| case.optional_number(code).map(|known| known.value);
        match self {
            Self::TopAssisted { .. } => brief("top-speed").map(|limit| reached(limit, "brief")),
            // The greatest speed counts, which is a full pack's.
            Self::TopMotorAlone { .. } | Self::TopOfOperator { low: true } | Self::Walk => None,
            Self::TopOfOperator { low: false } => {
                let MotorOnly::UpTo(limit) = ride_class::find(OPERATOR_CLASS)?.motor_only else {
                    return None;
                };
                let limit = limit.metres_per_second();
                Some(Wish {
                    limit,
                    below: true,
                    source: "15 U.S.C. 2085",
                    probability: 1.0 - at_least(limit),
                })
            }
            Self::Hill { .. } => brief("hill-speed").map(|limit| reached(limit, "brief")),
            Self::StartOnHill => case
                .flag("hill-restart")
                .unwrap_or(false)
                .then(|| reached(case.rule("hill.restart-acceleration"), "common practice")),
        }
    }
}

#[cfg(test)]
mod tests;
