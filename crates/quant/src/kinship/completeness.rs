//! How much of the ancestry is known.

use super::Pedigree;
use super::flow::{descend, group_weights, weighted};
use super::pedigree::Descent;

impl Pedigree {
    /// Equivalent complete generations of each genotype, in the order of the records: the sum over its known
    /// ancestors of the share of its genes expected from each, (1/2)ⁿ for a diploid ancestor n generations back
    /// (Maignel, Boichard & Verrier 1996, Interbull Bull. 14:49-54, as used by Boichard et al. 1997).
    /// A clone or doubled plant stands in its source's generation.
    pub fn equivalent_generations(&self) -> Vec<f64> {
        let (_, genotypes) = descend(self, |parents, family| {
            let donors = self.known_donors(family);
            let known: f64 = donors.iter().map(|donor| donor.share).sum();
            let own = if self.is_copy(family) { 0.0 } else { known };
            own + weighted(parents, donors)
        });
        genotypes
    }

    /// Share of a group's ancestry that is known, one, two, … up to `depth` generations back, each ancestor
    /// counted by the share of genes expected from it. Zeros for an empty group.
    pub fn completeness(&self, group: &[usize], depth: usize) -> Vec<f64> {
        let weights = group_weights(self, group);
        // Generation 0 is the genotype itself, which is known.
        let mut nearer = vec![1.0; self.parent_count()];
        let mut completeness = Vec::with_capacity(depth);
        for _ in 0..depth {
            let (parents, genotypes) = descend(self, |parents, family| {
                let generation = if self.is_copy(family) {
                    parents
                } else {
                    &nearer
                };
                weighted(generation, self.known_donors(family))
            });
            completeness.push(
                weights
                    .iter()
                    .zip(genotypes)
                    .map(|(weight, known)| weight * known)
                    .sum(),
            );
            nearer = parents;
        }
        completeness
    }

    /// Whether a family is a clone or a doubled plant.
    pub(super) fn is_copy(&self, family: usize) -> bool {
        matches!(self.families()[family].descent, Descent::Copy)
    }
}
