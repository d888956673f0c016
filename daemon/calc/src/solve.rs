//! One-dimensional root finding, and the small table reader the reference tests share.

/// Why a root could not be given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SolveError {
    /// The function has the same sign at both ends of the interval.
    NoBracket {
        /// Lower end of the interval.
        low: f64,
        /// Upper end of the interval.
        high: f64,
        /// Value at the lower end.
        at_low: f64,
        /// Value at the upper end.
        at_high: f64,
    },
    /// The function or an end of the interval is not a finite number.
    NotFinite {
        /// Argument at which it happened.
        at: f64,
    },
    /// The interval did not shrink to the tolerance within the step limit.
    NoConvergence {
        /// Best argument so far.
        at: f64,
    },
}

/// Steps after which a search is given up; bisection alone halves 1e300 to 1e-300 in 2000.
const MOST_STEPS: usize = 2_100;

/// Root of `f` between `low` and `high`, to `relative` times the root (at least 4 machine
/// epsilons), by Brent's method: inverse quadratic or secant steps, bisection when they do
/// not shrink the bracket fast enough.
///
/// Also finds the jump of a discontinuous function that changes sign across it. Exact zeros
/// at the ends are returned as they are.
///
/// Errors: [`SolveError::NoBracket`] when the ends have the same sign,
/// [`SolveError::NotFinite`] when a value is NaN or infinite.
/// Source: Brent, Algorithms for Minimization without Derivatives (1973), chapter 4 (from memory).
pub fn root(mut f: impl FnMut(f64) -> f64, low: f64, high: f64, relative: f64) -> Result<f64, SolveError> {
    let mut value = |x: f64| {
        let y = f(x);
        if x.is_finite() && y.is_finite() {
            Ok(y)
        } else {
            Err(SolveError::NotFinite { at: x })
        }
    };
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (value(a)?, value(b)?);
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if fa.signum() == fb.signum() {
        return Err(SolveError::NoBracket {
            low,
            high,
            at_low: fa,
            at_high: fb,
        });
    }

    // b is the best guess, c the point that brackets the root together with b.
    let (mut c, mut fc) = (a, fa);
    let mut step = b - a;
    let mut step_before = step;
    for _ in 0..MOST_STEPS {
        if fb.signum() == fc.signum() {
            (c, fc) = (a, fa);
            step = b - a;
            step_before = step;
        }
        if fc.abs() < fb.abs() {
            (a, fa) = (b, fb);
            (b, fb) = (c, fc);
            (c, fc) = (a, fa);
        }
        let tolerance = (relative / 2.0).max(2.0 * f64::EPSILON) * b.abs() + f64::MIN_POSITIVE;
        let half = (c - b) / 2.0;
        if half.abs() <= tolerance || fb == 0.0 {
            return Ok(b);
        }
        let guess = interpolate((a, fa), (b, fb), (c, fc), half);
        let shrinks = step_before.abs() >= tolerance && fa.abs() > fb.abs();
        match guess {
            Some(s)
                if shrinks
                    && s * half.signum() > 0.0
                    && s.abs() < (1.5 * half.abs() - tolerance / 2.0).min(step_before.abs() / 2.0) =>
            {
                step_before = step;
                step = s;
            }
            _ => {
                step = half;
                step_before = half;
            }
        }
        (a, fa) = (b, fb);
        b += if step.abs() > tolerance {
            step
        } else {
            tolerance * half.signum()
        };
        fb = value(b)?;
    }
    Err(SolveError::NoConvergence { at: b })
}

/// Step from `b` by inverse quadratic interpolation, or the secant when only two points differ.
fn interpolate(a: (f64, f64), b: (f64, f64), c: (f64, f64), half: f64) -> Option<f64> {
    let s = b.1 / a.1;
    let (p, q) = if a.0 == c.0 {
        (2.0 * half * s, 1.0 - s)
    } else {
        let (q, r) = (a.1 / c.1, b.1 / c.1);
        (
            s * (2.0 * half * q * (q - r) - (b.0 - a.0) * (r - 1.0)),
            (q - 1.0) * (r - 1.0) * (s - 1.0),
        )
    };
    let step = -p / q;
    step.is_finite().then_some(step)
}

