//! What the road and the air take from a bicycle (Martin et al. 1998).

mod coast;
pub mod tables;

use crate::quantity::{
    Acceleration, Area, Density, Duration, Force, G, Grade, Inertia, Length, Mass, Power, Speed,
};
use crate::solve::{SolveError, root};

/// Highest speed the solver looks at, m/s; beyond any bicycle.
const FASTEST: f64 = 200.0;
/// Relative tolerance of the speed search.
const TOLERANCE: f64 = 1e-14;

/// Why a road calculation could not be made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RoadError {
    /// A quantity that must be positive (or zero) and finite is not; the field is named.
    Input {
        /// Field of [`RoadLoad`] or name of the argument.
        name: &'static str,
        /// Value as given, in the SI unit.
        value: f64,
    },
    /// No speed was found below 200 m/s.
    Solve(SolveError),
}

impl From<SolveError> for RoadError {
    fn from(error: SolveError) -> Self {
        Self::Solve(error)
    }
}

/// A loaded bicycle as the road sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoadLoad {
    /// Everything that moves: bicycle, kit, rider and load. 60 to 300 kg.
    pub mass: Mass,
    /// Drag area of bicycle and rider, 0.2 to 1.0 m².
    pub cda: Area,
    /// Extra drag area of both wheels' spokes, 0 to 0.006 m²; 0.0044 m² in Martin et al. 1998.
    pub spoke_drag_area: Area,
    /// Rolling resistance coefficient, 0.002 to 0.06.
    pub crr: f64,
    /// Whether the wheel-bearing term of Martin et al. 1998 is added.
    pub bearing: bool,
    /// Moment of inertia of both wheels together, 0.08 to 0.30 kg·m².
    pub wheel_inertia: Inertia,
    /// Outer radius of the loaded driven tyre, 0.15 to 0.38 m.
    pub tyre_radius: Length,
    /// Acceleration of gravity; [`RoadLoad::STANDARD_GRAVITY`] unless a source used another.
    pub gravity: Acceleration,
}

/// Power at the wheel by its parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// Air drag including the spokes; negative when the wind pushes.
    pub air: Power,
    /// Rolling resistance.
    pub rolling: Power,
    /// Wheel bearings.
    pub bearing: Power,
    /// Climbing; negative downhill.
    pub climbing: Power,
}

impl Terms {
    /// Sum of the parts; negative means the bicycle must be braked to hold the speed.
    pub fn total(&self) -> Power {
        self.air + self.rolling + self.bearing + self.climbing
    }
}

impl RoadLoad {
    /// Gravity of the 3rd CGPM, 9.806 65 m/s².
    pub const STANDARD_GRAVITY: Acceleration = Acceleration::from_si(G);

    /// Checks that every field is finite and not negative, and mass and radius positive.
    ///
    /// Error: [`RoadError::Input`] naming the field.
    pub fn check(&self) -> Result<(), RoadError> {
        let positive = [
            ("mass", self.mass.si()),
            ("tyre_radius", self.tyre_radius.si()),
            ("gravity", self.gravity.si()),
        ];
        let not_negative = [
            ("cda", self.cda.si()),
            ("spoke_drag_area", self.spoke_drag_area.si()),
            ("crr", self.crr),
            ("wheel_inertia", self.wheel_inertia.si()),
        ];
        for (name, value) in positive {
            if !(value.is_finite() && value > 0.0) {
                return Err(RoadError::Input { name, value });
            }
        }
        for (name, value) in not_negative {
            if !(value.is_finite() && value >= 0.0) {
                return Err(RoadError::Input { name, value });
            }
        }
        Ok(())
    }

    /// Weight `m·g`.
    pub fn weight(&self) -> Force {
        Force::from_si(self.mass.si() * self.gravity.si())
    }

    /// Mass with the wheels' rotation, `m + Iw/r²`, that an accelerating force has to move.
    pub fn equivalent_mass(&self) -> Mass {
        Mass::from_si(self.mass.si() + self.wheel_inertia.si() / self.tyre_radius.si().powi(2))
    }

