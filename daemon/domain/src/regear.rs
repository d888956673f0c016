//! Every gearing that could be built, beside each other: what it does on the hill and what it
//! does to the chain.
//!
//! Each ring of the catalogue and each ring not stocked is tried with each cassette on a copy
//! of the job; nothing is stored. The verdicts are those of the checks themselves.

use jiff::Timestamp;
use lockring_calc::chain;
use lockring_calc::gearing::Gear;
use lockring_calc::pack::Load;
use lockring_calc::performance;
use lockring_calc::quantity::Length;

use crate::case::Case;
use crate::chainline;
use crate::check::{Report, Verdict};
use crate::command::{Desk, Typed};
use crate::fact::Value;
use crate::finding::Halt;
use crate::fit::{self, Bench};
use crate::job::Job;
use crate::part::{Part, PartKind, Slot};
use crate::prediction;
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// Checks that say whether a gearing climbs.
const CLIMBS: &[&str] = &["hill.climb_speed", "hill.restart", "speed.top"];
/// Checks that say whether a gearing goes on this bicycle.
const FITS: &[&str] = &[
    "clearance.motor_and_ring",
    "chainline.centre",
    "chainline.cog_angles",
    "chain.length",
    "chain.width",
    "derailleur.capacity",
];
/// Rings not stocked that are tried, in teeth: what motors' spiders take (common practice, no
/// source), in the steps rings are sold in.
const RINGS: std::ops::RangeInclusive<u32> = 28..=52;

/// One gearing.
#[derive(Debug, Clone)]
pub struct Gearing {
    /// Teeth of the ring.
    pub ring: u32,
    /// Dish of the ring, m, inboard positive; `None` when it is not known.
    pub dish: Option<f64>,
    /// The ring in the catalogue; `None` when none is stocked.
    pub ring_part: Option<String>,
    /// Teeth of the cogs, smallest first.
    pub cogs: Vec<u32>,
    /// The cassette in the catalogue; `None` for the bicycle's own.
    pub cassette_part: Option<String>,
    /// How many of ring and cassette differ from the build.
    pub changes: u8,
    /// The ride, where everything for it is known.
    pub ride: Option<Ride>,
    /// The chain's run, where everything for it is known.
    pub run: Option<Run>,
    /// What it takes of frame, chain and derailleur.
    pub room: Room,
    /// Price of what is new in minor units; `None` when a price is not known.
    pub cost: Option<i64>,
    /// Worst of the checks of the hill.
    pub climbs: Verdict,
    /// Worst of the checks of fit.
    pub fits: Verdict,
    /// The change as it is typed after `--what-if`; empty for the build as it is.
    pub change: String,
    /// What every check that is not a pass says, hill first.
    pub short: Vec<(&'static str, Verdict, String)>,
}

/// What a gearing does on the worst hill and at the assist limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Ride {
    /// Speed on the steepest grade the hill is computed at, m/s.
    pub hill_speed: f64,
    /// What holds it down, in words.
    pub held_by: &'static str,
    /// Start on that grade, m/s².
    pub start: f64,
    /// Cadence at the assist limit on the smallest cog, rad/s; `None` without a limit.
    pub top_cadence: Option<f64>,
}

/// How the chain runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Ring outboard of the cogs' middle, m.
    pub offset: f64,
    /// Largest angle at any cog, rad, sign of ring outboard, and that cog's teeth.
    pub worst: (f64, u32),
}

/// What a gearing takes; each is `None` where something for it is not known.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Room {
    /// Ring and chain to the chainstay, m.
    pub stay_gap: Option<f64>,
    /// Links to order.
    pub links: Option<u32>,
    /// Teeth the derailleur must take up, and those it can.
    pub capacity: Option<(u32, u32)>,
}

/// The table.
#[derive(Debug, Clone)]
pub struct Table {
    /// The grade the hill column stands for, as a ratio; 0 when no hill is known.
    pub grade: f64,
    /// Where that grade comes from, in words.
    pub grade_said: String,
    /// Best first: what the job needs before what it costs.
    pub gearings: Vec<Gearing>,
}

impl Gearing {
    /// Whether nothing is left to be mended.
    pub fn does(&self) -> bool {
        self.climbs == Verdict::Pass && self.fits == Verdict::Pass
    }
}

