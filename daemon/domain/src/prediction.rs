//! From a job's facts to the physics: the bicycle, drive, rider and road of a case.
//!
//! Several checks predict; they all put the same bicycle together here, so that a hill and
//! a top speed are never computed from two different machines.

use lockring_calc::dropout::Wheel;
use lockring_calc::energy::{Planning, Route};
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, DrivePlace, DriveSystem, Rider};
use lockring_calc::quantity::{
    AngularSpeed, Area, Current, Grade, Inertia, Length, Mass, Power, Speed, Torque,
};
use lockring_calc::road::RoadLoad;

use crate::case::{Case, Known};
use crate::finding::{Finding, Halt, Missing, Verdict};
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::ride_class::{self, RideClass};

pub mod sprockets;

mod donor;
mod logged;
pub use donor::{
    ArmsInBuild, Brake, anew, arms_asked, arms_in_build, brake, brake_that_came, came_without_disc_mounts,
    caution, clamps_carbon, driven_hub, is_belt, is_first_disc, mass_sum, material, read_again, rotor,
    to_record,
};
mod hub_gear;
pub use hub_gear::{
    HubGears, below_higher_gears, came_without_derailleur, chain_efficiency, chooses_several_cogs,
    gear_named, gears, has_one_cog, has_several_cogs, hub_gears, in_direct_drive, stated_hub_gears,
    through_hub_gear,
};
mod motor;
mod surroundings;
pub use surroundings::air_density;
mod lines;
pub use lines::{FrontLine, missing_front_line, open_front_line, predicted_front_line, read_front_line};
mod packs;
use packs::pack_state;
pub use packs::{
    HILL_CHARGE, battery, chemistry, current_limit, fed_from_pack, fold_back, full_pack, full_volts,
    low_cutoff, lower_cutoff, pack_at, roomy_maximum,
};
mod tyres;
pub use tyres::{circumference, geared_circumference, tyre_code, tyre_mark, tyre_width, wheels_differ};
mod spacers;
pub use spacers::{Room, judge_band, motor_kit, spacer_room, spacers_that_fit, whole_tenths_mm};
mod stay;
pub use stay::{Stay, stay};
mod axles;
pub use axles::{Axle, axles};
mod climbing;
pub use climbing::Climbing;
mod lift;
pub use lift::Lift;
mod masses;
pub use masses::{bicycle_mass, gross_mass, summed_mass};
mod pedals;
pub use pedals::Pedals;
mod marks;
pub use marks::torque_mark;
mod ridden;
pub use ridden::{
    Comparison, Way, compare_speeds, ends_before_cutoff, is_of_the_last_try, level_top, read_for_cutoff,
    ridden_climb, ridden_mass, stalled, strip_speed, top_alone,
};
mod cruise;
pub use cruise::cruising;
mod stops;
pub use stops::{Stops, longest, stop_over, usual_stop, usual_stop_over};

/// The ride class chosen for a job.
///
/// # Errors
/// [`Halt::Open`] when none is chosen.
pub fn ride_class(case: &Case<'_>) -> Result<&'static RideClass, Halt> {
    case.optional_word("ride-class")
        .and_then(ride_class::find)
        .ok_or_else(|| {
            Halt::Open(vec![Missing {
                what: "ride class".to_owned(),
                how: to_record(case, "ride-class"),
            }])
        })
}

/// Whether the motor drives at the crank.
///
/// # Errors
/// [`Halt::Open`] when no motor is chosen.
pub fn is_mid(case: &Case<'_>) -> Result<bool, Halt> {
    Ok(case.part(Slot::Motor)?.word("place")? == "mid")
}

/// What arrived for a slot, noted as looked at.
pub fn receipt<'a>(case: &Case<'a>, slot: Slot) -> Option<&'a Receipt> {
    case.receipt(slot)
}

/// Teeth of the chainring and of every cog.
///
/// # Errors
/// [`Halt::Open`] when they are neither chosen nor stated for the donor.
pub fn teeth(case: &Case<'_>) -> Result<(u32, Vec<u32>), Halt> {
    let ring = match case.optional_part(Slot::Chainring) {
        Some(ring) => ring.count("teeth")?,
        // A count inside the window of the code's row.
        None => case.number("ring-teeth")?.value.round() as u32,
    };
    Ok((ring, sprockets::cogs(case)?))
}

/// Teeth of the smallest of several rings that the bicycle keeps; `None` where there is one: a motor's spider
/// and a ring of the build carry one.
///
/// # Errors
/// [`Halt::Open`] when no motor is chosen.
pub fn least_ring(case: &Case<'_>) -> Result<Option<u32>, Halt> {
    if is_mid(case)? || case.optional_part(Slot::Chainring).is_some() {
        return Ok(None);
    }
    let least = case.optional_number("ring-teeth-least");
    // A count inside the window of its code.
    Ok(least.map(|least| least.value.round() as u32))
}

