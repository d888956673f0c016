//! How likely a hill is climbed as fast as asked and a distance reached, for the findings of their checks.

use lockring_calc::performance::DriveSystem;
use lockring_calc::quantity::Speed;
use lockring_calc::sampling::{Draws, Outcomes, Shape};

use super::Asked;
use super::machine::{self, Input, Machine};
use crate::case::Case;
use crate::finding::Halt;

/// Draws behind a finding: enough for two digits, and quick enough to run at every gate.
const ASKED: Asked = Asked { draws: 200, seed: 1 };

/// Probability that a drive makes at least `wished`, m/s, on the brief's hill, everything as uncertain as
/// in a forecast, the grade among it.
///
/// # Errors
/// [`Halt::Open`] naming what is missing.
pub fn chance_on_hill(case: &Case<'_>, drive: &DriveSystem, wished: f64) -> Result<f64, Halt> {
    let mut machine = Machine::of(case, None)?;
    machine.low = drive.clone();
    let doubts = machine::doubts(case)?;
    let shapes: Vec<Shape> = doubts.iter().map(|doubt| doubt.shape).collect();
    let mut draws = Draws::new(&shapes, ASKED.seed)
        .map_err(|error| crate::prediction::unusable(case, "doubt of the hill", &error))?;
    let wished = Speed::from_si(wished);
    // A draw beyond the model's range has no answer, which counts against the build.
    let reached = (0..ASKED.draws)
        .map(|_| machine.shaken(&doubts, &draws.draw()))
        .filter(|shaken| shaken.climbs_at_least(wished).unwrap_or(false));
    Ok(reached.count() as f64 / f64::from(ASKED.draws))
}

/// Looks at what the chance of a distance depends on without drawing: for a run of which nobody
/// reads the words, so that it looks at the same as one that is read.
///
/// # Errors
/// [`Halt::Open`] naming what is missing.
pub fn look_for_distance(case: &Case<'_>) -> Result<(), Halt> {
    machine::doubts(case).map(drop)
}

/// The same for the chance on a hill.
///
/// # Errors
/// [`Halt::Open`] naming what is missing.
pub fn look_for_hill(case: &Case<'_>) -> Result<(), Halt> {
    Machine::of(case, None)?;
    machine::doubts(case).map(drop)
}

/// What a distance depends on, each as a factor on its best estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shaken {
    /// Mass of bicycle, rider and load.
    pub mass: f64,
    /// Drag of the air.
    pub drag: f64,
    /// Rolling of the tyres.
    pub rolling: f64,
    /// The rider's power.
    pub rider: f64,
    /// Efficiency of the drive.
    pub efficiency: f64,
    /// Efficiency of the chain and what is behind it, for the rider.
    pub chain: f64,
    /// Charge of the pack.
    pub charge: f64,
}

/// Probability that a distance of at least `wished`, m, is reached, `distance` being that of one draw of
/// what may be off; the figures of a draw are as uncertain as in a forecast.
///
/// # Errors
/// [`Halt::Open`] naming what is missing.
pub fn chance_of_distance(
    case: &Case<'_>,
    wished: f64,
    distance: impl Fn(&Shaken) -> Option<f64>,
) -> Result<f64, Halt> {
    let gross = crate::prediction::gross_mass(case)?.value;
    let is_mid = crate::prediction::is_mid(case)?;
    let mut doubts = machine::doubts(case)?;
    doubts.push(machine::charge(case));
    let shapes: Vec<Shape> = doubts.iter().map(|doubt| doubt.shape).collect();
    let mut draws = Draws::new(&shapes, ASKED.seed)
        .map_err(|error| crate::prediction::unusable(case, "doubt of the range", &error))?;
    let mut outcomes = Outcomes::default();
    for _ in 0..ASKED.draws {
        let draw = draws.draw();
        let of = |input: Input| {
            let place = doubts.iter().position(|doubt| doubt.input == input);
            place.map_or(1.0, |place| draw[place])
        };
        let chain = of(Input::HubGear);
        let shaken = Shaken {
            mass: of(Input::Mass) / gross,
            drag: of(Input::Drag),
            rolling: of(Input::Rolling),
            rider: of(Input::RiderPower),
            // A motor at the crank drives through it as the rider does.
            efficiency: of(Input::Controller) * if is_mid { chain } else { 1.0 },
            chain,
            charge: of(Input::Charge),
        };
        outcomes.keep(&draw, distance(&shaken));
    }
    Ok(outcomes.probability_at_least(wished))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing;
    use crate::forecast::{Prepared, Question};
    use crate::rules::RuleSheet;
    use crate::stage::Stage;

    /// Asked without its speed a hill is reached as often as when every draw is solved.
    #[test]
    fn a_hill_is_reached_as_often_as_its_speeds_say() {
        let rules = RuleSheet::shipped();
        for bench in [testing::trekking(), testing::longtail(), testing::hardtail()] {
            let case = Case::new(&bench.job, &rules, Stage::Intake);
            let prepared = Prepared {
                machine: Machine::of(&case, None).unwrap(),
                doubts: machine::doubts(&case).unwrap(),
                questions: vec![Question::Hill { low: true }],
            };
            let outcomes = prepared.sample(ASKED, &mut |_| true).unwrap();
            let shapes: Vec<Shape> = prepared.doubts.iter().map(|doubt| doubt.shape).collect();
            for tenths in 10..90 {
                let wished = f64::from(tenths) / 10.0;
                let mut draws = Draws::new(&shapes, ASKED.seed).unwrap();
                let reached = (0..ASKED.draws)
                    .map(|_| prepared.machine.shaken(&prepared.doubts, &draws.draw()))
                    .filter(|shaken| shaken.climbs_at_least(Speed::from_si(wished)).unwrap());
                let share = reached.count() as f64 / f64::from(ASKED.draws);
                let solved = outcomes[0].probability_at_least(wished);
                assert!((share - solved).abs() < 1e-12, "{wished} m/s: {share}, {solved}");
            }
        }
    }
}
