//! How warm a motor gets: two nodes, winding and case, with copper that resists more when hot.
//!
//! At a constant current the two temperatures obey a linear system, so every answer here is exact
//! for any length of time: no step size enters. The winding takes minutes, the case tens of
//! minutes; which of the two sets the limit depends on how long the load lasts.

mod hot;

pub use hot::{HotMotor, Magnet};

use crate::quantity::{Current, Duration, HeatCapacity, Power, Resistance, Temperature, ThermalResistance};
use crate::solve::{SolveError, root};

/// Rise of the resistance of copper per kelvin, of its value at 20 °C (IEC 60228, from memory).
pub const COPPER: f64 = 0.003_93;

/// Temperature at which resistances are stated, 20 °C (IEC 60228, from memory).
pub const REFERENCE: Temperature = Temperature::kelvins(293.15);

/// Why a temperature could not be given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ThermalError {
    /// A figure is not finite or outside its range; the field is named.
    Input {
        /// Name of the field.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// The moment at which the limit is reached could not be pinned down.
    Solve(SolveError),
}

impl From<SolveError> for ThermalError {
    fn from(error: SolveError) -> Self {
        Self::Solve(error)
    }
}

/// Resistance of a copper winding at a temperature, `R20·(1 + 0.00393·(T − 20 °C))`.
///
/// Range: −50 to 200 °C. Source: IEC 60228 (from memory).
pub fn copper_resistance(at_20: Resistance, winding: Temperature) -> Resistance {
    at_20 * (1.0 + COPPER * (winding.si() - REFERENCE.si()))
}

/// A motor's way of getting rid of heat: winding to case, case to air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nodes {
    /// Thermal resistance from winding to case, 0.05 to 20 K/W.
    pub winding_to_case: ThermalResistance,
    /// Thermal resistance from case to air, 0.05 to 20 K/W.
    pub case_to_air: ThermalResistance,
    /// Heat capacity of the winding.
    pub winding: HeatCapacity,
    /// Heat capacity of everything else: iron, magnets, shell.
    pub case: HeatCapacity,
}

/// Temperatures of the two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Temperatures {
    /// The winding.
    pub winding: Temperature,
    /// The case, with the magnets.
    pub case: Temperature,
}

impl Temperatures {
    /// Winding and case at one temperature: a motor that has stood for hours.
    pub const fn even(temperature: Temperature) -> Self {
        Self {
            winding: temperature,
            case: temperature,
        }
    }
}

/// What heats a motor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heating {
    /// Motor current through the winding.
    pub current: Current,
    /// Resistance of the winding at 20 °C.
    pub resistance: Resistance,
    /// Heat that does not depend on the winding's temperature, made in the winding.
    pub in_winding: Power,
    /// Heat made elsewhere in the motor: iron, bearings, gears.
    pub in_case: Power,
}

impl Heating {
    /// Copper loss in the winding at its temperature, and heat elsewhere.
    pub const fn copper(current: Current, resistance: Resistance, in_case: Power) -> Self {
        Self {
            current,
            resistance,
            in_winding: Power::ZERO,
            in_case,
        }
    }

    /// Heat that does not change with temperature.
    pub const fn fixed(in_winding: Power, in_case: Power) -> Self {
        Self {
            current: Current::ZERO,
            resistance: Resistance::ZERO,
            in_winding,
            in_case,
        }
    }

    fn check(&self) -> Result<(), ThermalError> {
        not_negative(&[
            ("current", self.current.si()),
            ("resistance", self.resistance.si()),
            ("in_winding", self.in_winding.si()),
            ("in_case", self.in_case.si()),
        ])
    }
}

impl Nodes {
    /// From what motor data sheets print: `C_winding = tau_winding/R_wc`, `C_case = tau_motor/R_ca`.
    ///
    /// The sheet's two time constants are each node's own; the coupled system is a little slower.
    /// Error: [`ThermalError::Input`]. Source: common practice of motor data sheets.
    pub fn from_time_constants(
        winding_to_case: ThermalResistance,
        case_to_air: ThermalResistance,
        winding: Duration,
        motor: Duration,
    ) -> Result<Self, ThermalError> {
        positive(&[
            ("winding_to_case", winding_to_case.si()),
            ("case_to_air", case_to_air.si()),
            ("winding_time_constant", winding.si()),
            ("motor_time_constant", motor.si()),
        ])?;
        Ok(Self {
            winding_to_case,
            case_to_air,
            winding: HeatCapacity::from_si(winding.si() / winding_to_case.si()),
            case: HeatCapacity::from_si(motor.si() / case_to_air.si()),
        })
    }