/// Tries every gearing.
///
/// # Errors
/// A refusal when the job has no ring or cogs to begin with, naming what records them.
pub fn table(job: &Job, now: Timestamp, desk: &Desk<'_>) -> Result<Table, Refusal> {
    let case = Case::new(job, desk.rules, Stage::TestRide);
    let present = prediction::teeth(&case).map_err(|halt| halt.refuse(job.number))?;
    let mut gearings = Vec::new();
    for ring in rings(job, present.0, desk) {
        for cassette in cassettes(job, desk) {
            let change: Vec<Typed> = ring.iter().chain(&cassette).cloned().collect();
            gearings.extend(gearing(job, now, desk, &change)?);
        }
    }
    gearings.sort_by(|a, b| order(a).cmp(&order(b)).then(faster(a, b)));
    let (grade, grade_said) = worst_hill(&case).unwrap_or((0.0, String::new()));
    Ok(Table {
        grade,
        grade_said,
        gearings,
    })
}

/// What the job needs first: fails, then cautions, then changes, then parts that must be found.
fn order(gearing: &Gearing) -> (usize, usize, u8, bool) {
    let count = |verdict| {
        gearing
            .short
            .iter()
            .filter(|(_, found, _)| *found == verdict)
            .count()
    };
    (
        count(Verdict::Fail),
        count(Verdict::Caution) + count(Verdict::Open),
        gearing.changes,
        gearing.ring_part.is_none(),
    )
}

fn faster(a: &Gearing, b: &Gearing) -> std::cmp::Ordering {
    let speed = |gearing: &Gearing| gearing.ride.as_ref().map_or(0.0, |ride| ride.hill_speed);
    speed(b).total_cmp(&speed(a))
}

/// Rings to try: the present one, those of the catalogue, and those that nobody stocks, with
/// the dish of the present one.
fn rings(job: &Job, present: u32, desk: &Desk<'_>) -> Vec<Option<Typed>> {
    let own = job.build.get(&Slot::Chainring).map(|line| line.part.id.clone());
    let stocked = catalogue(desk, PartKind::Chainring);
    let teeth = |part: &Part| part.get("teeth").and_then(Value::number);
    let known = |size: u32| stocked.iter().any(|part| teeth(part) == Some(f64::from(size)));
    let mut all = vec![None];
    all.extend(
        stocked
            .iter()
            .filter(|part| Some(&part.id) != own.as_ref())
            .map(|part| Some(Typed::new(Slot::Chainring.word(), part.id.clone()))),
    );
    all.extend(
        RINGS
            .step_by(2)
            .filter(|size| *size != present && !known(*size))
            .map(|size| Some(Typed::new("ring", format!("{size}T")))),
    );
    all
}

/// Cassettes to try: the present one and those of the catalogue.
fn cassettes(job: &Job, desk: &Desk<'_>) -> Vec<Option<Typed>> {
    let own = job.build.get(&Slot::Cassette).map(|line| line.part.id.clone());
    let others = catalogue(desk, PartKind::Cassette)
        .into_iter()
        .filter(|part| Some(&part.id) != own.as_ref())
        .map(|part| Some(Typed::new(Slot::Cassette.word(), part.id)));
    std::iter::once(None).chain(others).collect()
}

fn catalogue(desk: &Desk<'_>, kind: PartKind) -> Vec<Part> {
    let parts = (desk.part_ids)().into_iter().filter_map(|id| (desk.part)(&id));
    parts.filter(|part| part.kind == kind).collect()
}

/// Tries one gearing; `None` when its cogs cannot be told.
fn gearing(job: &Job, now: Timestamp, desk: &Desk<'_>, change: &[Typed]) -> Result<Option<Gearing>, Refusal> {
    let mut bench = Bench::of(job, now);
    for typed in change {
        bench.apply(typed, desk)?;
    }
    let case = Case::new(&bench.job, desk.rules, Stage::TestRide);
    let Ok((ring, cogs)) = prediction::teeth(&case) else {
        return Ok(None);
    };
    let climbing = reports(CLIMBS, &bench.job, desk);
    let fitting = reports(FITS, &bench.job, desk);
    let part = |slot| bench.job.build.get(&slot).map(|line| &line.part);
    let stocked = |part: &&Part| (desk.part)(&part.id).is_some();
    Ok(Some(Gearing {
        ring,
        dish: part(Slot::Chainring).and_then(|part| part.get("dish")?.number()),
        ring_part: part(Slot::Chainring).filter(stocked).map(|part| part.id.clone()),
        cogs,
        cassette_part: part(Slot::Cassette).filter(stocked).map(|part| part.id.clone()),
        changes: u8::try_from(change.len()).expect("ring and cassette are two changes at most"),
        ride: ride(&case).ok(),
        run: run(&bench.job, desk.rules).ok(),
        room: room(&case),
        cost: cost(&bench.job, change),
        change: fit::typed(change),
        climbs: worst(&climbing),
        fits: worst(&fitting),
        short: climbing.iter().chain(&fitting).filter_map(short).collect(),
    }))
}

