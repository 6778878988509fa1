//! How much a harvest tells of the next, and how many are needed (Falconer & Mackay 1996, Introduction to Quantitative
//! Genetics, chapter 8).
//!
//! Repeatability t is the correlation of two harvests of the same entry: the variance that stays with it as a share of
//! the whole.

/// The share of the variance of a mean of `harvests` that stays with the entry: n t / (1 + (n - 1) t).
pub fn of_a_mean(repeatability: f64, harvests: f64) -> f64 {
    harvests * repeatability / (1.0 + (harvests - 1.0) * repeatability)
}

/// The variance of a mean of `harvests` as a share of that of one: (1 + (n - 1) t) / n.
pub fn variance_of_a_mean(repeatability: f64, harvests: f64) -> f64 {
    (1.0 + (harvests - 1.0) * repeatability) / harvests
}

/// How many harvests give a mean of which this share stays with the entry, not rounded: R (1 - t) / ((1 - R) t). `None`
/// unless both lie between 0 and 1.
pub fn harvests_needed(repeatability: f64, wanted: f64) -> Option<f64> {
    let between = |share: f64| share > 0.0 && share < 1.0;
    (between(repeatability) && between(wanted))
        .then(|| wanted * (1.0 - repeatability) / ((1.0 - wanted) * repeatability))
}
