//! What a ride log shows: its sums, its usable stretches, drag and rolling resistance.
//!
//! The figures are kept with the job as they were found, in SI units; the file itself is kept beside
//! them, so that all of it can be worked out again.

mod fits;

use lockring_calc::doubt::COVERAGE;
use lockring_calc::quantity::{Angle, Duration, Length, Power, Speed};
use lockring_calc::ride_fit::stretch::{Kind, Stretch, Usable, usable};
use lockring_calc::ride_fit::{Reading, Ridden};
use lockring_calc::road::RoadLoad;
use lockring_calc::trace::{Recipe, distance};
use serde::{Deserialize, Serialize};

use super::way::{By, PAUSE, Way};
use super::{Column, Log, Sample};

/// Most stretches kept, the longest first.
const MOST_STRETCHES: usize = 100;

/// Where the power meter sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Meter {
    /// At crank or pedals: the rider's power; what the motor reports comes on top.
    Crank,
    /// At the wheel: all that drives, the motor's share included.
    Wheel,
}

/// Shares of the rider's and the motor's power that reach the wheel; `None` where the motor's is
/// part of the power already.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Losses {
    rider: f64,
    motor: Option<f64>,
}

impl Meter {
    /// The word people type.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Crank => "crank",
            Self::Wheel => "wheel",
        }
    }

    /// By word.
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "crank" => Some(Self::Crank),
            "wheel" => Some(Self::Wheel),
            _ => None,
        }
    }

    /// What is lost on the way to the wheel, by the efficiency of the chain and of what lies behind
    /// the motor.
    pub const fn losses(self, chain: f64, motor: f64) -> Losses {
        match self {
            Self::Crank => Losses {
                rider: chain,
                motor: Some(motor),
            },
            Self::Wheel => Losses {
                rider: 1.0,
                motor: None,
            },
        }
    }
}

/// What is known of bicycle and day when a log is read.
#[derive(Debug, Clone)]
pub struct Bicycle {
    /// For the fit; power counts at the wheel.
    pub(crate) ridden: Ridden,
    pub(crate) losses: Losses,
    /// What the workshop takes drag and rolling resistance for.
    pub(crate) assumed: RoadLoad,
}

/// What a log shows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Study {
    /// FIT, TCX, GPX or CSV.
    pub format: String,
    /// Samples read.
    pub samples: usize,
    /// When the first was taken, seconds since 1970-01-01 UTC.
    pub began_s: Option<f64>,
    /// From the first to the last.
    pub time_s: f64,
    /// Without pauses and standing.
    pub moving_s: f64,
    /// Distance.
    pub distance_m: f64,
    /// Where the distance comes from.
    pub distance_by: String,
    /// Speeds were worked out of the distances.
    pub speed_derived: bool,
    /// Climbing and falling; none without heights.
    pub climb_m: Option<(f64, f64)>,
    /// Fastest sample.
    pub top_mps: Option<f64>,
    /// Work the power meter and the motor report.
    pub work_j: Option<f64>,
    /// The motor's.
    pub motor_work_j: Option<f64>,
    /// Charge of the battery at the first and at the last sample that tells it.
    pub charge: Option<(f64, f64)>,
    /// Quantities the file has.
    pub has: Vec<String>,
    /// What was mended, left out or lost, a line each.
    pub mended: Vec<String>,
    /// Usable stretches, in riding order.
    pub stretches: Vec<Piece>,
    /// Drag and rolling resistance.
    pub fits: Vec<Fitted>,
    /// What was taken for granted, and why something was not fitted.
    pub said: Vec<String>,
}

/// A usable stretch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// `pull`, `climb` or `coast`.
    pub kind: String,
    /// Its start after the first sample.
    pub from_s: f64,
    /// How long it took.
    pub time_s: f64,
    /// How far it went.
    pub distance_m: f64,
    /// Height at its end above its start.
    pub climb_m: f64,
    /// Mean grade, as a ratio.
    pub grade: f64,
    /// Mean speed.
    pub speed_mps: f64,
    /// Mean power at the wheel; none where the file has no power.
    pub power_w: Option<f64>,
}

