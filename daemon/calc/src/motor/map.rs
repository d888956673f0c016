//! An efficiency map: what a motor loses over torque and speed, from measured points or from its constants.

use super::{Motor, Supply};
use crate::quantity::{AngularSpeed, Power, Torque};

/// Why a map could not be made or read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MapError {
    /// An axis has fewer than two values, or they do not rise from zero or more, or one is not finite.
    Axis {
        /// `speeds` or `torques`.
        name: &'static str,
    },
    /// The number of points is not speeds times torques.
    Points {
        /// How many the axes ask for.
        wanted: usize,
        /// How many there are.
        given: usize,
    },
    /// An efficiency is not above 0 and at most 1, or stands where nothing is given out.
    Efficiency {
        /// Speed of the point.
        speed: AngularSpeed,
        /// Torque of the point.
        torque: Torque,
        /// Efficiency as given.
        value: f64,
    },
    /// The speed asked for is outside the map.
    Speed {
        /// Speed asked for.
        asked: AngularSpeed,
        /// Slowest and fastest of the map.
        range: [AngularSpeed; 2],
    },
    /// The torque asked for is outside the map.
    Torque {
        /// Torque asked for.
        asked: Torque,
        /// Least and greatest of the map.
        range: [Torque; 2],
    },
    /// The map has no point at a corner of the cell asked for: the motor was not measured there, or does
    /// not reach it.
    Unmeasured {
        /// Speed asked for.
        speed: AngularSpeed,
        /// Torque asked for.
        torque: Torque,
    },
}

/// Losses of a motor (with its controller, if they were measured together) over a grid of speed and torque.
///
/// Between the points the *loss* is interpolated in a straight line along speed and along torque, not the
/// efficiency: the loss stays finite and smooth down to no torque, where the efficiency drops to nothing.
/// A copper loss that grows with the square of the torque is overstated by at most
/// `R·(ΔI)²/4` in the middle of a cell that is `ΔI` of current wide.
#[derive(Debug, Clone, PartialEq)]
pub struct EfficiencyMap {
    /// rad/s, rising.
    speeds: Vec<f64>,
    /// N·m, rising.
    torques: Vec<f64>,
    /// W, one row of torques per speed; `None` where there is no point.
    losses: Vec<Option<f64>>,
}

impl EfficiencyMap {
    /// From efficiencies (power at the output over power in, above 0 and at most 1), one row of `torques`
    /// per speed; `None` where nothing was measured. At zero speed or torque nothing is given out and no
    /// efficiency tells the loss: leave those out.
    ///
    /// # Errors
    /// [`MapError`] for axes that do not rise, a wrong number of points or an impossible efficiency.
    pub fn from_efficiencies(
        speeds: &[AngularSpeed],
        torques: &[Torque],
        efficiencies: &[Option<f64>],
    ) -> Result<Self, MapError> {
        let mut map = Self::empty(speeds, torques)?;
        let wanted = map.losses.len();
        if efficiencies.len() != wanted {
            return Err(MapError::Points {
                wanted,
                given: efficiencies.len(),
            });
        }
        let places = speeds.iter().flat_map(|w| torques.iter().map(move |t| (*w, *t)));
        for ((loss, (speed, torque)), value) in map.losses.iter_mut().zip(places).zip(efficiencies) {
            let Some(value) = *value else { continue };
            let output = torque.si() * speed.si();
            if !(value > 0.0 && value <= 1.0 && output > 0.0) {
                return Err(MapError::Efficiency { speed, torque, value });
            }
            *loss = Some(output * (1.0 / value - 1.0));
        }
        Ok(map)
    }

