//! Linear regression with normal errors, by the QR decomposition of [X | y].
//!
//! Normal equations, which square the condition, are never formed. A normal prior is rows more, those of its whitened
//! coefficients; without it the answer is that of ordinary least squares. Source: Golub and Van Loan, Matrix
//! Computations, 5.3; Gelman et al., Bayesian Data Analysis, 14.8 (a prior as more data). From memory.

use nalgebra::{DMatrix, DVector};

/// One equation: what the coefficients are multiplied with, and what comes out, both in units of the error's spread.
#[derive(Clone, Debug)]
pub(super) struct Equation {
    pub(crate) x: Vec<f64>,
    pub(crate) y: f64,
}

/// The coefficients that follow.
#[derive(Clone, Debug)]
pub(super) struct Posterior {
    pub(crate) mean: DVector<f64>,
    /// In units of the error's variance where rows were not divided by its spread.
    pub(crate) covariance: DMatrix<f64>,
}

/// The coefficients; `None` if the rows do not determine them.
pub(super) fn posterior(rows: &[Equation]) -> Option<Posterior> {
    let p = rows.first()?.x.len();
    // Fewer rows than columns are filled up with equations without effect.
    let all = DMatrix::from_fn(rows.len().max(p), p + 1, |row, column| {
        let row = rows.get(row);
        row.map_or(0.0, |row| *row.x.get(column).unwrap_or(&row.y))
    });
    let triangle = all.qr().r();
    let square = triangle.view((0, 0), (p, p));
    let determined = (0..p).all(|at| square[(at, at)].abs() > square.column(at).norm() * 1e-15);
    if !determined {
        return None;
    }
    let mean =
        square.solve_upper_triangular(&triangle.view((0, p), (p, 1)).column(0).into_owned())?;
    let inverse = square.solve_upper_triangular(&DMatrix::identity(p, p))?;
    Some(Posterior {
        mean,
        covariance: &inverse * inverse.transpose(),
    })
}
