//! The road a range is ridden on: recorded, or made from what the brief says of it.

use lockring_calc::air;
use lockring_calc::quantity::{Duration, Grade, Length, Speed};
use lockring_calc::tour::{Step, Track};
use lockring_calc::trace::Recipe;

use crate::case::Case;
use crate::finding::Halt;
use crate::gpx;
use crate::prediction;
use crate::refusal::{Reason, Refusal};
use crate::unit::{self, Kind};

/// Which road is asked for.
#[derive(Debug, Clone, Copy)]
pub enum RoadAsked<'a> {
    /// What the brief says: distance, climbing, stops, the worst hill.
    Typical,
    /// A recorded track.
    Recorded {
        /// Name of the file.
        name: &'a str,
        /// Its content.
        content: &'a [u8],
    },
}

/// A road made ready, and what there is to say of it.
#[derive(Debug, Clone)]
pub struct Road {
    /// What it is, in words.
    pub name: String,
    /// Its climbing and falling, m.
    pub ascent: f64,
    /// Falling, m.
    pub descent: f64,
    /// How climbing was added up, in words.
    pub recipe: String,
    /// What was mended or assumed, a line each.
    pub said: Vec<String>,
    pub(super) track: Track,
    pub(super) steps: Vec<Step>,
}

/// Height of a rider above the road, about.
const RIDER: Length = Length::from_si(1.0);
/// Strongest wind anybody rides against, m/s.
const MOST_WIND: f64 = 30.0;
/// Length of a step on a recorded road.
const STEP: Length = Length::from_si(10.0);
/// Heights of a recorded road are means over this much of it (workshop judgement).
const WINDOW: Length = Length::from_si(60.0);
/// A made road is this hilly: one up, one down and the rest level in so many metres.
const ROUND: f64 = 2_000.0;
/// Grade of its hills where the climbing leaves room for it (workshop judgement).
const USUAL: f64 = 0.04;
/// Most of a round that goes up; as much goes down.
const MOST_UP: f64 = 0.4;

impl Road {
    /// # Errors
    /// A refusal naming what is missing in the brief, or what is wrong with the file.
    pub(super) fn of(case: &Case<'_>, asked: RoadAsked<'_>) -> Result<Self, Refusal> {
        match asked {
            RoadAsked::Typical => typical(case).map_err(|halt| halt.refuse(case.job().number)),
            RoadAsked::Recorded { name, content } => recorded(name, content),
        }
    }

    /// The same road against a wind forecast at 10 m, 0 to 30 m/s, all the way: the worst case of a
    /// road whose bearing the wind does not know.
    ///
    /// # Errors
    /// A refusal for a wind outside that range.
    pub(super) fn against(mut self, wind: Speed) -> Result<Self, Refusal> {
        if wind == Speed::ZERO {
            return Ok(self);
        }
        let shown = |speed: Speed| unit::show(Kind::Speed, "m/s", speed.si());
        let refuse = |why: String| Refusal::new(Reason::OutsideWindow, why).with("field", "headwind");
        if !(0.0..=MOST_WIND).contains(&wind.si()) {
            return Err(refuse(format!(
                "head wind of {} is outside 0 m/s to {MOST_WIND} m/s; for example 4 m/s",
                shown(wind)
            )));
        }
        let felt = air::wind_at(wind, RIDER).map_err(|error| refuse(error.to_string()))?;
        for step in &mut self.steps {
            step.headwind = felt;
        }
        self.track = Track::new(&self.steps).map_err(|error| refuse(error.to_string()))?;
        self.said.push(format!(
            "head wind of {} forecast at 10 m, {} at the rider, all the way: the worst case",
            shown(wind),
            shown(felt)
        ));
        Ok(self)
    }

    /// Length along the road.
    pub fn length(&self) -> Length {
        self.track.length()
    }
}