    /// From the electrical constants of a motor: the power that leaves the pack's terminals less the power
    /// at the output, controller included; `None` where the motor does not reach the torque.
    ///
    /// # Errors
    /// [`MapError::Axis`] for axes that do not rise.
    pub fn of_motor(
        motor: &Motor,
        supply: &Supply,
        speeds: &[AngularSpeed],
        torques: &[Torque],
    ) -> Result<Self, MapError> {
        let mut map = Self::empty(speeds, torques)?;
        let places = speeds.iter().flat_map(|w| torques.iter().map(move |t| (*w, *t)));
        for (loss, (speed, torque)) in map.losses.iter_mut().zip(places) {
            if torque <= motor.full_assist(speed, supply).torque {
                let point = motor.part_load(torque, speed, supply);
                *loss = Some((point.terminals - point.output).si());
            }
        }
        Ok(map)
    }

    /// Power lost at an output speed and torque.
    ///
    /// # Errors
    /// [`MapError::Speed`] or [`MapError::Torque`] outside the map, [`MapError::Unmeasured`] in a hole of it.
    pub fn loss(&self, speed: AngularSpeed, torque: Torque) -> Result<Power, MapError> {
        let (row, along) = cell(&self.speeds, speed.si()).ok_or(MapError::Speed {
            asked: speed,
            range: ends(&self.speeds).map(AngularSpeed::from_si),
        })?;
        let (column, across) = cell(&self.torques, torque.si()).ok_or(MapError::Torque {
            asked: torque,
            range: ends(&self.torques).map(Torque::from_si),
        })?;
        // A corner without weight need not have been measured.
        let mut loss = 0.0;
        for (r, by_speed) in [(row, 1.0 - along), (row + 1, along)] {
            for (c, by_torque) in [(column, 1.0 - across), (column + 1, across)] {
                let weight = by_speed * by_torque;
                if weight > 0.0 {
                    let corner = self.losses[r * self.torques.len() + c];
                    loss += weight * corner.ok_or(MapError::Unmeasured { speed, torque })?;
                }
            }
        }
        Ok(Power::from_si(loss))
    }

    /// Power taken in at an output speed and torque: output and loss.
    ///
    /// # Errors
    /// As [`EfficiencyMap::loss`].
    pub fn input(&self, speed: AngularSpeed, torque: Torque) -> Result<Power, MapError> {
        let output = Power::from_si(torque.si() * speed.si());
        Ok(output + self.loss(speed, torque)?)
    }

    /// Power at the output over power taken in, 0 to 1; 0 where nothing is given out.
    ///
    /// # Errors
    /// As [`EfficiencyMap::loss`].
    pub fn efficiency(&self, speed: AngularSpeed, torque: Torque) -> Result<f64, MapError> {
        let output = torque.si() * speed.si();
        let input = self.input(speed, torque)?.si();
        Ok(if output > 0.0 { output / input } else { 0.0 })
    }

    fn empty(speeds: &[AngularSpeed], torques: &[Torque]) -> Result<Self, MapError> {
        let speeds: Vec<f64> = speeds.iter().map(|w| w.si()).collect();
        let torques: Vec<f64> = torques.iter().map(|t| t.si()).collect();
        for (name, axis) in [("speeds", &speeds), ("torques", &torques)] {
            let rises = axis.windows(2).all(|pair| pair[0] < pair[1]);
            let finite = axis.iter().all(|v| v.is_finite() && *v >= 0.0);
            if axis.len() < 2 || !rises || !finite {
                return Err(MapError::Axis { name });
            }
        }
        let losses = vec![None; speeds.len() * torques.len()];
        Ok(Self {
            speeds,
            torques,
            losses,
        })
    }
}

/// Index of the cell that a value lies in and how far along, 0 to 1; `None` outside the axis.
fn cell(axis: &[f64], value: f64) -> Option<(usize, f64)> {
    let [first, last] = ends(axis);
    if !(first..=last).contains(&value) {
        return None;
    }
    let index = axis.partition_point(|v| *v <= value).clamp(1, axis.len() - 1) - 1;
    let (low, high) = (axis[index], axis[index + 1]);
    Some((index, (value - low) / (high - low)))
}

fn ends(axis: &[f64]) -> [f64; 2] {
    [axis[0], axis[axis.len() - 1]]
}

#[cfg(test)]
mod tests;
