//! Every gearing that could be built, beside each other: what it does on the hill and what it
//! does to the chain.
//!
//! Each ring of the catalogue and each ring not stocked is tried with each cassette on a copy
//! of the job; nothing is stored. The verdicts are those of the checks themselves.

use jiff::Timestamp;
use lockring_calc::chain;
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, Place};
use lockring_calc::quantity::Length;

use crate::assist::Help;
use crate::case::{Case, Known};
use crate::chainline;
use crate::check::{Report, Verdict};
use crate::command::{Desk, Typed};
use crate::fact::{Fact, Value};
use crate::finding::Halt;
use crate::fit::{self, Bench};
use crate::job::Job;
use crate::part::{Part, PartKind, Slot};
use crate::prediction;
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Checks that say whether a gearing climbs.
const CLIMBS: &[&str] = &["hill.climb_speed", "hill.restart", "speed.top"];
/// Those of them that the hill decides, and what was ridden on it.
const HILL: &[&str] = &["hill.climb_speed", "hill.restart", RIDDEN];
/// What was ridden on the hill.
const RIDDEN: &str = "ride.hill_speed";
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

/// Starts that differ by less are the same, m/s²: nobody feels it.
const SAME_START: f64 = 0.005;

/// A hill is climbed from a walking pace on, m/s.
const LEAST: f64 = 5.0 / 3.6;

/// One gearing.
#[derive(Debug, Clone)]
pub struct Gearing {
    /// Teeth of the ring, of the largest where the bicycle keeps several.
    pub ring: u32,
    /// Teeth of the smallest of several rings kept: hill and start are those of the better one.
    pub least_ring: Option<u32>,
    /// Dish of the ring, m, inboard positive; `None` when it is not known.
    pub dish: Option<f64>,
    /// The ring in the catalogue; `None` when none is stocked.
    pub ring_part: Option<String>,
    /// Teeth of the cogs, smallest first.
    pub cogs: Vec<u32>,
    /// Gears inside the hub that it is computed with; 0 where there are none, their ratios are not known, or the cassette
    /// takes the hub's place.
    pub hub_gears: u32,
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
    /// What is missing of the speed asked for, or of the start where one is asked for, whichever
    /// is more, as a share of what is asked; 0 where nothing is.
    pub missing: f64,
    /// Cadence at the assist limit on the smallest cog, or in the hub's highest gear, rad/s; `None` without a limit.
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
    /// Ring and chain to the chainstay, m; `None` for a ring larger than the one it was measured with.
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
    let off = Off::of(&Case::new(job, desk.rules, Stage::TestRide));
    let (job, ridden) = &on_one_hill(job, desk.rules);
    let case = Case::new(job, desk.rules, Stage::TestRide);
    let present = prediction::teeth(&case).map_err(|halt| halt.refuse(job.number))?;
    let mut gearings = Vec::new();
    for ring in rings(job, present.0, desk) {
        for cassette in cassettes(&case, desk) {
            let change: Vec<Typed> = ring.iter().chain(&cassette).cloned().collect();
            let tried = gearing(job, now, desk, &change)?;
            gearings.extend(tried.map(|tried| match &off {
                Some(off) => off.told_of(tried),
                None => tried,
            }));
        }
    }
    let good = desk.rules.number("chainline.centre-good").unwrap_or(0.0);
    let out = |gearing: &Gearing| out_of_line(gearing, good);
    gearings.sort_by(|a, b| {
        let of_equals = out(a).cmp(&out(b)).then(faster(a, b));
        order(a).cmp(&order(b)).then(of_equals)
    });
    let (grade, grade_said) = match worst_hill(&case) {
        Ok((grade, said)) => {
            let said = ridden.clone().unwrap_or(said);
            let with = prediction::judged_with(&case).map_err(|halt| halt.refuse(job.number))?;
            (grade, format!("{said}; {with}"))
        }
        Err(_) => (0.0, String::new()),
    };
    Ok(Table {
        grade,
        grade_said,
        gearings,
    })
}

/// A ride of the hill that the model does not agree with: what it computes of another gearing is as far off.
struct Off {
    /// What was ridden, what is computed, and what to do first, in words.
    said: String,
    /// Speed ridden over speed computed; 0 where the hill won.
    share: f64,
    /// The speed asked for, m/s; 0 where none is.
    asked: f64,
    /// Start on the hill of the gearing that was ridden, m/s², where the hill was lost with it.
    lost_with: Option<f64>,
}

