//! Least squares with a handful of unknowns: normal equations, scaled, by Cholesky.
//!
//! Columns are scaled to length one first, so the matrix holds the cosines between columns and
//! loses digits only as far as the unknowns themselves cannot be told apart.

/// Most unknowns a fit has: rolling, drag, mass and two components of wind.
pub(super) const MOST: usize = 5;

/// Smallest pivot of the scaled matrix: columns closer than this are the same column.
/// It corresponds to a correlation of 1 − 5e-11.
const SAME: f64 = 1e-10;

/// `XᵀX` and `Xᵀy`, gathered row by row.
#[derive(Debug, Clone)]
pub(super) struct Normal {
    unknowns: usize,
    gram: [[f64; MOST]; MOST],
    right: [f64; MOST],
    rows: usize,
}

/// Solution and inverse of `XᵀX`.
#[derive(Debug, Clone)]
pub(super) struct Solution {
    pub values: [f64; MOST],
    pub inverse: [[f64; MOST]; MOST],
}

impl Normal {
    pub(super) const fn new(unknowns: usize) -> Self {
        Self {
            unknowns,
            gram: [[0.0; MOST]; MOST],
            right: [0.0; MOST],
            rows: 0,
        }
    }

    pub(super) fn add(&mut self, row: &[f64; MOST], y: f64) {
        for i in 0..self.unknowns {
            for (j, other) in row.iter().enumerate().take(self.unknowns) {
                self.gram[i][j] += row[i] * other;
            }
            self.right[i] += row[i] * y;
        }
        self.rows += 1;
    }

    /// `None` when columns cannot be told apart or one is empty.
    pub(super) fn solve(&self) -> Option<Solution> {
        let n = self.unknowns;
        let scale = self.scale()?;
        let lower = self.cholesky(&scale)?;
        let mut inverse = [[0.0; MOST]; MOST];
        for column in 0..n {
            let mut unit = [0.0; MOST];
            unit[column] = 1.0;
            let solved = back(&lower, &unit, n);
            for row in 0..n {
                inverse[row][column] = solved[row] / (scale[row] * scale[column]);
            }
        }
        let mut scaled = [0.0; MOST];
        for i in 0..n {
            scaled[i] = self.right[i] / scale[i];
        }
        let mut values = back(&lower, &scaled, n);
        for i in 0..n {
            values[i] /= scale[i];
        }
        Some(Solution { values, inverse })
    }

    fn scale(&self) -> Option<[f64; MOST]> {
        let mut scale = [1.0; MOST];
        for (i, one) in scale.iter_mut().enumerate().take(self.unknowns) {
            let length = self.gram[i][i].sqrt();
            if !(length.is_finite() && length > 0.0) {
                return None;
            }
            *one = length;
        }
        Some(scale)
    }

    fn cholesky(&self, scale: &[f64; MOST]) -> Option<[[f64; MOST]; MOST]> {
        let mut lower = [[0.0; MOST]; MOST];
        for i in 0..self.unknowns {
            for j in 0..=i {
                let known: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
                let rest = self.gram[i][j] / (scale[i] * scale[j]) - known;
                if i == j {
                    if !(rest.is_finite() && rest > SAME) {
                        return None;
                    }
                    lower[i][i] = rest.sqrt();
                } else {
                    lower[i][j] = rest / lower[j][j];
                }
            }
        }
        Some(lower)
    }
}

/// Solves `L·Lᵀ·x = b`.
fn back(lower: &[[f64; MOST]; MOST], b: &[f64; MOST], n: usize) -> [f64; MOST] {
    let mut x = *b;
    for i in 0..n {
        let known: f64 = (0..i).map(|k| lower[i][k] * x[k]).sum();
        x[i] = (x[i] - known) / lower[i][i];
    }
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|k| lower[k][i] * x[k]).sum();
        x[i] = (x[i] - known) / lower[i][i];
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_unknowns_with_a_remainder_worked_by_hand() {
        // y = 2·x0 − 3·x1 + 5·x2 at the corners of a cube, plus ±1 in a pattern at right angles to
        // all columns (the product of the three signs): solution exact,
        // XᵀX = 8·I, so the inverse is I/8. Worked by hand.
        let mut normal = Normal::new(3);
        for corner in 0..8 {
            let sign = |bit: u32| if corner >> bit & 1 == 1 { 1.0 } else { -1.0 };
            let (a, b, c) = (sign(0), sign(1), sign(2));
            normal.add(&[a, b, c, 0.0, 0.0], 2.0 * a - 3.0 * b + 5.0 * c + a * b * c);
        }
        let solved = normal.solve().unwrap();
        for (got, wanted) in solved.values.iter().zip([2.0, -3.0, 5.0]) {
            assert!((got - wanted).abs() < 1e-14);
        }
        for i in 0..3 {
            for j in 0..3 {
                let wanted = if i == j { 0.125 } else { 0.0 };
                assert!((solved.inverse[i][j] - wanted).abs() < 1e-15);
            }
        }
    }

    #[test]
    fn skew_columns_of_very_different_length() {
        // A straight line through (0, 1), (1, 3), (2, 4), (3, 4) with abscissae in thousandths:
        // intercept 1.5, slope 1 per step. Worked by hand;
        // XᵀX = [[4, 6], [6, 14]] in steps, its inverse [[0.7, −0.3], [−0.3, 0.2]].
        let mut normal = Normal::new(2);
        for (step, y) in [(0.0, 1.0), (1.0, 3.0), (2.0, 4.0), (3.0, 4.0)] {
            normal.add(&[1.0, step / 1000.0, 0.0, 0.0, 0.0], y);
        }
        let solved = normal.solve().unwrap();
        assert!((solved.values[0] - 1.5).abs() < 1e-12);
        assert!((solved.values[1] - 1000.0).abs() < 1e-9);
        assert!((solved.inverse[0][0] - 0.7).abs() < 1e-12);
        assert!((solved.inverse[0][1] + 300.0).abs() < 1e-9);
        assert!((solved.inverse[1][0] + 300.0).abs() < 1e-9);
        assert!((solved.inverse[1][1] - 0.2e6).abs() < 1e-6);
    }

    #[test]
    fn columns_that_are_one_or_none_are_refused() {
        let mut same = Normal::new(2);
        let mut none = Normal::new(2);
        for i in 1..9 {
            let x = f64::from(i);
            same.add(&[x, 3.0 * x, 0.0, 0.0, 0.0], x);
            none.add(&[x, 0.0, 0.0, 0.0, 0.0], x);
        }
        assert!(same.solve().is_none());
        assert!(none.solve().is_none());
    }
}
