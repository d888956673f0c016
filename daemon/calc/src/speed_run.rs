//! Speed runs in two directions, brought to level still air.
//!
//! Two regimes. A governed run ends at the controller's cut-off, which wind does not move: the
//! plain mean counts. A power-limited run is biased by wind and slope in a way the mean does not
//! remove: the pair is solved for drag area and wind instead.

use crate::quantity::{Area, Density, Duration, Grade, Length, Mass, Power, Speed};
use crate::road::{RoadError, RoadLoad};
use crate::solve::SolveError;

/// Largest disagreement of a pair of governed runs, as a share of their mean.
/// Source: Directive 2006/27/EC, annex III (two consecutive speeds must agree within 3 %).
pub const PAIR_AGREEMENT: f64 = 0.03;

/// Direction of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leg {
    /// The first run; its headwind and its climb count as positive.
    Out,
    /// The run in the opposite direction.
    Back,
}

/// Why runs could not be evaluated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RunError {
    /// A figure is out of range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// Nothing is left for the air in this direction: the power, mass, slope or rolling
    /// coefficient does not fit the speed, or the wind was faster than the bicycle.
    NoAirForce {
        /// The run.
        leg: Leg,
        /// Force left for the air, N.
        force: f64,
    },
    /// The road load is out of range.
    Road(RoadError),
    /// A search failed.
    Solve(SolveError),
}

impl From<RoadError> for RunError {
    fn from(error: RoadError) -> Self {
        Self::Road(error)
    }
}
impl From<SolveError> for RunError {
    fn from(error: SolveError) -> Self {
        Self::Solve(error)
    }
}

/// A pair of runs against the assist cut-off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Governed {
    /// Mean of the two speeds.
    pub mean: Speed,
    /// Difference of the two over their mean.
    pub spread: f64,
    /// Whether the spread is within [`PAIR_AGREEMENT`].
    pub agrees: bool,
}

/// Mean of two governed runs and whether they agree.
///
/// Range: speeds above zero. Error: [`RunError::Input`].
/// Source: Directive 2006/27/EC, annex III.
pub fn governed(out: Speed, back: Speed) -> Result<Governed, RunError> {
    positive("out", out.si())?;
    positive("back", back.si())?;
    let mean = (out + back) / 2.0;
    let spread = (out - back).abs() / mean;
    Ok(Governed {
        mean,
        spread,
        agrees: spread <= PAIR_AGREEMENT,
    })
}

/// A pair of power-limited runs over the same strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Speed of the first run.
    pub out: Speed,
    /// Speed of the run in the opposite direction.
    pub back: Speed,
    /// Power at the wheel in the first run.
    pub power_out: Power,
    /// Power at the wheel in the opposite run.
    pub power_back: Power,
    /// Surveyed grade, positive when the first run climbs.
    pub grade: Grade,
    /// Air density during the runs.
    pub rho: Density,
}

/// What a pair of runs reveals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairSolution {
    /// Drag area, the spokes' share taken out.
    pub cda: Area,
    /// Mean wind along the strip, positive against the first run.
    pub headwind: Speed,
}

/// Drag area and wind from a pair of runs.
///
/// `Fa = P/va − m·g·(Crr·cos + sin) − F_bearing`, `Fb` likewise with the slope reversed;
/// `k = ((√Fa + √Fb)/(va + vb))²`, `w = √(Fa/k) − va`, `CdA + Fw = 2k/rho`.
/// `road.cda` is not used. Slope and wind cannot both be unknown: the slope must be surveyed.
///
/// Range: speeds and density above zero, both air forces positive.
/// Errors: [`RunError::Input`], [`RunError::NoAirForce`], [`RunError::Road`].
/// Source: Martin et al. 1998 solved for two runs.
pub fn solve_pair(pair: &Pair, road: &RoadLoad) -> Result<PairSolution, RunError> {
    road.check()?;
    positive("out", pair.out.si())?;
    positive("back", pair.back.si())?;
    positive("rho", pair.rho.si())?;
    let down = Grade::ratio(-pair.grade.as_ratio());
    let fa = air_force(Leg::Out, pair.power_out, pair.out, pair.grade, road)?;
    let fb = air_force(Leg::Back, pair.power_back, pair.back, down, road)?;
    let (va, vb) = (pair.out.si(), pair.back.si());
    let k = ((fa.sqrt() + fb.sqrt()) / (va + vb)).powi(2);
    Ok(PairSolution {
        cda: Area::from_si(2.0 * k / pair.rho.si()) - road.spoke_drag_area,
        headwind: Speed::from_si((fa / k).sqrt() - va),
    })
}

/// What a pair of runs reveals where the wind was measured and the slope was not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlopeSolution {
    /// Drag area, the spokes' share taken out.
    pub cda: Area,
    /// Grade of the strip, positive when the first run climbs.
    pub grade: Grade,
}