/// Drag and rolling resistance by one fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fitted {
    /// What was looked for besides: `nothing`, `mass` or `wind`.
    pub free: String,
    /// Mass, found or as given.
    pub mass_kg: f64,
    /// Its standard uncertainty where it was found.
    pub mass_u_kg: Option<f64>,
    /// Speed at which the ride knows the resistance best.
    pub speed_mps: f64,
    /// Resistance on the level in still air there.
    pub force_n: f64,
    /// Its standard uncertainty.
    pub force_u_n: f64,
    /// What the workshop's own figures give there.
    pub assumed_n: f64,
    /// Rolling coefficient and its standard uncertainty; none when all was ridden at one speed.
    pub crr: Option<(f64, f64)>,
    /// Drag area and its standard uncertainty, m².
    pub cda_m2: Option<(f64, f64)>,
    /// Correlation of the two.
    pub correlation: f64,
    /// Whether the ride tells them apart.
    pub told_apart: bool,
    /// Wind found: speed, and the bearing it came from in degrees.
    pub wind: Option<(f64, f64)>,
    /// Height left unexplained, root mean square.
    pub rms_m: f64,
    /// Work the fit asks for over work measured.
    pub energy_ratio: f64,
    /// Readings that counted.
    pub readings: usize,
}

/// The readings a fit can use: those with speed, height and power, all of it at the wheel.
pub fn readings(log: &Log, way: &Way, losses: Losses) -> Vec<Reading> {
    let samples = &log.samples;
    let power = |sample: &Sample| {
        let motor = match losses.motor {
            Some(share) if log.has(Column::MotorPower) => share * sample.motor_power?.si(),
            _ => 0.0,
        };
        Some(Power::from_si(losses.rider * sample.power?.si() + motor))
    };
    (0..samples.len())
        .filter_map(|i| {
            Some(Reading {
                time: samples[i].time,
                speed: way.speed[i]?,
                power: power(&samples[i])?,
                altitude: samples[i].altitude?,
                heading: heading(samples, i),
            })
        })
        .collect()
}

/// Where a rider goes, from the place before to the place after; `None` at rest.
fn heading(samples: &[Sample], here: usize) -> Option<Angle> {
    let from = samples[here.saturating_sub(1)].place?;
    let to = samples.get(here + 1).unwrap_or(&samples[here]).place?;
    if distance(from, to) < Length::metres(1.0) {
        return None;
    }
    // Bearing on the small square between the two, good to a thousandth of a degree.
    let north = to.latitude - from.latitude;
    let east = (to.longitude - from.longitude) * from.latitude.to_radians().cos();
    Some(Angle::from_si(east.atan2(north)))
}

impl Log {
    /// Whether any sample tells a quantity.
    pub fn has(&self, column: Column) -> bool {
        self.samples.iter().any(|sample| match column {
            Column::Speed => sample.speed.is_some(),
            Column::Power => sample.power.is_some(),
            Column::MotorPower => sample.motor_power.is_some(),
            Column::Cadence => sample.cadence.is_some(),
            Column::Altitude => sample.altitude.is_some(),
            Column::Distance => sample.distance.is_some(),
            Column::Battery => sample.battery.is_some(),
            Column::Latitude | Column::Longitude => sample.place.is_some(),
        })
    }
}