fn recorded(file: &str, content: &[u8]) -> Result<Road, Refusal> {
    let unfit = |error: &dyn std::fmt::Display| {
        Refusal::new(Reason::BadInput, format!("{file}: {error}")).with("file", file)
    };
    let mut read = gpx::read(file, content)?;
    let recipe = Recipe::default();
    let climb = read.road.climb(recipe).map_err(|error| unfit(&error))?;
    let legs = read.road.legs(STEP, WINDOW).map_err(|error| unfit(&error))?;
    let steps: Vec<Step> = legs.iter().map(|leg| Step::new(leg.length, leg.grade)).collect();
    let mut said = read.mended;
    if read.road.mended.cut > 0 {
        said.push(format!(
            "{} steps steeper than 35 %: taken as 35 %",
            read.road.mended.cut
        ));
    }
    Ok(Road {
        name: if read.name.is_empty() {
            file.to_owned()
        } else {
            format!("{} ({file})", read.name)
        },
        ascent: climb.ascent.as_metres(),
        descent: climb.descent.as_metres(),
        recipe: "counted once the height has left a band of 2 m; other recipes give other figures".to_owned(),
        said,
        track: Track::new(&steps).map_err(|error| unfit(&error))?,
        steps,
    })
}

/// The brief's road: rounds of one up, one down and level, with the worst hill in the middle, so
/// that distance, climbing and stops come out as told.
fn typical(case: &Case<'_>) -> Result<Road, Halt> {
    prediction::need(case, &["range", "climb", "stops"])?;
    let (distance, climb, stops) = (
        case.number("range")?.value,
        case.number("climb")?.value,
        case.number("stops")?.value,
    );
    let standing = case.rule("range.stop-standing");
    let hill = worst_hill(case).filter(|(grade, length)| grade * length <= climb && 2.0 * length <= distance);
    let hill_rise = hill.map_or(0.0, |(grade, length)| grade * length);
    let hill_run = hill.map_or(0.0, |(_, length)| 2.0 * length);
    let rounds = ((distance - hill_run) / ROUND).round().max(1.0);
    let run = (distance - hill_run) / rounds;
    let rise = (climb - hill_rise) / rounds;
    let up = (rise / USUAL).min(MOST_UP * run);
    let grade = if up > 0.0 { rise / up } else { 0.0 };
    let mut shape = Vec::new();
    let middle = (rounds / 2.0).floor();
    for round in 0..rounds as u32 {
        if let Some((steep, length)) = hill.filter(|_| f64::from(round) == middle) {
            shape.extend([(length, steep), (length, -steep)]);
        }
        shape.extend([(up, grade), (run - 2.0 * up, 0.0), (up, -grade)]);
    }
    let mut steps = Vec::new();
    let between = if stops > 0.0 {
        1_000.0 / stops
    } else {
        f64::INFINITY
    };
    let mut to_stop = between;
    for (run, grade) in shape {
        lay(&mut steps, run, grade, &mut to_stop, between, standing);
    }
    let track =
        Track::new(&steps).map_err(|error| prediction::unusable(case, "road of the brief", &error))?;
    let shown = |kind, unit, si| unit::show(kind, unit, si);
    let mut said = vec![format!(
        "made from the brief: {} with {} of climbing in hills of {}, {stops} stops a km of {}",
        shown(Kind::Length, "km", distance),
        shown(Kind::Length, "m", climb),
        shown(Kind::Grade, "%", grade),
        shown(Kind::Time, "s", standing)
    )];
    match hill {
        Some((grade, length)) => said.push(format!(
            "the worst hill once: {} for {}",
            shown(Kind::Grade, "%", grade),
            shown(Kind::Length, "m", length)
        )),
        None => said.push(
            "the worst hill is not part of it: its rise is unknown or more than the climbing told".to_owned(),
        ),
    }
    Ok(Road {
        name: "typical road".to_owned(),
        ascent: climb,
        descent: climb,
        recipe: "as the brief has it".to_owned(),
        said,
        track,
        steps,
    })
}

fn worst_hill(case: &Case<'_>) -> Option<(f64, f64)> {
    let grade = case.optional_number("hill-grade")?.value;
    let length = case.optional_number("hill-length")?.value;
    (grade > 0.0 && length > 0.0).then_some((grade, length))
}

