//! What can be wrong with a pedigree.

use super::Ploidy;
use std::fmt;

/// Why a set of records is not a pedigree. Genotypes are named by their index.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum PedigreeError {
    /// More genotypes than can be indexed (4,294,967,292).
    TooLarge,
    /// A plant, source or member of a mix is not among the genotypes.
    MissingParent {
        /// The genotype whose parent is missing.
        genotype: usize,
        /// The index that leads nowhere.
        parent: usize,
    },
    /// A gamete comes from a mix that was not supplied.
    MissingMix {
        /// The genotype with that gamete.
        genotype: usize,
        /// The index that leads nowhere.
        mix: usize,
    },
    /// Each member is a parent of the next, and the last of the first.
    Cycle {
        /// The indices of the genotypes, in the order of descent.
        members: Vec<usize>,
    },
    /// The gametes cannot, or not in one way only, add up to the genotype's ploidy.
    Dose {
        /// The genotype.
        genotype: usize,
        /// Its own ploidy.
        ploidy: Ploidy,
        /// What is wrong.
        fault: DoseFault,
    },
    /// A doubled plant or a variant whose ploidy does not follow from its source's.
    CopyPloidy {
        /// The genotype.
        genotype: usize,
        /// Its own ploidy.
        ploidy: Ploidy,
        /// The sets it should have.
        expected: u16,
    },
    /// A probability of double reduction that is not between 0 and 1.
    DoubleReduction {
        /// The genotype, or `None` if it is the default.
        genotype: Option<usize>,
        /// What was given.
        probability: f64,
    },
    /// A mix whose shares are not all above 0, or together exceed 1.
    Shares {
        /// The index of the mix.
        mix: usize,
    },
    /// A supplied founder is not a founder, is listed twice, or is not among the genotypes.
    NotAFounder {
        /// Its index.
        genotype: usize,
    },
    /// The supplied founder matrix has not one row and column for each founder named.
    FounderMatrixSize {
        /// Entries needed.
        expected: usize,
        /// Entries given.
        found: usize,
    },
    /// The supplied founder matrix is not symmetric or has an entry that no coancestry can have.
    FounderCoancestry {
        /// The founder of the row.
        row: usize,
        /// The founder of the column.
        column: usize,
        /// The entry.
        coancestry: f64,
    },
    /// The supplied founder matrix is not positive semidefinite: its figures contradict one another.
    FounderMatrixIndefinite {
        /// The first founder at whom it shows.
        genotype: usize,
    },
}

/// Why gamete doses do not fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DoseFault {
    /// No choice of reduced or unreduced gametes gives the ploidy.
    Impossible,
    /// Several choices give the ploidy; the dose must be stated.
    Ambiguous,
    /// A gamete carries more genes than its parent has.
    ExceedsParent,
}

impl fmt::Display for PedigreeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLarge => write!(f, "more genotypes than can be indexed"),
            Self::MissingParent { genotype, parent } => {
                write!(
                    f,
                    "genotype {genotype} descends from {parent}, which is not in the pedigree"
                )
            }
            Self::MissingMix { genotype, mix } => {
                write!(
                    f,
                    "genotype {genotype} descends from pollen mix {mix}, which was not supplied"
                )
            }
            Self::Cycle { members } => {
                write!(f, "genotypes that are their own ancestors: ")?;
                for member in members {
                    write!(f, "{member} > ")?;
                }
                write!(f, "{}", members.first().copied().unwrap_or_default())
            }
            Self::Dose {
                genotype,
                ploidy,
                fault,
            } => write!(f, "genotype {genotype} is {ploidy}, but {fault}"),
            Self::CopyPloidy {
                genotype,
                ploidy,
                expected,
            } => {
                write!(
                    f,
                    "genotype {genotype} is {ploidy}, but from its source it should be {expected}x"
                )
            }
            Self::DoubleReduction {
                genotype: Some(genotype),
                probability,
            } => {
                write!(
                    f,
                    "genotype {genotype} has double reduction {probability}; it must be between 0 and 1"
                )
            }
            Self::DoubleReduction {
                genotype: None,
                probability,
            } => {
                write!(
                    f,
                    "the default double reduction is {probability}; it must be between 0 and 1"
                )
            }
            Self::Shares { mix } => {
                write!(
                    f,
                    "pollen mix {mix} has shares that are not above 0 or together exceed 1"
                )
            }
            Self::NotAFounder { genotype } => {
                write!(
                    f,
                    "genotype {genotype} is given a founder's coancestry, but is not a founder named once"
                )
            }
            Self::FounderMatrixSize { expected, found } => {
                write!(
                    f,
                    "the founder matrix needs {expected} entries and has {found}"
                )
            }
            Self::FounderCoancestry {
                row,
                column,
                coancestry,
            } => {
                write!(
                    f,
                    "founders {row} and {column} cannot have coancestry {coancestry}"
                )
            }
            Self::FounderMatrixIndefinite { genotype } => {
                write!(
                    f,
                    "the founder matrix contradicts itself at founder {genotype} (not positive semidefinite)"
                )
            }
        }
    }
}

impl fmt::Display for DoseFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Impossible => "no gametes of its parents add up to that",
            Self::Ambiguous => {
                "gametes of its parents add up to that in several ways; state the doses"
            }
            Self::ExceedsParent => "a gamete is said to carry more genes than its parent has",
        })
    }
}

impl std::error::Error for PedigreeError {}
