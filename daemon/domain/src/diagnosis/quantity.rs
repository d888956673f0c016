//! What a test ride reads that the model can foretell.

use crate::case::{Case, Known};
use crate::prediction::{self, Way};
use crate::unit::Kind;

/// A reading of the test ride.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Speed shown with the driven wheel up and the assist limit lifted.
    StandFree,
    /// Pack current with the driven wheel up.
    StandAmps,
    /// Speed shown where assistance ends, out.
    CutoffOut,
    /// The same, back.
    CutoffBack,
    /// Timed speed over the strip, out.
    SpeedOut,
    /// The same, back.
    SpeedBack,
    /// Mean pack volts of the speed runs.
    SpeedVolts,
    /// Mean pack current of the speed runs.
    SpeedAmps,
    /// Pack current out.
    SpeedAmpsOut,
    /// Pack current back.
    SpeedAmpsBack,
    /// Time to roll from 20 to 10 km/h shown, out.
    CoastOut,
    /// The same, back.
    CoastBack,
    /// Timed speed with the motor off, out.
    LegsOut,
    /// The same, back.
    LegsBack,
    /// Timed speed up the hill.
    HillSpeed,
    /// Pack volts on the hill.
    HillVolts,
    /// Pack current on the hill.
    HillAmps,
    /// Highest pack current on the hill.
    PullAmps,
    /// Lowest pack volts on a hill that was not climbed: at that current.
    PullVolts,
    /// Share of the starts on the hill that came off.
    Starts,
    /// Energy drawn over the distance shown.
    Energy,
    /// The steepest grade that is held, over the hill's. Nobody reads it; a ride that stalled says that it
    /// lay below one.
    HillHeld,
}

use Quantity::{
    CoastBack, CoastOut, CutoffBack, CutoffOut, Energy, HillAmps, HillHeld, HillSpeed, HillVolts, LegsBack,
    LegsOut, PullAmps, PullVolts, SpeedAmps, SpeedAmpsBack, SpeedAmpsOut, SpeedBack, SpeedOut, SpeedVolts,
    StandAmps, StandFree, Starts,
};

/// All that can be read, in the order of the sheet.
pub const ALL: [Quantity; 21] = [
    StandFree,
    StandAmps,
    CutoffOut,
    CutoffBack,
    SpeedOut,
    SpeedBack,
    SpeedVolts,
    SpeedAmps,
    SpeedAmpsOut,
    SpeedAmpsBack,
    CoastOut,
    CoastBack,
    LegsOut,
    LegsBack,
    HillSpeed,
    HillVolts,
    HillAmps,
    PullAmps,
    PullVolts,
    Starts,
    Energy,
];

