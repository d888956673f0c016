//! How likely a set of differences is when some of them share a cause of doubt.
//!
//! A covariance is the readings' own variances on the diagonal plus one outer product for each
//! doubtful input that moves several of them together (JCGM 101:2008; JCGM 102:2011, 6.2). Its
//! Cholesky factor gives the distance of a difference in standard deviations and the density.

use crate::doubt::FitError;

/// A covariance with its Cholesky factor.
#[derive(Debug, Clone, PartialEq)]
pub struct Covariance {
    full: Vec<Vec<f64>>,
    factor: Vec<Vec<f64>>,
}

impl Covariance {
    /// The covariance of readings with standard uncertainties `own` (all above zero), moved
    /// together by inputs of which each row of `together` holds what one standard uncertainty of
    /// the input does to every reading.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] for an uncertainty that is not above zero or a row of another
    /// length than `own`.
    pub fn new(own: &[f64], together: &[Vec<f64>]) -> Result<Self, FitError> {
        let size = own.len();
        let wrong = |name, value| FitError::OutOfRange {
            name,
            value,
            min: f64::MIN_POSITIVE,
            max: f64::MAX,
            unit: "",
        };
        if let Some(bad) = own.iter().find(|u| !(u.is_finite() && **u > 0.0)) {
            return Err(wrong("standard uncertainty", *bad));
        }
        let fits = |row: &&Vec<f64>| row.len() != size || !row.iter().all(|x| x.is_finite());
        if let Some(bad) = together.iter().find(fits) {
            return Err(wrong("readings moved", bad.len() as f64));
        }
        let mut full = vec![vec![0.0; size]; size];
        for (row, line) in full.iter_mut().enumerate() {
            for (column, cell) in line.iter_mut().enumerate() {
                *cell = together.iter().map(|moved| moved[row] * moved[column]).sum();
                if row == column {
                    *cell += own[row] * own[row];
                }
            }
        }
        let factor = cholesky(&full);
        Ok(Self { full, factor })
    }

    /// Standard uncertainty of one reading, what it shares included.
    pub fn standard(&self, reading: usize) -> f64 {
        self.full[reading][reading].sqrt()
    }

    /// Squared distance of differences from zero, `rᵀ·Σ⁻¹·r`; of a chi-squared variable with as
    /// many degrees of freedom as there are readings where nothing but doubt is at work.
    pub fn distance_squared(&self, differences: &[f64]) -> f64 {
        self.solved(differences).iter().map(|z| z * z).sum()
    }

    /// Natural logarithm of the density of differences, `−½·(rᵀ·Σ⁻¹·r + ln det Σ + n·ln 2π)`.
    pub fn log_density(&self, differences: &[f64]) -> f64 {
        self.log_density_of(&self.solved(differences))
    }

    /// The same where the last reading is only known to lie below a bound: `differences` ends with bound
    /// less expected. Density of the others times the probability, given them, of a last one below:
    /// the likelihood of a censored normal (standard result, from memory).
    pub fn log_density_below(&self, differences: &[f64]) -> f64 {
        let solved = self.solved(differences);
        // Each z is a difference given those before it, in its own standard deviations.
        solved.split_last().map_or(0.0, |(bound, firm)| {
            self.log_density_of(firm) + log_probability_below(*bound)
        })
    }

    /// How strongly each difference pulls: `Σ⁻¹·r`. What an input moves, times these, is how far the readings
    /// say it is off, in its standard uncertainties.
    pub fn pulls(&self, differences: &[f64]) -> Vec<f64> {
        self.back(self.solved(differences))
    }

    /// The same where the last is a bound: one that is kept pulls at nothing.
    pub fn pulls_below(&self, differences: &[f64]) -> Vec<f64> {
        let mut solved = self.solved(differences);
        if let Some(bound) = solved.last_mut() {
            *bound = bound.min(0.0);
        }
        self.back(solved)
    }

    /// `L⁻ᵀ·z`.
    fn back(&self, mut solved: Vec<f64>) -> Vec<f64> {
        for i in (0..solved.len()).rev() {
            solved[i] /= self.factor[i][i];
            for j in 0..i {
                solved[j] -= self.factor[i][j] * solved[i];
            }
        }
        solved
    }

