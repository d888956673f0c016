//! What the finished bicycle does on hills: speed and gear for each grade, at full and at low
//! charge, starts, and the steepest grade of each gear.

use lockring_calc::assist::Assist;
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, Climb, DriveSystem, Engaged, Place, Rider, Wanted};
use lockring_calc::quantity::{Acceleration, Density, Grade, Speed};
use lockring_calc::road::RoadLoad;

pub use lockring_calc::performance::HubGear;

use crate::assist::Help;
use crate::case::Case;
use crate::finding::Halt;
use crate::forecast::{self, Heat};
use crate::job::Job;
use crate::level::Level;
use crate::prediction::{self, Lift};
use crate::refusal::Refusal;
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// Grades of the table when nobody asks for one, in percent.
const GRADES: [f64; 11] = [0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 20.0, 25.0];
/// Charge called low; common practice, no source.
const LOW: f64 = 0.2;
/// Steepest grade told, as a ratio.
const STEEPEST: f64 = 0.4;
/// A gear holds a grade when the bicycle goes at least this fast on it: a walking pace, m/s.
const WALKING: f64 = 5.0 / 3.6;

/// The bicycle on one grade.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Grade as a ratio.
    pub grade: f64,
    /// With a full pack.
    pub full: Ride,
    /// With a fifth of the charge left.
    pub low: Ride,
    /// Acceleration from standstill with a fifth of the charge left, m/s²; negative when it
    /// rolls back, and no more than lifts the front wheel where the motor drives the rear.
    pub start: f64,
}

/// A steady ride in its fastest gear.
#[derive(Debug, Clone, PartialEq)]
pub struct Ride {
    /// Speed, m/s; 0 when it stalls.
    pub speed: f64,
    /// Ring, cog and gear inside the hub.
    pub gear: Engaged,
    /// Cadence, rad/s.
    pub cadence: f64,
    /// What holds the speed down, in words.
    pub held_by: String,
    /// Power at the motor's output, W.
    pub motor_power: f64,
    /// Battery current, A.
    pub current: f64,
    /// Pack voltage under that current, V.
    pub volts: f64,
}

/// The steepest grades that a gear holds at a walking pace and starts on with a fifth of the charge left.
#[derive(Debug, Clone, PartialEq)]
pub struct Reach {
    /// Ring, cog and gear inside the hub.
    pub gear: Engaged,
    /// Grade as a ratio; 0 when it does not even hold the level.
    pub grade: f64,
    /// Steepest grade it starts on with the acceleration asked for, as a ratio; no steeper than the front wheel stays down
    /// where the motor drives the rear.
    pub started: f64,
}

/// The answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Hills {
    /// Bicycle, rider and load, kg.
    pub gross: f64,
    /// Teeth of the ring, of the largest where there are several.
    pub ring: u32,
    /// Power of the rider on hills, W.
    pub rider_power: f64,
    /// The help taken, in words.
    pub help: String,
    /// The grades.
    pub rows: Vec<Row>,
    /// The gears, smallest cog first, with each the hub's highest first; those of the smaller of two rings follow.
    pub gears: Vec<Reach>,
    /// How long the motor holds the grade asked for; `None` for the table, or where it stalls.
    pub heat: Option<Heat>,
}

/// Computes the answers with all that is known of a job; one grade (a ratio) or the table.
///
/// # Errors
/// A refusal naming what is missing and the command that records it.
pub fn hills(
    job: &Job,
    rules: &RuleSheet,
    grade: Option<f64>,
    level: Option<Level>,
) -> Result<Hills, Refusal> {
    let case = Case::new(job, rules, Stage::TestRide);
    compute(&case, grade, level).map_err(|halt| halt.refuse(job.number))
}

