//! Trials by the linear mixed model, against published answers and dense textbook formulas.
//!
//! The data sets stand in `tests/data` as their sources give them; the sources are named at the tests. Figures called
//! recomputed come from R 4.2.2 (lme4 1.1-31, nlme 3.1-162).

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

mod dense;
mod hops;
mod published;
mod simulated;
mod sites;
mod small_sample;
mod space;
mod sums;
mod table;
