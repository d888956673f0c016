//! How long the motor holds a grade before its winding is too hot.

use lockring_calc::performance::{self, Climb, DrivePlace};
use lockring_calc::quantity::{AngularSpeed, Duration, Grade, Temperature, ThermalResistance};
use lockring_calc::thermal::{HotMotor, Magnet, Nodes, Temperatures};

use super::Machine;
use crate::case::Case;
use crate::finding::Halt;
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
    let Some(motor) = machine.full.motor else {
        return Ok(None);
    };
    let part = case.part(Slot::Motor)?;
    let mut from_sheet = true;
    let mut figure = |attribute: &str, rule: &str| {
        part.optional_number(attribute).unwrap_or_else(|| {
            from_sheet = false;
            case.rule(rule)
        })
    };
    let nodes = Nodes::from_time_constants(
        ThermalResistance::from_si(figure("winding-heat-path", "motor.winding-heat-path")),
        ThermalResistance::from_si(figure("case-heat-path", "motor.case-heat-path")),
        Duration::from_si(figure("winding-time", "motor.winding-time")),
        Duration::from_si(figure("case-time", "motor.case-time")),
    )
    .map_err(|error| prediction::unusable(case, "motor", &error))?;
    let limit = Temperature::kelvins(figure("winding-limit", "motor.winding-limit"));
    let hot = HotMotor {
        motor,
        nodes,
        magnet: Some(Magnet::Neodymium),
        limit,
    };
    let air = Temperature::kelvins(case.rule("motor.heat-air"));
    let mut grades: Vec<f64> = GRADES.iter().map(|percent| percent / 100.0).collect();
    grades.extend(machine.grade);
    grades.sort_by(f64::total_cmp);
    grades.dedup();
    let mut holds = Vec::new();
    for grade in grades {
        holds.extend(hold(case, machine, &hot, air, grade)?);
    }
    Ok(Some(Heat {
        air: air.si(),
        limit: limit.si(),
        from_sheet,
        holds,
    }))
}

/// One grade; `None` where it stalls.
fn hold(
    case: &Case<'_>,
    machine: &Machine,
    hot: &HotMotor,
    air: Temperature,
    grade: f64,
) -> Result<Option<Hold>, Halt> {
    let climb: Climb = performance::steady_climb(
        &machine.full,
        Some(&machine.climbing),
        &machine.road,
        machine.rho,
        Grade::ratio(grade),
    )
    .map_err(|error| prediction::unusable(case, "drive", &error))?;
    if climb.speed.si() <= 0.0 {
        return Ok(None);
    }
    let turns = match machine.full.place {
        DrivePlace::Mid => climb.cadence,
        DrivePlace::Hub => AngularSpeed::from_si(climb.speed.si() / machine.road.tyre_radius.si()),
    };
    let holds = hot
        .holds(climb.motor_torque, turns, Temperatures::even(air), air)
        .map_err(|error| prediction::unusable(case, "motor's heat", &error))?;
    Ok(Some(Hold {
        grade,
        speed: climb.speed.si(),
        holds: holds.map(Duration::si),
    }))
}
