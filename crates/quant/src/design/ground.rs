//! What of the ground is taken out of the comparisons.

use super::efficiency::Nuisance;

/// What of the ground is taken out before entries are compared, and how.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// Nothing: all plots are one block.
    OneBlock,
    /// Replicates, each a complete block.
    Replicates,
    /// Blocks, within replicates where those are complete.
    Blocks,
    /// Blocks as random effects with the variance of a plot.
    RandomBlocks,
    /// Rows and columns of a Latin square.
    LatinSquare,
    /// The rows and columns of each replicate.
    LinesOfReplicates,
    /// Replicates, and the rows and columns of the whole field.
    LinesOfField,
    /// The same as random effects with the variance of a plot.
    RandomLines,
}

/// The degrees of freedom that so many plots leave for the error.
pub(super) fn free(plots: usize, nuisance: &Nuisance, entries: usize) -> usize {
    let taken = if nuisance.random {
        entries
    } else {
        nuisance.inverse().1 + entries - 1
    };
    plots.saturating_sub(taken)
}
