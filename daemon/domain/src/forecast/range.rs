//! How far a charge goes on the rider's own road: new, in the cold, and when the pack is old.

use lockring_calc::pack::ageing::{self, Life};
use lockring_calc::pack::{self, Charging, Pack};
use lockring_calc::quantity::{Current, Speed, Temperature, Voltage};
use lockring_calc::sampling::{Draws, Outcomes, Shape};
use lockring_calc::thermal::Temperatures;
use lockring_calc::tour::{self, Battery, Habits, Heat, Outcome, RangeEnd, Step, Tourer};
use lockring_calc::trace::Recipe;

use super::machine::{self, Doubtful, Input, Machine};
use super::road::{Road, RoadAsked};
use super::{Answer, Asked, MOST_DRAWS, NAMED, Wish, heat};
use crate::case::Case;
use crate::finding::Halt;
use crate::job::Job;
use crate::level::Level;
use crate::part::Slot;
use crate::prediction;
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::unit::Kind;

/// Points of the profile at most.
const PROFILE: usize = 200;
/// A battery is warm at this.
const WARM: Temperature = Temperature::kelvins(298.15);

/// A point of the road with the state of the bicycle, full at the start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Distance, m.
    pub at: f64,
    /// Height over the start, m.
    pub height: f64,
    /// Charge left, 0 to 1.
    pub charge: f64,
    /// Speed, m/s.
    pub speed: f64,
    /// Temperature of the motor's winding, K; `None` where its heat is not followed.
    pub winding: Option<f64>,
}

/// Heights over the start, asked for in riding order. A step of the road may be ridden in several
/// moments, so that places tell them and not their number.
struct Heights<'a> {
    steps: std::slice::Iter<'a, Step>,
    /// Place and height where the present step ends, and its rise over its length.
    end: (f64, f64, f64),
}

impl<'a> Heights<'a> {
    fn of(steps: &'a [Step]) -> Self {
        Self {
            steps: steps.iter(),
            end: (0.0, 0.0, 0.0),
        }
    }

    /// Height at a place, m; no place may lie before one asked for earlier.
    fn at(&mut self, place: f64) -> f64 {
        while place > self.end.0
            && let Some(step) = self.steps.next()
        {
            let (length, rise) = (step.length.si(), step.grade.sin());
            self.end = (self.end.0 + length, self.end.1 + length * rise, rise);
        }
        let (end, height, rise) = self.end;
        height - (end - place).max(0.0) * rise
    }
}

/// One case of the pack.
#[derive(Debug, Clone, PartialEq)]
pub struct PackCase {
    /// Distance with its spread.
    pub answer: Answer,
    /// What ends it at the best estimate, in words.
    pub ends: &'static str,
    /// Where the pack first gives less than is asked for at the best estimate, m; `None` where it never
    /// does.
    pub full_help: Option<f64>,
    /// What the pack gives until the end at the best estimate, J.
    pub energy: f64,
    /// Where the motor's winding first comes to its limit at the best estimate, m; `None` where it never does.
    pub over_limit: Option<f64>,
}

/// What the motor's winding bears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindingLimit {
    /// Temperature it must not pass, K.
    pub limit: f64,
    /// Whether heat paths and limit are the motor's sheet's; else they are the shop's guess.
    pub from_sheet: bool,
}

/// Charging a pack full again after the trip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recharge {
    /// Time it takes, hours.
    pub hours: f64,
    /// Energy the charger takes from the wall, J.
    pub wall: f64,
}

/// The answers.
#[derive(Debug, Clone)]
pub struct RangeForecast {
    /// The road.
    pub road: Road,
    /// Bicycle, rider and load, kg.
    pub gross: f64,
    /// The help taken, in words.
    pub help: String,
    /// Draws made and their seed.
    pub asked: Asked,
    /// The road ridden once with everything at its best estimate, from a full pack.
    pub trip: Outcome,
    /// What the motor's winding bears; `None` without a motor.
    pub winding: Option<WindingLimit>,
    /// Charging it full again with the charger of the build; `None` where that is not known.
    pub recharge: Option<Recharge>,
    /// The same along the road.
    pub profile: Vec<Point>,
    /// Range by case of the pack.
    pub cases: Vec<PackCase>,
    /// What was drawn.
    pub doubts: Vec<Doubtful>,
}

