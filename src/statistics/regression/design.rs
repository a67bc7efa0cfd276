//! The columns a regression rests on: one a coefficient, one entry a row.

use super::NoFit;

/// Columns of equal length, all numbers finite.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    columns: Vec<Vec<f64>>,
}

impl Design {
    /// Of these columns, the constant one (all 1) among them if there shall be an intercept.
    ///
    /// # Errors
    /// [`NoFit::Invalid`] for no column, columns of unequal length, or a number that is not finite.
    ///
    /// ```
    /// use siskin::statistics::regression::design::Design;
    /// let design = Design::of(vec![vec![1.0; 3], vec![0.0, 1.0, 2.0]]).unwrap();
    /// assert_eq!(design.rows(), 3);
    /// assert_eq!(design.predict(&[10.0, 0.5]), [10.0, 10.5, 11.0]);
    /// assert!(Design::of(vec![vec![1.0], vec![]]).is_err());
    /// ```
    pub fn of(columns: Vec<Vec<f64>>) -> Result<Self, NoFit> {
        let rows = columns.first().map_or(0, Vec::len);
        let is_valid = |column: &Vec<f64>| column.len() == rows && column.iter().all(|v| v.is_finite());
        if columns.is_empty() || !columns.iter().all(is_valid) {
            return Err(NoFit::Invalid);
        }
        Ok(Self { columns })
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.columns[0].len()
    }

    /// The columns.
    pub fn columns(&self) -> &[Vec<f64>] {
        &self.columns
    }

    /// Columns times coefficients, one value a row.
    pub fn predict(&self, coefficients: &[f64]) -> Vec<f64> {
        let mut values = vec![0.0; self.rows()];
        for (column, coefficient) in self.columns.iter().zip(coefficients) {
            for (value, entry) in values.iter_mut().zip(column) {
                *value += coefficient * entry;
            }
        }
        values
    }

    /// These rows alone, in this order.
    pub(super) fn rows_of(&self, kept: &[usize]) -> Self {
        let keep = |column: &Vec<f64>| kept.iter().map(|row| column[*row]).collect();
        Self {
            columns: self.columns.iter().map(keep).collect(),
        }
    }

    /// Each row times its factor.
    pub(super) fn scaled(&self, factors: &[f64]) -> Vec<Vec<f64>> {
        let scale = |column: &Vec<f64>| column.iter().zip(factors).map(|(v, f)| v * f).collect();
        self.columns.iter().map(scale).collect()
    }
}