    /// `L⁻¹·r`: as many as there are differences, at most one for each reading.
    fn solved(&self, differences: &[f64]) -> Vec<f64> {
        let mut solved: Vec<f64> = Vec::with_capacity(differences.len());
        for (row, difference) in self.factor.iter().zip(differences) {
            let known: f64 = row.iter().zip(&solved).map(|(l, z)| l * z).sum();
            solved.push((difference - known) / row[solved.len()]);
        }
        solved
    }

    /// Log density of the first readings, solved.
    fn log_density_of(&self, solved: &[f64]) -> f64 {
        let one = |(i, z): (usize, &f64)| z * z + 2.0 * self.factor[i][i].ln() + std::f64::consts::TAU.ln();
        -0.5 * solved.iter().enumerate().map(one).sum::<f64>()
    }
}

/// Natural logarithm of the standard normal distribution function.
fn log_probability_below(z: f64) -> f64 {
    // Beyond this the complementary error function leaves the normal doubles. First two
    // terms of the asymptotic series, good to 3/z⁴ (Abramowitz and Stegun 1964, 26.2.12, from memory).
    const FAR: f64 = -37.0;
    if z < FAR {
        return -0.5 * z * z - (-z).ln() + (-1.0 / (z * z)).ln_1p() - 0.5 * std::f64::consts::TAU.ln();
    }
    (0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)).ln()
}

