//! Which levels an adjusted mean is taken over, and how they are weighted.

use super::Factor;
use crate::evaluation::Combination;

/// The level of `coarse` that each level of `fine` lies in; `None` if some lie in several.
fn within(fine: &Factor, coarse: &Factor) -> Option<Vec<usize>> {
    let mut parent = vec![usize::MAX; fine.levels];
    for (&level, &above) in fine.level.iter().zip(&coarse.level) {
        if parent[level] == usize::MAX {
            parent[level] = above;
        }
        if parent[level] != above {
            return None;
        }
    }
    Some(parent)
}

/// Equal weights for the levels of a term. Of a term whose levels lie within those of others, such as blocks within
/// replicates, first those others are weighted equally, then the levels within each.
fn weights(term: usize, fixed: &[Factor]) -> Vec<f64> {
    let own = &fixed[term];
    let coarser: Vec<usize> = (0..fixed.len())
        .filter(|&other| fixed[other].levels < own.levels)
        .filter(|&other| within(own, &fixed[other]).is_some())
        .collect();
    let above = coarser
        .iter()
        .copied()
        .max_by_key(|&other| fixed[other].levels);
    // Of sites and years, neither within the other, each combination counts alike.
    let nested = |finest: usize| {
        let other = |&&other: &&usize| other != finest;
        coarser
            .iter()
            .filter(other)
            .all(|&other| within(&fixed[finest], &fixed[other]).is_some())
    };
    let Some(above) = above.filter(|&above| nested(above)) else {
        return vec![1.0 / own.levels as f64; own.levels];
    };
    let of_above = weights(above, fixed);
    let parent = within(own, &fixed[above]).unwrap_or_default();
    let mut children = vec![0.0; fixed[above].levels];
    for &parent in &parent {
        children[parent] += 1.0;
    }
    parent.iter().map(|&p| of_above[p] / children[p]).collect()
}

/// The adjusted mean of each entry: fixed effect 0 is the entries, the fixed terms follow. Over a term that holds the
/// entry itself, such as entries by sites, the mean of an entry is taken over its own levels.
pub(super) fn adjusted(entry: &Factor, fixed: &[Factor]) -> Vec<Combination> {
    let of_entry: Vec<Option<Vec<usize>>> = fixed.iter().map(|term| within(term, entry)).collect();
    let weights: Vec<Vec<f64>> = (0..fixed.len()).map(|term| weights(term, fixed)).collect();
    (0..entry.levels)
        .map(|level| {
            let mut mean = Combination::new().with_fixed(0, level, 1.0);
            for (nth, term) in fixed.iter().enumerate() {
                let own = |&other: &usize| match &of_entry[nth] {
                    Some(parent) => parent[other] == level,
                    None => true,
                };
                let levels: Vec<usize> = (0..term.levels).filter(own).collect();
                for &other in &levels {
                    let weight = match of_entry[nth] {
                        Some(_) => 1.0 / levels.len() as f64,
                        None => weights[nth][other],
                    };
                    mean = mean.with_fixed(nth + 1, other, weight);
                }
            }
            mean
        })
        .collect()
}