/// What a hill is judged with, in words: how far the motor's wheel rolls, and the charge left.
///
/// # Errors
/// [`Halt::Open`] when the wheel is not known.
pub fn judged_with(case: &Case<'_>) -> Result<String, Halt> {
    let from = if case.knows("circumference") {
        "as rolled out"
    } else {
        "by its tyre's mark"
    };
    Ok(format!(
        "wheel of {:.0} mm {from}, {:.0} % of the charge left",
        1e3 * circumference(case)?.value,
        100.0 * HILL_CHARGE
    ))
}

/// The bicycle on the level by the motor alone, as fast as a limit of the law must count with: crouched and
/// on hard tyres.
///
/// # Errors
/// [`Halt::Open`] when posture, tyres or wheel are not known.
pub fn fastest_alone(case: &Case<'_>, gross: f64) -> Result<RoadLoad, Halt> {
    let road = road(case, gross)?;
    Ok(RoadLoad {
        cda: road
            .cda
            .min(Area::square_metres(case.rule("ride.motor-alone-cda"))),
        crr: road.crr.min(case.rule("ride.motor-alone-crr")),
        ..road
    })
}

/// Bicycle and rider as the road sees them, for a gross mass.
///
/// # Errors
/// [`Halt::Open`] when posture, tyres or wheel are not known.
pub fn road(case: &Case<'_>, gross: f64) -> Result<RoadLoad, Halt> {
    let posture = case.word("posture")?;
    let rolling = case.word("rolling")?;
    let circumference = geared_circumference(case)?;
    Ok(RoadLoad {
        mass: Mass::kilograms(gross),
        cda: Area::square_metres(case.rule(&format!("cda.{posture}"))),
        spoke_drag_area: Area::square_metres(case.rule("model.spoke-drag-area")),
        crr: case.rule(&format!("crr.{rolling}")),
        bearing: true,
        wheel_inertia: Inertia::kilogram_m2(case.rule("model.wheel-inertia")),
        tyre_radius: Length::metres(circumference.value / std::f64::consts::TAU),
        gravity: RoadLoad::STANDARD_GRAVITY,
    })
}

/// The drive: motor, controller, pack at a state of charge, gears, assist limit.
///
/// # Errors
/// [`Halt::Open`] when a part or its data are missing, or its data contradict each other.
pub fn drive(case: &Case<'_>, load: Load) -> Result<DriveSystem, Halt> {
    let motor_part = case.part(Slot::Motor)?;
    let controller = case.part(Slot::Controller)?;
    let pack_part = case.part(Slot::Pack)?;
    let pack = battery(&pack_part)?;
    let motor = motor::of_part(case, &motor_part)?;
    let gears = gears(case)?;
    let place = match driven_hub(case)? {
        None => DrivePlace::Mid,
        Some(Wheel::Rear) => DrivePlace::Hub,
        Some(Wheel::Front) => DrivePlace::OtherHub {
            tyre_radius: Length::metres(circumference(case)?.value / std::f64::consts::TAU),
        },
    };
    let battery_limit = current_limit(case)?;
    Ok(DriveSystem {
        motor: Some(motor),
        place,
        gears,
        battery_limit: Current::amperes(battery_limit),
        fold: Some(fold_back(case)?),
        controller_efficiency: controller
            .optional_number("efficiency")
            .unwrap_or(case.rule("model.controller-efficiency")),
        pack: pack_state(case, &pack, load)?,
        assist_cutoff: assist_limit(case)?,
    })
}

/// The speed above which the motor gives nothing: as set, or the class's own limit.
///
/// # Errors
/// [`Halt::Open`] when neither is known.
pub fn assist_limit(case: &Case<'_>) -> Result<Option<Speed>, Halt> {
    if let Some(set) = case.optional_number("assist-limit") {
        return Ok(Some(Speed::from_si(set.value)));
    }
    Ok(ride_class(case)?
        .max_assist_speed
        .map(|limit| Speed::from_si(limit.metres_per_second())))
}

/// The rider at a power, or a crew of several: theirs together, on cranks that are joined.
pub fn rider(case: &Case<'_>, power: f64) -> Rider {
    Rider {
        power: Power::watts(power),
        crank_torque_max: Torque::newton_metres(pedals::sitting(case)),
        preferred_cadence: AngularSpeed::radians_per_second(case.rule("model.preferred-cadence")),
        max_cadence: AngularSpeed::radians_per_second(case.rule("model.max-cadence")),
    }
}

