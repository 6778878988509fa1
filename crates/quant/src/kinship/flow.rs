//! The flow of genes through the whole pedigree.

use super::pedigree::{Donor, Pedigree};

/// T' w among parents: each parent's weight with those of all its descendants, by the share of its genes in them.
///
/// `donors` says what a family passes its weight on to.
pub(super) fn pass_up<'p>(
    pedigree: &'p Pedigree,
    weights: &[f64],
    donors: impl Fn(&'p Pedigree, usize) -> &'p [Donor],
) -> Vec<f64> {
    let mut gathered = vec![0.0; pedigree.parent_count()];
    let mut childless = vec![0.0; pedigree.family_count()];
    for (genotype, &weight) in weights.iter().enumerate() {
        match pedigree.position(genotype) {
            Some(place) => gathered[place] += weight,
            None => childless[pedigree.family(genotype)] += weight,
        }
    }
    for (family, &weight) in childless.iter().enumerate() {
        pass_to(&mut gathered, donors(pedigree, family), weight);
    }
    for place in (0..pedigree.parent_count()).rev() {
        let weight = gathered[place];
        pass_to(
            &mut gathered,
            donors(pedigree, pedigree.family_at(place)),
            weight,
        );
    }
    gathered
}

/// Adds a child's weight to its donors.
pub(super) fn pass_to(gathered: &mut [f64], donors: &[Donor], weight: f64) {
    for donor in donors {
        gathered[donor.parent as usize] += weight * donor.share;
    }
}

/// What a child has of its donors.
pub(super) fn weighted(entry: &[f64], donors: &[Donor]) -> f64 {
    donors
        .iter()
        .map(|donor| donor.share * entry[donor.parent as usize])
        .sum()
}

/// Equal weights, adding up to 1, on the distinct members of a group. All zero for an empty group.
pub(super) fn group_weights(pedigree: &Pedigree, group: &[usize]) -> Vec<f64> {
    let mut weights = vec![0.0; pedigree.len()];
    for &genotype in group {
        weights[genotype] = 1.0;
    }
    let size: f64 = weights.iter().sum();
    if size > 0.0 {
        for weight in &mut weights {
            *weight /= size;
        }
    }
    weights
}

/// A quantity that follows down the pedigree: `value` gives a family's from that of the parents, by place.
/// Returns it for the parents, by place, and for all genotypes, in the order of the records.
pub(super) fn descend(
    pedigree: &Pedigree,
    value: impl Fn(&[f64], usize) -> f64,
) -> (Vec<f64>, Vec<f64>) {
    let mut parents = Vec::with_capacity(pedigree.parent_count());
    for place in 0..pedigree.parent_count() {
        parents.push(value(&parents, pedigree.family_at(place)));
    }
    let families: Vec<f64> = (0..pedigree.family_count())
        .map(|family| value(&parents, family))
        .collect();
    let genotypes = (0..pedigree.len())
        .map(|genotype| families[pedigree.family(genotype)])
        .collect();
    (parents, genotypes)
}
