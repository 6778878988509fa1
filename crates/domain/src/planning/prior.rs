//! What is thought of each stage before a program has records of its own.

use super::rates::SurvivalStage;

/// What the trade takes for granted, without a published figure.
pub(super) const COMMON_PRACTICE: &str = "common practice";

/// A rate thought of before anything was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Its mean, 0 to 1.
    pub mean: f64,
    /// From how many seeds or plants it could be known so well.
    pub trials: f64,
    /// How much families differ where records don't tell: the intraclass correlation ρ.
    pub usual_correlation: f64,
    /// Who published it, or 'common practice'.
    pub source: &'static str,
}

/// What is thought of a stage.
pub(super) const fn prior(stage: SurvivalStage) -> Prior {
    match stage {
        SurvivalStage::Viable | SurvivalStage::Potted => Prior {
            mean: 0.9,
            trials: 10.0,
            usual_correlation: 0.05,
            source: COMMON_PRACTICE,
        },
        SurvivalStage::Chilled => Prior {
            mean: 0.95,
            trials: 10.0,
            usual_correlation: 0.05,
            source: COMMON_PRACTICE,
        },
        // Of all cleaned seed, then, about two thirds: within the 15 to 80 % that are published.
        SurvivalStage::Germinated => Prior {
            mean: 0.75,
            trials: 4.0,
            usual_correlation: 0.1,
            source: "Haunold & Zimmermann (1974), Crop Sci. 14:774-776: about 80 % after 6 to 8 weeks of cold, second hand; 15 % and less without",
        },
        SurvivalStage::Female => Prior {
            mean: 0.63,
            trials: 30.0,
            usual_correlation: 0.03,
            source: "Machado et al. (2020), Ciencia e Natura 42 e45: 61 %; Liberatore et al. (2018), Sci. Hortic. 235:86-94: about 70 %",
        },
    }
}