fn compute(case: &Case<'_>, grade: Option<f64>, level: Option<Level>) -> Result<Hills, Halt> {
    let gross = prediction::gross_mass(case)?;
    let rider_power = case.number("rider-power-hill")?.value;
    let base = prediction::drive(case, Load::Sustained)?;
    let help = Help::of(case, level)?;
    let road = Hill {
        case,
        assist: help.assist,
        rider: prediction::rider(case, rider_power),
        road: prediction::road(case, gross.value)?,
        rho: prediction::air_density(case)?,
        lift: Lift::of(case, gross)?,
        full: DriveSystem {
            pack: prediction::full_pack(case, Load::Sustained)?,
            ..base.clone()
        },
        low: DriveSystem {
            pack: prediction::pack_at(case, LOW, Load::Sustained)?,
            ..base.clone()
        },
        start: DriveSystem {
            pack: prediction::pack_at(case, LOW, Load::Pulse)?,
            ..base
        },
    };
    let grades = match grade {
        Some(grade) => vec![grade],
        None => GRADES.iter().map(|percent| percent / 100.0).collect(),
    };
    let heat = match grade {
        Some(grade) => forecast::on_grade(case, level, grade)?,
        None => None,
    };
    Ok(Hills {
        heat,
        gross: gross.value,
        ring: road.full.gears.ring_teeth,
        rider_power,
        help: help.said,
        rows: grades
            .into_iter()
            .map(|grade| road.row(grade))
            .collect::<Result<_, _>>()?,
        gears: road.reaches()?,
    })
}

/// One bicycle, with its pack at the charges looked at.
struct Hill<'c, 'a> {
    case: &'c Case<'a>,
    assist: Assist,
    rider: Rider,
    road: RoadLoad,
    rho: Density,
    lift: Option<Lift>,
    full: DriveSystem,
    low: DriveSystem,
    start: DriveSystem,
}

impl Hill<'_, '_> {
    fn row(&self, grade: f64) -> Result<Row, Halt> {
        let start = performance::restart_acceleration_under(
            &self.start,
            self.assist,
            Some(&self.rider),
            &self.road,
            Grade::ratio(grade),
        )
        .map_err(|error| prediction::unusable(self.case, "drive", &error))?;
        // Where the front wheel lifts no start is harder.
        let most = match &self.lift {
            Some(lift) => lift.most(self.case, grade)?.max(Acceleration::ZERO),
            None => Acceleration::from_si(f64::INFINITY),
        };
        let start = if start < most { start } else { most };
        Ok(Row {
            grade,
            full: self.ride(&self.full, grade)?,
            low: self.ride(&self.low, grade)?,
            start: start.si(),
        })
    }

    fn ride(&self, system: &DriveSystem, grade: f64) -> Result<Ride, Halt> {
        let place = Place::still(self.rho, Grade::ratio(grade));
        let climb: Climb =
            performance::steady_climb_at(system, self.assist, Some(&self.rider), &self.road, place)
                .map_err(|error| prediction::unusable(self.case, "drive", &error))?;
        Ok(Ride {
            speed: climb.speed.si(),
            gear: system.gears.at(climb.gear).unwrap_or_default(),
            cadence: climb.cadence.si(),
            held_by: prediction::held_by(climb.limit).to_owned(),
            motor_power: climb.motor_power.as_watts(),
            current: climb.battery_current.as_amperes(),
            volts: climb.pack_voltage.as_volts(),
        })
    }

