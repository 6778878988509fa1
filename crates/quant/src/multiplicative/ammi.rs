//! Additive main effects and multiplicative interaction.

use super::singular::singular;
use crate::stability::Table;
use faer::Mat;

/// The interaction of entries and environments along axes, the greatest first.
#[derive(Clone, Debug, PartialEq)]
pub struct Ammi {
    /// The singular values.
    pub values: Vec<f64>,
    /// The share of each axis in the sum of squares of the interaction.
    pub shares: Vec<f64>,
    /// Entries × axes: vectors times the root of the singular value.
    pub entries: Mat<f64>,
    /// Environments × axes, likewise: entry times environment, summed over the axes, is the interaction. The signs of an
    /// axis may be turned, both together.
    pub environments: Mat<f64>,
}

/// `None` where there is no interaction at all.
pub fn ammi(table: &Table) -> Option<Ammi> {
    let found = singular(&table.interaction())?;
    if found.values.is_empty() {
        return None;
    }
    let scaled = |vectors: &Mat<f64>| {
        Mat::from_fn(vectors.nrows(), vectors.ncols(), |row, axis| {
            vectors[(row, axis)] * found.values[axis].sqrt()
        })
    };
    Some(Ammi {
        entries: scaled(&found.left),
        environments: scaled(&found.right),
        values: found.values,
        shares: found.shares,
    })
}

impl Ammi {
    /// The AMMI stability value of an entry: its distance from none along the first two axes, the first weighed by its
    /// sum of squares over that of the second (Purchase, Hatting & van Deventer 2000, S. Afr. J. Plant Soil 17:101–107).
    /// With one axis alone, its distance along that.
    pub fn stability_value(&self, entry: usize) -> f64 {
        let first = self.entries[(entry, 0)];
        if self.values.len() < 2 {
            return first.abs();
        }
        let weight = self.shares[0] / self.shares[1];
        (weight * first).hypot(self.entries[(entry, 1)])
    }
}
