//! The program's kinship against the dense one, on random pedigrees of mixed ploidy in random order.

use crate::dense::Dense;
use crate::random::{Random, pedigrees, shuffled};
use proptest::prelude::*;
use quant::kinship::{Kinship, Pedigree, inbreeding};

fn kinship(random: &Random) -> Kinship {
    Kinship::new(Pedigree::new(random.records.iter().copied(), &random.assumptions).unwrap())
}

/// Additive relationships √(TT') f from the dense coancestries.
fn relationships(random: &Random) -> Vec<Vec<f64>> {
    let dense = Dense::new(&random.records, &random.assumptions);
    let root = |genotype: usize| f64::from(random.records[genotype].ploidy.sets()).sqrt();
    let all = 0..random.records.len();
    all.clone()
        .map(|i| {
            all.clone()
                .map(|j| root(i) * root(j) * dense.coancestry(i, j))
                .collect()
        })
        .collect()
}

/// Logarithm of the determinant of a positive definite matrix, by elimination.
fn log_determinant(mut matrix: Vec<Vec<f64>>) -> f64 {
    let mut sum = 0.0;
    for pivot in 0..matrix.len() {
        let (above, below) = matrix.split_at_mut(pivot + 1);
        let pivot_row = &above[pivot];
        sum += pivot_row[pivot].ln();
        for row in below {
            let factor = row[pivot] / pivot_row[pivot];
            for (entry, &above) in row.iter_mut().zip(pivot_row) {
                *entry -= factor * above;
            }
        }
    }
    sum
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn every_entry_agrees((random, to) in shuffled(36)) {
        let dense = Dense::new(&random.records, &random.assumptions);
        let moved = random.permuted(&to);
        let kinship = kinship(&moved);
        let all: Vec<usize> = (0..to.len()).collect();
        let block = kinship.coancestry_block(&all, &all);
        let inbreeding = inbreeding(kinship.pedigree());
        for i in all.iter().copied() {
            prop_assert!((inbreeding[to[i]] - dense.inbreeding(i)).abs() < 1e-9);
            let column = kinship.coancestries_with(to[i]);
            for j in all.iter().copied() {
                let expected = dense.coancestry(i, j);
                prop_assert!((kinship.coancestry(to[i], to[j]) - expected).abs() < 1e-9);
                prop_assert!((block[(to[i], to[j])] - expected).abs() < 1e-9);
                prop_assert!((column[to[j]] - expected).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn products_agree(random in pedigrees(36), weights in prop::collection::vec(-2.0..2.0, 36)) {
        let a = relationships(&random);
        let weights = &weights[..a.len()];
        let product = kinship(&random).relationship_times(weights);
        for (row, found) in a.iter().zip(product) {
            let expected: f64 = row.iter().zip(weights).map(|(a, w)| a * w).sum();
            prop_assert!((found - expected).abs() < 1e-9);
        }
    }

    #[test]
    fn the_inverse_is_one((random, to) in shuffled(36)) {
        let moved = random.permuted(&to);
        let inverse = kinship(&moved).relationship_inverse();
        let mut a = vec![Vec::new(); to.len()];
        for (i, row) in relationships(&random).into_iter().enumerate() {
            let mut moved_row = vec![0.0; to.len()];
            for (j, entry) in row.into_iter().enumerate() {
                moved_row[to[j]] = entry;
            }
            a[to[i]] = moved_row;
        }
        let distinct: Vec<Vec<f64>> =
            inverse.genotypes.iter().map(|&i| inverse.genotypes.iter().map(|&j| a[i][j]).collect()).collect();
        for (i, row) in distinct.iter().enumerate() {
            for (j, entry) in inverse.matrix.times(row).into_iter().enumerate() {
                let identity = f64::from(u8::from(i == j));
                prop_assert!((entry - identity).abs() < 1e-9, "entry {i}, {j} is {entry}");
            }
        }
        prop_assert!((inverse.log_determinant - log_determinant(distinct)).abs() < 1e-9);
        // Genotypes without an equation are what their expression says.
        for (genotype, row) in a.iter().enumerate() {
            for (other, &expected) in row.iter().enumerate() {
                let found: f64 =
                    inverse.expression(genotype).iter().map(|&(own, w)| w * a[inverse.genotypes[own]][other]).sum();
                prop_assert!((found - expected).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn the_order_of_records_changes_nothing((random, to) in shuffled(60)) {
        let (before, after) = (kinship(&random), kinship(&random.permuted(&to)));
        for (i, &moved) in to.iter().enumerate() {
            prop_assert!((before.inbreeding(i) - after.inbreeding(moved)).abs() < 1e-12);
            prop_assert!((before.mendelian_sampling(i) - after.mendelian_sampling(moved)).abs() < 1e-12);
        }
        let (before, after) = (before.relationship_inverse(), after.relationship_inverse());
        prop_assert_eq!(before.genotypes.len(), after.genotypes.len());
        prop_assert!((before.log_determinant - after.log_determinant).abs() < 1e-9);
    }
}
