//! Numbers only: kinship, evaluation, chance, mating, simulation, germination, and trials from layout to selection.
//!
//! Takes slices and indices and returns numbers. Knows no names, no dates, no files.

pub mod chance;
pub mod contingency;
pub mod counted;
pub mod design;
pub mod disease_progress;
pub mod dose_response;
pub mod evaluation;
pub mod germination;
pub mod index;
pub mod kinship;
pub mod likelihood;
pub mod mating;
pub mod multiplicative;
pub mod ordinal;
pub mod proportion;
pub mod segregation;
pub mod simulate;
pub mod sparse;
pub mod stability;
pub mod stages;
pub mod stock;
pub mod trial;