fn reports(ids: &[&str], job: &Job, desk: &Desk<'_>) -> Vec<Report> {
    ids.iter().map(|id| fit::say(id, job, desk)).collect()
}

/// What a check says of a gearing that nobody has built yet: turns back-pedalled come later.
fn said(report: &Report) -> Verdict {
    report.said().unwrap_or(report.verdict)
}

fn short(report: &Report) -> Option<(&'static str, Verdict, String)> {
    let verdict = said(report);
    let line = report.findings.iter().find(|finding| finding.verdict == verdict);
    let holds = matches!(verdict, Verdict::Pass | Verdict::NotApplicable);
    let summary = line.map_or_else(|| report.summary().to_owned(), |line| line.summary.clone());
    (!holds).then_some((report.check.id, verdict, summary))
}

fn worst(reports: &[Report]) -> Verdict {
    let rank = |verdict: &Verdict| match verdict {
        Verdict::NotApplicable | Verdict::Pass => 0,
        Verdict::Open => 1,
        Verdict::Caution => 2,
        Verdict::Fail => 3,
    };
    let found = reports.iter().map(said).max_by_key(rank);
    match found {
        Some(Verdict::NotApplicable) | None => Verdict::Pass,
        Some(verdict) => verdict,
    }
}

/// The steepest grade the hill is computed at, and where it comes from.
fn worst_hill(case: &Case<'_>) -> Result<(f64, String), Halt> {
    let grades = prediction::hill_grades(case)?;
    let steepest = grades
        .into_iter()
        .max_by(|a, b| a.grade.value.total_cmp(&b.grade.value))
        .ok_or_else(|| case.open("hill-grade"))?;
    Ok((steepest.grade.value, steepest.said))
}

fn ride(case: &Case<'_>) -> Result<Ride, Halt> {
    let (grade, _) = worst_hill(case)?;
    let road = prediction::road(case, prediction::gross_mass(case)?.value)?;
    let rider = prediction::rider(case, case.number("rider-power-hill")?.value);
    let unusable = |error| prediction::unusable(case, "drive", &error);
    let grade = prediction::grade(grade);
    let steady = prediction::drive(case, Load::Sustained)?;
    let climb = performance::steady_climb(
        &steady,
        Some(&rider),
        &road,
        prediction::air_density(case)?,
        grade,
    )
    .map_err(unusable)?;
    let pulling = prediction::drive(case, Load::Pulse)?;
    let start = performance::restart_acceleration(&pulling, Some(&rider), &road, grade).map_err(unusable)?;
    Ok(Ride {
        hill_speed: climb.speed.si(),
        held_by: prediction::held_by(climb.limit),
        start: start.si(),
        top_cadence: top_cadence(case)?,
    })
}

fn top_cadence(case: &Case<'_>) -> Result<Option<f64>, Halt> {
    let (ring, cogs) = prediction::teeth(case)?;
    let (Some(limit), Some(smallest)) = (prediction::assist_limit(case)?, cogs.first()) else {
        return Ok(None);
    };
    let gear = Gear::new(ring, *smallest).map_err(|error| prediction::unusable(case, "gearing", &error))?;
    let rolls = Length::metres(prediction::circumference(case)?.value);
    Ok(Some(gear.cadence(limit, rolls).si()))
}