impl Quantity {
    /// The code it is recorded under; for the energy the charge.
    pub const fn code(self) -> &'static str {
        match self {
            StandFree => "stand-free",
            StandAmps => "stand-amps",
            CutoffOut => "cutoff-out",
            CutoffBack => "cutoff-back",
            SpeedOut => "speed-out",
            SpeedBack => "speed-back",
            SpeedVolts => "speed-volts",
            SpeedAmps => "speed-amps",
            SpeedAmpsOut => "speed-amps-out",
            SpeedAmpsBack => "speed-amps-back",
            CoastOut => "coast-out",
            CoastBack => "coast-back",
            LegsOut => "legs-out",
            LegsBack => "legs-back",
            HillSpeed => "hill-speed-ridden",
            HillVolts | PullVolts => "hill-volts",
            HillAmps => "hill-amps",
            PullAmps => "hill-amps-most",
            Starts => "hill-restart-done",
            Energy => "energy-charge",
            HillHeld => "hill-climbed",
        }
    }

    /// Kind and unit shown.
    pub const fn unit(self) -> (Kind, &'static str) {
        match self {
            StandFree | CutoffOut | CutoffBack | SpeedOut | SpeedBack | LegsOut | LegsBack | HillSpeed => {
                (Kind::Speed, "km/h")
            }
            CoastOut | CoastBack => (Kind::Time, "s"),
            SpeedVolts | HillVolts | PullVolts => (Kind::Voltage, "V"),
            StandAmps | SpeedAmps | SpeedAmpsOut | SpeedAmpsBack | HillAmps | PullAmps => {
                (Kind::Current, "A")
            }
            Starts | HillHeld => (Kind::Ratio, "%"),
            Energy => (Kind::EnergyPerDistance, "Wh/km"),
        }
    }

    /// The run that records it.
    pub const fn run(self) -> &'static str {
        match self {
            StandFree | StandAmps => "stand",
            CutoffOut | CutoffBack => "cutoff",
            SpeedOut | SpeedBack | SpeedVolts | SpeedAmps | SpeedAmpsOut | SpeedAmpsBack => "speed",
            CoastOut | CoastBack => "coast",
            LegsOut | LegsBack => "legs",
            HillSpeed | HillVolts | HillAmps | PullAmps | PullVolts | HillHeld => "hill",
            Starts => "restart",
            Energy => "energy",
        }
    }

    /// Whether the ride has it: a hill that won has no steady speed, and only it has a last pull.
    pub fn is_there(self, case: &Case<'_>) -> bool {
        match self {
            HillSpeed | HillVolts | HillAmps => !prediction::stalled(case),
            PullAmps | PullVolts | HillHeld => prediction::stalled(case),
            _ => true,
        }
    }

    /// What was read, with its doubt; `None` when nobody read it.
    pub fn read(self, case: &Case<'_>) -> Option<Known> {
        if !self.is_there(case) {
            return None;
        }
        match self {
            // The bound that a stall sets.
            HillHeld => Some(Known::stated(1.0)),
            HillVolts | HillAmps | PullAmps | PullVolts
                if !prediction::is_of_the_last_try(case, self.code()) =>
            {
                None
            }
            Starts => starts(case),
            Energy => energy(case),
            // Where the drive ran out first, nobody saw assistance end.
            CutoffOut | CutoffBack if prediction::read_for_cutoff(case).is_some() => None,
            SpeedOut => prediction::strip_speed(case, Way::Out),
            SpeedBack => prediction::strip_speed(case, Way::Back),
            _ => case.optional_number(self.code()),
        }
    }

    /// Standard uncertainty of a reading that is still to be taken, in SI, at an expected value.
    pub fn instrument(self, expected: f64) -> f64 {
        let of = |key: &str| crate::code::find(key).map_or(0.0, |row| row.uncertainty_si());
        match self {
            Starts => doubt_of_share(expected * TRIES, TRIES),
            // Volts and distance are read to within a percent, the charge of such a loop to one.
            Energy => 0.014 * expected,
            // Judgement: holes, patches and uneven strokes decide within some hundredths.
            HillHeld => 0.03,
            _ => of(self.code()),
        }
    }
}

/// Starts that are tried (`hill.restart-tries` of the shipped sheet).
const TRIES: f64 = 3.0;

/// The share of starts that came off. Doubt: the standard deviation of a share of which `good` of
/// `tried` are known and nothing before (rule of succession, standard result, from memory).
fn starts(case: &Case<'_>) -> Option<Known> {
    if !case.knows(Starts.code()) {
        return None;
    }
    let (good, tried) = case.tally(Starts.code()).ok().filter(|(_, tried)| *tried > 0)?;
    let (good, tried) = (f64::from(good), f64::from(tried));
    Some(Known {
        u: doubt_of_share(good, tried),
        ..Known::stated(good / tried)
    })
}

fn doubt_of_share(good: f64, tried: f64) -> f64 {
    let share = (good + 1.0) / (tried + 2.0);
    (share * (1.0 - share) / (tried + 3.0)).sqrt()
}

/// Charge times mean volts over the distance shown, J/m.
fn energy(case: &Case<'_>) -> Option<Known> {
    let charge = case.optional_number("energy-charge")?;
    let volts = case.optional_number("energy-volts")?;
    let distance = case.optional_number("energy-distance")?;
    let value = charge.value * volts.value / distance.value;
    let shares = [charge, volts, distance].map(|known| known.u / known.value);
    let u = value * shares.iter().map(|share| share * share).sum::<f64>().sqrt();
    Some(Known { value, u, ..charge })
}

#[cfg(test)]
mod tests;