/// Comma-separated tables for the reference tests of this crate: no quoting but the last column's.
#[cfg(test)]
pub(crate) mod table {
    /// One row, read by column name.
    pub struct Row<'a> {
        names: Vec<&'a str>,
        cells: Vec<&'a str>,
    }

    impl<'a> Row<'a> {
        /// The text of a column; panics on a name the table does not have.
        pub fn text(&self, name: &str) -> &'a str {
            let column = self.names.iter().position(|n| *n == name);
            self.cells[column.unwrap_or_else(|| panic!("no column {name}"))]
        }

        /// The number of a column; panics when it is not a number.
        pub fn number(&self, name: &str) -> f64 {
            self.text(name)
                .parse()
                .unwrap_or_else(|_| panic!("column {name} is no number"))
        }
    }

    /// All rows of a table whose first line names the columns.
    pub fn rows(text: &str) -> Vec<Row<'_>> {
        let mut lines = text.lines().filter(|line| !line.is_empty());
        let names: Vec<&str> = lines.next().unwrap().split(',').collect();
        let count = names.len();
        lines
            .map(|line| Row {
                names: names.clone(),
                cells: line.splitn(count, ',').collect(),
            })
            .collect()
    }

    /// Panics unless two numbers agree to a relative tolerance (absolute when `want` is zero).
    #[track_caller]
    pub fn close(got: f64, want: f64, relative: f64) {
        let scale = if want == 0.0 { 1.0 } else { want.abs() };
        assert!(
            (got - want).abs() <= relative * scale,
            "got {got}, want {want} within {relative} relative"
        );
    }

    /// Panics unless two numbers agree to an absolute tolerance.
    #[track_caller]
    pub fn near(got: f64, want: f64, absolute: f64) {
        assert!(
            (got - want).abs() <= absolute,
            "got {got}, want {want} within {absolute}"
        );
    }
}

#[cfg(test)]
mod tests {
    use super::table::close;
    use super::{SolveError, root};

    #[test]
    fn known_roots() {
        // Square root of two and the cosine fixed point: mathematical constants (from memory, 15 digits).
        close(
            root(|x| x * x - 2.0, 0.0, 2.0, 1e-14).unwrap(),
            std::f64::consts::SQRT_2,
            1e-13,
        );
        close(
            root(|x| x.cos() - x, 0.0, 1.0, 1e-14).unwrap(),
            0.739_085_133_215_160_6,
            1e-13,
        );
        // Wallis's cubic x^3 - 2x - 5, the classic example of Newton's method (from memory).
        close(
            root(|x| x * x * x - 2.0 * x - 5.0, 2.0, 3.0, 1e-14).unwrap(),
            2.094_551_481_542_327,
            1e-13,
        );
    }

    #[test]
    fn a_triple_root_and_a_jump_are_found() {
        assert!((root(|x| (x - 1.0).powi(3), -4.0, 3.0, 1e-12).unwrap() - 1.0).abs() < 1e-4);
        close(
            root(|x| if x < 0.3 { -5.0 } else { 1.0 }, 0.0, 1.0, 1e-12).unwrap(),
            0.3,
            1e-11,
        );
    }

    #[test]
    fn ends_that_are_roots_are_returned_exactly() {
        assert_eq!(root(|x| x, 0.0, 1.0, 1e-12), Ok(0.0));
        assert_eq!(root(|x| x - 1.0, 0.0, 1.0, 1e-12), Ok(1.0));
    }

    #[test]
    fn errors_are_typed() {
        assert_eq!(
            root(|x| x * x + 1.0, -1.0, 1.0, 1e-12),
            Err(SolveError::NoBracket {
                low: -1.0,
                high: 1.0,
                at_low: 2.0,
                at_high: 2.0
            })
        );
        assert_eq!(
            root(|x| 1.0 / x, 0.0, 1.0, 1e-12),
            Err(SolveError::NotFinite { at: 0.0 })
        );
    }
}
