//! Several seasons of a strategy, played out by chance many times.
//!
//! Genes are dropped: each plant of today carries genes at independent loci, drawn down its pedigree from founder
//! genes that are all told apart, and every seedling gets one of each pair from either parent by chance. A founder
//! gene has an effect drawn with variance σ²/(2L), L the number of loci, so that an unselected plant has the genetic
//! variance σ² of the program, and a family half of it, less what its parents' inbreeding takes away. The value that
//! today's plant is thought to have is drawn about its prediction, with its error, and the difference spread over its
//! genes: what is known of the plants and what is known of the pedigree both hold.
//!
//! Chosen is what looks best: predictions are regressed to the season's mean by the heritability of the record.
//! Two strategies played with the same seed meet the same plants of today and the same luck (common random numbers),
//! so that their difference is told apart from chance sooner.
//!
//! Diploid plants only.

mod genome;
mod play;
mod summary;

pub use play::{Pairing, Stock, StockPlant, Strategy, StrategyFault, play};
pub use summary::{Band, Difference, Outcome, SeasonOutcome, compare};
