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
        let mut solved: Vec<f64> = Vec::with_capacity(differences.len());
        for (row, difference) in self.factor.iter().zip(differences) {
            let known: f64 = row.iter().zip(&solved).map(|(l, z)| l * z).sum();
            solved.push((difference - known) / row[solved.len()]);
        }
        solved.iter().map(|z| z * z).sum()
    }

    /// Natural logarithm of the density of differences, `−½·(rᵀ·Σ⁻¹·r + ln det Σ + n·ln 2π)`.
    pub fn log_density(&self, differences: &[f64]) -> f64 {
        let log_determinant: f64 = self
            .factor
            .iter()
            .enumerate()
            .map(|(i, row)| 2.0 * row[i].ln())
            .sum();
        let constant = self.factor.len() as f64 * std::f64::consts::TAU.ln();
        -0.5 * (self.distance_squared(differences) + log_determinant + constant)
    }
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

    #[test]
    fn what_is_no_uncertainty_is_refused() {
        assert!(Covariance::new(&[1.0, 0.0], &[]).is_err());
        assert!(Covariance::new(&[1.0, f64::NAN], &[]).is_err());
        assert!(Covariance::new(&[1.0], &[vec![1.0, 2.0]]).is_err());
        assert!(Covariance::new(&[1.0], &[vec![f64::INFINITY]]).is_err());
    }
}