impl Off {
    /// `None` where nothing was ridden with this gearing, or the model agrees.
    fn of(case: &Case<'_>) -> Option<Self> {
        let job = case.job().number;
        let grade = prediction::hill_grade(case).ok()?;
        let power = case.number("rider-power-hill").ok()?.value;
        let computed = prediction::ridden_climb(case, grade.value, power)
            .ok()?
            .speed
            .si();
        let speed = |speed: f64| unit::show(Kind::Speed, "km/h", speed);
        let on = unit::show(Kind::Grade, "%", grade.value);
        let asked = case
            .optional_number("hill-speed")
            .map_or(0.0, |asked| asked.value);
        // The start is of no account where the ride did what is asked.
        let start = ride(case).map_or(f64::NEG_INFINITY, |ride| ride.start);
        let first =
            format!("the model does not hold here: lockring ride {job} compare before gears are ordered");
        if prediction::stalled(case) {
            return (computed >= LEAST).then(|| Self {
                said: format!(
                    "the hill was not climbed on {on}, {} are computed: {first}",
                    speed(computed)
                ),
                share: 0.0,
                asked,
                lost_with: Some(start),
            });
        }
        let ridden = case.optional_number("hill-speed-ridden")?.value;
        if prediction::compare_speeds(case, ridden, computed).agrees {
            return None;
        }
        Some(Self {
            said: format!(
                "as built ridden at {} on {on}, {} are computed: {first}",
                speed(ridden),
                speed(computed)
            ),
            share: if computed > 0.0 { ridden / computed } else { 0.0 },
            asked,
            lost_with: (ridden < asked).then_some(start),
        })
    }

    /// The gearing with what the ride says of it. One that pulls away no better than what the hill won against is
    /// no answer to it, however fast the model thinks it is.
    fn told_of(&self, mut gearing: Gearing) -> Gearing {
        let as_ridden = gearing.changes == 0;
        let mut said = self.said.clone();
        let mut fails = as_ridden && self.lost_with.is_some();
        if let Some(ride) = &mut gearing.ride {
            let scaled = ride.hill_speed * self.share;
            let misses = self.lost_with.is_some() && scaled < self.asked;
            if as_ridden || self.share > 0.0 {
                if !as_ridden {
                    let shown = unit::show(Kind::Speed, "km/h", scaled);
                    said.push_str(&format!("; as far off, this gearing would make {shown}"));
                }
                if misses {
                    fails = true;
                    ride.missing = ride.missing.max((self.asked - scaled) / self.asked);
                }
            }
            if let Some(start) = self
                .lost_with
                .filter(|start| !as_ridden && ride.start < start - SAME_START)
            {
                fails = true;
                // No better than what lost, whatever else is computed of it.
                ride.missing = ride.missing.max(1.0);
                said.push_str(&format!(
                    "; it starts with {:.2} m/s2 there, {start:.2} m/s2 as built: harder to push than what the hill won against",
                    ride.start
                ));
            }
        }
        let verdict = if fails { Verdict::Fail } else { Verdict::Caution };
        gearing.climbs = gearing.climbs.max(verdict);
        gearing.short.insert(0, (RIDDEN, verdict, said));
        gearing
    }
}

/// The job with one hill, so that columns and verdicts stand for the same grade: the ridden one
/// where it is steeper than the brief has it, and how that is said; else the brief's.
fn on_one_hill(job: &Job, rules: &RuleSheet) -> (Job, Option<String>) {
    let case = Case::new(job, rules, Stage::TestRide);
    let Some(ridden) = case.optional_number("hill-grade-ridden") else {
        return (job.clone(), None);
    };
    let asked = case.optional_number("hill-grade");
    let mut job = job.clone();
    let fact = job.facts.remove("hill-grade-ridden");
    if asked.is_some_and(|asked| asked.value >= ridden.value) {
        return (job, None);
    }
    let Some(fact) = fact else { return (job, None) };
    let source = Fact {
        value: Value::Word("measured".into()),
        ..(*fact).clone()
    };
    job.facts.insert("hill-source".into(), source.into());
    job.facts.insert("hill-grade".into(), fact);
    let brief = |asked: Known| {
        format!(
            "ridden; the brief has {}",
            unit::show(Kind::Grade, "%", asked.value)
        )
    };
    (job, Some(asked.map_or_else(|| "ridden".to_owned(), brief)))
}

/// What the job needs first: how much is missing on a hill that is not climbed, then fails, then what is missing
/// inside the doubt, then cautions, then changes, then parts that must be found.
fn order(gearing: &Gearing) -> (u32, usize, u32, usize, u8, bool) {
    let on_the_hill = |asked: Verdict| {
        let mut short = gearing.short.iter();
        short.any(|(check, verdict, _)| HILL.contains(check) && *verdict == asked)
    };
    // Whole per cent are told apart, no less.
    let missing = gearing
        .ride
        .as_ref()
        .map_or(0, |ride| (100.0 * ride.missing).round() as u32);
    let lost = on_the_hill(Verdict::Fail);
    let doubtful = !lost && on_the_hill(Verdict::Caution);
    let count = |verdict| {
        gearing
            .short
            .iter()
            .filter(|(_, found, _)| *found == verdict)
            .count()
    };
    (
        if lost { missing } else { 0 },
        count(Verdict::Fail),
        if doubtful { missing } else { 0 },
        count(Verdict::Caution) + count(Verdict::Open),
        gearing.changes,
        gearing.ring_part.is_none(),
    )
}

