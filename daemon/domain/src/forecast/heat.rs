//! How long the motor holds a grade before its winding is too hot.

use lockring_calc::performance::{self, Climb, DriveSystem, Engaged, Place};
use lockring_calc::quantity::{Duration, Grade, Temperature, ThermalResistance};
use lockring_calc::thermal::{HotMotor, Magnet, Nodes, Temperatures};

use super::Machine;
use crate::case::Case;
use crate::finding::Halt;
use crate::level::Level;
use crate::part::Slot;
use crate::prediction;

/// Grades looked at beside the hill's own, in percent.
const GRADES: [f64; 7] = [4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0];

/// A grade and how long it is held.
#[derive(Debug, Clone, PartialEq)]
pub struct Hold {
    /// Grade as a ratio.
    pub grade: f64,
    /// Speed with a full pack, m/s.
    pub speed: f64,
    /// Ring, cog and gear inside the hub it is climbed in.
    pub gear: Engaged,
    /// Time from cold to the winding's limit, s; `None` for ever.
    pub holds: Option<f64>,
}

/// Holds of a machine, and what they rest on.
#[derive(Debug, Clone, PartialEq)]
pub struct Heat {
    /// Air and motor at the start, K.
    pub air: f64,
    /// Limit of the winding, K.
    pub limit: f64,
    /// Whether heat paths and limit are the catalogue's; else they are the shop's guess.
    pub from_sheet: bool,
    /// The grades that are climbed at all, rising.
    pub holds: Vec<Hold>,
}

/// Heat of the machine on grades; `None` without a motor.
///
/// # Errors
/// [`Halt::Open`] when the drive's data are outside the model.
pub(super) fn heat(case: &Case<'_>, machine: &Machine) -> Result<Option<Heat>, Halt> {
    let mut grades: Vec<f64> = GRADES.iter().map(|percent| percent / 100.0).collect();
    grades.extend(machine.grade);
    grades.sort_by(f64::total_cmp);
    grades.dedup();
    on_grades(case, machine, &grades)
}

fn on_grades(case: &Case<'_>, machine: &Machine, grades: &[f64]) -> Result<Option<Heat>, Halt> {
    let Some(hot) = paths(case, &machine.full)? else {
        return Ok(None);
    };
    let air = air(case);
    let mut holds = Vec::new();
    for grade in grades {
        holds.extend(hold(case, machine, &hot, air, *grade)?);
    }
    Ok(Some(Heat {
        air: air.si(),
        limit: hot.limit.si(),
        from_sheet: from_sheet(case)?,
        holds,
    }))
}

/// Heat of a job's machine on one grade, a ratio; `None` without a motor, or where it stalls.
///
/// # Errors
/// [`Halt::Open`] when something is missing or outside the model.
pub(crate) fn on_grade(case: &Case<'_>, level: Option<Level>, grade: f64) -> Result<Option<Heat>, Halt> {
    let machine = Machine {
        grade: None,
        ..Machine::of(case, level)?
    };
    let heat = on_grades(case, &machine, &[grade])?;
    Ok(heat.filter(|heat| !heat.holds.is_empty()))
}

/// The motor's figures of heat: attribute of the motor and the rule that stands for it.
const FIGURES: [(&str, &str); 5] = [
    ("winding-heat-path", "motor.winding-heat-path"),
    ("case-heat-path", "motor.case-heat-path"),
    ("winding-time", "motor.winding-time"),
    ("case-time", "motor.case-time"),
    ("winding-limit", "motor.winding-limit"),
];

/// Whether the motor's sheet gives all of them.
pub(super) fn from_sheet(case: &Case<'_>) -> Result<bool, Halt> {
    let part = case.part(Slot::Motor)?;
    Ok(FIGURES
        .iter()
        .all(|(attribute, _)| part.optional_number(attribute).is_some()))
}

/// How long a motor stands a steady climb from cold, and what that rests on.
pub(crate) struct Stands {
    /// Time to the winding's limit, s; `None` for ever.
    pub(crate) holds: Option<f64>,
    /// Air and motor at the start, K.
    pub(crate) air: f64,
    /// Limit of the winding, K.
    pub(crate) limit: f64,
    /// Whether heat paths and limit are the catalogue's.
    pub(crate) from_sheet: bool,
}

/// How long the motor of a drive stands a climb; `None` without a motor.
///
/// # Errors
/// [`Halt::Open`] when the motor's data are outside the model.
pub(crate) fn stands(case: &Case<'_>, system: &DriveSystem, climb: &Climb) -> Result<Option<Stands>, Halt> {
    let Some(hot) = paths(case, system)? else {
        return Ok(None);
    };
    let air = air(case);
    Ok(Some(Stands {
        holds: from_cold(case, &hot, climb, air)?,
        air: air.si(),
        limit: hot.limit.si(),
        from_sheet: from_sheet(case)?,
    }))
}

/// The motor with its heat paths; `None` without a motor.
///
/// # Errors
/// [`Halt::Open`] when they are outside the model.
pub(super) fn paths(case: &Case<'_>, system: &DriveSystem) -> Result<Option<HotMotor>, Halt> {
    let Some(motor) = system.motor else {
        return Ok(None);
    };
    let part = case.part(Slot::Motor)?;
    let [to_case, to_air, winding, whole, limit] =
        FIGURES.map(|(attribute, rule)| part.optional_number(attribute).unwrap_or_else(|| case.rule(rule)));
    let nodes = Nodes::from_time_constants(
        ThermalResistance::from_si(to_case),
        ThermalResistance::from_si(to_air),
        Duration::from_si(winding),
        Duration::from_si(whole),
    )
    .map_err(|error| prediction::unusable(case, "motor", &error))?;
    Ok(Some(HotMotor {
        motor,
        nodes,
        magnet: Some(Magnet::Neodymium),
        limit: Temperature::kelvins(limit),
    }))
}

/// The air that a forecast of heat is made for.
pub(super) fn air(case: &Case<'_>) -> Temperature {
    Temperature::kelvins(case.rule("motor.heat-air"))
}

/// One grade; `None` where it stalls.
fn hold(
    case: &Case<'_>,
    machine: &Machine,
    hot: &HotMotor,
    air: Temperature,
    grade: f64,
) -> Result<Option<Hold>, Halt> {
    let place = Place::still(machine.rho, Grade::ratio(grade));
    let (rider, road) = (Some(&machine.climbing), &machine.road);
    let climb: Climb = performance::steady_climb_at(&machine.full, machine.help.assist, rider, road, place)
        .map_err(|error| prediction::unusable(case, "drive", &error))?;
    if climb.speed.si() <= 0.0 {
        return Ok(None);
    }
    Ok(Some(Hold {
        grade,
        speed: climb.speed.si(),
        gear: machine.full.gears.at(climb.gear).unwrap_or_default(),
        holds: from_cold(case, hot, &climb, air)?,
    }))
}

/// How long a motor as cold as the air stands a climb, s; `None` for ever.
fn from_cold(case: &Case<'_>, hot: &HotMotor, climb: &Climb, air: Temperature) -> Result<Option<f64>, Halt> {
    let start = Temperatures::even(air);
    let holds = hot.holds(climb.motor_torque, climb.motor_speed, start, air);
    let holds = holds.map_err(|error| prediction::unusable(case, "motor's heat", &error))?;
    Ok(holds.map(Duration::si))
}
