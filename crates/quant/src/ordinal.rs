//! Scores in classes: none, few, some, many.
//!
//! The chance of a class at most j is the logistic function of `θ[j] - x'b`: thresholds θ, effects b (`McCullagh` 1980, J.
//! R. Stat. Soc. B 42:109–142). A positive effect lifts the score. Other programs turn the sign of b.

mod cumulative;
mod error;
mod likelihood;
mod mixed;
mod quadrature;

pub use cumulative::{CumulativeLogit, cumulative_logit};
pub use error::OrdinalError;
pub use likelihood::Scores;
pub use mixed::{GroupEffect, Mixed, with_groups};
pub use quadrature::gauss_hermite;
