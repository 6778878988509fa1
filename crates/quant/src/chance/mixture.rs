//! A value that may come out in one of several ways, and what it is worth to know in which.

/// Mean and spread of a value over its cases.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MixedValue {
    /// Expected value.
    pub mean: f64,
    /// Standard deviation between the cases.
    pub deviation: f64,
}

impl MixedValue {
    /// Of cases, each a chance and a value. Chances are taken in proportion, so that they needn't sum to 1.
    pub fn of(cases: &[(f64, f64)]) -> Self {
        let whole: f64 = cases.iter().map(|each| each.0).sum();
        if whole <= 0.0 {
            return Self::default();
        }
        let mean = cases
            .iter()
            .map(|(chance, value)| chance * value)
            .sum::<f64>()
            / whole;
        let variance = cases
            .iter()
            .map(|(chance, value)| chance * (value - mean).powi(2))
            .sum::<f64>()
            / whole;
        Self {
            mean,
            deviation: variance.max(0.0).sqrt(),
        }
    }
}

/// What it is worth to know which case it will be before choosing between a thing with these outcomes, each a chance
/// and what it brings, and another that brings `otherwise`: the expected value of perfect information, never below 0
/// (Raiffa & Schlaifer 1961, "Applied Statistical Decision Theory", section 4.5).
pub fn value_of_knowing(outcomes: &[(f64, f64)], otherwise: f64) -> f64 {
    let whole: f64 = outcomes.iter().map(|each| each.0).sum();
    if whole <= 0.0 {
        return 0.0;
    }
    let knowing = outcomes
        .iter()
        .map(|(chance, brings)| chance * brings.max(otherwise))
        .sum::<f64>()
        / whole;
    let not_knowing = MixedValue::of(outcomes).mean.max(otherwise);
    (knowing - not_knowing).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two cases by hand: 0.3 × 0 + 0.7 × 2 = 1.4; between them √(0.3 × 0.7) × 2.
    #[test]
    fn a_mixture_has_the_mean_and_spread_of_its_cases() {
        let mixed = MixedValue::of(&[(0.3, 0.0), (0.7, 2.0)]);
        assert!((mixed.mean - 1.4).abs() < 1e-12);
        assert!((mixed.deviation - 2.0 * 0.21f64.sqrt()).abs() < 1e-12);
        assert_eq!(MixedValue::of(&[]), MixedValue::default());
    }

    /// A choice between a sure 1 and 0 or 2 at even odds, by hand: knowing brings 0.5 × 1 + 0.5 × 2 = 1.5, not knowing 1.
    #[test]
    fn knowing_is_worth_what_it_changes() {
        assert!((value_of_knowing(&[(0.5, 0.0), (0.5, 2.0)], 1.0) - 0.5).abs() < 1e-12);
        // Where the answer changes nothing, it is worth nothing.
        assert_eq!(value_of_knowing(&[(0.5, 2.0), (0.5, 3.0)], 1.0), 0.0);
        assert_eq!(value_of_knowing(&[(1.0, 0.0)], 1.0), 0.0);
    }
}
