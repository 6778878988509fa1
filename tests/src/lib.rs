//! Helpers shared by the tests that cross crates.

pub mod dice;
pub mod model_disk;
pub mod random_edits;
