//! How far each thing the expectation rests on may be off without anything being wrong.

use super::ridden::{HILL_CHARGE, LEVEL_CHARGE, Ridden};
use crate::case::Case;
use crate::finding::Halt;
use crate::prediction;
use lockring_calc::doubt::standard_from_half_width;
use lockring_calc::pack::Load;
use lockring_calc::quantity::{Mass, Speed, Torque, Voltage};

/// One doubtful input, taken as independent of the others.
#[derive(Debug, Clone)]
pub(super) struct Doubt {
    /// What it is.
    pub(super) name: &'static str,
    /// Standard uncertainty, in the unit `push` takes.
    pub(super) u: f64,
    /// Moves the input by so much.
    pub(super) push: fn(&mut Ridden, f64),
}

/// Every doubtful input of a job's expectation.
///
/// # Errors
/// [`Halt::Open`] when masses or pack are not known.
pub(super) fn doubts(case: &Case<'_>) -> Result<Vec<Doubt>, Halt> {
    let half = |key: &str| standard_from_half_width(case.rule(key));
    let mut doubts = vec![
        Doubt {
            name: "mass on the road",
            u: prediction::ridden_mass(case)?
                .u
                .max(case.rule("ride.mass-least-doubt")),
            push: |ridden, by| ridden.road.mass = ridden.road.mass + Mass::kilograms(by),
        },
        Doubt {
            name: "drag of the air",
            u: half("cda.spread"),
            push: |ridden, by| ridden.road.cda = ridden.road.cda * (1.0 + by),
        },
        Doubt {
            name: "rolling of the tyres",
            u: half("crr.spread"),
            push: |ridden, by| ridden.road.crr *= 1.0 + by,
        },
        Doubt {
            name: "rider's power",
            u: case.rule("model.rider-spread"),
            push: |ridden, by| ridden.each_rider(|rider| rider.power = rider.power * (1.0 + by)),
        },
        Doubt {
            name: "rider's push on the pedal",
            u: case.rule("model.rider-spread"),
            push: |ridden, by| {
                ridden.each_rider(|rider| rider.crank_torque_max = rider.crank_torque_max * (1.0 + by));
            },
        },
        Doubt {
            name: "motor's torque",
            u: case.rule("model.motor-spread"),
            push: |ridden, by| {
                ridden.each_drive(|drive| {
                    if let Some(motor) = &mut drive.motor {
                        motor.phase_limit = motor.phase_limit * (1.0 + by);
                    }
                });
            },
        },
        Doubt {
            name: "motor's drag",
            u: case.rule("model.no-load-spread"),
            push: |ridden, by| {
                ridden.each_drive(|drive| {
                    if let Some(motor) = &mut drive.motor {
                        motor.drag_torque = Torque::from_si(motor.drag_torque.si() * (1.0 + by));
                        motor.viscous *= 1.0 + by;
                    }
                });
            },
        },
        Doubt {
            name: "losses of the controller",
            u: half("model.drive-efficiency-spread"),
            push: |ridden, by| {
                ridden.each_drive(|drive| {
                    drive.controller_efficiency = (drive.controller_efficiency * (1.0 + by)).min(1.0);
                });
                if let Some((_, planning)) = &mut ridden.outing {
                    planning.drive_efficiency = (planning.drive_efficiency * (1.0 + by)).min(1.0);
                }
            },
        },
        Doubt {
            name: "battery current limit",
            u: case.rule("model.current-limit-spread"),
            push: |ridden, by| {
                ridden.each_drive(|drive| drive.battery_limit = drive.battery_limit * (1.0 + by));
            },
        },
        Doubt {
            name: "pack's resistance",
            u: case.rule("model.pack-resistance-spread"),
            push: |ridden, by| {
                ridden.each_drive(|drive| drive.pack.resistance = drive.pack.resistance * (1.0 + by));
            },
        },
        Doubt {
            name: "grade of the strip",
            u: case
                .optional_number("strip-grade")
                .map_or(case.rule("ride.strip-doubt"), |grade| grade.u),
            push: |ridden, by| ridden.strip += by,
        },
        Doubt {
            name: "wind along the strip",
            u: wind(case),
            push: |ridden, by| ridden.headwind += by,
        },
        Doubt {
            name: "cut-off of the controller",
            u: half("ride.aim"),
            push: |ridden, by| {
                ridden.each_drive(|drive| {
                    drive.assist_cutoff = drive.assist_cutoff.map(|limit: Speed| limit * (1.0 + by));
                });
            },
        },
        Doubt {
            name: "wheel against the display",
            u: wheel(case),
            push: |ridden, by| ridden.wheel *= 1.0 + by,
        },
        Doubt {
            name: "road of the energy run",
            u: case.rule("range.loop-spread"),
            push: |ridden, by| ridden.outing_factor *= 1.0 + by,
        },
    ];
    doubts.extend(charge(case)?);
    doubts.extend(grade(case));
    Ok(doubts)
}

