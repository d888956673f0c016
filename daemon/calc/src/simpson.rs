//! Integrals of smooth functions.

/// Integral of `f` from `low` to `high` by Simpson's rule with `pairs` pairs of strips:
/// `h/3·(f0 + 4·f1 + 2·f2 + … + 4·f(n−1) + fn)`, `h = (high − low)/n`, `n = 2·pairs`.
///
/// Exact for polynomials up to the third degree; else it is off by at most `(high − low)·h⁴/180·max|f''''|`. An
/// interval of no width is 0, one the other way round counts negative. `pairs` is at least 1.
/// Error: the first that `f` gives.
/// Source: composite Simpson's rule with its error term (any text on numerical analysis; from memory).
pub(crate) fn integral<E>(
    mut f: impl FnMut(f64) -> Result<f64, E>,
    low: f64,
    high: f64,
    pairs: u32,
) -> Result<f64, E> {
    let strips = 2 * pairs;
    let step = (high - low) / f64::from(strips);
    let mut sum = 0.0;
    for place in 0..=strips {
        let weight = match place {
            end if end == 0 || end == strips => 1.0,
            odd if odd % 2 == 1 => 4.0,
            _ => 2.0,
        };
        // The last place is `high` itself, and not what rounding makes of it.
        let x = if place == strips {
            high
        } else {
            low + step * f64::from(place)
        };
        sum += weight * f(x)?;
    }
    Ok(sum * step / 3.0)
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;
    use std::f64::consts::{E, PI, SQRT_2};

    use super::integral;
    use crate::solve::table::{close, near};

    fn of(f: impl Fn(f64) -> f64, low: f64, high: f64, pairs: u32) -> f64 {
        let Ok(found) = integral(|x| Ok::<f64, Infallible>(f(x)), low, high, pairs);
        found
    }

    /// Antiderivative of `2x³ − 5x² + x − 7`: `x⁴/2 − 5x³/3 + x²/2 − 7x`.
    #[test]
    fn a_cubic_is_exact_with_one_pair_and_with_many() {
        let cubic = |x: f64| 2.0 * x.powi(3) - 5.0 * x.powi(2) + x - 7.0;
        let whole = |x: f64| x.powi(4) / 2.0 - 5.0 * x.powi(3) / 3.0 + x.powi(2) / 2.0 - 7.0 * x;
        for (low, high) in [(0.0, 1.0), (-3.0, 2.0), (1.5, 40.0)] {
            for pairs in [1, 2, 64, 500] {
                close(of(cubic, low, high, pairs), whole(high) - whole(low), 1e-12);
                close(of(cubic, high, low, pairs), whole(low) - whole(high), 1e-12);
            }
        }
    }

    /// `∫ x⁴` from 0 to 1 is 1/5; one pair gives `(0 + 4/16 + 1)/6 = 5/24`, which is off by all that the error term allows:
    /// `h⁴/180·24 = 1/120`.
    #[test]
    fn the_fourth_power_is_off_by_its_error_term() {
        close(of(|x| x.powi(4), 0.0, 1.0, 1), 5.0 / 24.0, 1e-15);
        close(of(|x| x.powi(4), 0.0, 1.0, 1) - 0.2, 1.0 / 120.0, 1e-13);
    }

    /// Half a wave is 2. With two pairs the rule is `π/12·(2 + 4·√2)`, by hand; with more it is off by `π⁵/(180·n⁴)` at most.
    #[test]
    fn half_a_wave_is_two() {
        close(of(f64::sin, 0.0, PI, 2), PI / 12.0 * (2.0 + 4.0 * SQRT_2), 1e-14);
        for pairs in [2, 10, 64, 100] {
            let most = PI.powi(5) / (180.0 * f64::from(2 * pairs).powi(4));
            near(of(f64::sin, 0.0, PI, pairs), 2.0, most);
        }
        near(
            of(f64::exp, 0.0, 1.0, 64),
            E - 1.0,
            E / (180.0 * 128f64.powi(4)) + 1e-15,
        );
    }

    #[test]
    fn nothing_is_under_a_point_and_an_error_ends_it() {
        near(of(f64::cos, 0.3, 0.3, 8), 0.0, 0.0);
        let seen = std::cell::Cell::new(0);
        let stops = |x: f64| {
            seen.set(seen.get() + 1);
            if x > 0.5 { Err(x) } else { Ok(x) }
        };
        assert_eq!(integral(stops, 0.0, 1.0, 2), Err(0.75));
        assert_eq!(seen.get(), 4);
    }

    #[test]
    fn the_ends_are_asked_as_they_are() {
        // A third of a tenth, summed up by steps, is not what it began as.
        let (low, high) = (0.1, 0.7);
        let inside = |x: f64| if (low..=high).contains(&x) { Ok(x) } else { Err(x) };
        for pairs in 1..200 {
            assert!(integral(inside, low, high, pairs).is_ok(), "{pairs}");
        }
    }
}