/// The lower triangle `L` of `A = L·Lᵀ`. `A` is the sum of a positive diagonal and outer
/// products, hence positive definite; the floor only meets what rounding takes away.
fn cholesky(a: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut lower: Vec<Vec<f64>> = Vec::with_capacity(a.len());
    for (i, row) in a.iter().enumerate() {
        let mut line: Vec<f64> = Vec::with_capacity(i + 1);
        for (j, above) in lower.iter().enumerate() {
            let known: f64 = line.iter().zip(above).map(|(x, y)| x * y).sum();
            line.push((row[j] - known) / above[j]);
        }
        let squares: f64 = line.iter().map(|x| x * x).sum();
        line.push((row[i] - squares).max(row[i] * f64::EPSILON).sqrt());
        lower.push(line);
    }
    lower
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::table::close;

    /// Bivariate normal in closed form: `(x² − 2ρxy + y²)/(1 − ρ²)` and the density
    /// `exp(−½ d²)/(2π·√(1 − ρ²))` for unit variances (Abramowitz and Stegun 1964, 26.3.1 and 26.3.2, from memory).
    #[test]
    fn two_readings_are_the_closed_form() {
        // What is shared has variance 0.6, what is not 0.4: unit variances, correlation 0.6.
        let (own, shared, rho) = (0.4f64.sqrt(), 0.6f64.sqrt(), 0.6f64);
        let covariance = Covariance::new(&[own, own], &[vec![shared, shared]]).unwrap();
        for (x, y) in [(1.0, 1.0), (1.0, -1.0), (0.3, 2.1), (0.0, 0.0)] {
            let squared = (x * x - 2.0 * rho * x * y + y * y) / (1.0 - rho * rho);
            assert!((covariance.distance_squared(&[x, y]) - squared).abs() < 1e-12);
            let density = (-0.5 * squared).exp() / (std::f64::consts::TAU * (1.0 - rho * rho).sqrt());
            close(covariance.log_density(&[x, y]).exp(), density, 1e-12);
        }
        close(covariance.standard(0), 1.0, 1e-12);
    }

    #[test]
    fn readings_that_share_nothing_add_up_in_squares() {
        let covariance = Covariance::new(&[1.0, 2.0, 4.0], &[]).unwrap();
        close(
            covariance.distance_squared(&[1.0, 4.0, 12.0]),
            1.0 + 4.0 + 9.0,
            1e-12,
        );
    }

    /// A common push of any size is forgiven along its own direction and nowhere else.
    #[test]
    fn what_is_shared_forgives_only_its_own_direction() {
        let covariance = Covariance::new(&[1.0, 1.0, 1.0], &[vec![1e3, 1e3, 1e3]]).unwrap();
        assert!(covariance.distance_squared(&[50.0, 50.0, 50.0]) < 0.01);
        close(covariance.distance_squared(&[3.0, -3.0, 0.0]), 18.0, 1e-6);
    }

    /// Two unit normals of correlation ρ lie both below their means with `1/4 + asin ρ/(2π)`
    /// (Sheppard 1899; Abramowitz and Stegun 1964, 26.3.19, from memory). Adding the censored density up
    /// over the first must give that.
    #[test]
    fn a_reading_known_to_lie_below_adds_up_to_the_quadrant() {
        for (shared, sign) in [(0.6f64, 1.0), (0.25, -1.0)] {
            let own = (1.0 - shared).sqrt();
            let covariance =
                Covariance::new(&[own, own], &[vec![shared.sqrt(), sign * shared.sqrt()]]).unwrap();
            let step = 1e-3;
            let below: f64 = (0..9000)
                .map(|n| {
                    covariance
                        .log_density_below(&[-step * (f64::from(n) + 0.5), 0.0])
                        .exp()
                        * step
                })
                .sum();
            let quadrant = 0.25 + (sign * shared).asin() / std::f64::consts::TAU;
            close(below, quadrant, 1e-6);
        }
    }

    /// One common input `x` of standard uncertainty 1 that moves both readings by `a` and `b`, own variances `s²` and
    /// `t²`: the weighted mean and zero give `x = (a·r/s² + b·q/t²)/(1 + a²/s² + b²/t²)` (normal equations, standard
    /// result).
    #[test]
    fn pulls_say_how_far_the_common_input_is_off() {
        let (a, b, s, t, r, q) = (2.0, -1.0, 0.5, 1.5, 1.3, 0.4);
        let covariance = Covariance::new(&[s, t], &[vec![a, b]]).unwrap();
        let pulls = covariance.pulls(&[r, q]);
        let off = a * pulls[0] + b * pulls[1];
        let (s2, t2) = (s * s, t * t);
        close(
            off,
            (a * r / s2 + b * q / t2) / (1.0 + a * a / s2 + b * b / t2),
            1e-12,
        );
        // A bound that is kept leaves the first alone, one that is broken pulls as a reading does.
        let kept = covariance.pulls_below(&[r, 9.0]);
        close(a * kept[0], a * r / s2 / (1.0 + a * a / s2), 1e-12);
        assert_eq!(kept[1], 0.0);
        assert_eq!(covariance.pulls_below(&[r, -9.0]), covariance.pulls(&[r, -9.0]));
    }

    #[test]
    fn a_bound_far_above_leaves_the_others_and_far_below_nothing() {
        let covariance = Covariance::new(&[1.0, 2.0], &[]).unwrap();
        let alone = Covariance::new(&[1.0], &[]).unwrap().log_density(&[0.7]);
        close(covariance.log_density_below(&[0.7, 1e3]), alone, 1e-12);
        // Q(5) = 2.866515719e-7 (Abramowitz and Stegun 1964, table 26.1, from memory).
        let far = covariance.log_density_below(&[0.7, -10.0]) - alone;
        close(far.exp(), 2.866_515_719e-7, 1e-8);
        // Both forms meet where they change, and no bound is impossible.
        let (near, beyond) = (
            log_probability_below(-24.999_999),
            log_probability_below(-25.000_001),
        );
        assert!((near - beyond).abs() < 1e-4 && near > beyond);
        assert!(log_probability_below(-1e6).is_finite());
    }

    #[test]
    fn what_is_no_uncertainty_is_refused() {
        assert!(Covariance::new(&[1.0, 0.0], &[]).is_err());
        assert!(Covariance::new(&[1.0, f64::NAN], &[]).is_err());
        assert!(Covariance::new(&[1.0], &[vec![1.0, 2.0]]).is_err());
        assert!(Covariance::new(&[1.0], &[vec![f64::INFINITY]]).is_err());
    }
}
