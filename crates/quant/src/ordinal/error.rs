//! Why scores could not be fitted.

use std::fmt;

/// Why scores could not be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OrdinalError {
    /// Classes, predictors, weights and groups are not equally many, or a figure is no number or a weight below 0.
    Figures,
    /// Fewer than two classes, or one, counted from 0, that no record is in.
    Empty(usize),
    /// Predictors follow from one another, or split the classes so cleanly that their effect has no end.
    Endless,
}

impl fmt::Display for OrdinalError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Figures => f.write_str(
                "every record needs a class, a number for each predictor and, where there are weights, one of 0 or more",
            ),
            Self::Empty(class) => write!(
                f,
                "no record is in class {}; join it with the next",
                class + 1
            ),
            Self::Endless => f.write_str(
                "a predictor follows from the others, or it parts the classes so cleanly that its effect has no end; leave it out",
            ),
        }
    }
}

impl std::error::Error for OrdinalError {}