/// The grade of the hill: as ridden, or as the brief has it.
///
/// # Errors
/// [`Halt::Open`] when no grade is known.
pub fn hill_grade(case: &Case<'_>) -> Result<Known, Halt> {
    match case.optional_number("hill-grade-ridden") {
        Some(ridden) => Ok(ridden),
        None => case.number("hill-grade"),
    }
}

/// The grades ridden and of the brief, ratios, where what was ridden is less steep than the brief has its hill, beyond the
/// doubt of both: another hill.
pub fn easier_hill(case: &Case<'_>) -> Option<(Known, Known)> {
    let ridden = case.optional_number("hill-grade-ridden")?;
    let brief = case.optional_number("hill-grade")?;
    let of_source = case
        .optional_word("hill-source")
        .and_then(|source| grade_doubt(case, source));
    let asked = Known {
        u: brief.u.hypot(of_source.unwrap_or(0.0)),
        ..brief
    };
    let doubt = ridden.expanded().hypot(asked.expanded());
    (asked.value - ridden.value > doubt).then_some((ridden, asked))
}

/// The doubt of a grade by where it comes from, a ratio, k = 1; what is told has none of its own.
fn grade_doubt(case: &Case<'_>, source: &str) -> Option<f64> {
    (source != "told").then(|| case.rule(&format!("hill.grade-doubt-{source}")))
}

/// A grade the hill is computed at, and where it comes from.
pub struct HillGrade {
    /// The grade, a ratio.
    pub grade: Known,
    /// Where it comes from, such as `as told` or `1.3 times as told`.
    pub said: String,
}

impl HillGrade {
    /// The remedy that comes before all others where nobody measured the hill.
    pub fn measure_first(&self, job: u32) -> Option<String> {
        self.said.ends_with("told").then(|| {
            format!(
                "measure the hill before gears are ordered: lockring brief {job} hill-grade=GRADE hill-source=measured"
            )
        })
    }
}

/// The grades the hill is computed at: as ridden, unless that was an easier hill; or as the brief has it, with the doubt
/// of its source; a told one also as much steeper as hills turn out.
///
/// # Errors
/// [`Halt::Open`] when grade or source are missing.
pub fn hill_grades(case: &Case<'_>) -> Result<Vec<HillGrade>, Halt> {
    if let Some(grade) = case.optional_number("hill-grade-ridden")
        && easier_hill(case).is_none()
    {
        return Ok(vec![HillGrade {
            grade,
            said: "ridden".to_owned(),
        }]);
    }
    brief_grades(case)
}

/// [`hill_grades`] as the brief alone has them, whatever was ridden.
///
/// # Errors
/// [`Halt::Open`] when grade or source are missing.
fn brief_grades(case: &Case<'_>) -> Result<Vec<HillGrade>, Halt> {
    let grade = case.number("hill-grade")?;
    let source = case.word("hill-source")?;
    let Some(doubt) = grade_doubt(case, source) else {
        // The factor stands for the doubt of what is told.
        let factor = case.rule("hill.told-factor");
        let steeper = Known {
            value: factor * grade.value,
            ..grade
        };
        return Ok(vec![
            HillGrade {
                grade,
                said: "as told".to_owned(),
            },
            HillGrade {
                grade: steeper,
                said: format!("{factor} times as told"),
            },
        ]);
    };
    let said = if source == "map" {
        "off the map"
    } else {
        "as measured"
    };
    Ok(vec![HillGrade {
        grade: Known {
            u: grade.u.hypot(doubt),
            ..grade
        },
        said: said.to_owned(),
    }])
}

/// Teeth of the largest cog the derailleur takes; no limit where it is not known.
pub fn largest_cog(case: &Case<'_>) -> f64 {
    case.optional_number("derailleur-cog")
        .map_or(f64::INFINITY, |cog| cog.value)
}

/// Teeth of the smallest chainring tried: fewer hardly fit a motor's spider (common practice, no
/// source).
const SMALLEST_RING: u32 = 28;

/// Gearings of a mid motor easier than the one it has, of which `does` holds: with its own
/// largest cog and with one of two teeth more where the derailleur takes it, each with the
/// largest ring that does.
pub fn easier_gearings(
    case: &Case<'_>,
    system: &DriveSystem,
    does: impl Fn(&DriveSystem) -> bool,
) -> Vec<DriveSystem> {
    let Some(largest) = system.gears.cogs.iter().copied().max() else {
        return Vec::new();
    };
    let takes = largest_cog(case);
    let mut found = Vec::new();
    for cog in [largest, largest + 2] {
        if cog > largest && f64::from(cog) > takes {
            continue;
        }
        // Chainrings come in steps of two teeth.
        let rings = (SMALLEST_RING..=system.gears.ring_teeth).rev().step_by(2);
        let easier = rings
            .map(|ring| {
                let mut changed = system.clone();
                changed.gears.ring_teeth = ring;
                for own in changed.gears.cogs.iter_mut().filter(|own| **own == largest) {
                    *own = cog;
                }
                changed
            })
            .find(|changed| changed.gears != system.gears && does(changed));
        found.extend(easier);
    }
    found
}

