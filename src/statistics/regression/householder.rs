//! Least squares by Householder's orthogonal reflections, X = QR.
//!
//! Coefficients solve R·b = Q'y, and (X'X)^-1 = R^-1·R^-1'. The normal equations, which square the
//! condition of X, are never formed. Source: Golub GH, Van Loan CF, Matrix Computations, chapter 5.
//!
//! Columns are first scaled by powers of two, which loses nothing, so their units do not matter. A
//! column of which less than 1e-7 of its length is left, after what the columns before it explain,
//! is taken to depend on them: then there is no factorisation. The bound is that of R `lm`.

/// What is left of a column that does not depend on those before it.
const LEAST_LEFT: f64 = 1e-7;

/// The factorised columns.
pub(super) struct Householder {
    /// Reflections, one a column: the vector from the diagonal down.
    reflections: Vec<Vec<f64>>,
    /// Upper triangle, by columns: entries 0 to j of column j.
    triangle: Vec<Vec<f64>>,
    /// By what each column was multiplied.
    scales: Vec<f64>,
}

impl Householder {
    /// Of columns of equal length; `None` where one depends on others, is 0, or there are fewer
    /// rows than columns.
    pub(super) fn of(mut columns: Vec<Vec<f64>>) -> Option<Self> {
        let width = columns.len();
        if columns.first()?.len() < width {
            return None;
        }
        let mut scales = Vec::with_capacity(width);
        for column in &mut columns {
            let largest = column.iter().fold(0.0_f64, |largest, v| largest.max(v.abs()));
            if !(largest > 0.0 && largest.is_finite()) {
                return None;
            }
            // Not so far that the power itself leaves the range.
            let scale = (-largest.log2().floor()).clamp(-1000.0, 1000.0).exp2();
            column.iter_mut().for_each(|v| *v *= scale);
            scales.push(scale);
        }
        let lengths: Vec<f64> = columns.iter().map(|column| length(column)).collect();
        let mut reflections: Vec<Vec<f64>> = Vec::with_capacity(width);
        let mut triangle = Vec::with_capacity(width);
        for (j, mut column) in columns.into_iter().enumerate() {
            for (i, reflection) in reflections.iter().enumerate() {
                reflect(reflection, &mut column[i..]);
            }
            let left = length(&column[j..]);
            if left.is_nan() || left <= LEAST_LEFT * lengths[j] {
                return None;
            }
            // The sign that does not cancel.
            let diagonal = -left.copysign(column[j]);
            let mut reflection = column.split_off(j);
            reflection[0] -= diagonal;
            let size = length(&reflection);
            reflection.iter_mut().for_each(|v| *v /= size);
            reflections.push(reflection);
            column.push(diagonal);
            triangle.push(column);
        }
        Some(Self {
            reflections,
            triangle,
            scales,
        })
    }

    /// The coefficients that bring the columns closest to `y`.
    pub(super) fn solve(&self, y: &[f64]) -> Vec<f64> {
        let mut turned = y.to_vec();
        for (i, reflection) in self.reflections.iter().enumerate() {
            reflect(reflection, &mut turned[i..]);
        }
        turned.truncate(self.triangle.len());
        self.back(turned)
    }

    /// (X'X)^-1, by rows.
    pub(super) fn inverse_square(&self) -> Vec<Vec<f64>> {
        let width = self.triangle.len();
        let unit = |j: usize| (0..width).map(|i| if i == j { 1.0 } else { 0.0 }).collect();
        let inverse: Vec<Vec<f64>> = (0..width).map(|j| self.back(unit(j))).collect();
        let entry = |i: usize, j: usize| inverse.iter().map(|column| column[i] * column[j]).sum();
        (0..width).map(|i| (0..width).map(|j| entry(i, j)).collect()).collect()
    }

    /// R^-1 times these, in the units of the columns given.
    fn back(&self, mut values: Vec<f64>) -> Vec<f64> {
        for j in (0..values.len()).rev() {
            let (above, from) = values.split_at_mut(j);
            from[0] /= self.triangle[j][j];
            for (value, entry) in above.iter_mut().zip(&self.triangle[j]) {
                *value -= entry * from[0];
            }
        }
        values.iter().zip(&self.scales).map(|(v, scale)| v * scale).collect()
    }
}

/// Reflects `values` at the plane across the unit vector.
fn reflect(unit: &[f64], values: &mut [f64]) {
    let along: f64 = unit.iter().zip(values.iter()).map(|(u, v)| u * v).sum();
    for (value, u) in values.iter_mut().zip(unit) {
        *value -= 2.0 * along * u;
    }
}

fn length(values: &[f64]) -> f64 {
    values.iter().map(|v| v * v).sum::<f64>().sqrt()
}
