//! Singular values and vectors, greatest first.

use faer::Mat;

pub(super) struct Singular {
    pub(super) values: Vec<f64>,
    /// Rows by axes.
    pub(super) left: Mat<f64>,
    /// Columns by axes.
    pub(super) right: Mat<f64>,
    /// The share of each axis in the sum of squares.
    pub(super) shares: Vec<f64>,
}

/// The first axes with anything on them; of each pair of signs the one that makes the greatest element of the right
/// vector positive. `None` if the decomposition doesn't settle.
pub(super) fn singular(table: &Mat<f64>) -> Option<Singular> {
    let found = table.thin_svd().ok()?;
    let size = table.nrows().min(table.ncols());
    let values: Vec<f64> = (0..size).map(|axis| found.S()[axis]).collect();
    let all: f64 = values.iter().map(|value| value * value).sum();
    let least = values.first().copied().unwrap_or(0.0) * 1e-10;
    let axes = values.iter().take_while(|&&value| value > least).count();
    let signs: Vec<f64> = (0..axes)
        .map(|axis| {
            (0..table.ncols())
                .map(|row| found.V()[(row, axis)])
                .max_by(|one, other| one.abs().total_cmp(&other.abs()))
                .map_or(1.0, f64::signum)
        })
        .collect();
    Some(Singular {
        left: Mat::from_fn(table.nrows(), axes, |row, axis| {
            signs[axis] * found.U()[(row, axis)]
        }),
        right: Mat::from_fn(table.ncols(), axes, |row, axis| {
            signs[axis] * found.V()[(row, axis)]
        }),
        shares: values[..axes]
            .iter()
            .map(|value| value * value / all)
            .collect(),
        values: values[..axes].to_vec(),
    })
}