fn run(job: &Job, rules: &RuleSheet) -> Result<Run, Refusal> {
    let picture = chainline::picture(job, rules)?;
    let worst = picture
        .cogs
        .iter()
        .max_by(|a, b| a.angle.abs().total_cmp(&b.angle.abs()))
        .ok_or_else(|| Refusal::new(Reason::BadInput, "no cogs are known"))?;
    Ok(Run {
        offset: picture.front - picture.rear,
        worst: (worst.angle, worst.teeth),
    })
}

fn room(case: &Case<'_>) -> Room {
    let Ok((ring, cogs)) = prediction::teeth(case) else {
        return Room::default();
    };
    let (smallest, largest) = (cogs.iter().min().copied(), cogs.iter().max().copied());
    let links = prediction::stay(case)
        .ok()
        .zip(largest)
        .and_then(|(stay, largest)| {
            let exact = chain::links_exact(Length::metres(stay.longest.value), ring, largest).ok()?;
            // Without a derailleur nothing takes up slack.
            let geared = cogs.len() > 1;
            Some(chain::links_to_order(if geared { exact } else { exact - 2.0 }))
        });
    let has = case.optional_number("derailleur-capacity");
    let capacity = has.zip(smallest.zip(largest)).map(|(has, (smallest, largest))| {
        // A count inside the window of its code.
        (largest - smallest, has.value.round() as u32)
    });
    Room {
        stay_gap: case.optional_number("ring-gap").map(|gap| gap.value),
        links,
        capacity: capacity.filter(|_| cogs.len() > 1),
    }
}

