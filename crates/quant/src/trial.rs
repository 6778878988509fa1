//! Trials: entries compared by the linear mixed model, over blocks, space and environments.
//!
//! [`Trial`] holds the records by index and says what the model is made of; [`Trial::analyse`] fits it with the entries
//! fixed, for adjusted means, or random, for predictions. The model itself is that of [`crate::evaluation`].

mod analysis;
mod comparison;
mod likelihood_ratio;
mod means;

pub use analysis::{Analysis, Heritability, SpaceTest, cullis, piepho_mohring};
pub use comparison::{Against, LeastDifferences, least_difference};
pub use likelihood_ratio::likelihood_ratio_test;

use crate::evaluation::Relationship;

/// What tells records apart: the level of each record.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Factor {
    /// The level of each record, below `levels`.
    pub level: Vec<usize>,
    /// How many levels there are.
    pub levels: usize,
}

/// How the entries are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entries {
    /// As they are: adjusted means.
    Fixed,
    /// As drawn from a population: predictions.
    Random,
}

/// What is made of the place of a plot.
#[derive(Clone, Debug, Default)]
pub enum Space {
    /// Nothing.
    #[default]
    None,
    /// Neighbours are alike: first-order autoregression over rows and columns (Gilmour, Cullis & Verbyla 1997, Journal
    /// of Agricultural, Biological, and Environmental Statistics 2:269–293), with or without an error of its own for
    /// each plot.
    Neighbours {
        /// The row and the column of each record, from 0.
        place: Vec<[usize; 2]>,
        /// How many rows and columns.
        size: [usize; 2],
        /// Whether each plot also has an error that its neighbours don't share.
        nugget: bool,
    },
    /// A smooth surface.
    Surface {
        /// The row and the column of each record.
        place: Vec<[f64; 2]>,
    },
}

/// How entries are related through a pedigree.
#[derive(Clone, Debug)]
pub struct Related {
    /// The relationships of all plants of the pedigree.
    pub relationship: Relationship,
    /// The plant that each entry is.
    pub plant: Vec<usize>,
    /// The mean over pairs of entries of `K_ii + K_jj − 2 K_ij`; 2 for unrelated plants that are not inbred.
    pub mean_difference: f64,
}

/// A trial: one value a record, and what the records are told apart by.
#[derive(Clone, Debug, Default)]
pub struct Trial {
    /// The value of each record.
    pub values: Vec<f64>,
    /// The entries.
    pub entry: Factor,
    /// Further fixed terms.
    pub fixed: Vec<Factor>,
    /// Random terms.
    pub random: Vec<Factor>,
    /// Covariates, one number a record.
    pub covariates: Vec<Vec<f64>>,
    /// What is made of the place.
    pub space: Space,
    /// Environments whose residuals have a variance each; one for all if `None`. Not with neighbours that are alike
    /// without an error of their own.
    pub residual_by: Option<Factor>,
    /// How random entries are related; not at all if `None`.
    pub related: Option<Related>,
}