/// Lays a run of one grade in steps of at most 50 m, with a stop wherever one is due. Lengths are
/// told along the map; a step is as long as its slope.
fn lay(steps: &mut Vec<Step>, run: f64, grade: f64, to_stop: &mut f64, between: f64, standing: f64) {
    const LONGEST: f64 = 50.0;
    let mut left = run;
    while left > 1e-6 {
        let piece = left.min(LONGEST).min(*to_stop);
        left -= piece;
        *to_stop -= piece;
        let mut step = Step::new(Length::from_si(piece * 1.0_f64.hypot(grade)), Grade::ratio(grade));
        if *to_stop <= 1e-6 {
            step.stop = Some(Duration::from_si(standing));
            *to_stop = between;
        }
        steps.push(step);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::rules::RuleSheet;
    use crate::stage::Stage;

    fn of(bench: &Bench) -> Road {
        let rules = RuleSheet::shipped();
        Road::of(
            &Case::new(&bench.job, &rules, Stage::TestRide),
            RoadAsked::Typical,
        )
        .unwrap()
    }

    #[test]
    fn distance_climbing_and_stops_come_out_as_told() {
        for bench in [
            trekking(),
            longtail(),
            trekking().state(&[("climb", "0 m"), ("stops", "0")]),
        ] {
            let road = of(&bench);
            let value = |code: &str| bench.job.facts[code].value.number().unwrap();
            let run: f64 = road
                .steps
                .iter()
                .map(|step| step.length.si() * step.grade.cos())
                .sum();
            let up: f64 = road
                .steps
                .iter()
                .map(|step| (step.length.si() * step.grade.sin()).max(0.0))
                .sum();
            let level: f64 = road
                .steps
                .iter()
                .map(|step| step.length.si() * step.grade.sin())
                .sum();
            assert!((run - value("range")).abs() < 1e-3, "{run}");
            assert!((up - value("climb")).abs() < 1e-3, "{up}");
            assert!(level.abs() < 1e-6, "{level}");
            let stops = road.steps.iter().filter(|step| step.stop.is_some()).count() as f64;
            assert!(
                (stops - value("stops") * value("range") / 1000.0).abs() <= 1.0,
                "{stops}"
            );
        }
    }

    #[test]
    fn the_worst_hill_is_part_of_it_where_the_climbing_holds_it() {
        let bench = trekking().state(&[("hill-grade", "9%"), ("hill-length", "400 m"), ("climb", "200 m")]);
        let steepest = |road: &Road| {
            road.steps
                .iter()
                .map(|step| step.grade.as_ratio())
                .fold(0.0, f64::max)
        };
        let road = of(&bench);
        assert!((steepest(&road) - 0.09).abs() < 1e-9);
        assert!(road.said[1].contains("9 % for 400 m"), "{:?}", road.said);
        let flat = of(&bench.state(&[("climb", "20 m")]));
        assert!(
            steepest(&flat) < 0.05 && flat.said[1].contains("not part of it"),
            "{:?}",
            flat.said
        );
    }

    #[test]
    fn more_climbing_than_hills_of_four_percent_hold_makes_them_steeper() {
        let bench = trekking().state(&[("range", "10 km"), ("climb", "400 m"), ("hill-length", "0.1 km")]);
        let road = of(&bench);
        assert!(road.steps.iter().any(|step| step.grade.as_ratio() > 0.06));
    }

    #[test]
    fn a_recorded_road_keeps_its_length_and_names_its_recipe() {
        let town = include_bytes!("../../../../tests/reference/gpx/town.gpx");
        let road = recorded("town.gpx", town).unwrap();
        assert!(
            (road.length().as_metres() - 7_594.7).abs() < 5.0,
            "{}",
            road.length().as_metres()
        );
        // Reference: band of 2 m, 18.7 m up and 42.1 m down.
        assert!((road.ascent - 18.7).abs() < 1e-3 && (road.descent - 42.1).abs() < 1e-3);
        assert!(road.recipe.contains("2 m"));
        assert!(
            recorded("x.gpx", b"<gpx></gpx>")
                .unwrap_err()
                .message
                .starts_with("x.gpx:")
        );
    }

    #[test]
    fn what_the_brief_lacks_is_asked_for() {
        let bench = trekking().forget("climb");
        let rules = RuleSheet::shipped();
        let case = Case::new(&bench.job, &rules, Stage::TestRide);
        let refusal = Road::of(&case, RoadAsked::Typical).unwrap_err();
        assert!(refusal.hint.unwrap().contains("climb"), "{}", refusal.message);
    }
}
