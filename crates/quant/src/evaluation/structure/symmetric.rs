//! Compound symmetry: all levels of a group are equally correlated, also below zero.
//!
//! In a group of n, `K⁻¹ = (I − ρ / (1 + (n − 1)ρ) J) / (1 − ρ)`.

use super::{Entries, ShapeKind, ShapeParameter, Structure, StructureKind};
use crate::evaluation::EvaluationError;

pub(super) fn coefficients(rho: f64, sizes: &[usize]) -> Vec<f64> {
    let of_size = sizes.iter().map(|&n| -rho / denominator(rho, n).0);
    std::iter::once(1.0 / (1.0 - rho)).chain(of_size).collect()
}

pub(super) fn slopes(rho: f64, sizes: &[usize]) -> Vec<f64> {
    let of_size = sizes.iter().map(|&n| {
        let (whole, slope) = denominator(rho, n);
        -(whole - rho * slope) / (whole * whole)
    });
    std::iter::once((1.0 - rho).powi(-2))
        .chain(of_size)
        .collect()
}

/// `(1 − ρ)(1 + (n − 1)ρ)` and its slope.
fn denominator(rho: f64, n: usize) -> (f64, f64) {
    let n = n as f64;
    (
        (1.0 - rho) * (1.0 + (n - 1.0) * rho),
        (n - 2.0) - 2.0 * (n - 1.0) * rho,
    )
}

impl Structure {
    /// Groups of these sizes, their levels one after another.
    pub(in crate::evaluation) fn groups(lengths: &[usize]) -> Result<Self, EvaluationError> {
        let mut sizes = lengths.to_vec();
        sizes.sort_unstable();
        sizes.dedup();
        let mut pieces: Vec<Entries> = vec![Vec::new(); sizes.len() + 1];
        let mut first = 0;
        for &length in lengths {
            let piece = 1 + sizes.partition_point(|&size| size < length);
            for row in first..first + length as u32 {
                pieces[0].push((row, row, 1.0));
                pieces[piece].extend((first..=row).map(|column| (row, column, 1.0)));
            }
            first += length as u32;
        }
        let largest = sizes.last().copied().unwrap_or(2).max(2);
        let parameter = ShapeParameter {
            kind: ShapeKind::Correlation,
            lower: -0.999 / (largest - 1) as f64,
            upper: 0.999,
            start: 0.4,
        };
        let size = lengths.iter().sum();
        Self::new(
            StructureKind::Symmetric(sizes),
            vec![parameter],
            size,
            &pieces,
            Vec::new(),
        )
    }
}
