//! Helpers shared by the tests that cross crates.

pub mod derive;
pub mod dice;
pub mod hasty_clock;
pub mod hostile;
pub mod model_disk;
pub mod random_edits;
pub mod values;
