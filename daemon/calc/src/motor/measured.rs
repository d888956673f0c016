//! A data sheet brought to efficiencies measured at points of torque and speed.

use super::{DataSheet, Motor, MotorError};
use crate::quantity::{AngularSpeed, Resistance, Torque};

/// An efficiency measured at the output, terminals to output.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EfficiencyPoint {
    /// Torque at the output, above zero.
    pub torque: Torque,
    /// Speed of the output, above zero.
    pub speed: AngularSpeed,
    /// Output over input, 0 to 1.
    pub efficiency: f64,
}

/// Rounds of the fit; the current moves little with the drag, so that it settles within ten.
const ROUNDS: usize = 40;

impl Motor {
    /// The constants of [`Motor::from_data_sheet`] with the losses of measured points.
    ///
    /// Each point tells a loss `P = T·w·(1/eta − 1)`, of which the model makes `R·I² + D·N·w` and
    /// what the gears take, `I = (T/(N·eta_g) + D)/Kt`. Resistance `R` and drag `D` are those that meet
    /// the losses best, each weighed by its own size; a single point moves `R` alone. `Kt` and the phase
    /// limit follow from `R` and `D` as in the sheet; the best efficiency of the sheet no longer counts.
    /// Without points it is the sheet's motor.
    ///
    /// Errors: those of [`Motor::from_data_sheet`]; [`MotorError::Input`] for a point out of range;
    /// [`MotorError::Points`] where no motor of this kind has such losses.
    /// Source: least squares over the loss terms of direct-current motor theory (any machines text).
    pub fn from_measured(sheet: &DataSheet, points: &[EfficiencyPoint]) -> Result<Self, MotorError> {
        let mut motor = Self::from_data_sheet(sheet)?;
        let Some((first, more)) = points.split_first() else {
            return Ok(motor);
        };
        for point in points {
            point.check()?;
        }
        for _ in 0..ROUNDS {
            // Sums of the normal equations, every row over its own loss.
            let (mut cc, mut cd, mut dd, mut c1, mut d1) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for point in points {
                let [copper, drag, loss] = motor.loss_terms(point);
                let (copper, drag) = (copper / loss, drag / loss);
                cc += copper * copper;
                cd += copper * drag;
                dd += drag * drag;
                c1 += copper;
                d1 += drag;
            }
            let (resistance, drag) = if more.is_empty() {
                let [copper, turn, loss] = motor.loss_terms(first);
                (
                    (loss - motor.drag_torque.si() * turn) / copper,
                    motor.drag_torque.si(),
                )
            } else {
                let spread = cc * dd - cd * cd;
                ((c1 * dd - d1 * cd) / spread, (d1 * cc - c1 * cd) / spread)
            };
            if !(resistance.is_finite() && resistance > 0.0 && drag.is_finite() && drag >= 0.0) {
                return Err(MotorError::Points { resistance, drag });
            }
            motor = motor.with_losses(sheet, resistance, drag)?;
        }
        Ok(motor)
    }

    /// What a point's loss consists of: heat per ohm, heat per newton metre of drag, and their sum as
    /// measured, the gears' own taken out.
    fn loss_terms(&self, point: &EfficiencyPoint) -> [f64; 3] {
        let output = point.torque.si() * point.speed.si();
        let gears = output * (1.0 / self.gear_efficiency - 1.0);
        let current = self.current_for(point.torque, point.speed).si();
        let loss = output * (1.0 / point.efficiency - 1.0) - gears;
        [current * current, self.reduction * point.speed.si(), loss]
    }

    fn with_losses(self, sheet: &DataSheet, resistance: f64, drag: f64) -> Result<Self, MotorError> {
        let back_emf = sheet.nominal_voltage.si() - sheet.no_load_current.si() * resistance;
        let kt = back_emf / (sheet.reduction * sheet.no_load_speed.si());
        let at_rotor = sheet.max_output_torque.si() / (sheet.reduction * sheet.gear_efficiency);
        let phase = (at_rotor + drag) / kt;
        if !(kt > 0.0 && phase * resistance <= sheet.nominal_voltage.si()) {
            return Err(MotorError::Points { resistance, drag });
        }
        Ok(Self {
            resistance: Resistance::from_si(resistance),
            kt,
            drag_torque: Torque::from_si(drag),
            phase_limit: crate::quantity::Current::from_si(phase),
            ..self
        })
    }
}