/// Pack volts before the runs: as measured at rest, or as a usual charge leaves them open.
fn charge(case: &Case<'_>) -> Result<[Doubt; 2], Halt> {
    let open = |charge: f64| -> Result<f64, Halt> {
        Ok(prediction::pack_at(case, charge, Load::Sustained)?
            .open_circuit
            .si())
    };
    let volts = |rest: &str, charge: f64, spread: f64| -> Result<f64, Halt> {
        if let Some(rest) = case.optional_number(rest) {
            return Ok(rest.u);
        }
        // How far it was charged is a habit and no bound, and what is guessed wrong here would be laid at the pack's
        // door: the volts at the far end of the usual count as the standard uncertainty (workshop judgement).
        let half = 3f64.sqrt() * spread;
        let (more, less) = ((charge + half).min(1.0), (charge - half).max(0.0));
        let usual = open(charge)?;
        // A flat curve still leaves a pack's volts open by a hundredth.
        Ok((open(more)? - usual).max(usual - open(less)?).max(0.01 * usual))
    };
    let level = volts("speed-rest", LEVEL_CHARGE, case.rule("ride.charge-speed-spread"))?;
    let hill = volts("hill-rest", HILL_CHARGE, case.rule("ride.charge-hill-spread"))?;
    Ok([
        Doubt {
            name: "charge on the speed runs",
            u: level,
            push: |ridden, by| {
                ridden.level.pack.open_circuit = ridden.level.pack.open_circuit + Voltage::volts(by);
            },
        },
        Doubt {
            name: "charge on the hill",
            u: hill,
            push: |ridden, by| {
                ridden.hill.pack.open_circuit = ridden.hill.pack.open_circuit + Voltage::volts(by);
            },
        },
    ])
}

/// The hill's grade: as ridden, off the map, or as careful telling leaves it. How wrong a careless
/// one may be is a cause of its own.
fn grade(case: &Case<'_>) -> Option<Doubt> {
    let known = prediction::hill_grade(case).ok()?;
    let u = if case.knows("hill-grade-ridden") {
        known.u
    } else {
        let source = if case.optional_word("hill-source") == Some("measured") {
            "measured"
        } else {
            "map"
        };
        known.u.hypot(case.rule(&format!("hill.grade-doubt-{source}")))
    };
    Some(Doubt {
        name: "grade of the hill",
        u,
        push: |ridden, by| ridden.grade = ridden.grade.map(|grade| grade + by),
    })
}

/// Wind along the strip: its mean was told without a direction, so any share of it.
fn wind(case: &Case<'_>) -> f64 {
    if let Some(wind) = case.optional_number("strip-wind") {
        return wind.u;
    }
    case.optional_number("test-wind")
        .map_or(case.rule("ride.wind-unknown"), |wind| {
            // A mean wind from anywhere has this component along a line, as a standard uncertainty.
            (wind.value / std::f64::consts::SQRT_2).hypot(wind.u)
        })
}

/// True speed over speed shown.
fn wheel(case: &Case<'_>) -> f64 {
    let rolled = case.optional_number("circumference");
    match (rolled, case.knows("circumference-setting")) {
        (Some(rolled), true) => rolled.u / rolled.value,
        _ => standard_from_half_width(case.rule("ride.speed-uncertainty")),
    }
}
