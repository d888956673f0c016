//! How far a charge goes on the rider's own road: new, in the cold, and when the pack is old.

use lockring_calc::pack::ageing::{self, Life};
use lockring_calc::pack::{self, Charging, FoldBack, Pack};
use lockring_calc::quantity::{Current, Speed, Temperature, Voltage};
use lockring_calc::sampling::{Draws, Outcomes, Shape};
use lockring_calc::thermal::Temperatures;
use lockring_calc::tour::{self, Battery, Habits, Heat, Outcome, RangeEnd, Step, Tourer};
use lockring_calc::trace::Recipe;

use super::machine::{self, Doubtful, Input, Machine};
use super::road::{Road, RoadAsked};
use super::{Answer, Asked, MOST_DRAWS, NAMED, Wish, heat};
use crate::assist::{self, Level};
use crate::case::Case;
use crate::finding::Halt;
use crate::job::Job;
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
    /// What the pack gives until then at the best estimate, J.
    pub energy: f64,
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
    /// Hours to charge it full again with the charger of the build; `None` where that is not known.
    pub recharge: Option<f64>,
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

/// Rides the road once and until the pack folds back, with everything that may be off drawn at
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
    Ok(RangeForecast {
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
        let machine = Machine::of(case, level.or_else(|| assist::cruising(case)))?;
        let pack = prediction::battery(&case.part(Slot::Pack)?)?;
        let mut doubts = machine::doubts(case)?;
        // The hill's grade is the road's own here, and the wind is the one asked for.
        doubts.retain(|doubt| !matches!(doubt.input, Input::Grade | Input::Wind));
        doubts.push(machine::charge(case));
        let heat = heat::paths(case, &machine)?.map(|hot| Heat {
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
                    energy: best.outcome.energy().si(),
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
                    },
                })
            })
            .collect()
    }
}

const fn ends(end: RangeEnd) -> &'static str {
    match end {
        RangeEnd::FoldsBack => "the controller takes current back",
        RangeEnd::Empty => "the pack is empty",
        RangeEnd::Beyond => "no end within 1000 km: the rider alone does it",
    }
}