/// How the road is ridden.
#[derive(Debug, Clone, Copy)]
pub struct RideAsked<'a> {
    /// The road.
    pub road: RoadAsked<'a>,
    /// Head wind at 10 m all the way, m/s.
    pub headwind: f64,
    /// Level of help; `None` for the brief's, or full.
    pub level: Option<Level>,
    /// How the climbs of a recorded road are counted; `None` for the rule sheet's way.
    pub climb_by: Option<Recipe>,
}

/// Rides the road once and until the help is gone, with everything that may be off drawn at
/// random; `still_wanted` is told how many draws are done and answers whether to go on.
///
/// # Errors
/// A refusal naming what is missing, what is wrong with the road, what was asked beyond the range,
/// or that nobody waits any more.
pub fn range(
    job: &Job,
    rules: &RuleSheet,
    ride: RideAsked<'_>,
    asked: Asked,
    still_wanted: &mut dyn FnMut(u32) -> bool,
) -> Result<RangeForecast, Refusal> {
    if !(10..=MOST_DRAWS).contains(&asked.draws) {
        return Err(Refusal::new(
            Reason::OutsideWindow,
            format!(
                "{} draws are outside 10 to {MOST_DRAWS}; for example 200",
                asked.draws
            ),
        ));
    }
    let case = Case::new(job, rules, Stage::TestRide);
    let bicycle = Bicycle::of(&case, ride.level).map_err(|halt| halt.refuse(job.number))?;
    let road = Road::of(&case, ride.road, ride.climb_by)?.against(Speed::from_si(ride.headwind))?;
    let unfit = |error: &dyn std::fmt::Display| prediction::unusable(&case, "ride", error).refuse(job.number);
    let mut profile = Vec::new();
    let trip = {
        let every = (road.steps.len() / PROFILE).max(1);
        let mut heights = Heights::of(&road.steps);
        let mut seen = 0_usize;
        let battery = bicycle.battery(&bicycle.cases[0], 1.0, 1.0);
        tour::ride_observed(
            &road.track,
            &bicycle.tourer(&bicycle.machine, &battery),
            |moment| {
                let height = heights.at(moment.at.si());
                if seen.is_multiple_of(every) {
                    profile.push(Point {
                        at: moment.at.si(),
                        height,
                        charge: moment.state_of_charge,
                        speed: moment.speed.si(),
                        winding: moment.winding.map(|winding| winding.si()),
                    });
                }
                seen += 1;
            },
        )
        .map_err(|error| unfit(&error))?
    };
    let recharge = recharge(&case, &bicycle.pack, trip.state_of_charge);
    let cases = bicycle.ranges(&case, &road, asked, still_wanted)?;
    let from_sheet = heat::from_sheet(&case).map_err(|halt| halt.refuse(job.number))?;
    let winding = bicycle.heat.map(|heat| WindingLimit {
        limit: heat.limit.si(),
        from_sheet,
    });
    Ok(RangeForecast {
        winding,
        gross: bicycle.machine.road.mass.as_kilograms(),
        help: bicycle.machine.help.said,
        road,
        asked,
        trip,
        recharge,
        profile,
        cases,
        doubts: bicycle.doubts,
    })
}

/// A pack as it is in one case.
struct Cells {
    name: String,
    /// Shares of the rated charge and of the sustained resistance.
    charge: f64,
    resistance: f64,
}

/// The bicycle on its road.
struct Bicycle {
    machine: Machine,
    doubts: Vec<Doubtful>,
    pack: Pack,
    warm: Battery,
    cases: Vec<Cells>,
    habits: Habits,
    heat: Option<Heat>,
}

