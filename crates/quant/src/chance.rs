//! Chance: the best of many, several thresholds at once, counts through a row of stages.
//!
//! Everything here is deterministic: quadrature with a stated error, exact sums, or lattice points that are always
//! the same. Shares and chances lie from 0 to 1; values are in standard deviations unless said.

mod mixture;
mod multivariate_normal;
pub mod normal;
mod order;
mod rate;
mod score;
mod stage_survival;
mod strata;
pub mod student;
mod studentized_range;

pub use mixture::{MixedValue, value_of_knowing};
pub use multivariate_normal::{Chance, multivariate_normal_probability};
pub use order::{best_few, expected_best, intensity, nth_best};
pub use rate::{Pooled, Rate, Tally};
pub use score::{BrierScore, Group, SettledChance};
pub use stage_survival::{StageSurvival, at_least};
pub use strata::stratified;
pub use studentized_range::{range_quantile, range_within};
