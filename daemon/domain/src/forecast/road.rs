//! The road a range is ridden on: recorded, or made from what the brief says of it.

use lockring_calc::air::wind;
use lockring_calc::quantity::{Duration, Grade, Length, Speed};
use lockring_calc::tour::described::{DescribedError, Description, Hill, Surface};
use lockring_calc::tour::{Step, Track};
use lockring_calc::trace::{Recipe, STEEPEST};

use crate::case::Case;
use crate::finding::{Halt, Missing};
use crate::gpx;
use crate::prediction::{self, Climbing};
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

/// Strongest wind anybody rides against, m/s.
const MOST_WIND: f64 = 30.0;
/// Length of a step on a recorded road.
const STEP: Length = Length::from_si(10.0);
/// Heights of a recorded road are means over this much of it (workshop judgement).
const WINDOW: Length = Length::from_si(60.0);
/// Grade of the hills of a made road where the climbing leaves room for it (workshop judgement).
const USUAL: Grade = Grade::ratio(0.04);

impl Road {
    /// # Errors
    /// A refusal naming what is missing in the brief, or what is wrong with the file.
    pub(super) fn of(
        case: &Case<'_>,
        asked: RoadAsked<'_>,
        climb_by: Option<Recipe>,
    ) -> Result<Self, Refusal> {
        match asked {
            RoadAsked::Typical => typical(case).map_err(|halt| halt.refuse(case.job().number)),
            RoadAsked::Recorded { name, content } => {
                let usual = || Recipe::Band(Length::from_si(case.rule("range.climb-band")));
                recorded(name, content, climb_by.unwrap_or_else(usual))
            }
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
        let felt = wind::at_rider(wind);
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

/// Ways of counting climbs as people type them, with an example of each.
const RECIPES: &str = "raw, band:2m, turns:10m, mean:5 or every:50m";

/// A way of counting climbs as typed, such as `band:2m`; `None` for no text at all.
///
/// # Errors
/// A refusal for anything that is none.
pub fn climb_by(text: &str) -> Result<Option<Recipe>, Refusal> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let refuse = |why: &str| {
        Refusal::new(
            Reason::BadInput,
            format!("`{text}` is no way of counting climbs{why}; expected {RECIPES}"),
        )
        .with("field", "climb-by")
    };
    let (name, amount) = text.split_once(':').unwrap_or((text, ""));
    let length = || match unit::parse(Kind::Length, "m", amount) {
        Ok(metres) => Ok(Length::from_si(metres)),
        Err(error) => Err(refuse(&format!(" ({error})"))),
    };
    let recipe = match name {
        "raw" if amount.is_empty() => Recipe::Raw,
        "band" => Recipe::Band(length()?),
        "turns" => Recipe::Turns(length()?),
        "every" => Recipe::Every(length()?),
        "mean" => Recipe::Mean(amount.trim().parse().map_err(|_| refuse(""))?),
        _ => return Err(refuse("")),
    };
    Ok(Some(recipe))
}

/// How climbing was counted, in words.
fn recipe_said(recipe: Recipe) -> String {
    let shown = |length: Length| unit::show(Kind::Length, "m", length.si());
    match recipe {
        Recipe::Raw => "counting every rise".to_owned(),
        Recipe::Band(width) => format!("counted once the height has left a band of {}", shown(width)),
        Recipe::Turns(back) => format!("counted between turns of at least {}", shown(back)),
        Recipe::Mean(points) => format!("counted over the mean of {points} points"),
        Recipe::Every(step) => format!("counted over points every {}", shown(step)),
    }
}

fn recorded(file: &str, content: &[u8], recipe: Recipe) -> Result<Road, Refusal> {
    let unfit = |error: &dyn std::fmt::Display| {
        Refusal::new(Reason::BadInput, format!("{file}: {error}")).with("file", file)
    };
    let mut read = gpx::read(file, content)?;
    let by = |recipe| read.road.climb(recipe).map_err(|error| unfit(&error));
    let (climb, every) = (by(recipe)?, by(Recipe::Raw)?);
    let legs = read.road.legs(STEP, WINDOW).map_err(|error| unfit(&error))?;
    let steps: Vec<Step> = legs.iter().map(|leg| Step::new(leg.length, leg.grade)).collect();
    let mut said = read.mended;
    if read.road.mended.cut > 0 {
        said.push(format!(
            "{} steps steeper than {steepest}: taken as {steepest}",
            read.road.mended.cut,
            steepest = unit::show(Kind::Grade, "%", STEEPEST)
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
        recipe: format!(
            "{}; counting every rise it would be {:.0} m up and {:.0} m down",
            recipe_said(recipe),
            every.ascent.as_metres(),
            every.descent.as_metres()
        ),
        said,
        track: Track::new(&steps).map_err(|error| unfit(&error))?,
        steps,
    })
}

/// The brief's road, made so that distance, climbing, stops and surfaces come out as told.
fn typical(case: &Case<'_>) -> Result<Road, Halt> {
    prediction::need(case, &["range", "climb", "stops", "rolling"])?;
    let unfit = |error: &dyn std::fmt::Display| prediction::unusable(case, "road of the brief", error);
    let (surfaces, loose) = surfaces(case)?;
    let (climbing, job) = (Climbing::of(case)?, case.job().number);
    let mut words = Description {
        length: Length::from_si(case.number("range")?.value),
        climb: Length::from_si(climbing.counted()),
        stops_per_km: case.number("stops")?.value,
        standing: Duration::from_si(case.rule("range.stop-standing")),
        hills: USUAL,
        worst: worst_hill(case),
        surfaces,
    };
    let mut why_no_hill = "its grade or its length is not known".to_owned();
    let made = match words.road() {
        Err(error @ (DescribedError::HillTooHigh { .. } | DescribedError::HillTooLong { .. })) => {
            why_no_hill = error.to_string();
            words.worst = None;
            words.road()
        }
        made => made,
    }
    .map_err(|error| match error {
        DescribedError::TooSteep { .. } => Halt::Open(vec![Missing {
            what: format!("a road of the brief that can be: {error}"),
            how: format!("lockring brief {job} climb=LENGTH range=DISTANCE"),
        }]),
        other => unfit(&other),
    })?;
    let shown = |kind, unit, si| unit::show(kind, unit, si);
    let mut said = vec![format!(
        "made from the brief: {} with {} of climbing in hills of {}, {} stops of {}{loose}",
        shown(Kind::Length, "km", words.length.si()),
        shown(Kind::Length, "m", words.climb.si()),
        shown(Kind::Grade, "%", made.hills.as_ratio()),
        made.stops,
        shown(Kind::Time, "s", words.standing.si())
    )];
    said.push(match words.worst {
        Some(hill) => format!(
            "the worst hill once: {} for {}",
            shown(Kind::Grade, "%", hill.grade.as_ratio()),
            shown(Kind::Length, "m", hill.length.si())
        ),
        None => format!("the worst hill is not part of it: {why_no_hill}"),
    });
    if let Some((counted, cure)) = climbing.contradiction(job) {
        said.push(format!("counted with {counted}; {cure}"));
    }
    Ok(Road {
        name: "typical road".to_owned(),
        ascent: words.climb.as_metres(),
        descent: words.climb.as_metres(),
        recipe: "as the brief has it".to_owned(),
        said,
        track: Track::new(&made.steps).map_err(|error| unfit(&error))?,
        steps: made.steps,
    })
}

fn worst_hill(case: &Case<'_>) -> Option<Hill> {
    let hill = Hill {
        grade: Grade::ratio(case.optional_number("hill-grade")?.value),
        length: Length::from_si(case.optional_number("hill-length")?.value),
    };
    (hill.grade > Grade::LEVEL && hill.length > Length::ZERO).then_some(hill)
}

/// The surfaces told, their rolling resistance against the usual one of the brief; and in words.
fn surfaces(case: &Case<'_>) -> Result<(Vec<Surface>, String), Halt> {
    let usual = case.rule(&format!("crr.{}", case.word("rolling")?));
    let mut surfaces = Vec::new();
    let mut words = String::new();
    for (code, surface) in [("gravel-share", "gravel"), ("trail-share", "trail")] {
        let share = case.optional_number(code).map_or(0.0, |known| known.value);
        if share > 0.0 {
            surfaces.push(Surface {
                share,
                rolling: case.rule(&format!("crr.{surface}")) / usual,
            });
            words += &format!(", {} {surface}", unit::show(Kind::Ratio, "%", share));
        }
    }
    let rest = 1.0 - surfaces.iter().map(|surface| surface.share).sum::<f64>();
    if rest < -1e-9 {
        let error = format!("gravel-share and trail-share are more than 100 % together{words}");
        return Err(prediction::unusable(case, "road of the brief", &error));
    }
    surfaces.push(Surface {
        share: rest.max(0.0),
        rolling: 1.0,
    });
    Ok((surfaces, words))
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
            None,
        )
        .unwrap()
    }

    #[test]
    fn distance_climbing_and_stops_come_out_as_told() {
        for bench in [
            trekking(),
            longtail(),
            trekking()
                .state(&[("climb", "0 m"), ("stops", "0")])
                .forget("hill-length"),
        ] {
            let road = of(&bench);
            let value = |code: &str| bench.job.facts[code].value.number().unwrap();
            let run: f64 = road.steps.iter().map(|step| step.length.si()).sum();
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
                (stops - value("stops") * value("range") / 1000.0).abs() <= 0.5,
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
        // 9 % along 400 m rise 35.9 m: the road climbs no less.
        let flat = of(&bench.state(&[("climb", "20 m")]));
        assert!((flat.ascent - 35.86).abs() < 0.01, "{}", flat.ascent);
        assert!(
            flat.said[2].starts_with("counted with climbing of 36 m"),
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
    fn a_worst_hill_that_cannot_be_part_of_it_is_left_out_with_its_reason() {
        let hill = |length: &str, climb: &str| {
            let told = [
                ("range", "2 km"),
                ("hill-grade", "10%"),
                ("hill-length", length),
                ("climb", climb),
            ];
            of(&trekking().state(&told)).said.remove(1)
        };
        // 10 % along 400 m rise 39.8 m.
        assert!(hill("400 m", "40 m").contains("10 % for 400 m"));
        assert!(hill("400 m", "10 m").contains("10 % for 400 m"));
        assert!(hill("1 km", "150 m").contains("1000 m long"));
        assert!(of(&trekking().forget("hill-length")).said[1].contains("not known"));
    }

    #[test]
    fn climbing_that_no_road_holds_names_what_to_state() {
        let steep = trekking().state(&[("range", "5 km"), ("climb", "3000 m")]);
        let rules = RuleSheet::shipped();
        let case = Case::new(&steep.job, &rules, Stage::TestRide);
        let refusal = Road::of(&case, RoadAsked::Typical, None).unwrap_err();
        let hint = refusal.hint.unwrap();
        assert!(
            hint.contains("lockring brief 20 climb=LENGTH range=DISTANCE"),
            "{hint}"
        );
    }

    #[test]
    fn gravel_and_trail_have_their_shares() {
        let told = |gravel, trail| {
            let told = [
                ("rolling", "city-asphalt"),
                ("gravel-share", gravel),
                ("trail-share", trail),
            ];
            trekking().state(&told)
        };
        let (road, rules) = (of(&told("25%", "10 %")), RuleSheet::shipped());
        let rule = |word: &str| rules.number(&format!("crr.{word}")).unwrap();
        let whole = road.length().si();
        for (word, share) in [("gravel", 0.25), ("trail", 0.1), ("city-asphalt", 0.65)] {
            let rolling = rule(word) / rule("city-asphalt");
            let on: f64 = road
                .steps
                .iter()
                .filter(|step| (step.rolling - rolling).abs() < 1e-9)
                .map(|step| step.length.si())
                .sum();
            assert!((on - share * whole).abs() < 1e-6, "{word}: {on}");
        }
        assert!(
            road.said[0].ends_with("25 % gravel, 10 % trail"),
            "{:?}",
            road.said
        );
        let all = of(&told("100%", "0%"));
        assert!(all.steps.iter().all(|step| step.rolling > 1.5));
        let plain = of(&trekking());
        assert!(plain.steps.iter().all(|step| step.rolling == 1.0));
        let more = told("91%", "10%");
        let case = Case::new(&more.job, &rules, Stage::TestRide);
        let refusal = Road::of(&case, RoadAsked::Typical, None).unwrap_err();
        let told = format!("{} {:?}", refusal.message, refusal.hint);
        assert!(told.contains("more than 100 %"), "{told}");
    }

    #[test]
    fn climbs_are_counted_as_typed_and_nonsense_is_refused() {
        for (text, recipe) in [
            ("raw", Recipe::Raw),
            ("band:2m", Recipe::Band(Length::metres(2.0))),
            ("turns: 10 m", Recipe::Turns(Length::metres(10.0))),
            ("mean:5", Recipe::Mean(5)),
            ("every:50m", Recipe::Every(Length::metres(50.0))),
        ] {
            assert_eq!(climb_by(text).unwrap(), Some(recipe), "{text}");
        }
        assert_eq!(climb_by("  ").unwrap(), None);
        for text in [
            "bend:2m",
            "raw:2m",
            "band",
            "band:2kg",
            "mean:five",
            "mean:-1",
            "every:",
        ] {
            let refusal = climb_by(text).unwrap_err();
            assert!(refusal.message.contains(RECIPES), "{}", refusal.message);
        }
    }

    #[test]
    fn every_recipe_of_the_reference_is_counted_and_named() {
        // tests/reference/gpx/ascent.csv, this track.
        let town = include_bytes!("../../../../tests/reference/gpx/town.gpx");
        for (text, ascent, descent, words) in [
            ("raw", 30.2, 55.0, "every rise"),
            ("band:0.5m", 25.9, 50.5, "band of 0.5 m"),
            ("turns:1m", 25.0, 50.4, "turns of at least 1 m"),
        ] {
            let road = recorded("town.gpx", town, climb_by(text).unwrap().unwrap()).unwrap();
            assert!((road.ascent - ascent).abs() < 0.05, "{text}: {}", road.ascent);
            assert!((road.descent - descent).abs() < 0.05, "{text}: {}", road.descent);
            assert!(road.recipe.contains(words), "{}", road.recipe);
        }
    }

    #[test]
    fn a_recorded_road_keeps_its_length_and_names_its_recipe() {
        let town = include_bytes!("../../../../tests/reference/gpx/town.gpx");
        let road = recorded("town.gpx", town, Recipe::Band(Length::metres(2.0))).unwrap();
        assert!(
            (road.length().as_metres() - 7_594.7).abs() < 5.0,
            "{}",
            road.length().as_metres()
        );
        // Reference: band of 2 m, 18.7 m up and 42.1 m down.
        assert!((road.ascent - 18.7).abs() < 1e-3 && (road.descent - 42.1).abs() < 1e-3);
        assert!(
            road.recipe.contains("a band of 2 m") && road.recipe.contains("30 m up and 55 m down"),
            "{}",
            road.recipe
        );
        // Reference: band of 5 m, 10.9 m up and 32.7 m down.
        let wider = recorded("town.gpx", town, Recipe::Band(Length::metres(5.0))).unwrap();
        assert!((wider.ascent - 10.9).abs() < 1e-3 && (wider.descent - 32.7).abs() < 1e-3);
        assert!(recorded("town.gpx", town, Recipe::Band(Length::metres(101.0))).is_err());
        assert!(
            recorded("x.gpx", b"<gpx></gpx>", Recipe::Raw)
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
        let refusal = Road::of(&case, RoadAsked::Typical, None).unwrap_err();
        assert!(refusal.hint.unwrap().contains("climb"), "{}", refusal.message);
    }

    #[test]
    fn a_worst_hill_has_a_grade_and_a_length() {
        let rules = RuleSheet::shipped();
        let hill = |grade: &str, length: &str| {
            let bench = trekking().state(&[("hill-grade", grade), ("hill-length", length)]);
            worst_hill(&Case::new(&bench.job, &rules, Stage::TestRide)).is_some()
        };
        assert!(hill("9 %", "400 m"));
        for bench in [trekking().forget("hill-grade"), trekking().forget("hill-length")] {
            assert!(worst_hill(&Case::new(&bench.job, &rules, Stage::TestRide)).is_none());
        }
    }

    /// Gravel on 40 %, trails on 60 %: nothing is left of the usual surface; shares add up to one.
    #[test]
    fn surfaces_told_take_their_share_and_the_usual_one_the_rest() {
        let rules = RuleSheet::shipped();
        let shares = |gravel: &str, trail: &str| {
            let bench = trekking().state(&[("gravel-share", gravel), ("trail-share", trail)]);
            let case = Case::new(&bench.job, &rules, Stage::TestRide);
            surfaces(&case).map(|(surfaces, words)| {
                let usual = rules.number("crr.trekking-asphalt").unwrap();
                for (surface, key) in surfaces.iter().zip(["crr.gravel", "crr.trail"]) {
                    let rolling = rules.number(key).unwrap() / usual;
                    assert!((surface.rolling - rolling).abs() < 1e-12 || surface.rolling == 1.0);
                }
                (
                    surfaces.iter().map(|surface| surface.share).collect::<Vec<_>>(),
                    words,
                )
            })
        };
        let (both, words) = shares("40 %", "30 %").unwrap();
        assert!(
            both.iter()
                .zip([0.4, 0.3, 0.3])
                .all(|(share, told)| (share - told).abs() < 1e-12),
            "{both:?}"
        );
        assert_eq!(words, ", 40 % gravel, 30 % trail");
        let (all, _) = shares("40 %", "60 %").unwrap();
        assert!(all.len() == 3 && all[2].abs() < 1e-12, "{all:?}");
        let (none, words) = shares("0 %", "0 %").unwrap();
        assert_eq!((none, words.as_str()), (vec![1.0], ""));
        assert!(shares("60 %", "41 %").is_err());
    }
}