/// Drag area and slope from a pair of runs in a known wind, positive against the first run; the
/// pair's own grade is not used.
///
/// Both air forces add up without the slope, `k = (Pa/va + Pb/vb − 2·F_roll)/((va + w)² + (vb − w)²)`;
/// their difference is twice the weight's part along the slope.
///
/// Range: as [`solve_pair`], and neither run overtaken by the wind.
/// Errors: as [`solve_pair`].
/// Source: Martin et al. 1998 solved for two runs.
pub fn solve_pair_in_wind(pair: &Pair, road: &RoadLoad, headwind: Speed) -> Result<SlopeSolution, RunError> {
    road.check()?;
    positive("out", pair.out.si())?;
    positive("back", pair.back.si())?;
    positive("rho", pair.rho.si())?;
    let (air_out, air_back) = (pair.out + headwind, pair.back - headwind);
    positive("air speed out", air_out.si())?;
    positive("air speed back", air_back.si())?;
    let fa = air_force(Leg::Out, pair.power_out, pair.out, Grade::LEVEL, road)?;
    let fb = air_force(Leg::Back, pair.power_back, pair.back, Grade::LEVEL, road)?;
    let squares = air_out.si().powi(2) + air_back.si().powi(2);
    let k = (fa + fb) / squares;
    let along = 0.5 * ((fa - fb) - k * (air_out.si().powi(2) - air_back.si().powi(2)));
    // From the sine of the slope to rise over run.
    let sine = along / road.weight().si();
    Ok(SlopeSolution {
        cda: Area::from_si(2.0 * k / pair.rho.si()) - road.spoke_drag_area,
        grade: Grade::ratio(sine / (1.0 - sine * sine).max(f64::MIN_POSITIVE).sqrt()),
    })
}

/// Speed on the level in still air, at a power at the wheel and an air density, of the bicycle
/// whose drag area the pair of runs revealed.
///
/// Errors: those of [`solve_pair`] and [`RoadLoad::steady_speed`].
pub fn still_air_speed(pair: &Pair, road: &RoadLoad, power: Power, rho: Density) -> Result<Speed, RunError> {
    let measured = RoadLoad {
        cda: solve_pair(pair, road)?.cda,
        ..*road
    };
    Ok(measured.steady_speed(power, Grade::LEVEL, Speed::ZERO, rho)?)
}

/// Standard uncertainties of what goes into a corrected pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairDoubt {
    /// Of each speed.
    pub speed: Speed,
    /// Of each power.
    pub power: Power,
    /// Of the grade.
    pub grade: Grade,
    /// Of the total mass.
    pub mass: Mass,
    /// Of the rolling coefficient.
    pub crr: f64,
}

/// Standard uncertainty of [`still_air_speed`]: derivatives taken numerically, added in quadrature.
///
/// Errors: those of [`still_air_speed`].
/// Source: JCGM 100:2008, 5.1.2 (law of propagation, uncorrelated inputs).
pub fn still_air_doubt(
    pair: &Pair,
    road: &RoadLoad,
    power: Power,
    rho: Density,
    doubt: &PairDoubt,
) -> Result<Speed, RunError> {
    let shifted = |which: usize, sign: f64| {
        let (mut p, mut r) = (*pair, *road);
        match which {
            0 => p.out = p.out + doubt.speed * sign,
            1 => p.back = p.back + doubt.speed * sign,
            2 => p.power_out = p.power_out + doubt.power * sign,
            3 => p.power_back = p.power_back + doubt.power * sign,
            4 => p.grade = Grade::ratio(p.grade.as_ratio() + sign * doubt.grade.as_ratio()),
            5 => r.mass = r.mass + doubt.mass * sign,
            _ => r.crr += sign * doubt.crr,
        }
        still_air_speed(&p, &r, power, rho).map(Speed::si)
    };
    let mut variance = 0.0;
    for which in 0..7 {
        variance += (0.5 * (shifted(which, 1.0)? - shifted(which, -1.0)?)).powi(2);
    }
    Ok(Speed::from_si(variance.sqrt()))
}

/// Standard uncertainty of one run's speed `v = L/t`: `(u_v/v)² = (u_L/L)² + (u_t/t)²`.
///
/// Range: length and time above zero. Error: [`RunError::Input`].
/// Source: JCGM 100:2008, 5.1.6.
pub fn run_doubt(
    length: Length,
    time: Duration,
    length_doubt: Length,
    time_doubt: Duration,
) -> Result<Speed, RunError> {
    positive("length", length.si())?;
    positive("time", time.si())?;
    let relative = (length_doubt / length).hypot(time_doubt / time);
    Ok(Speed::from_si(length.si() / time.si() * relative))
}

fn air_force(leg: Leg, power: Power, speed: Speed, grade: Grade, road: &RoadLoad) -> Result<f64, RunError> {
    let without_air = road.resistance(speed, grade, Speed::ZERO, Density::ZERO);
    let force = (power.over_speed(speed) - without_air).si();
    if force > 0.0 {
        Ok(force)
    } else {
        Err(RunError::NoAirForce { leg, force })
    }
}

fn positive(name: &'static str, value: f64) -> Result<(), RunError> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(RunError::Input { name, value })
    }
}

#[cfg(test)]
mod tests;
