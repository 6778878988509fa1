//! Plants that are alike, beside each other.

use kodama::{Method, linkage};

/// The order in which likeness shows best: hierarchical clustering by average linkage (Sokal & Michener 1958, Univ.
/// Kansas Sci. Bull. 38:1409-1438), the tighter cluster of each pair first.
///
/// `distance` is asked for pairs `(i, j)` with `i < j`. Returns the indices `0..size` in their new order. Time grows
/// with the square of the size.
pub fn by_likeness(size: usize, distance: impl Fn(usize, usize) -> f64) -> Vec<usize> {
    let mut condensed: Vec<f64> = (0..size)
        .flat_map(|i| (i + 1..size).map(move |j| (i, j)))
        .map(|(i, j)| distance(i, j))
        .collect();
    let joined = linkage(&mut condensed, size, Method::Average);
    // The members of each cluster in order, and how far apart they were when they joined.
    let mut clusters: Vec<(Vec<usize>, f64)> = (0..size).map(|plant| (vec![plant], 0.0)).collect();
    for step in joined.steps() {
        let mut pair =
            [step.cluster1, step.cluster2].map(|each| std::mem::take(&mut clusters[each]));
        pair.sort_by(|one, other| one.1.total_cmp(&other.1).then(one.0.cmp(&other.0)));
        clusters.push((
            pair.map(|(members, _)| members).concat(),
            step.dissimilarity,
        ));
    }
    clusters
        .pop()
        .map(|(members, _)| members)
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::by_likeness;

    #[test]
    fn two_families_scattered_come_together() {
        let place: [f64; 5] = [0.0, 10.0, 0.1, 10.3, 0.3];
        let order = by_likeness(5, |i, j| (place[i] - place[j]).abs());
        assert_eq!(order, [0, 2, 4, 1, 3]);
        assert_eq!(by_likeness(0, |_, _| 0.0), [0; 0]);
        assert_eq!(by_likeness(1, |_, _| 0.0), [0]);
    }
}