    /// Checks that every figure is finite and above zero. Error: [`ThermalError::Input`].
    pub fn check(&self) -> Result<(), ThermalError> {
        positive(&[
            ("winding_to_case", self.winding_to_case.si()),
            ("case_to_air", self.case_to_air.si()),
            ("winding_capacity", self.winding.si()),
            ("case_capacity", self.case.si()),
        ])
    }

    /// Temperatures after a time under constant heating, exact for any time `t ≥ 0`:
    /// `Cw·dTw/dt = I²·R(Tw) + Pw − (Tw − Tc)/Rwc`, `Cc·dTc/dt = Pc + (Tw − Tc)/Rwc − (Tc − Ta)/Rca`.
    ///
    /// Source: heat balance of two lumped nodes, solved by the eigenvalues of its matrix.
    pub fn after(
        &self,
        start: Temperatures,
        heating: &Heating,
        air: Temperature,
        time: Duration,
    ) -> Temperatures {
        self.course(start, heating, air).at(time.si())
    }

    /// Temperatures that the motor settles at; `None` when the copper's rising resistance makes
    /// more heat than the case can ever shed.
    ///
    /// `dT = k/(1 − a·k)` for one node with `k = I²·R·Rth`: the same self-consistent rise, for two.
    pub fn steady(&self, heating: &Heating, air: Temperature) -> Option<Temperatures> {
        let matrix = self.matrix(heating);
        // The case always cools itself (matrix[1][1] < 0), so both eigenvalues are negative exactly when
        // the determinant is positive.
        let determinant = matrix[0][0] * matrix[1][1] - matrix[0][1] * matrix[1][0];
        if determinant <= 0.0 {
            return None;
        }
        let [winding, case] = self.slope(Temperatures::even(air), heating, air);
        let rise = [
            (matrix[0][1] * case - matrix[1][1] * winding) / determinant,
            (matrix[1][0] * winding - matrix[0][0] * case) / determinant,
        ];
        Some(Temperatures {
            winding: Temperature::kelvins(air.si() + rise[0]),
            case: Temperature::kelvins(air.si() + rise[1]),
        })
    }

    /// How long the winding stays below a limit under constant heating; `None` when for ever, zero
    /// when it starts at the limit or above.
    ///
    /// Errors: [`ThermalError::Input`] for figures out of range.
    pub fn holds(
        &self,
        start: Temperatures,
        heating: &Heating,
        air: Temperature,
        limit: Temperature,
    ) -> Result<Option<Duration>, ThermalError> {
        self.check()?;
        heating.check()?;
        temperatures(&[
            ("start_winding", start.winding),
            ("start_case", start.case),
            ("air", air),
            ("limit", limit),
        ])?;
        let time = self.course(start, heating, air).reaches(limit)?;
        Ok(time.map(Duration::seconds))
    }

    fn matrix(&self, heating: &Heating) -> [[f64; 2]; 2] {
        let (between, out) = (1.0 / self.winding_to_case.si(), 1.0 / self.case_to_air.si());
        let growth = COPPER * heating.resistance.si() * heating.current.si().powi(2);
        [
            [
                (growth - between) / self.winding.si(),
                between / self.winding.si(),
            ],
            [between / self.case.si(), -(between + out) / self.case.si()],
        ]
    }

    /// Rates of the two temperatures, K/s.
    fn slope(&self, at: Temperatures, heating: &Heating, air: Temperature) -> [f64; 2] {
        let copper = copper_resistance(heating.resistance, at.winding).si() * heating.current.si().powi(2);
        let between = (at.winding.si() - at.case.si()) / self.winding_to_case.si();
        let out = (at.case.si() - air.si()) / self.case_to_air.si();
        [
            (copper + heating.in_winding.si() - between) / self.winding.si(),
            (heating.in_case.si() + between - out) / self.case.si(),
        ]
    }

