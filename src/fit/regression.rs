//! Linear regression with normal errors, by orthogonal triangles.
//!
//! What rows say of the coefficients is kept as the triangle R of the QR decomposition of [X | y]: rows that come later
//! are put under it and it is made a triangle again, so that one batch and many give the same. Normal equations, which
//! square the condition, are never formed. A normal prior of independent coefficients is p rows more, each coefficient
//! over its spread; without it the answer is that of ordinary least squares. Source: Golub and Van Loan, Matrix
//! Computations, 5.3; Gelman et al., Bayesian Data Analysis, 14.8 (a prior as more data). From memory.

use nalgebra::{DMatrix, DVector};

/// What rows say of `p` coefficients.
#[derive(Clone, Debug)]
pub(super) struct Evidence {
    /// Triangle of [X | y].
    triangle: DMatrix<f64>,
    #[cfg(test)]
    rows: usize,
}

/// One equation: what the coefficients are multiplied with, and what comes out, both in units of the error's spread.
#[derive(Clone, Debug)]
pub(super) struct Row {
    pub x: Vec<f64>,
    pub y: f64,
}

/// The coefficients that follow.
#[derive(Clone, Debug)]
pub(super) struct Posterior {
    pub mean: DVector<f64>,
    /// In units of the error's variance where rows were not divided by its spread.
    pub covariance: DMatrix<f64>,
}

impl Evidence {
    /// Nothing is known of `p` coefficients.
    pub fn none(p: usize) -> Self {
        Self {
            triangle: DMatrix::zeros(p + 1, p + 1),
            #[cfg(test)]
            rows: 0,
        }
    }

    /// With more rows.
    pub fn with(&self, rows: &[Row]) -> Self {
        let columns = self.triangle.ncols();
        let held = self.triangle.nrows();
        let all = DMatrix::from_fn(held + rows.len(), columns, |row, column| {
            match row.checked_sub(held).map(|row| &rows[row]) {
                None => self.triangle[(row, column)],
                Some(row) if column + 1 == columns => row.y,
                Some(row) => row.x[column],
            }
        });
        Self {
            triangle: all.qr().r(),
            #[cfg(test)]
            rows: self.rows + rows.len(),
        }
    }

    /// The same with a normal prior, independent for each coefficient: mean and spread.
    pub fn with_prior(&self, prior: &[(f64, f64)]) -> Self {
        let rows: Vec<Row> = prior
            .iter()
            .enumerate()
            .map(|(at, &(mean, spread))| Row {
                x: (0..prior.len())
                    .map(|other| if other == at { 1.0 / spread } else { 0.0 })
                    .collect(),
                y: mean / spread,
            })
            .collect();
        Self {
            #[cfg(test)]
            rows: self.rows,
            ..self.with(&rows)
        }
    }

    /// The coefficients; nothing where the rows do not determine them.
    pub fn posterior(&self) -> Option<Posterior> {
        let p = self.triangle.ncols() - 1;
        let square = self.triangle.view((0, 0), (p, p));
        let right: DVector<f64> = self.triangle.view((0, p), (p, 1)).column(0).into_owned();
        let largest = square.amax();
        let determined = (0..p).all(|at| {
            let column = square.column(at).norm();
            square[(at, at)].abs() > column * 1e-15 && largest > 0.0
        });
        if !determined {
            return None;
        }
        let mean = square.solve_upper_triangular(&right)?;
        let inverse = square.solve_upper_triangular(&DMatrix::identity(p, p))?;
        Some(Posterior {
            mean,
            covariance: &inverse * inverse.transpose(),
        })
    }

    /// Spread of the error by ordinary least squares: the residual over the rows that are left over.
    #[cfg(test)]
    pub fn spread(&self) -> Option<f64> {
        let p = self.triangle.ncols() - 1;
        let free = self.rows.checked_sub(p)?;
        Some(self.triangle[(p, p)].abs() / (free as f64).sqrt())
    }
}