impl EfficiencyPoint {
    fn check(&self) -> Result<(), MotorError> {
        let figures = [
            ("torque of an efficiency point", self.torque.si(), f64::MAX),
            ("speed of an efficiency point", self.speed.si(), f64::MAX),
            ("efficiency of a point", self.efficiency, 1.0),
        ];
        for (name, value, most) in figures {
            if !(value > 0.0 && value < most) {
                return Err(MotorError::Input { name, value });
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Current, Voltage};

    const OUNCE_INCH: f64 = 0.007_061_55;

    /// Published table of a 12 V brushed motor: free 5310 rpm at 2.7 A.
    fn sheet() -> DataSheet {
        DataSheet {
            nominal_voltage: Voltage::volts(12.0),
            no_load_speed: AngularSpeed::rpm(5_310.0),
            no_load_current: Current::amperes(2.7),
            best_efficiency: 0.7353,
            max_output_torque: Torque::newton_metres(1.3),
            reduction: 1.0,
            gear_efficiency: 1.0,
        }
    }

    fn point(ounces: f64, rpm: f64, efficiency: f64) -> EfficiencyPoint {
        EfficiencyPoint {
            torque: Torque::newton_metres(ounces * OUNCE_INCH),
            speed: AngularSpeed::rpm(rpm),
            efficiency,
        }
    }

    fn efficiency(motor: &Motor, at: &EfficiencyPoint) -> f64 {
        let current = motor.current_for(at.torque, at.speed).si();
        let output = at.torque.si() * at.speed.si();
        let heat = current * current * motor.resistance.si() + motor.idle_loss(at.torque, at.speed).si();
        output / (output + heat)
    }

    #[test]
    fn printed_points_of_a_motor_whose_sheet_flatters_it() {
        // Rows of the same published table: oz·in, rpm, efficiency. The sheet's free and stall figures alone
        // overrate it by more than 6 points; two rows foretell the third to 2 points.
        let (near_best, loaded, third) = (
            point(64.0, 4_320.0, 0.63),
            point(171.7, 2_655.0, 0.41),
            point(45.0, 4_614.0, 0.65),
        );
        let flattered = Motor::from_data_sheet(&sheet()).unwrap();
        assert!(efficiency(&flattered, &third) > 0.71);
        let motor = Motor::from_measured(&sheet(), &[near_best, loaded]).unwrap();
        for at in [near_best, loaded] {
            let found = efficiency(&motor, &at);
            assert!((found - at.efficiency).abs() < 1e-6, "{found}");
        }
        let found = efficiency(&motor, &third);
        assert!((found - 0.65).abs() < 0.02, "{found}");
        // All three: none met exactly, all within 1.5 points.
        let all = [near_best, loaded, third];
        let motor = Motor::from_measured(&sheet(), &all).unwrap();
        for at in all {
            let found = efficiency(&motor, &at);
            assert!(
                (found - at.efficiency).abs() < 0.015,
                "{found} is not {}",
                at.efficiency
            );
        }
    }

    #[test]
    fn points_of_the_sheets_own_motor_change_nothing() {
        let own = Motor::from_data_sheet(&sheet()).unwrap();
        let at = |ounces, rpm| {
            let bare = point(ounces, rpm, 0.5);
            EfficiencyPoint {
                efficiency: efficiency(&own, &bare),
                ..bare
            }
        };
        let points = [at(40.0, 4_700.0), at(80.0, 4_000.0), at(150.0, 3_000.0)];
        for n in 0..=points.len() {
            let found = Motor::from_measured(&sheet(), &points[..n]).unwrap();
            assert!((found.resistance.si() / own.resistance.si() - 1.0).abs() < 1e-6);
            assert!((found.drag_torque.si() / own.drag_torque.si() - 1.0).abs() < 1e-6);
            assert!((found.phase_limit.si() / own.phase_limit.si() - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn points_no_motor_has_are_refused() {
        let lossless = [point(40.0, 4_700.0, 0.999), point(150.0, 3_000.0, 0.2)];
        assert!(matches!(
            Motor::from_measured(&sheet(), &lossless),
            Err(MotorError::Points { .. })
        ));
        assert!(matches!(
            Motor::from_measured(&sheet(), &[point(40.0, 4_700.0, 1.2)]),
            Err(MotorError::Input { .. })
        ));
        // Twice the same point tells one loss, not two.
        assert!(Motor::from_measured(&sheet(), &[point(64.0, 4_320.0, 0.63); 2]).is_err());
    }
}
