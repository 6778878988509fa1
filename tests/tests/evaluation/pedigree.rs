//! A textbook pedigree of diploids: the tabular relationship matrix and Henderson's inverse.

use quant::evaluation::Relationship;
use quant::sparse::SymmetricLower;

use crate::dense::Dense;
use crate::random::Random;

/// Parents by index, each before its progeny.
pub(crate) type Parents = [Option<usize>; 2];

/// Emik & Terrill (1949), the tabular method.
pub(crate) fn additive_relationship(pedigree: &[Parents]) -> Dense {
    let mut a = Dense::zeros(pedigree.len(), pedigree.len());
    for (i, parents) in pedigree.iter().enumerate() {
        for j in 0..i {
            let half = |parent: &Option<usize>| parent.map_or(0.0, |parent| 0.5 * a[(parent, j)]);
            let value = parents.iter().map(half).sum();
            a[(i, j)] = value;
            a[(j, i)] = value;
        }
        a[(i, i)] = 1.0
            + match parents {
                [Some(female), Some(male)] => 0.5 * a[(*female, *male)],
                _ => 0.0,
            };
    }
    a
}

/// Henderson (1976), Quaas (1976): A⁻¹ as a sum of one small product per plant.
pub(crate) fn relationship(pedigree: &[Parents]) -> Relationship {
    let a = additive_relationship(pedigree);
    let mut inverse = Vec::new();
    let mut log_determinant = 0.0;
    for (i, parents) in pedigree.iter().enumerate() {
        let known: Vec<usize> = parents.iter().copied().flatten().collect();
        let mendelian = 1.0
            - known
                .iter()
                .map(|&parent| 0.25 * a[(parent, parent)])
                .sum::<f64>();
        log_determinant += mendelian.ln();
        let row: Vec<(usize, f64)> = known
            .iter()
            .map(|&parent| (parent, -0.5))
            .chain([(i, 1.0)])
            .collect();
        for (n, &(j, x)) in row.iter().enumerate() {
            for (m, &(k, z)) in row.iter().enumerate() {
                if j > k || (j == k && m <= n) {
                    inverse.push((j as u32, k as u32, x * z / mendelian));
                }
            }
        }
    }
    let diagonal = (0..pedigree.len()).map(|i| a[(i, i)]).collect();
    let inverse = SymmetricLower::from_entries(pedigree.len(), &inverse);
    Relationship::from_inverse(diagonal, inverse, log_determinant).unwrap()
}

/// Founders, then plants from random parents among those before them; one parent may be unknown.
pub(crate) fn random_pedigree(random: &mut Random, founders: usize, size: usize) -> Vec<Parents> {
    (0..size)
        .map(|i| {
            let mut parent = || (i >= founders && random.chance(0.9)).then(|| random.below(i));
            let female = parent();
            let male = parent();
            if female == male {
                [female, None]
            } else {
                [female, male]
            }
        })
        .collect()
}
