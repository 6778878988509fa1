//! Germination science on the project's own counts: courses of boxes, lots, crosses, treatments and seasons, their
//! figures, each with its interval and where it comes from, and how they compare.
//!
//! Counts are known to the day only: a seedling found at a look came up some time since the look before.

mod analysis;
mod compare;
mod figures;
mod group;
mod run_counts;
mod waiting;

pub use analysis::{Agreement, Analysis};
pub use compare::{Comparison, Pair, Report, Shares, When, at_one_time, report};
pub use figures::Figure;
pub use group::{By, Group, groups};
pub use run_counts::RunCounts;
pub use waiting::{Choice, Forecasts, Learnt, StillToCome, Waiting, runs};

pub use quant::germination::{Cure, Curve, CurveStep, NoFit};
pub use quant::proportion::Interval;

/// The level of every interval.
pub const LEVEL: f64 = 0.95;

/// A share as percent, with one decimal where it says something.
pub(crate) fn percent(share: f64) -> String {
    let value = 100.0 * share;
    if value > 0.0 && value < 10.0 || value > 99.0 && value < 100.0 {
        format!("{value:.1}")
    } else {
        format!("{value:.0}")
    }
}

/// An interval of shares as percent: '71 to 87'.
pub(crate) fn percents(interval: Interval) -> String {
    format!("{} to {}", percent(interval.low), percent(interval.high))
}

/// A probability as people write it.
pub fn p_words(p: f64) -> String {
    if p < 0.0001 {
        "below 0.0001".into()
    } else if p < 0.1 {
        format!("{p:.4}")
    } else {
        format!("{p:.2}")
    }
}