/// The remedy where [`easier_gearings`] found none: what was looked at, where the rest is, and
/// what else helps.
pub fn no_easier_gearing(case: &Case<'_>, system: &DriveSystem, else_helps: &str) -> String {
    let own = system.gears.cogs.iter().copied().max().unwrap_or_default();
    let takes = f64::from(own + 2) <= largest_cog(case);
    format!(
        "no ring from {SMALLEST_RING} teeth on with a cog of up to {} does it; every cassette of the catalogue beside \
         each other: lockring regear {}; or {else_helps}",
        if takes { own + 2 } else { own },
        case.job().number
    )
}

/// What holds a predicted speed down, in words.
pub const fn held_by(limit: performance::Limit) -> &'static str {
    use performance::Limit;
    match limit {
        Limit::PhaseCurrent => "torque",
        Limit::BatteryCurrent => "power",
        Limit::LowVoltage => "the cut-off for low volts",
        Limit::Voltage => "volts",
        Limit::AssistCutoff => "the assist limit",
        Limit::AssistLevel => "the level of help",
        Limit::Cadence => "cadence",
        Limit::NoMotor => "the rider",
    }
}

/// A grade as the road model takes it.
pub const fn grade(ratio: f64) -> Grade {
    Grade::ratio(ratio)
}

/// The rider's road for the planning of energy. A climbing that is counted with though the brief has another is an
/// assumption of whatever is judged by it.
///
/// # Errors
/// [`Halt::Open`] when the brief is incomplete.
pub fn route(case: &Case<'_>) -> Result<Route, Halt> {
    let climbing = Climbing::of(case)?;
    if let Some((counted, cure)) = climbing.contradiction(case.job().number) {
        case.assume_until(counted, Some(cure));
    }
    Ok(Route {
        distance: Length::metres(case.number("range")?.value),
        ascent: Length::metres(climbing.counted()),
        speed: Speed::from_si(case.number("cruise-speed")?.value),
        stops_per_km: case.number("stops")?.value,
    })
}

/// Constants of the planning of energy.
///
/// # Errors
/// [`Halt::Open`] when no motor is chosen.
pub fn planning(case: &Case<'_>) -> Result<Planning, Halt> {
    let chain_efficiency = chain_efficiency(case);
    let drive_efficiency = if is_mid(case)? {
        // The stored figure has the loss of a plain chain in it.
        let plain = case.rule("model.chain-efficiency");
        case.rule("model.drive-efficiency-mid") * (chain_efficiency / plain)
    } else {
        case.rule("model.drive-efficiency-hub")
    };
    // Loaded, a descent's energy goes into the brakes; where the motor sits changes nothing about it.
    let share = if case.optional_word("posture") == Some("cargo") {
        "model.climb-share-cargo"
    } else {
        "model.climb-share"
    };
    Ok(Planning {
        rho: air_density(case)?,
        climb_share: case.rule(share),
        chain_efficiency,
        drive_efficiency,
        range_factor: case.rule("range.planning-factor"),
        least_share: cruise::least_share(case),
    })
}

/// Halts with every value that is missing, so that nobody fetches them one by one.
///
/// # Errors
/// [`Halt::Open`] naming each of `keys` that is missing or stale.
pub fn need(case: &Case<'_>, keys: &[&str]) -> Result<(), Halt> {
    let missing = missing(case, keys);
    if missing.is_empty() {
        Ok(())
    } else {
        Err(Halt::Open(missing))
    }
}

/// Which of several values are missing or stale, for a check that can judge the others without them.
pub fn missing(case: &Case<'_>, keys: &[&str]) -> Vec<Missing> {
    let asked = keys.iter().filter(|key| !case.knows(key));
    asked
        .filter_map(|key| match case.open(key) {
            Halt::Open(more) => Some(more),
            Halt::NotApplicable(_) => None,
        })
        .flatten()
        .collect()
}

/// A finding that may advise but not stop, and why: a fail becomes a caution.
#[must_use]
pub fn advise_only(mut finding: Finding, why: &str) -> Finding {
    if finding.verdict == Verdict::Fail {
        finding.verdict = Verdict::Caution;
        finding.summary = format!("{}; advice only: {why}", finding.summary);
    }
    finding
}

/// A halt that says which data the model cannot use, and why.
pub fn unusable(case: &Case<'_>, what: &str, error: &dyn std::fmt::Display) -> Halt {
    Halt::Open(vec![Missing {
        what: format!("data of the {what} that the model can use: {error}"),
        how: format!("lockring show {}", case.job().number),
    }])
}
