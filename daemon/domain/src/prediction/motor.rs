//! A catalogue motor as the physics takes it: its data sheet, and efficiencies measured on a bench.

use lockring_calc::motor::{DataSheet, EfficiencyPoint, Motor};
use lockring_calc::quantity::{AngularSpeed, Current, Torque, Voltage};

use super::unusable;
use crate::case::{Case, PartView};
use crate::finding::{Halt, Missing};

/// Keys of a measured point: torque, speed, efficiency.
const POINTS: [[&str; 3]; 3] = [
    ["point1-torque", "point1-speed", "point1-efficiency"],
    ["point2-torque", "point2-speed", "point2-efficiency"],
    ["point3-torque", "point3-speed", "point3-efficiency"],
];

/// The motor's constants.
///
/// # Errors
/// [`Halt::Open`] when figures are missing, or contradict each other.
pub(super) fn of_part(case: &Case<'_>, part: &PartView<'_, '_>) -> Result<Motor, Halt> {
    let sheet = DataSheet {
        nominal_voltage: Voltage::volts(part.number("nominal-volts")?),
        no_load_speed: AngularSpeed::radians_per_second(part.number("no-load-speed")?),
        no_load_current: Current::amperes(part.number("no-load-current")?),
        best_efficiency: part.number("best-efficiency")?,
        max_output_torque: Torque::newton_metres(part.number("peak-torque")?),
        // The sheet speaks of the output, gears included.
        reduction: 1.0,
        gear_efficiency: 1.0,
    };
    let mut points = Vec::new();
    for keys in POINTS {
        points.extend(point(case, part, keys)?);
    }
    Motor::from_measured(&sheet, &points).map_err(|error| unusable(case, "motor", &error))
}

/// A point, all of it or nothing.
fn point(case: &Case<'_>, part: &PartView<'_, '_>, keys: [&str; 3]) -> Result<Option<EfficiencyPoint>, Halt> {
    match keys.map(|key| part.optional_number(key)) {
        [Some(torque), Some(speed), Some(efficiency)] => Ok(Some(EfficiencyPoint {
            torque: Torque::newton_metres(torque),
            speed: AngularSpeed::radians_per_second(speed),
            efficiency,
        })),
        [None, None, None] => Ok(None),
        _ => Err(Halt::Open(vec![Missing {
            what: format!("a measured point of the motor in full: {}", keys.join(", ")),
            how: format!("lockring show {}", case.job().number),
        }])),
    }
}

#[cfg(test)]
mod tests {
    use lockring_calc::pack::Load;

    use super::*;
    use crate::checks::testing::{Bench, longtail};
    use crate::command::ReceiptText;
    use crate::prediction;
    use crate::rules::RuleSheet;
    use crate::stage::Stage;

    fn motor(bench: &Bench) -> Result<Motor, Halt> {
        let rules = RuleSheet::shipped();
        let case = Case::new(&bench.job, &rules, Stage::Parts);
        Ok(prediction::drive(&case, Load::Sustained)?
            .motor
            .expect("a motor is chosen"))
    }

    #[test]
    fn measured_points_are_what_the_machine_loses() {
        let plain = motor(&longtail()).unwrap();
        let found = [
            ("point1-torque", "40 N m"),
            ("point1-speed", "75 rpm"),
            ("point1-efficiency", "72 %"),
            ("point2-torque", "80 N m"),
            ("point2-speed", "50 rpm"),
            ("point2-efficiency", "55 %"),
        ];
        let bench = longtail().receive("motor", &found, ReceiptText::default());
        let measured = motor(&bench).unwrap();
        assert_ne!(plain.resistance, measured.resistance);
        for (torque, rpm, wanted) in [(40.0, 75.0, 0.72), (80.0, 50.0, 0.55)] {
            let (torque, speed) = (Torque::newton_metres(torque), AngularSpeed::rpm(rpm));
            let current = measured.current_for(torque, speed).si();
            let heat = current * current * measured.resistance.si() + measured.idle_loss(torque, speed).si();
            let output = torque.si() * speed.si();
            assert!((output / (output + heat) - wanted).abs() < 1e-6);
        }
    }

    #[test]
    fn half_a_point_or_an_impossible_one_is_said() {
        let said =
            |found: &[(&str, &str)]| match motor(&longtail().receive("motor", found, ReceiptText::default()))
            {
                Err(Halt::Open(missing)) => missing[0].what.clone(),
                _ => String::new(),
            };
        assert!(said(&[("point1-torque", "40 N m")]).contains("point1-efficiency"));
        let lossless = [
            ("point1-torque", "80 N m"),
            ("point1-speed", "50 rpm"),
            ("point1-efficiency", "97 %"),
        ];
        assert!(said(&lossless).contains("efficiency points ask for"));
    }
}
