//! Founders that are related or inbred.

use super::{Genotype, Origin, PedigreeError, Ploidy};
use std::collections::BTreeSet;

/// Coancestries among some founders, for example from markers. Founders not named here are unrelated to all.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct FounderKinship {
    /// Indices of the founders.
    pub founders: Vec<usize>,
    /// Their coancestry matrix, row after row, with coancestries of each with itself on the diagonal:
    /// (1 + (T - 1) F) / T for ploidy T and inbreeding F.
    pub coancestry: Vec<f64>,
}

/// Largest departure from symmetry or from a positive pivot that is taken for rounding.
const ROUNDING: f64 = 1e-9;

/// A founder as a regression on the founders named before it.
///
/// The matrix is K = L D L' with L unit lower triangular. Row i of I - L⁻¹ holds the regression of founder i
/// on the earlier ones and D its residual variance: the same form in which a cross depends on its parents, so
/// that nothing downstream needs to know that founders are related.
pub(super) struct RegressedFounder {
    pub(super) genotype: usize,
    pub(super) ploidy: Ploidy,
    /// Index and regression coefficient of earlier founders.
    pub(super) on: Vec<(usize, f64)>,
    /// Variance left, on the scale of coancestry.
    pub(super) residual: f64,
    pub(super) self_coancestry: f64,
}

impl FounderKinship {
    /// Checks the matrix against the genotypes and takes it apart.
    pub(super) fn regressions(
        &self,
        genotypes: impl Fn(usize) -> Option<Genotype>,
    ) -> Result<Vec<RegressedFounder>, PedigreeError> {
        let ploidies = self.check(genotypes)?;
        let n = self.founders.len();
        let mut lower = vec![0.0; n * n];
        let mut diagonal = vec![0.0; n];
        let mut regressions = Vec::with_capacity(n);
        for i in 0..n {
            // Row i of L, and of D.
            for j in 0..=i {
                let explained: f64 = (0..j)
                    .map(|k| lower[i * n + k] * lower[j * n + k] * diagonal[k])
                    .sum();
                let left = self.coancestry[i * n + j] - explained;
                if i == j {
                    if left < -ROUNDING {
                        return Err(PedigreeError::FounderMatrixIndefinite {
                            genotype: self.founders[i],
                        });
                    }
                    diagonal[i] = if left < ROUNDING { 0.0 } else { left };
                    lower[i * n + i] = 1.0;
                } else if diagonal[j] > 0.0 {
                    lower[i * n + j] = left / diagonal[j];
                } else if left.abs() > ROUNDING.sqrt() {
                    return Err(PedigreeError::FounderMatrixIndefinite {
                        genotype: self.founders[i],
                    });
                }
            }
            // Row i of L⁻¹ by back substitution: c L = (row i of L before the diagonal).
            let mut on = vec![0.0; i];
            for j in (0..i).rev() {
                let later: f64 = (j + 1..i).map(|k| on[k] * lower[k * n + j]).sum();
                on[j] = lower[i * n + j] - later;
            }
            regressions.push(RegressedFounder {
                genotype: self.founders[i],
                ploidy: ploidies[i],
                on: on
                    .into_iter()
                    .enumerate()
                    .filter(|&(_, c)| c != 0.0)
                    .map(|(j, c)| (self.founders[j], c))
                    .collect(),
                residual: diagonal[i],
                self_coancestry: self.coancestry[i * n + i],
            });
        }
        Ok(regressions)
    }

    /// The founders' ploidies, if founders and entries are possible.
    fn check(
        &self,
        genotypes: impl Fn(usize) -> Option<Genotype>,
    ) -> Result<Vec<Ploidy>, PedigreeError> {
        let n = self.founders.len();
        if self.coancestry.len() != n * n {
            return Err(PedigreeError::FounderMatrixSize {
                expected: n * n,
                found: self.coancestry.len(),
            });
        }
        let mut seen = BTreeSet::new();
        let mut ploidies = Vec::with_capacity(n);
        for (i, &founder) in self.founders.iter().enumerate() {
            let ploidy = match genotypes(founder) {
                Some(Genotype {
                    ploidy,
                    origin: Origin::Founder,
                }) if seen.insert(founder) => ploidy,
                _ => return Err(PedigreeError::NotAFounder { genotype: founder }),
            };
            ploidies.push(ploidy);
            for (j, &other) in self.founders.iter().enumerate() {
                let coancestry = self.coancestry[i * n + j];
                let least = if i == j { 1.0 / ploidy.genes() } else { 0.0 };
                let possible = (least - ROUNDING..=1.0 + ROUNDING).contains(&coancestry);
                if !possible || (coancestry - self.coancestry[j * n + i]).abs() > ROUNDING {
                    return Err(PedigreeError::FounderCoancestry {
                        row: founder,
                        column: other,
                        coancestry,
                    });
                }
            }
        }
        Ok(ploidies)
    }
}