impl Bicycle {
    fn of(case: &Case<'_>, level: Option<Level>) -> Result<Self, Halt> {
        prediction::need(case, &["rider-power", "cruise-speed"])?;
        let machine = Machine::of(case, level.or_else(|| prediction::cruising(case)))?;
        let pack = prediction::battery(&case.part(Slot::Pack)?)?;
        let mut doubts = machine::doubts(case)?;
        // The hill's grade is the road's own here, and the wind is the one asked for.
        doubts.retain(|doubt| !matches!(doubt.input, Input::Grade | Input::Wind));
        doubts.push(machine::charge(case));
        let heat = heat::paths(case, &machine.full)?.map(|hot| Heat {
            nodes: hot.nodes,
            magnet: hot.magnet,
            limit: hot.limit,
            air: heat::air(case),
            start: Temperatures::even(heat::air(case)),
        });
        Ok(Self {
            warm: warm(case, &pack)?,
            pack,
            cases: cells(case)?,
            habits: Habits {
                cruise: Some(Speed::from_si(case.number("cruise-speed")?.value)),
                ..Habits::usual()
            },
            heat,
            doubts,
            machine,
        })
    }

    fn battery(&self, cells: &Cells, charge: f64, resistance: f64) -> Battery {
        let mut battery = self.warm.clone();
        battery.charge = battery.charge * (cells.charge * charge);
        battery.resistance = battery.resistance * (cells.resistance * resistance);
        battery
    }

    fn tourer<'a>(&'a self, machine: &'a Machine, battery: &'a Battery) -> Tourer<'a> {
        Tourer {
            system: &machine.full,
            battery,
            road: &machine.road,
            rho: machine.rho,
            rider: machine.cruising.as_ref(),
            assist: machine.help.assist,
            habits: self.habits,
            heat: self.heat,
        }
    }

    fn ranges(
        &self,
        case: &Case<'_>,
        road: &Road,
        asked: Asked,
        still_wanted: &mut dyn FnMut(u32) -> bool,
    ) -> Result<Vec<PackCase>, Refusal> {
        let shapes: Vec<Shape> = self.doubts.iter().map(|doubt| doubt.shape).collect();
        let job = case.job().number;
        let mut draws = Draws::new(&shapes, asked.seed)
            .map_err(|error| prediction::unusable(case, "doubt", &error).refuse(job))?;
        let mut outcomes = vec![Outcomes::default(); self.cases.len()];
        for done in 0..asked.draws {
            if !still_wanted(done) {
                return Err(Refusal::new(Reason::BadInput, "the forecast was broken off"));
            }
            let draw = draws.draw();
            let machine = self.machine.shaken(&self.doubts, &draw);
            let resistance = machine.full.pack.resistance / self.machine.full.pack.resistance;
            for (cells, outcome) in self.cases.iter().zip(&mut outcomes) {
                let battery = self.battery(cells, machine.charge, resistance);
                let range = tour::range(&road.track, &self.tourer(&machine, &battery));
                outcome.keep(&draw, range.ok().map(|range| range.outcome.distance.si()));
            }
        }
        let wished = case.optional_number("range").map(|known| known.value);
        self.cases
            .iter()
            .zip(&outcomes)
            .map(|(cells, outcomes)| {
                let battery = self.battery(cells, 1.0, 1.0);
                let best = tour::range(&road.track, &self.tourer(&self.machine, &battery))
                    .map_err(|error| prediction::unusable(case, "ride", &error).refuse(job))?;
                Ok(PackCase {
                    ends: ends(best.end),
                    full_help: best.outcome.folded.map(|at| at.si()),
                    energy: best.outcome.energy().si(),
                    over_limit: best
                        .outcome
                        .hottest
                        .and_then(|hottest| hottest.over_limit)
                        .map(|at| at.si()),
                    answer: Answer {
                        name: cells.name.clone(),
                        kind: Kind::Length,
                        unit: "km",
                        best: Some(best.outcome.distance.si()),
                        percentiles: outcomes.quantiles([0.1, 0.5, 0.9]),
                        wish: wished.map(|limit| Wish {
                            limit,
                            below: false,
                            source: "brief",
                            probability: outcomes.probability_at_least(limit),
                        }),
                        held_by: "",
                        matters: super::matters(&self.doubts, outcomes, NAMED),
                        for_rider: true,
                    },
                })
            })
            .collect()
    }
}