/// Whole millimetres by which the ring runs further from the cogs' middle than is good.
fn out_of_line(gearing: &Gearing, good: f64) -> u32 {
    let over = gearing.run.as_ref().map_or(0.0, |run| run.offset.abs() - good);
    (1e3 * over.max(0.0)).round() as u32
}

/// The faster on the hill, to a tenth of a km/h; of equally fast ones the one that starts better.
fn faster(a: &Gearing, b: &Gearing) -> std::cmp::Ordering {
    let ride = |gearing: &Gearing| {
        let ride = gearing.ride.as_ref();
        ride.map_or((0.0, 0.0), |ride| ((36.0 * ride.hill_speed).round(), ride.start))
    };
    let ((a_fast, a_start), (b_fast, b_start)) = (ride(a), ride(b));
    b_fast.total_cmp(&a_fast).then(b_start.total_cmp(&a_start))
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

/// Cassettes to try: the present one and those of the catalogue; of several cogs only where the bicycle came with a
/// derailleur, since wheel, derailleur and shifter are no gearing of the one it has.
fn cassettes(case: &Case<'_>, desk: &Desk<'_>) -> Vec<Option<Typed>> {
    let build = &case.whole_job().build;
    let own = build.get(&Slot::Cassette).map(|line| line.part.id.clone());
    let without_derailleur = prediction::came_without_derailleur(case);
    let others = catalogue(desk, PartKind::Cassette)
        .into_iter()
        .filter(|part| Some(&part.id) != own.as_ref())
        .filter(|part| !(without_derailleur && prediction::has_several_cogs(part)))
        .map(|part| Some(Typed::new(Slot::Cassette.word(), part.id)));
    std::iter::once(None).chain(others).collect()
}

fn catalogue(desk: &Desk<'_>, kind: PartKind) -> Vec<Part> {
    let offered = (desk.part_ids)().into_iter().filter(|id| desk.shop.offers(id));
    let parts = offered.filter_map(|id| (desk.part)(&id));
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
    let hub = prediction::hub_gears(&case).and_then(|hub| hub.ratios);
    let climbing = reports(CLIMBS, &bench.job, desk);
    let fitting = reports(FITS, &bench.job, desk);
    let part = |slot| bench.job.build.get(&slot).map(|line| &line.part);
    let stocked = |part: &&Part| (desk.part)(&part.id).is_some();
    Ok(Some(Gearing {
        ring,
        least_ring: prediction::least_ring(&case).ok().flatten(),
        dish: part(Slot::Chainring).and_then(|part| part.get("dish")?.number()),
        ring_part: part(Slot::Chainring).filter(stocked).map(|part| part.id.clone()),
        cogs,
        hub_gears: hub.map_or(0, |ratios| ratios.len() as u32),
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
    let assist = Help::of(case, None)?.assist;
    let place = Place::still(prediction::air_density(case)?, grade);
    let climb =
        performance::steady_climb_at(&steady, assist, Some(&rider), &road, place).map_err(unusable)?;
    let pulling = prediction::drive(case, Load::Pulse)?;
    let start = performance::restart_acceleration_under(&pulling, assist, Some(&rider), &road, grade)
        .map_err(unusable)?;
    let short = |has: f64, asked: f64| (asked - has) / asked;
    let of_speed = case
        .optional_number("hill-speed")
        .map_or(0.0, |asked| short(climb.speed.si(), asked.value));
    let of_start = case
        .flag("hill-restart")
        .is_ok_and(|asked| asked)
        .then(|| short(start.si(), case.rule("hill.restart-acceleration")));
    Ok(Ride {
        hill_speed: climb.speed.si(),
        held_by: prediction::held_by(climb.limit),
        start: start.si(),
        missing: of_speed.max(of_start.unwrap_or(0.0)).max(0.0),
        top_cadence: top_cadence(case)?,
    })
}

fn top_cadence(case: &Case<'_>) -> Result<Option<f64>, Halt> {
    let highest = prediction::gears(case)?.highest();
    let (Some(limit), Some(highest)) = (prediction::assist_limit(case)?, highest) else {
        return Ok(None);
    };
    let gear = highest
        .gear()
        .map_err(|error| prediction::unusable(case, "gearing", &error))?;
    let rolls = Length::metres(prediction::geared_circumference(case)?.value);
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
mod tests;
