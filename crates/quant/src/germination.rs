//! Germination as it is seen: seed that came up some time between two looks, or not yet.
//!
//! Days are counted from the day the seed was moved to warmth, as numbers of any size. [`Curve`] is the course without
//! a model, [`Cure`] with one in which some seed never comes, [`log_rank`] compares courses, [`Indices`] puts one in
//! figures, [`Forecaster`] tells what is still to come of a lot from the lots before it, and [`tolerance`] holds the published tolerances between replicates.
//!
//! ```
//! use quant::germination::{Curve, Emergence};
//!
//! // Looks on days 5, 7 and 9: 12, 20 and 6 up; 12 of 50 not yet.
//! let seeds = [
//!     Emergence::between(0.0, 5.0, 12),
//!     Emergence::between(5.0, 7.0, 20),
//!     Emergence::between(7.0, 9.0, 6),
//!     Emergence::not_by(9.0, 12),
//! ];
//! let curve = Curve::of(&seeds, 0.95).unwrap();
//! assert!((curve.at(7.0) - 0.64).abs() < 1e-9);
//! ```

mod cure;
mod curve;
mod forecast;
mod indices;
mod log_rank;
mod program;
pub mod tolerance;

pub use cure::{Cure, NoFit, TimeDistribution};
pub use curve::{Curve, CurveStep};
pub use forecast::{Forecaster, LEAST_CLOSED, LEVEL, LotCounts, Outlook, TooFewClosed};
pub use indices::{Indices, timson};
pub use log_rank::{LogRank, log_rank};
pub use program::{AgedSeed, Beforehand, Lot, Program, ToCome};

/// A day that no test lasts to.
const NEVER: f64 = 1e6;

/// Seeds of which the same is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Emergence {
    /// Not up yet on this day.
    pub after: f64,
    /// Up by this day; infinite when not up by the last look.
    pub by: f64,
    /// How many.
    pub seeds: u32,
}

impl Emergence {
    /// Seeds not yet up at the look on day `after`, and up at that on day `by`.
    pub const fn between(after: f64, by: f64, seeds: u32) -> Self {
        Self { after, by, seeds }
    }

    /// Seeds that came up on just this day.
    pub const fn on(day: f64, seeds: u32) -> Self {
        Self::between(day, day, seeds)
    }

    /// Seeds not up when they were last looked at.
    pub const fn not_by(day: f64, seeds: u32) -> Self {
        Self::between(day, f64::INFINITY, seeds)
    }

    /// Seeds known never to come, such as dead ones: no look at them will be the one that finds them.
    pub const fn never(seeds: u32) -> Self {
        Self::not_by(NEVER, seeds)
    }

    fn is_sound(&self) -> bool {
        self.after.is_finite() && self.after >= 0.0 && self.by >= self.after
    }
}