/// What a log shows. `bicycle` is why there is none when the job does not know enough for a fit;
/// `band` is the shop's measure of what counts as climbing.
pub fn study(log: &Log, bicycle: Result<&Bicycle, &str>, band: Length) -> Study {
    let way = Way::of(log);
    let samples = &log.samples;
    let last = samples.last().map_or(Duration::ZERO, |sample| sample.time);
    let climb = log.has(Column::Altitude).then(|| way.road(log).ok()).flatten();
    let climb = climb.and_then(|road| road.climb(Recipe::Band(band)).ok());
    let charges = || samples.iter().filter_map(|sample| sample.battery);
    let mut said = Vec::new();
    if way.derived {
        said.push(format!(
            "the file has no speeds: they were worked out {}",
            way.by.said()
        ));
    }
    let mut study = Study {
        format: log.format.word().to_owned(),
        samples: samples.len(),
        began_s: log.began,
        time_s: last.si(),
        moving_s: moving(samples, &way),
        distance_m: way.length().si(),
        distance_by: way.by.said().to_owned(),
        speed_derived: way.derived,
        climb_m: climb.map(|climb| (climb.ascent.si(), climb.descent.si())),
        top_mps: way
            .speed
            .iter()
            .flatten()
            .map(|speed| speed.si())
            .reduce(f64::max),
        work_j: work(samples, |sample| sample.power),
        motor_work_j: work(samples, |sample| sample.motor_power),
        charge: charges().next().zip(charges().next_back()),
        has: Column::ALL
            .into_iter()
            .filter(|column| log.has(*column))
            .map(|column| column.word().to_owned())
            .collect(),
        mended: log.repairs.iter().map(ToString::to_string).collect(),
        stretches: Vec::new(),
        fits: Vec::new(),
        said,
    };
    // Where the job does not say what is lost, stretches are shown as if nothing were.
    let losses = bicycle.map_or(Meter::Crank.losses(1.0, 1.0), |bicycle| bicycle.losses);
    let with_power = readings(log, &way, losses);
    if with_power.is_empty() {
        study.said.push(lacking(log, way.by));
        let readings = unpowered(log, &way);
        let mut stretches = usable(&readings, &Usable::default());
        // Nobody knows what was driven there and what rolled.
        stretches.retain(|stretch| stretch.kind == Kind::Climb);
        study.stretches = pieces(&stretches, &readings, false, &mut study.said);
        return study;
    }
    let stretches = usable(&with_power, &Usable::default());
    study.stretches = pieces(&stretches, &with_power, true, &mut study.said);
    match bicycle {
        Err(why) => study.said.push(format!("nothing was fitted: {why}")),
        Ok(bicycle) => fits::fits(&with_power, &stretches, bicycle, &mut study),
    }
    study
}

/// Time in motion, pauses left out.
fn moving(samples: &[Sample], way: &Way) -> f64 {
    const STANDING: Speed = Speed::from_si(0.5);
    let steps = samples.windows(2).zip(way.speed.windows(2));
    steps
        .filter(|(_, speeds)| speeds.iter().flatten().any(|speed| *speed > STANDING))
        .map(|(pair, _)| pair[1].time - pair[0].time)
        .filter(|step| *step <= PAUSE)
        .map(Duration::si)
        .sum()
}

/// Work by a power, pauses left out; `None` where no sample tells it.
fn work(samples: &[Sample], power: fn(&Sample) -> Option<Power>) -> Option<f64> {
    samples.iter().find_map(power)?;
    let mut joules = 0.0;
    for pair in samples.windows(2) {
        let step = pair[1].time - pair[0].time;
        if let (Some(from), Some(to), true) = (power(&pair[0]), power(&pair[1]), step <= PAUSE) {
            joules += 0.5 * (from + to).si() * step.si();
        }
    }
    Some(joules)
}

/// Why there are no readings a fit could use.
fn lacking(log: &Log, by: By) -> String {
    let missing: Vec<&str> = [
        ("speed", by != By::Nothing),
        ("height", log.has(Column::Altitude)),
        ("power", log.has(Column::Power)),
    ]
    .into_iter()
    .filter(|(_, there)| !there)
    .map(|(name, _)| name)
    .collect();
    match missing.as_slice() {
        [] => "no sample has speed, height and power together: nothing was fitted".to_owned(),
        missing => format!("the file has no {}: nothing was fitted", missing.join(" and no ")),
    }
}

/// Readings of a log without power.
fn unpowered(log: &Log, way: &Way) -> Vec<Reading> {
    let samples = log.samples.iter().zip(&way.speed);
    samples
        .filter_map(|(sample, speed)| {
            Some(Reading {
                time: sample.time,
                speed: (*speed)?,
                power: Power::ZERO,
                altitude: sample.altitude?,
                heading: None,
            })
        })
        .collect()
}

