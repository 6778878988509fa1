//! What selection answers, in the units of the trait (Falconer & Mackay 1996, Introduction to Quantitative Genetics, 4th ed.,
//! chapters 11 and 19).

/// The response to selection of this intensity on values of this heritability and phenotypic standard deviation: `i h² σ`,
/// a generation.
pub fn response(intensity: f64, heritability: f64, deviation: f64) -> f64 {
    intensity * heritability * deviation
}

/// The heritability that selection showed: its response as a share of what the selected parents exceeded the rest by.
/// `None` where they exceeded nothing.
pub fn realised_heritability(response: f64, differential: f64) -> Option<f64> {
    let share = response / differential;
    (differential != 0.0 && share.is_finite()).then_some(share)
}

/// The roots of the heritabilities of the trait that is selected on and of the one that answers, and their genetic
/// correlation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correlated {
    /// Of the trait that is selected on.
    pub selected: f64,
    /// Of the trait that answers.
    pub answering: f64,
    /// Between the two.
    pub genetic_correlation: f64,
}

impl Correlated {
    /// How far the second trait moves, its phenotypic standard deviation given.
    pub fn response(self, intensity: f64, deviation: f64) -> f64 {
        intensity * self.selected * self.answering * self.genetic_correlation * deviation
    }

    /// What selection on the first trait gains in the second, as a share of what selection on the second itself would at
    /// the same intensity.
    pub fn efficiency(self) -> f64 {
        self.genetic_correlation * self.selected / self.answering
    }
}
