//! Breeding values against published answers and an independent dense implementation.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]
#![expect(clippy::doc_markdown, reason = "the symbols of the sources")]

mod coverage;
mod dense;
mod pedigree;
mod published;
mod random;
mod refusals;
mod selection;
#[cfg(feature = "slow")]
mod simulation;
mod textbook;