    fn course(&self, start: Temperatures, heating: &Heating, air: Temperature) -> Course {
        let [[a, b], [c, d]] = self.matrix(heating);
        let (half, gap) = (0.5 * (a + d), (0.25 * (a - d) * (a - d) + b * c).sqrt());
        let slope = self.slope(start, heating, air);
        // The slope split along the two eigenvectors; b·c > 0, so the eigenvalues never meet.
        let (fast, slow) = (half - gap, half + gap);
        let along_slow = [
            ((a - fast) * slope[0] + b * slope[1]) / (2.0 * gap),
            (c * slope[0] + (d - fast) * slope[1]) / (2.0 * gap),
        ];
        Course {
            start,
            rates: [fast, slow],
            slopes: [[slope[0] - along_slow[0], slope[1] - along_slow[1]], along_slow],
        }
    }
}

/// The two temperatures over time: `T(t) = T(0) + Σ s·(e^(l·t) − 1)/l`, which also holds at `l = 0`.
struct Course {
    start: Temperatures,
    /// Eigenvalues, the fast one first, 1/s.
    rates: [f64; 2],
    /// Part of the initial slope along each eigenvector, (winding, case), K/s.
    slopes: [[f64; 2]; 2],
}

impl Course {
    fn at(&self, t: f64) -> Temperatures {
        let grown = self.rates.map(|rate| {
            if rate == 0.0 {
                t
            } else {
                (rate * t).exp_m1() / rate
            }
        });
        let rise = |node: usize| self.slopes[0][node] * grown[0] + self.slopes[1][node] * grown[1];
        Temperatures {
            winding: Temperature::kelvins(self.start.winding.si() + rise(0)),
            case: Temperature::kelvins(self.start.case.si() + rise(1)),
        }
    }

    /// First time the winding comes to `limit` from below.
    fn reaches(&self, limit: Temperature) -> Result<Option<f64>, SolveError> {
        if self.start.winding >= limit {
            return Ok(Some(0.0));
        }
        let short = |t: f64| self.at(t).winding.si() - limit.si();
        let first = |from: f64, to: f64| root(short, from, to, 1e-12).map(Some);
        let mut from = 0.0;
        if let Some(turn) = self.turn() {
            if short(turn) >= 0.0 {
                return first(0.0, turn);
            }
            from = turn;
        }
        // From here on the winding moves one way only. Settled means that the slow part is over; a
        // rate of exactly zero never settles, and 30,000 years are for ever.
        let settled = if self.rates[1] < 0.0 {
            from + 60.0 / -self.rates[1]
        } else {
            1e12
        };
        let mut to = from.max(1.0);
        while short(to) < 0.0 {
            if to >= settled || self.at(2.0 * to).winding < self.at(to).winding {
                return Ok(None);
            }
            to *= 2.0;
        }
        first(from, to)
    }

    /// When the winding's slope changes sign, if ever: `s1·e^(l1·t) + s2·e^(l2·t) = 0`.
    fn turn(&self) -> Option<f64> {
        let ratio = -self.slopes[0][0] / self.slopes[1][0];
        let t = ratio.ln() / (self.rates[1] - self.rates[0]);
        (t.is_finite() && t > 0.0).then_some(t)
    }
}

fn positive(figures: &[(&'static str, f64)]) -> Result<(), ThermalError> {
    refuse(figures, |value| value.is_finite() && value > 0.0)
}

fn not_negative(figures: &[(&'static str, f64)]) -> Result<(), ThermalError> {
    refuse(figures, |value| value.is_finite() && value >= 0.0)
}

/// Below absolute zero and beyond 1,000 K no motor is meant.
fn temperatures(figures: &[(&'static str, Temperature)]) -> Result<(), ThermalError> {
    let kelvins: Vec<_> = figures.iter().map(|(name, t)| (*name, t.si())).collect();
    refuse(&kelvins, |value| (100.0..=1_000.0).contains(&value))
}

fn refuse(figures: &[(&'static str, f64)], fits: impl Fn(f64) -> bool) -> Result<(), ThermalError> {
    match figures.iter().find(|(_, value)| !fits(*value)) {
        Some((name, value)) => Err(ThermalError::Input { name, value: *value }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