    /// Force against the motion at a ground speed `V ≥ 0`, from the equation of
    /// [`RoadLoad::wheel_power`] divided by `V`; also valid at standstill (just before rolling).
    pub fn resistance(&self, speed: Speed, grade: Grade, headwind: Speed, rho: Density) -> Force {
        let [air, rolling, bearing, climbing] = self.forces(speed.si(), grade, headwind.si(), rho.si());
        Force::from_si(air + rolling + bearing + climbing)
    }

    /// The grade on which climbing and rolling together take a force `F`: `sin θ + Crr·cos θ = F/(m·g)`, so
    /// `θ = asin(F/(m·g·√(1 + Crr²))) − atan(Crr)`. Negative where the force does not even cover the
    /// rolling; infinite from the force on that no slope takes.
    pub fn steepest_for(&self, force: Force) -> Grade {
        let share = force.si() / (self.weight().si() * self.crr.hypot(1.0));
        if share >= 1.0 {
            return Grade::ratio(f64::INFINITY);
        }
        if share <= -1.0 {
            return Grade::ratio(f64::NEG_INFINITY);
        }
        Grade::ratio((share.asin() - self.crr.atan()).tan())
    }

    /// Power at the wheel at a steady ground speed `V`, with `s` rise over run, headwind `w`
    /// (negative from behind) and air density `rho`:
    /// `air = 0.5·rho·(CdA + Fw)·Va·|Va|·V` with `Va = V + w`, `rolling = m·g·Crr·cos(atan s)·V`,
    /// `bearing = (91 + 8.7·V)·10⁻³·V`, `climbing = m·g·sin(atan s)·V`, W.
    ///
    /// Range: `V` 0 to 30 m/s, `s` −0.35 to 0.35, `w` −20 to 20 m/s, `rho` 0.7 to 1.5 kg/m³.
    /// Source: Martin, Milliken, Cobb, McFadden, Coggan, J. Appl. Biomech. 14 (1998) 276, with the
    /// air term's sign kept so that a tailwind faster than the bicycle pushes it.
    pub fn wheel_power(&self, speed: Speed, grade: Grade, headwind: Speed, rho: Density) -> Terms {
        let [air, rolling, bearing, climbing] = self
            .forces(speed.si(), grade, headwind.si(), rho.si())
            .map(|force| Power::from_si(force * speed.si()));
        Terms {
            air,
            rolling,
            bearing,
            climbing,
        }
    }

    /// Mean power that goes into speeding up, `0.5·(m + Iw/r²)·(V₂² − V₁²)/t`; negative when slowing.
    ///
    /// Range: `t` above zero. Source: Martin et al. 1998, equation for the kinetic term.
    pub fn kinetic_power(&self, initial: Speed, last: Speed, time: Duration) -> Power {
        let gain = last.si().powi(2) - initial.si().powi(2);
        Power::from_si(0.5 * self.equivalent_mass().si() * gain / time.si())
    }

    /// Steady ground speed for a power at the wheel: the largest root of
    /// [`RoadLoad::wheel_power`]` = power`, the one the bicycle returns to when disturbed.
    ///
    /// Zero power gives the coasting speed, exactly zero when the slope and wind do not overcome
    /// the rolling resistance. Negative power is braking; a brake stronger than anything the
    /// slope gives back stops the bicycle, so the speed is zero.
    ///
    /// The resisting force never falls with speed, so above the coasting speed the power rises
    /// with speed and the root there is the only one.
    /// Errors: [`RoadError::Input`] for a field or argument out of range, [`RoadError::Solve`]
    /// when the speed would pass 200 m/s.
    pub fn steady_speed(
        &self,
        power: Power,
        grade: Grade,
        headwind: Speed,
        rho: Density,
    ) -> Result<Speed, RoadError> {
        self.check()?;
        for (name, value) in [
            ("power", power.si()),
            ("grade", grade.as_ratio()),
            ("headwind", headwind.si()),
            ("rho", rho.si()),
        ] {
            if !value.is_finite() || (name == "rho" && value < 0.0) {
                return Err(RoadError::Input { name, value });
            }
        }
        let force = |v: f64| self.forces(v, grade, headwind.si(), rho.si()).iter().sum::<f64>();
        let coasting = if force(0.0) >= 0.0 {
            0.0
        } else {
            root(force, 0.0, FASTEST, TOLERANCE)?
        };
        let need = power.si();
        let speed = if need == 0.0 {
            coasting
        } else if need > 0.0 {
            root(|v| v * force(v) - need, coasting, FASTEST, TOLERANCE)?
        } else {
            braked_speed(force, -need, coasting)?
        };
        Ok(Speed::from_si(speed))
    }

