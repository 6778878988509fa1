//! Kinship and breeding values of the plants of a project.
//!
//! What `quant` works out by index is asked for here by plant. Nothing is stored in the project: a [`Kinship`] or
//! an [`Evaluation`] is computed from a snapshot (a clone of the [`Project`](crate::Project)), carries the revision
//! it holds for, and may be made on a worker: everything here is `Send`, and what takes long calls a
//! [`ProgressSink`] that can stop it.
//!
//! ```
//! use domain::genetics::{Kinship, Plan, evaluate, ignore_progress};
//! use domain::{Genotype, Id, Project, Trait};
//!
//! /// Breeding value and accuracy of a plant.
//! fn value(project: &Project, plant: Id<Genotype>, of_trait: Id<Trait>) -> Result<Option<(f64, f64)>, Box<dyn std::error::Error>> {
//!     let kinship = Kinship::of(project, 0.0)?;
//!     let plan = Plan::suggested(project, of_trait);
//!     let evaluation = evaluate(project, &kinship, &plan, &mut ignore_progress)?;
//!     Ok(evaluation.value(plant).map(|value| (value.breeding.value, value.breeding.accuracy)))
//! }
//! ```

pub(crate) mod cases;
mod cluster;
mod design;
mod evaluation;
mod families;
mod kinship;
pub mod model;
mod pedigree;
mod population;
mod several;

pub use cases::Together;
pub use cluster::by_likeness;
pub use design::{Design, Factor, Plan};
pub use evaluation::{
    Component, Evaluation, Heritability, NotEvaluated, PlantValue, Value, evaluate,
};
pub(crate) use families::usual_heritability;
pub use families::{FamilyEvidence, PUBLISHED_HERITABILITIES, USUAL_HERITABILITY};
pub use kinship::{Kinship, KinshipMatrix};
pub use pedigree::{PlantPedigree, birth_season, settled};
pub use population::{GroupFigures, Population, SeasonFigures};
pub use several::{Correlation, PlantIndex, SeveralTraits, Wanted, evaluate_several};

use std::ops::ControlFlow;

/// How far a computation is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// What is being done, in a few words.
    pub step: &'static str,
    /// The part that is done, 0 to 1, where it can be known.
    pub part: Option<f32>,
    /// Iterations made, where there are iterations.
    pub iteration: Option<usize>,
}

/// Is told of progress, and stops the computation by answering [`ControlFlow::Break`].
pub type ProgressSink<'a> = dyn FnMut(Progress) -> ControlFlow<()> + 'a;

/// A [`ProgressSink`] that lets everything run to its end: pass `&mut ignore_progress`.
pub fn ignore_progress(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}
