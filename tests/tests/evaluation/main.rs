//! Breeding values against published answers and an independent dense implementation.

mod dense;
mod pedigree;
mod published;
mod random;
mod refusals;
mod selection;
#[cfg(feature = "slow")]
mod simulation;
mod textbook;