const fn ends(end: RangeEnd) -> &'static str {
    match end {
        RangeEnd::AtCutoff => "the help is gone: the pack is at its cut-off",
        RangeEnd::Empty => "the pack is empty",
        RangeEnd::Beyond => "no end within 1000 km: the rider alone does it",
    }
}

/// The full warm pack as the controller draws on it.
fn warm(case: &Case<'_>, pack: &Pack) -> Result<Battery, Halt> {
    let mut battery = Battery::new(pack, WARM).map_err(|error| prediction::unusable(case, "pack", &error))?;
    battery.fold = prediction::fold_back(case)?;
    Ok(battery)
}

/// The cases looked at: as new, in the cold the brief names, and old.
fn cells(case: &Case<'_>) -> Result<Vec<Cells>, Halt> {
    let mut cases = vec![Cells {
        name: "new pack, 25 C".to_owned(),
        charge: 1.0,
        resistance: 1.0,
    }];
    if let Some(coldest) = case.optional_number("coldest") {
        let cold = Temperature::kelvins(coldest.value);
        let charge = pack::cold_energy_factor(cold)
            .map_err(|error| prediction::unusable(case, "coldest day", &error))?;
        if charge < 1.0 {
            let name = format!("new pack, {:.0} C", cold.as_celsius());
            cases.push(Cells {
                name,
                charge,
                resistance: 1.0,
            });
        }
    }
    cases.push(old(case)?);
    Ok(cases)
}

/// A pack after some years of use, kept at room temperature and two thirds full.
fn old(case: &Case<'_>) -> Result<Cells, Halt> {
    let (years, a_year) = (
        case.rule("range.old-years"),
        case.rule("range.old-charges-a-year"),
    );
    let life = Life {
        days: 365.0 * years,
        kept_at: Temperature::celsius(20.0),
        kept_volts: Voltage::volts(3.85),
        cycles: a_year * years,
        depth: case.rule("range.old-depth"),
        cycled_volts: Voltage::volts(3.7),
    };
    let left = ageing::aged(&life).map_err(|error| prediction::unusable(case, "age of the pack", &error))?;
    Ok(Cells {
        name: format!(
            "after {years:.0} years and {:.0} charges: {:.0} % of its charge, 25 C",
            a_year * years,
            100.0 * left.charge
        ),
        charge: left.charge,
        resistance: left.resistance,
    })
}

/// From what the trip leaves to full with the charger of the build; `None` without one, or where the
/// charger is far off the usual.
fn recharge(case: &Case<'_>, pack: &Pack, left: f64) -> Option<Recharge> {
    let charger = case.optional_part(Slot::Charger)?;
    let current = Current::amperes(charger.optional_number("output-current")?);
    let from_wall = charger
        .optional_number("efficiency")
        .unwrap_or_else(|| case.rule("range.wall-efficiency"));
    let end = Current::amperes(pack.charge().as_ampere_hours() * pack::CHARGE_END);
    let charging = Charging {
        from: left.clamp(0.0, 1.0),
        to: 1.0,
        current,
        end: end.min(current * 0.5),
        cell: WARM,
    };
    Some(Recharge {
        hours: pack.charge_time(&charging).ok()?.total().as_hours(),
        wall: pack.charge_energy(&charging).ok()?.si() / from_wall,
    })
}

#[cfg(test)]
mod tests;
