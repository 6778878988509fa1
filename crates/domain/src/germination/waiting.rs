//! Whether to wait on, by all runs of the program.

use super::RunCounts;
use crate::Project;
use quant::germination::{Forecaster, LotCounts, TooFewClosed};

impl RunCounts {
    /// The run as [`Forecaster`] takes it. One never looked into is known to have its seeds, no more.
    pub fn as_lot(&self) -> LotCounts {
        LotCounts {
            seeds: self.emergence(),
            waiting: self.left,
            looked: self.last_look.unwrap_or(0.0),
            closed: !self.open,
        }
    }

    /// The run as it stood after so many days in warmth: later looks and its close taken away. Seed found dead or
    /// abnormal is left with what it was found with in the end.
    #[must_use]
    pub fn as_of(&self, day: f64) -> Self {
        let mut cut = self.clone();
        if self.last_look.is_none_or(|last| last <= day) {
            return cut;
        }
        cut.counts.retain(|look| look.0 <= day);
        cut.germinated = cut.counts.iter().map(|look| look.1).sum();
        cut.left = cut
            .sown
            .saturating_sub(cut.germinated + cut.abnormal + cut.dead);
        cut.last_look = cut.counts.last().map(|look| look.0);
        cut.open = cut.left > 0;
        cut
    }
}

/// Every run of the program.
pub fn runs(project: &Project) -> Vec<RunCounts> {
    project
        .germinations()
        .iter()
        .filter_map(|run| RunCounts::of(project, run))
        .collect()
}

/// What the runs of the program say of those that wait. Long work: weighs each run.
///
/// # Errors
/// Too few closed runs.
pub fn forecaster(project: &Project) -> Result<Forecaster, TooFewClosed> {
    let lots: Vec<LotCounts> = runs(project).iter().map(RunCounts::as_lot).collect();
    Forecaster::of(&lots)
}
