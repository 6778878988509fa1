//! Numbers only: kinship, evaluation, mating, simulation, chance and germination.
//!
//! Takes slices and indices and returns numbers. Knows no names, no dates, no files.

pub mod evaluation;
pub mod index;
pub mod kinship;
pub mod mating;
pub mod simulate;
pub mod sparse;
