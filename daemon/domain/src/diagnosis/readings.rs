//! What was read of a ride, as densities of what was expected.

use lockring_calc::gaussian::Covariance;

/// Readings with a doubt each: what everything is held against.
pub(super) struct Readings<'a> {
    pub(super) values: &'a [f64],
    pub(super) own: &'a [f64],
    /// Whether the last is a bound that the reading lies below.
    pub(super) below: bool,
}

impl Readings<'_> {
    fn differences(&self, expected: &[f64]) -> Vec<f64> {
        let both = self.values.iter().zip(expected);
        both.map(|(read, expected)| read - expected).collect()
    }

    /// Logarithm of their density.
    pub(super) fn log_density(&self, covariance: &Covariance, expected: &[f64]) -> f64 {
        let differences = self.differences(expected);
        if self.below {
            covariance.log_density_below(&differences)
        } else {
            covariance.log_density(&differences)
        }
    }

    /// Squared distance of those that were read.
    pub(super) fn distance_squared(&self, covariance: &Covariance, expected: &[f64]) -> f64 {
        let differences = self.differences(expected);
        covariance.distance_squared(&differences[..self.read()])
    }

    /// How strongly each difference pulls.
    pub(super) fn pulls(&self, covariance: &Covariance, expected: &[f64]) -> Vec<f64> {
        let differences = self.differences(expected);
        if self.below {
            covariance.pulls_below(&differences)
        } else {
            covariance.pulls(&differences)
        }
    }

    /// How many were read.
    pub(super) fn read(&self) -> usize {
        self.values.len() - usize::from(self.below)
    }
}
