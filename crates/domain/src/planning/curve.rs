//! The way from the records to the plans of a season, the same for the window and for scripts.

use super::{Candidates, Knowledge, NoPlan, PlanWish, Planner, Rates, SeasonPlan};
use crate::Project;
use crate::genetics::{Kinship, ProgressSink};
use chrono::NaiveDate;
use std::sync::Arc;

/// Plans along the curve of gain against diversity: enough to choose by, few enough to be worked out in seconds.
const POINTS: usize = 9;

/// The pairs of a season, and the rates at which their seed gets through.
pub struct Season {
    /// The pairs, ranked.
    pub candidates: Candidates,
    /// The rates.
    pub rates: Rates,
}

impl Season {
    /// The pairs of the season that is planned on `today`. Breeding values take longest: `known` ones are taken where
    /// they still hold. `None` if it was stopped.
    pub fn of(
        project: &Project,
        kinship: &Arc<Kinship>,
        known: Option<Arc<Knowledge>>,
        today: NaiveDate,
        sink: &mut ProgressSink<'_>,
    ) -> Option<Self> {
        let knowledge = match known.filter(|known| known.holds_for(project)) {
            Some(known) => known,
            None => Arc::new(Knowledge::of(project, kinship, sink)?),
        };
        Some(Self {
            candidates: Candidates::rank(project, kinship, &knowledge, today).with_chances(sink)?,
            rates: Rates::of(project, today),
        })
    }
}

/// Plans from the most diverse to the most gain.
pub struct Curve {
    /// What they were made with.
    pub planner: Planner,
    /// The plans, at least one.
    pub plans: Vec<SeasonPlan>,
    /// The one that the goals would take.
    pub accepted: usize,
}

impl Curve {
    /// The plans of a season. `known` plans of the same pairs are never done worse than.
    ///
    /// # Errors
    /// No plan within the limits, or stopped.
    pub fn of(
        project: &Project,
        season: &Season,
        wish: &PlanWish,
        today: NaiveDate,
        known: &[SeasonPlan],
        sink: &mut ProgressSink<'_>,
    ) -> Result<Self, NoPlan> {
        let planner = Planner::of(project, &season.candidates, &season.rates, wish, today)?;
        let plans = planner.curve(POINTS, known, sink)?;
        Ok(Self {
            accepted: planner.accepted(&plans),
            planner,
            plans,
        })
    }
}
