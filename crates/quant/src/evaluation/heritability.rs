//! Heritabilities that need no records, for planning.

/// Heritability of an entry's mean: `genetic / (genetic + Σ variance / divisor)`, with each
/// non-genetic variance paired with the number of its levels averaged in the mean.
///
/// ```
/// // Genetic 1, genotype by season 0.5 over 3 seasons, error 2 over 12 plots.
/// let share = quant::evaluation::entry_mean_heritability(1.0, &[(0.5, 3.0), (2.0, 12.0)]);
/// assert!((share - 0.75).abs() < 1e-12);
/// ```
pub fn entry_mean_heritability(genetic: f64, others: &[(f64, f64)]) -> f64 {
    let rest: f64 = others
        .iter()
        .map(|(variance, divisor)| variance / divisor)
        .sum();
    genetic / (genetic + rest)
}

/// The standard error of a heritability from `families` half-sib families of `size` plants with
/// an intraclass correlation: four times that of the correlation (Robertson 1959, Biometrics
/// 15:219–226; Falconer & Mackay 1996, chapter 10). `None` below two families of two.
pub fn half_sib_heritability_standard_error(
    families: usize,
    size: usize,
    intraclass_correlation: f64,
) -> Option<f64> {
    if families < 2 || size < 2 {
        return None;
    }
    let (families, size, t) = (families as f64, size as f64, intraclass_correlation);
    let root = (1.0 - t) * (1.0 + (size - 1.0) * t);
    Some(4.0 * root * (2.0 / (size * (size - 1.0) * (families - 1.0))).sqrt())
}