    /// Air, rolling, bearing and climbing force, N.
    fn forces(&self, v: f64, grade: Grade, headwind: f64, rho: f64) -> [f64; 4] {
        self.drag(Density::from_si(rho))
            .forces(v, headwind, &Slope::of(grade))
    }

    /// The coefficients of the four forces in air of one density, ready for many speeds and slopes.
    pub(crate) fn drag(&self, rho: Density) -> Drag {
        let weight = self.weight().si();
        Drag {
            air: 0.5 * rho.si() * (self.cda.si() + self.spoke_drag_area.si()),
            rolling: weight * self.crr,
            bearing: if self.bearing { BEARING } else { [0.0, 0.0] },
            weight,
        }
    }
}

/// Wheel bearings of Martin et al. 1998, N and N·s/m.
const BEARING: [f64; 2] = [91e-3, 8.7e-3];

/// A slope as the forces need it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Slope {
    /// Sine of the slope's angle.
    pub(crate) sin: f64,
    /// Cosine of the slope's angle, times how much harder than usual the surface rolls.
    pub(crate) rolling: f64,
}

impl Slope {
    /// Of a grade with the usual surface.
    pub(crate) fn of(grade: Grade) -> Self {
        Self {
            sin: grade.sin(),
            rolling: grade.cos(),
        }
    }
}

/// Coefficients of the forces against the motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Drag {
    /// `0.5·rho·(CdA + Fw)`, N·s²/m².
    air: f64,
    /// `m·g·Crr`, N.
    rolling: f64,
    /// Constant and speed-dependent part, N and N·s/m.
    bearing: [f64; 2],
    /// `m·g`, N.
    weight: f64,
}

impl Drag {
    /// Air, rolling, bearing and climbing force at a speed, N.
    pub(crate) fn forces(&self, v: f64, headwind: f64, slope: &Slope) -> [f64; 4] {
        let air_speed = v + headwind;
        [
            self.air * air_speed * air_speed.abs(),
            self.rolling * slope.rolling,
            self.bearing[0] + self.bearing[1] * v,
            self.weight * slope.sin,
        ]
    }

    /// How fast the sum of the forces rises with speed, N·s/m.
    pub(crate) fn rise(&self, v: f64, headwind: f64) -> f64 {
        2.0 * self.air * (v + headwind).abs() + self.bearing[1]
    }
}

/// Largest speed below coasting at which the slope gives back exactly the braking power; zero if
/// it never does. A tailwind can make two hollows, so the bracket is looked for downward in steps.
fn braked_speed(force: impl Fn(f64) -> f64, braking: f64, coasting: f64) -> Result<f64, SolveError> {
    const STEPS: usize = 2_000;
    let surplus = |v: f64| v * force(v) + braking;
    let mut above = coasting;
    for step in (1..STEPS).rev() {
        let v = coasting * step as f64 / STEPS as f64;
        if surplus(v) <= 0.0 {
            return root(surplus, v, above, TOLERANCE);
        }
        above = v;
    }
    Ok(0.0)
}

#[cfg(test)]
mod tests;
