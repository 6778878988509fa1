//! Kinship at any ploidy.
mod doses;
mod error;
mod founders;
mod genotype;
mod inbreeding;
mod inverse;
mod order;
mod pedigree;
mod relationship;
mod sweep;

pub use error::{DoseFault, PedigreeError};
pub use founders::FounderKinship;
pub use genotype::{Gamete, Genotype, Origin, Ploidy, PollenMix, Source};
pub use inverse::RelationshipInverse;
pub use pedigree::{Assumptions, Pedigree};
pub use relationship::{Kinship, inbreeding};