/// The full warm pack as the controller draws on it.
fn warm(case: &Case<'_>, pack: &Pack) -> Result<Battery, Halt> {
    let cut = Voltage::from_si(prediction::low_cutoff(case)?.value);
    let mut battery = Battery::new(pack, WARM).map_err(|error| prediction::unusable(case, "pack", &error))?;
    battery.fold = FoldBack::from_cutoff(cut);
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

/// Hours from what the trip leaves to full with the charger of the build; `None` without one, or
/// where the charger is far off the usual.
fn recharge(case: &Case<'_>, pack: &Pack, left: f64) -> Option<f64> {
    let current = Current::amperes(
        case.optional_part(Slot::Charger)?
            .optional_number("output-current")?,
    );
    let end = Current::amperes(pack.charge().as_ampere_hours() * pack::CHARGE_END);
    let charging = Charging {
        from: left.clamp(0.0, 1.0),
        to: 1.0,
        current,
        end: end.min(current * 0.5),
        cell: WARM,
    };
    Some(pack.charge_time(&charging).ok()?.total().as_hours())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::command::ReceiptText;

    const QUICK: Asked = Asked { draws: 20, seed: 3 };

    #[test]
    fn heights_belong_to_places_however_many_moments_a_step_takes() {
        use lockring_calc::quantity::{Grade, Length};
        // Up 100 m at a slope whose sine is 0.1, level for 50 m, down again (plain arithmetic).
        let slope = |sine: f64| Grade::ratio(sine / (1.0 - sine * sine).sqrt());
        let steps = [(100.0, 0.1), (50.0, 0.0), (100.0, -0.1)]
            .map(|(length, sine)| Step::new(Length::metres(length), slope(sine)));
        let mut heights = Heights::of(&steps);
        for (place, height) in [
            (0.0, 0.0),
            (50.0, 5.0),
            (50.0, 5.0),
            (99.0, 9.9),
            (120.0, 10.0),
            (200.0, 5.0),
            (250.0, 0.0),
            (260.0, 0.0),
        ] {
            assert!((heights.at(place) - height).abs() < 1e-9, "{place} m");
        }
    }

    #[test]
    fn the_profile_has_the_whole_road_and_ends_as_high_as_it_began() {
        let forecast = of(&longtail());
        let (first, last) = (
            forecast.profile.first().unwrap(),
            forecast.profile.last().unwrap(),
        );
        assert!(last.at > 0.99 * 30_000.0 && first.at < 500.0);
        assert!(last.height.abs() < 2.0, "{}", last.height);
        let up: f64 = forecast
            .profile
            .windows(2)
            .map(|pair| (pair[1].height - pair[0].height).max(0.0))
            .sum();
        // The brief has 225 m of climbing; the profile thins the road out.
        assert!((200.0..=225.5).contains(&up), "{up}");
    }

    const fn typical(headwind: f64) -> RideAsked<'static> {
        RideAsked {
            road: RoadAsked::Typical,
            headwind,
            level: None,
            climb_by: None,
        }
    }

    fn of(bench: &Bench) -> RangeForecast {
        range(
            &bench.job,
            &RuleSheet::shipped(),
            typical(0.0),
            QUICK,
            &mut |_| true,
        )
        .unwrap()
    }

    fn best(forecast: &RangeForecast, case: usize) -> f64 {
        forecast.cases[case].answer.best.unwrap()
    }

    #[test]
    fn the_books_of_the_trip_balance_and_its_charge_goes_down() {
        for bench in [trekking(), longtail()] {
            let forecast = of(&bench);
            assert!(forecast.trip.ledger.electric_gap().abs() < 1e-6);
            assert!(forecast.trip.ledger.road_gap().abs() < 1e-6);
            assert!(
                forecast
                    .profile
                    .windows(2)
                    .all(|pair| pair[1].charge <= pair[0].charge + 1e-12)
            );
            assert!(forecast.profile.len() > 50 && forecast.profile.len() <= 2 * PROFILE);
            // A round trip ends where it began.
            assert!(forecast.profile.last().unwrap().height.abs() < 30.0);
        }
    }

    #[test]
    fn a_trekking_bicycle_uses_what_published_rides_use() {
        // A test expert's everyday range, restated in a trade magazine: 4 to 8 Wh/km assisted on
        // the flat, 8 to 15 hilly or heavy (upper figure judgement).
        let forecast = of(&trekking());
        let used = forecast.trip.consumption().as_watt_hours_per_km();
        assert!((3.0..=15.0).contains(&used), "{used}");
    }

    #[test]
    fn cold_and_age_shorten_it_and_a_larger_pack_lengthens_it() {
        let cold = of(&trekking().state(&[("coldest", "-5 C")]));
        assert_eq!(cold.cases.len(), 3);
        assert!(cold.cases[1].answer.name.contains("-5 C"));
        assert!(best(&cold, 1) < best(&cold, 0) && best(&cold, 2) < best(&cold, 0));
        for case in &cold.cases {
            let [low, middle, high] = case.answer.percentiles.map(Option::unwrap);
            assert!(low <= middle && middle <= high);
        }
    }

    #[test]
    fn an_iron_phosphate_pack_sags_and_folds_back_like_any_other() {
        // Before, it was one voltage to the last drop: nothing folded back and it never sagged.
        let found = [("chemistry", "iron-phosphate"), ("series", "12")];
        let iron = trekking().receive("pack", &found, ReceiptText::default());
        let forecast = of(&iron);
        assert_eq!(forecast.cases[0].ends, "the controller takes current back");
        // The set of Prada et al. 2013 rests between 3.0 and 3.6 V but for its last percent: 36 to 43.2 V for
        // 12 in series, less what it sags.
        let lowest = forecast.trip.lowest_voltage.as_volts();
        assert!((33.0..41.0).contains(&lowest), "{lowest}");
        assert!(forecast.recharge.is_some());
    }

    #[test]
    fn a_pack_four_years_old_holds_what_the_published_model_leaves() {
        // Schmalstieg et al. 2014, by hand: 3.85 V at 293.15 K gives a = 2.445e-4, 1 460 days lose 5.8 %;
        // b = 3.217e-3 at depth 0.6 and 3.7 V, 1 238 Ah moved lose 11.3 %: 82.9 % are left.
        let old = of(&trekking()).cases.pop().unwrap();
        assert!(
            old.answer.name.contains("83 % of its charge"),
            "{}",
            old.answer.name
        );
    }

    #[test]
    fn the_charger_s_time_is_told_and_left_out_without_one() {
        // At least what is missing over the current, at most half a day.
        let forecast = of(&trekking());
        let hours = forecast.recharge.unwrap();
        let missing = 1.0 - forecast.trip.state_of_charge;
        assert!(hours > 0.9 * missing * 10.4 / 5.0 && hours < 12.0, "{hours}");
        assert!(of(&trekking().build(&[("charger", "none")])).recharge.is_none());
    }

    #[test]
    fn a_head_wind_shortens_it_and_says_so() {
        let rules = RuleSheet::shipped();
        let against = |wind: f64| range(&trekking().job, &rules, typical(wind), QUICK, &mut |_| true);
        let (calm, windy) = (against(0.0).unwrap(), against(5.0).unwrap());
        assert!(best(&windy, 0) < best(&calm, 0));
        assert!(
            windy
                .road
                .said
                .last()
                .unwrap()
                .contains("5 m/s forecast at 10 m, 3.597 m/s"),
            "{:?}",
            windy.road.said
        );
        assert!(against(-1.0).is_err() && against(31.0).is_err() && against(f64::NAN).is_err());
    }

    #[test]
    fn less_help_goes_further_and_the_level_taken_is_said() {
        let at = |bench: &Bench, level| {
            let ride = RideAsked {
                level,
                ..typical(0.0)
            };
            range(&bench.job, &RuleSheet::shipped(), ride, QUICK, &mut |_| true).unwrap()
        };
        let bench = longtail();
        let (low, full) = (at(&bench, Some(Level::Low)), at(&bench, None));
        assert!(best(&low, 0) > best(&full, 0));
        assert!(low.trip.energy() < full.trip.energy() && low.trip.time >= full.trip.time);
        assert!(low.help.starts_with("low: torque sensor") && full.help.starts_with("full: "));
        // The brief's level is taken when nobody asks for one.
        let told = bench.state(&[("assist-level", "low")]);
        assert_eq!(at(&told, None).trip, low.trip);
        assert_eq!(at(&told, Some(Level::Full)).trip, full.trip);
        // The rider alone draws nothing and gets as far as anybody may.
        let off = at(&told, Some(Level::Off));
        assert_eq!(off.trip.energy().si(), 0.0);
        assert!(off.cases[0].ends.starts_with("no end within"));
    }

    #[test]
    fn more_load_never_lengthens_the_range() {
        let with = |load: &str| best(&of(&trekking().state(&[("load-mass", load)])), 0);
        assert!(with("30 kg") <= with("5 kg"));
    }

    #[test]
    fn the_same_seed_gives_the_same_range_and_it_can_be_broken_off() {
        let bench = trekking();
        assert_eq!(of(&bench).cases, of(&bench).cases);
        let rules = RuleSheet::shipped();
        let broken = range(&bench.job, &rules, typical(0.0), QUICK, &mut |done| done < 3);
        assert!(broken.unwrap_err().message.contains("broken off"));
        let asked = Asked { draws: 5, seed: 1 };
        assert!(range(&bench.job, &rules, typical(0.0), asked, &mut |_| { true }).is_err());
    }

    #[test]
    fn a_recorded_road_is_ridden() {
        let content = include_bytes!("../../../../tests/reference/gpx/town.gpx");
        let road = RoadAsked::Recorded {
            name: "town.gpx",
            content,
        };
        let forecast = range(
            &trekking().job,
            &RuleSheet::shipped(),
            RideAsked { road, ..typical(0.0) },
            QUICK,
            &mut |_| true,
        )
        .unwrap();
        assert!((forecast.trip.distance.as_kilometres() - 7.6).abs() < 0.02);
        assert!(forecast.trip.time.as_seconds() > 600.0);
    }
}
