//! Entries and their interaction with environments together.

use super::singular::singular;
use crate::stability::Table;
use faer::Mat;

/// Entries within environments along axes, the greatest first.
#[derive(Clone, Debug, PartialEq)]
pub struct Gge {
    /// The singular values.
    pub values: Vec<f64>,
    /// The share of each axis in the sum of squares of entries within environments.
    pub shares: Vec<f64>,
    /// Entries × axes: vectors times the singular value.
    pub entries: Mat<f64>,
    /// Environments × axes: unit vectors. The signs of an axis may be turned, both together.
    pub environments: Mat<f64>,
}

/// `None` where no entry differs from another.
pub fn gge(table: &Table) -> Option<Gge> {
    let means = table.environment_means();
    let centred = Mat::from_fn(table.entries(), table.environments(), |row, column| {
        table.values[(row, column)] - means[column]
    });
    let found = singular(&centred)?;
    if found.values.is_empty() {
        return None;
    }
    Some(Gge {
        entries: Mat::from_fn(found.left.nrows(), found.left.ncols(), |row, axis| {
            found.left[(row, axis)] * found.values[axis]
        }),
        environments: found.right,
        values: found.values,
        shares: found.shares,
    })
}
