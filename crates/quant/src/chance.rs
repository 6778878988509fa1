//! Chance: the best of many, several thresholds at once, counts through a row of stages.
//!
//! Everything here is deterministic: quadrature with a stated error, exact sums, or lattice points that are always
//! the same. Shares and chances lie from 0 to 1; values are in standard deviations unless said.

pub mod normal;
mod order;
mod passage;
mod rate;
mod rectangle;

pub use order::{best_few, expected_best, intensity, nth_best};
pub use passage::{Passage, at_least};
pub use rate::{Pooled, Rate, Tally};
pub use rectangle::{Chance, rectangle};
