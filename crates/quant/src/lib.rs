//! Numbers only: kinship, evaluation, chance and germination.
//!
//! Takes slices and indices and returns numbers. Knows no names, no dates, no files.

pub mod chance;
pub mod evaluation;
pub mod index;
pub mod kinship;
pub mod sparse;
