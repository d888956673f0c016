//! What the motor is asked for: rider, sensor or throttle, and the taper towards the cut-off speed.
//!
//! Everything here is a pure function of the legs, the speed and what the drive could give; all types
//! are `Copy` and nothing is allocated, so that a ride's inner loop can call it at every step.

use crate::doubt::{FitError, in_range};
use crate::quantity::{AngularSpeed, Length, Power, Speed, Torque};

/// The rider's push at the crank at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Legs {
    /// Mean torque at the crank.
    pub torque: Torque,
    /// Crank speed.
    pub cadence: AngularSpeed,
    /// Whether the torque falls as `1/cadence` (the power is held) or is at its most (the torque is held).
    pub steady_power: bool,
}

impl Legs {
    /// Nobody pedals.
    pub const NONE: Self = Self {
        torque: Torque::ZERO,
        cadence: AngularSpeed::ZERO,
        steady_power: false,
    };

    /// Legs that give `power` (0 to 400 W) at a cadence, but never more than `most` torque: `P/w`, or
    /// `most` below the cadence where the two meet.
    #[inline]
    pub fn new(power: Power, most: Torque, cadence: AngularSpeed) -> Self {
        let steady = if cadence.si() > 0.0 {
            power.si() / cadence.si()
        } else if power.si() > 0.0 {
            f64::INFINITY
        } else {
            0.0
        };
        Self {
            torque: most.min(Torque::from_si(steady)),
            cadence,
            steady_power: cadence.si() > 0.0 && steady < most.si(),
        }
    }

    /// Power at the crank, `T·w`.
    pub fn power(&self) -> Power {
        Power::from_si(self.torque.si() * self.cadence.si())
    }

    /// Change of the torque with the cadence, N·m·s/rad; zero or negative.
    fn slope(&self) -> f64 {
        if self.steady_power {
            -self.torque.si() / self.cadence.si()
        } else {
            0.0
        }
    }
}

/// The motor's output shaft at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Output {
    /// Speed of the shaft, zero or more.
    pub speed: AngularSpeed,
    /// Crank turns per turn of the shaft: 1 for a mid-drive; cog over chainring for a hub.
    pub crank_turns: f64,
    /// Road rolled per radian of the shaft.
    pub road: Length,
}

impl Output {
    /// Road speed.
    pub fn road_speed(&self) -> Speed {
        Speed::from_si(self.speed.si() * self.road.si())
    }
}

/// A torque and how it changes with the speed of the shaft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Torque at the motor's output.
    pub torque: Torque,
    /// Its change with the output's speed, N·m·s/rad.
    pub slope: f64,
}

impl Pull {
    /// No torque.
    pub const NONE: Self = Self {
        torque: Torque::ZERO,
        slope: 0.0,
    };
    const UNLIMITED: Self = Self {
        torque: Torque::from_si(f64::INFINITY),
        slope: 0.0,
    };

    /// A power held over the shaft's speed: `P/w`, unlimited at standstill.
    fn of_power(power: Power, speed: AngularSpeed) -> Self {
        if power.si() <= 0.0 {
            return Self::NONE;
        }
        if speed.si() <= 0.0 {
            return Self::UNLIMITED;
        }
        let torque = power.si() / speed.si();
        Self {
            torque: Torque::from_si(torque),
            slope: -torque / speed.si(),
        }
    }

    fn lesser(self, other: Self) -> Self {
        if other.torque < self.torque { other } else { self }
    }
}

/// How the motor answers the rider.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Policy {
    /// Not at all.
    Off,
    /// With all that the drive gives, whether or not the rider pushes.
    Full,
    /// In proportion to the rider's power at the crank.
    TorqueSensor {
        /// Power at the motor's output over the power at the crank, 0 to 20.
        ratio: f64,
        /// Most power at the motor's output, 0 to 10 kW.
        most: Power,
    },
    /// With a set power while the rider turns the crank and pushes. The part of a turn that a sensor
    /// needs before it notices is left out, but at standstill the motor waits.
    CadenceSensor {
        /// Power at the motor's output, 0 to 10 kW.
        power: Power,
    },
    /// With a set power by the thumb, pedalling or not, up to a speed.
    Throttle {
        /// Power at the motor's output, 0 to 10 kW.
        power: Power,
        /// Last speed at which it answers, 0.1 to 50 m/s; `None` is any.
        up_to: Option<Speed>,
    },
}

/// A fall of the assist towards the cut-off: whole up to `from`, then in a straight line to nothing at `to`.
///
/// Law asks that the output be "progressively reduced" before the cut-off (Regulation (EU) 168/2013,
/// art. 2(2)(h)) and leaves the shape open; the straight line is workshop judgement, except in Japan,
/// where the ratio of assist may be at most 2 below 10 km/h and falls in a straight line to 0 at 24 km/h.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taper {
    from: Speed,
    to: Speed,
}

impl Taper {
    /// Usual width of the band below a cut-off, 2 km/h (workshop judgement, no source: a narrower one
    /// hunts, a wider one is felt as weakness).
    pub const USUAL_BAND: Speed = Speed::from_si(2.0 / 3.6);

    /// From the cut-off and the width of the band below it.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] for a cut-off outside 1 to 50 m/s or a band outside 0.01 m/s to the cut-off.
    pub fn new(cut_off: Speed, band: Speed) -> Result<Self, FitError> {
        let to = in_range("assist cut-off", cut_off.si(), 1.0, 50.0, "m/s")?;
        let band = in_range("band of the taper", band.si(), 0.01, to, "m/s")?;
        Ok(Self {
            from: Speed::from_si(to - band),
            to: cut_off,
        })
    }

