//! The loop of Meuwissen & Luo (1992), "Computing inbreeding coefficients in large populations", Genet. Sel. Evol.
//! 24:305-313: each plant's row of the factor of A, ancestor by ancestor from the youngest.

use crate::program::Program;
use std::collections::BinaryHeap;

/// Inbreeding of plants given ancestors first. With `by_family`, a plant takes its inbreeding from the plant before
/// it if that has the same parents.
pub(crate) fn inbreeding(program: &Program, by_family: bool) -> Vec<f64> {
    let parents = &program.parents;
    let mut inbreeding: Vec<f64> = Vec::with_capacity(parents.len());
    let mut mendelian: Vec<f64> = Vec::with_capacity(parents.len());
    let mut row = vec![0.0; parents.len()];
    let mut ancestors: BinaryHeap<u32> = BinaryHeap::new();
    for (plant, known) in parents.iter().enumerate() {
        let Some((female, male)) = *known else {
            inbreeding.push(0.0);
            mendelian.push(1.0);
            continue;
        };
        mendelian.push(0.5 - 0.25 * (inbreeding[female as usize] + inbreeding[male as usize]));
        if by_family && plant > 0 && parents[plant - 1] == *known {
            inbreeding.push(inbreeding[plant - 1]);
            continue;
        }
        row[plant] = 1.0;
        ancestors.push(plant as u32);
        let mut own = 0.0;
        while let Some(ancestor) = ancestors.pop() {
            let place = ancestor as usize;
            let share = std::mem::take(&mut row[place]);
            own += share * share * mendelian[place];
            if let Some((female, male)) = parents[place] {
                for parent in [female, male] {
                    if row[parent as usize] == 0.0 {
                        ancestors.push(parent);
                    }
                    row[parent as usize] += 0.5 * share;
                }
            }
        }
        inbreeding.push(own - 1.0);
    }
    inbreeding
}