    /// The steepest grade of each gear, held and started on.
    fn reaches(&self) -> Result<Vec<Reach>, Halt> {
        let wanted = Wanted {
            speed: Speed::metres_per_second(WALKING),
            start: Acceleration::from_si(self.case.rule("hill.restart-acceleration")),
            starting_pack: self.start.pack,
            assist: self.assist,
        };
        let by_gear = performance::reach_by_gear(&self.low, Some(&self.rider), &self.road, self.rho, &wanted)
            .map_err(|error| prediction::unusable(self.case, "drive", &error))?;
        // Where the front wheel lifts no gear starts.
        let lifts = match &self.lift {
            Some(lift) => lift.steepest(self.case, wanted.start, STEEPEST)?,
            None => STEEPEST,
        };
        let reach = |gear: performance::Reach| Reach {
            gear: self.low.gears.at(gear.gear).unwrap_or_default(),
            grade: gear.held.as_ratio().clamp(0.0, STEEPEST),
            started: gear.started.as_ratio().clamp(0.0, lifts),
        };
        Ok(by_gear.into_iter().map(reach).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};

    fn answers(job: &Job, grade: Option<f64>) -> Hills {
        hills(job, &RuleSheet::shipped(), grade, None).unwrap()
    }

    #[test]
    fn the_longtail_as_built_crawls_up_what_was_told_as_eight_percent() {
        // Worked example of the trade (common practice, no source): 42/34 on 10.8 % makes
        // 6.3 km/h with the motor's torque at its end, and does not start.
        let answers = answers(&longtail().job, Some(0.108));
        let row = &answers.rows[0];
        assert!((3.6 * row.low.speed - 6.3).abs() < 0.2, "{}", 3.6 * row.low.speed);
        assert_eq!((answers.ring, row.low.gear.ring, row.low.gear.cog), (42, 42, 34));
        assert!(row.start < 0.1, "{}", row.start);
    }

    #[test]
    fn no_start_is_harder_than_lifts_the_front_wheel() {
        // First principles: moments about the rear contact, g (b cos - h sin) / h, and on the level g b / h: 0.4 x 1 m and
        // 1.1 m make 3.57 m/s2. As weighed and measured 0.6 x 1.2 m and 0.8 m make 8.83, more than the drive has.
        let child = hardtail().state(&[("rider-mass", "22 kg"), ("load-mass", "0 kg")]);
        let start = |bench: &Bench| answers(&bench.job, Some(0.0)).rows[0].start;
        assert!(
            (start(&child) - 9.80665 * 0.4 / 1.1).abs() < 1e-6,
            "{}",
            start(&child)
        );
        let low = child.state(&[("wheelbase", "1200 mm")]).measure(&[
            ("mass-height", "800 mm"),
            ("scale-front", "60 kg"),
            ("scale-rear", "40 kg"),
        ]);
        assert!((7.0..8.8).contains(&start(&low)), "{}", start(&low));
    }

    #[test]
    fn no_gear_starts_where_the_front_wheel_lifts() {
        // First principles: g (b cos - h sin) / h = 0.2 m/s2 with b = 0.4 m, h = 1.1 m is at
        // acos(0.2 x 1.1 / (9.80665 x 1.1705)) - atan(1.1 / 0.4) = 18.88 degrees, 34.2 %.
        let child = hardtail().state(&[("rider-mass", "22 kg"), ("load-mass", "0 kg")]);
        let started = |gears: &[Reach]| gears.iter().map(|gear| gear.started).fold(0.0, f64::max);
        let most = started(&answers(&child.job, None).gears);
        assert!((most - 0.342).abs() < 5e-4, "{most}");
        // A start of so much is what the row of that grade has left.
        let row = &answers(&child.job, Some(most)).rows[0];
        assert!((row.start - 0.2).abs() < 1e-6, "{}", row.start);
        let low = child.state(&[("wheelbase", "1200 mm")]).measure(&[
            ("mass-height", "800 mm"),
            ("scale-front", "60 kg"),
            ("scale-rear", "40 kg"),
        ]);
        assert!((started(&answers(&low.job, None).gears) - STEEPEST).abs() < 1e-12);
    }

    #[test]
    fn without_help_the_rider_holds_the_speed_and_with_little_its_level() {
        let held = |level: Level| {
            let job = trekking().job;
            let answers = hills(&job, &RuleSheet::shipped(), Some(0.02), Some(level)).unwrap();
            answers.rows[0].full.held_by.clone()
        };
        assert_eq!(
            (held(Level::Off), held(Level::Low)),
            ("the rider".into(), "the level of help".into())
        );
    }

    #[test]
    fn steeper_is_never_faster_and_a_fuller_pack_never_slower() {
        for job in [longtail().job, trekking().job] {
            let rows = answers(&job, None).rows;
            assert_eq!(rows.len(), GRADES.len());
            for pair in rows.windows(2) {
                assert!(pair[1].full.speed <= pair[0].full.speed + 1e-9);
                assert!(pair[1].start <= pair[0].start + 1e-9);
            }
            assert!(
                rows.iter()
                    .all(|row| row.full.speed >= row.low.speed - 1e-3 * row.low.speed)
            );
        }
    }

    #[test]
    fn a_mid_motors_larger_cog_reaches_a_steeper_grade_and_holds_it_at_a_walk() {
        let job = longtail().job;
        let gears = answers(&job, None).gears;
        assert!(
            gears.windows(2).all(|pair| pair[1].grade >= pair[0].grade),
            "{gears:?}"
        );
        let last = gears.last().unwrap();
        assert_eq!((last.gear.ring, last.gear.cog), (42, 34));
        let at = |grade: f64| answers(&job, Some(grade)).rows[0].low.speed;
        assert!(
            at(last.grade - 1e-6) >= WALKING && at(last.grade + 1e-6) < WALKING,
            "{}",
            at(last.grade)
        );
    }

    #[test]
    fn what_is_missing_is_named_with_the_command_that_records_it() {
        let refusal = hills(
            &longtail().build(&[("motor", "none")]).job,
            &RuleSheet::shipped(),
            None,
            None,
        )
        .unwrap_err();
        assert!(refusal.hint.unwrap().contains("lockring build 21 motor=PART"));
    }
}