    /// Speed from which on nothing is left.
    pub fn cut_off(&self) -> Speed {
        self.to
    }

    /// Share of the assist that is left at a speed: `(to − v)/(to − from)`, held within 0 and 1.
    pub fn share(&self, speed: Speed) -> f64 {
        ((self.to - speed) / (self.to - self.from)).clamp(0.0, 1.0)
    }

    /// Change of the share with road speed, s/m.
    fn slope(&self, speed: Speed) -> f64 {
        if speed > self.from && speed < self.to {
            -1.0 / (self.to - self.from).si()
        } else {
            0.0
        }
    }
}

/// The assist as set: the policy and the taper of the class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assist {
    /// How the motor answers.
    pub policy: Policy,
    /// How that fades towards the cut-off; `None` leaves it whole.
    pub taper: Option<Taper>,
}

impl Assist {
    /// All that the drive gives, at any speed.
    pub const FULL: Self = Self::plain(Policy::Full);
    /// Nothing.
    pub const OFF: Self = Self::plain(Policy::Off);

    /// A policy without a taper.
    pub const fn plain(policy: Policy) -> Self {
        Self { policy, taper: None }
    }

    /// [`Policy::TorqueSensor`] without a taper.
    pub const fn torque_sensor(ratio: f64, most: Power) -> Self {
        Self::plain(Policy::TorqueSensor { ratio, most })
    }

    /// Checks that ratio, powers and speed are inside their ranges.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] naming the figure.
    pub fn check(&self) -> Result<(), FitError> {
        const MOST: f64 = 1e4;
        match self.policy {
            Policy::Off | Policy::Full => {}
            Policy::TorqueSensor { ratio, most } => {
                in_range("assist ratio", ratio, 0.0, 20.0, "")?;
                in_range("most assist power", most.si(), 0.0, MOST, "W")?;
            }
            Policy::CadenceSensor { power } => {
                in_range("assist power", power.si(), 0.0, MOST, "W")?;
            }
            Policy::Throttle { power, up_to } => {
                in_range("throttle power", power.si(), 0.0, MOST, "W")?;
                let up_to = up_to.map_or(1.0, Speed::si);
                in_range("last speed of the throttle", up_to, 0.1, 50.0, "m/s")?;
            }
        }
        Ok(())
    }

    /// Speed above which the motor gives nothing, whatever the legs do.
    pub fn ends_at(&self) -> Option<Speed> {
        let throttle = match self.policy {
            Policy::Throttle { up_to, .. } => up_to,
            _ => None,
        };
        let taper = self.taper.map(|taper| taper.to);
        match (throttle, taper) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// Torque asked of the motor's output when the drive could give `full` there: the policy's wish, at
    /// most `full`, times what the taper leaves.
    ///
    /// A wish of `k` times the rider's power is `k·T_crank·w_crank/w_out`; a set power is `P/w_out`.
    /// Neither the torque nor any of its limits rises with speed while the legs are as given by
    /// [`Legs::new`], except that a cadence sensor waits at standstill.
    #[inline]
    pub fn torque(&self, legs: Legs, output: Output, full: Pull) -> Pull {
        let whole = self.wish(legs, output).lesser(full);
        let Some(taper) = self.taper else {
            return whole;
        };
        let speed = output.road_speed();
        let share = taper.share(speed);
        Pull {
            torque: whole.torque * share,
            slope: whole.slope * share + whole.torque.si() * taper.slope(speed) * output.road.si(),
        }
    }

    /// Power asked of the motor's output when the drive could give `full` at that speed: [`Assist::torque`]
    /// where only powers are known.
    pub fn power(&self, legs: Legs, speed: Speed, full: Power) -> Power {
        let wish = match self.policy {
            Policy::Off => Power::ZERO,
            Policy::Full => full,
            Policy::TorqueSensor { ratio, most } => most.min(legs.power() * ratio),
            Policy::CadenceSensor { power } if legs.power() > Power::ZERO => power,
            Policy::Throttle { power, .. } if self.reaches(speed) => power,
            Policy::CadenceSensor { .. } | Policy::Throttle { .. } => Power::ZERO,
        };
        wish.min(full) * self.taper.map_or(1.0, |taper| taper.share(speed))
    }

    /// What the policy wishes, without regard to what the drive can give.
    #[inline]
    fn wish(&self, legs: Legs, output: Output) -> Pull {
        match self.policy {
            Policy::Off => Pull::NONE,
            Policy::Full => Pull::UNLIMITED,
            Policy::TorqueSensor { ratio, most } => {
                let per_crank = ratio * output.crank_turns;
                let follows = Pull {
                    torque: legs.torque * per_crank,
                    slope: legs.slope() * per_crank * output.crank_turns,
                };
                follows.lesser(Pull::of_power(most, output.speed))
            }
            Policy::CadenceSensor { power } if legs.power() > Power::ZERO => {
                Pull::of_power(power, output.speed)
            }
            Policy::Throttle { power, .. } if self.reaches(output.road_speed()) => {
                Pull::of_power(power, output.speed)
            }
            Policy::CadenceSensor { .. } | Policy::Throttle { .. } => Pull::NONE,
        }
    }

    /// Whether a throttle still answers at a speed.
    pub(crate) fn reaches(&self, speed: Speed) -> bool {
        !matches!(self.policy, Policy::Throttle { up_to: Some(last), .. } if speed > last)
    }
}

#[cfg(test)]
mod tests;