/// Price of the parts changed; `None` when one has none, or is not stocked.
fn cost(job: &Job, change: &[Typed]) -> Option<i64> {
    let price = |typed: &Typed| {
        let slot = Slot::from_word(&typed.field)?;
        match job.build.get(&slot)?.part.get("price")? {
            Value::Money(minor) => Some(*minor),
            _ => None,
        }
    };
    change.iter().map(price).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench as Bicycle, longtail, trekking, with_desk};

    fn of(bicycle: &Bicycle) -> Table {
        with_desk(|desk| table(&bicycle.job, bicycle.job.touched, desk)).unwrap()
    }

    /// The longtail at the bench with a spacer of 2.5 mm and its hill measured.
    fn measured() -> Bicycle {
        longtail()
            .state(&[
                ("hill-grade", "10.8%"),
                ("hill-source", "measured"),
                ("stay-gap", "4"),
            ])
            .measure(&[
                ("spacer", "2.5"),
                ("gapm", "2.6"),
                ("gapc", "8.5"),
                ("stack", "75.5"),
                ("clf", "51.5"),
                ("clr", "45.0"),
                ("drops", "20/20"),
                ("chain-links", "116"),
            ])
    }

    fn found(table: &Table, ring: u32, largest: u32) -> &Gearing {
        let mut all = table.gearings.iter();
        all.find(|one| one.ring == ring && one.cogs.last() == Some(&largest) && one.ring_part.is_some())
            .unwrap()
    }

    #[test]
    fn the_smaller_ring_climbs_what_the_larger_one_does_not() {
        // Worked examples of the trade (common practice, no source): on 10.8 % 42/34 makes
        // 6.3 km/h, 38/36 makes 10.2.
        let table = of(&measured());
        assert!((table.grade - 0.108).abs() < 1e-12);
        let speed = |ring, cog| 3.6 * found(&table, ring, cog).ride.as_ref().unwrap().hill_speed;
        assert!((speed(42, 34) - 6.3).abs() < 0.2, "{}", speed(42, 34));
        assert!((speed(38, 36) - 10.3).abs() < 0.2, "{}", speed(38, 36));
        assert_eq!(found(&table, 42, 34).climbs, Verdict::Fail);
        assert_eq!(found(&table, 38, 36).climbs, Verdict::Pass);
        // Geometry: 42 against 11 at 25 km/h and 2.11 m round.
        let top = found(&table, 42, 34).ride.as_ref().unwrap().top_cadence.unwrap();
        let rpm = top * 60.0 / std::f64::consts::TAU;
        assert!(
            (rpm - 25.0 / 3.6 * 60.0 * 11.0 / 42.0 / 2.11).abs() < 3.0,
            "{rpm}"
        );
    }

    /// Worked example of the trade (common practice, no source): 38/36 on a stay of 480 mm comes to
    /// 57.3 in, hence 58 in = 116 links, as 42/34 has; 36 - 11 = 25 teeth of a capacity of 39.
    #[test]
    fn what_a_gearing_takes_is_the_examples() {
        let table = of(&measured());
        let room = &found(&table, 38, 36).room;
        assert_eq!((room.links, room.capacity), (Some(116), Some((25, 39))));
        assert_eq!(found(&table, 42, 34).room.links, Some(116));
        let gap = found(&table, 42, 34).room.stay_gap.unwrap();
        assert!((gap - 0.0085).abs() < 1e-9, "{gap}");
    }

    #[test]
    fn the_table_is_the_product_and_the_job_stays_as_it_is() {
        let bicycle = measured();
        let before = bicycle.job.clone();
        let table = of(&bicycle);
        assert_eq!(bicycle.job, before);
        let rings: std::collections::BTreeSet<_> = table
            .gearings
            .iter()
            .map(|one| (one.ring, one.ring_part.clone()))
            .collect();
        let cassettes: std::collections::BTreeSet<_> = table
            .gearings
            .iter()
            .map(|one| one.cassette_part.clone())
            .collect();
        assert_eq!(table.gearings.len(), rings.len() * cassettes.len());
        // Even rings of 28 to 52 teeth, each once, stocked or not.
        let sizes: std::collections::BTreeSet<_> = rings.iter().map(|(teeth, _)| *teeth).collect();
        assert!(
            (28..=52).step_by(2).all(|teeth| sizes.contains(&teeth)),
            "{sizes:?}"
        );
        assert_eq!(table.gearings.iter().filter(|one| one.changes == 0).count(), 1);
    }

    #[test]
    fn the_best_come_first_and_what_is_not_stocked_has_no_price() {
        let table = of(&measured());
        let keys: Vec<_> = table.gearings.iter().map(order).collect();
        assert!(keys.is_sorted(), "{keys:?}");
        for one in &table.gearings {
            assert!(one.ring_part.is_some() || one.cost.is_none());
            assert_eq!(one.does(), one.short.is_empty(), "{one:?}");
        }
    }

    #[test]
    fn without_a_hill_the_chain_still_speaks_and_without_cogs_it_is_asked_for() {
        let no_hill = of(&trekking().forget("hill-grade"));
        assert!(no_hill.gearings.iter().all(|one| one.ride.is_none()));
        assert!(no_hill.grade.abs() < f64::EPSILON);
        let bare = longtail().build(&[("cassette", "none")]);
        let refusal = with_desk(|desk| table(&bare.job, bare.job.touched, desk)).unwrap_err();
        assert!(refusal.hint.unwrap().contains("lockring"), "{}", refusal.message);
    }

    #[test]
    fn fails_count_before_cautions_before_changes_before_what_nobody_stocks() {
        let gearing = of(&measured()).gearings.swap_remove(0);
        let with = |verdicts: &[Verdict], changes: u8, stocked: bool| Gearing {
            short: verdicts
                .iter()
                .map(|verdict| ("x", *verdict, String::new()))
                .collect(),
            changes,
            ring_part: stocked.then(|| "ring".to_owned()),
            ..gearing.clone()
        };
        use Verdict::{Caution, Fail, Open};
        let best_first = [
            (with(&[], 0, true), (0, 0, 0, false)),
            (with(&[], 0, false), (0, 0, 0, true)),
            (with(&[], 2, true), (0, 0, 2, false)),
            (with(&[Caution], 0, true), (0, 1, 0, false)),
            (with(&[Caution, Open], 0, true), (0, 2, 0, false)),
            (with(&[Fail], 0, true), (1, 0, 0, false)),
            (with(&[Fail, Caution, Fail], 0, true), (2, 1, 0, false)),
        ];
        for (gearing, expected) in &best_first {
            assert_eq!(order(gearing), *expected);
        }
        assert!(
            best_first
                .windows(2)
                .all(|pair| order(&pair[0].0) < order(&pair[1].0))
        );
        for (climbs, fits, does) in [
            (Verdict::Pass, Verdict::Pass, true),
            (Fail, Verdict::Pass, false),
            (Verdict::Pass, Caution, false),
            (Fail, Fail, false),
        ] {
            let gearing = Gearing {
                climbs,
                fits,
                ..gearing.clone()
            };
            assert_eq!(gearing.does(), does, "{climbs:?} {fits:?}");
        }
    }
}
