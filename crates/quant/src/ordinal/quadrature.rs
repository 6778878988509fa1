//! Points and weights of Gauss and Hermite.

use faer::{Mat, Side};

/// Points z and weights with Σ w f(z) = the mean of f over a standard normal z, exact for polynomials up to degree
/// 2 `count` - 1 (Golub & Welsch 1969, Math. Comput. 23:221–230). Empty if the eigenvalues can't be found.
pub fn gauss_hermite(count: usize) -> Vec<(f64, f64)> {
    let between = |row: usize, column: usize| {
        if row.abs_diff(column) == 1 {
            (row.max(column) as f64).sqrt()
        } else {
            0.0
        }
    };
    let jacobi = Mat::from_fn(count, count, between);
    let Ok(eigen) = jacobi.self_adjoint_eigen(Side::Lower) else {
        return Vec::new();
    };
    (0..count)
        .map(|place| (eigen.S()[place], eigen.U()[(0, place)].powi(2)))
        .collect()
}