/// The stretches as they are kept.
fn pieces(stretches: &[Stretch], readings: &[Reading], powered: bool, said: &mut Vec<String>) -> Vec<Piece> {
    let mut kept: Vec<&Stretch> = stretches.iter().collect();
    if kept.len() > MOST_STRETCHES {
        kept.sort_by(|a, b| b.time.si().total_cmp(&a.time.si()));
        kept.truncate(MOST_STRETCHES);
        kept.sort_by_key(|stretch| stretch.rows.start);
        said.push(format!(
            "{} stretches are usable: the longest {MOST_STRETCHES} are kept",
            stretches.len()
        ));
    }
    kept.into_iter()
        .map(|stretch| piece(stretch, readings, powered))
        .collect()
}

fn piece(stretch: &Stretch, readings: &[Reading], powered: bool) -> Piece {
    let rows = &readings[stretch.rows.clone()];
    let (time, distance, climb) = (stretch.time.si(), stretch.distance.si(), stretch.climb.si());
    let worked: f64 = rows
        .windows(2)
        .map(|pair| 0.5 * (pair[0].power + pair[1].power).si() * (pair[1].time - pair[0].time).si())
        .sum();
    // The distance lies along the road, the height above its level projection.
    let level = (distance * distance - climb * climb).max(0.0).sqrt();
    Piece {
        kind: match stretch.kind {
            Kind::Pull => "pull",
            Kind::Climb => "climb",
            Kind::Coast => "coast",
        }
        .to_owned(),
        from_s: rows[0].time.si(),
        time_s: time,
        distance_m: distance,
        climb_m: climb,
        grade: if level > 0.0 { climb / level } else { 0.0 },
        speed_mps: distance / time,
        power_w: powered.then_some(worked / time),
    }
}

impl Piece {
    /// The command that records a climb as the hill of the test ride.
    pub fn command(&self, job: u32) -> String {
        format!(
            "lockring ride {job} hill speed={:.1}km/h grade={:.1}%",
            3.6 * self.speed_mps,
            100.0 * self.grade
        )
    }
}

impl Fitted {
    /// Whether a part or the sum comes out below zero by more than its uncertainty.
    fn is_impossible(&self) -> bool {
        let below = |pair: (f64, f64)| pair.0 + COVERAGE * pair.1 < 0.0;
        let parts = [self.crr, self.cda_m2, Some((self.force_n, self.force_u_n))];
        parts.into_iter().flatten().any(below)
    }

    /// What the fit says, in a line.
    pub fn line(&self) -> String {
        let mut line = match (self.free.as_str(), self.mass_u_kg, self.wind) {
            (_, Some(u), _) => format!(
                "with the mass looked for, {:.1} ± {:.1} kg: ",
                self.mass_kg,
                COVERAGE * u
            ),
            (_, _, Some((speed, from))) => {
                format!("with a wind looked for, {speed:.1} m/s from {from:.0}°: ")
            }
            _ => String::new(),
        };
        line.push_str(&format!(
            "{:.1} ± {:.1} N of drag and rolling at {:.1} km/h, still air, level (taken for {:.1} N)",
            self.force_n,
            COVERAGE * self.force_u_n,
            3.6 * self.speed_mps,
            self.assumed_n
        ));
        if let Some((crr, cda)) = self.crr.zip(self.cda_m2) {
            line.push_str(&format!(
                "; rolling {:.4} ± {:.4}, drag area {:.3} ± {:.3} m²",
                crr.0,
                COVERAGE * crr.1,
                cda.0,
                COVERAGE * cda.1
            ));
        }
        if self.is_impossible() {
            line.push_str(
                "; no bicycle rolls like that: look at mass, power meter's place, heights and wind",
            );
        }
        if !self.told_apart {
            line.push_str(&format!(
                "; the ride cannot tell the two apart (correlation {:.2})",
                self.correlation
            ));
        }
        line
    }
}

impl Study {
    /// The hill of the ride: the steepest climb of a hundred metres at least, else the steepest.
    pub fn hill(&self) -> Option<&Piece> {
        let climbs = || self.stretches.iter().filter(|piece| piece.kind == "climb");
        let steepest = |a: &&Piece, b: &&Piece| a.grade.total_cmp(&b.grade);
        climbs()
            .filter(|piece| piece.distance_m >= 100.0)
            .max_by(steepest)
            .or_else(|| climbs().max_by(steepest))
    }
}

#[cfg(test)]
mod tests;
