//! Breeding values: a linear mixed model on records and relationships.
//!
//! The model is `y = Xb + Σ Z_k u_k + e`. The caller chooses fixed factors and covariates, and
//! random effects with unrelated levels (clones, plots, seasons) or with levels related by any
//! matrix whose sparse inverse is known, such as the additive relationship matrix of plants of
//! one or several ploidies. [`Model::solve`] gives best linear unbiased predictions with their
//! error variances at known variances; [`Model::estimate`] estimates the variances by restricted
//! maximum likelihood. Several traits are evaluated together by giving each record several
//! values.
//!
//! Nothing here forms a dense matrix of the records or of the levels: equations are factorized
//! sparse, and error variances come from the inverse at the places of the factor only.
//!
//! ```
//! use quant::evaluation::{Components, FixedEffect, Model, Observations, RandomEffect, Role};
//!
//! // Three clones in two plots each, and one plot that was lost.
//! let values = [5.0, 5.4, 6.1, 6.4, 4.2].map(Some).into_iter().chain([None]).collect();
//! let clone = [0, 0, 1, 1, 2, 2];
//! let model = Model::new(
//!     Observations::single(values)?,
//!     vec![FixedEffect::mean(6)],
//!     vec![RandomEffect::independent(Role::Clonal, &clone, 3)],
//! )?;
//! let solution = model.solve(&Components::single(&[0.6], 0.1))?;
//! let best = solution.random(0, 1, 0);
//! assert!(best.value > 0.8 && best.accuracy() > 0.7);
//! # Ok::<(), quant::evaluation::EvaluationError>(())
//! ```

mod combination;
mod covariance;
mod degrees;
mod equations;
mod error;
mod factor;
mod finding;
mod fit;
mod fixed;
mod heritability;
mod model;
mod observations;
mod profile;
mod relationship;
mod reml;
mod residual;
mod search;
mod selected;
mod small_sample;
mod solution;
mod solved;
mod starts;
mod structure;

pub use combination::{Combination, Combined};
pub use covariance::Covariance;
pub use error::EvaluationError;
pub use finding::Finding;
pub use fit::{Basis, Convergence, Fit, Ratio, Sense};
pub use fixed::FixedEffect;
pub use heritability::{entry_mean_heritability, half_sib_heritability_standard_error};
pub use model::{Components, Model, RandomEffect, Role};
pub use observations::Observations;
pub use profile::{NoEnd, ProfileInterval};
pub use relationship::Relationship;
pub use reml::{Coordinate, Iteration, Parameter};
pub use residual::Residual;
pub use small_sample::SmallSample;
pub use solution::{Estimate, Prediction, Solution};
pub use structure::{ShapeKind, ShapeParameter, Spline, SplineBasis};
