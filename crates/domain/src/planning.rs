//! Planning the season's crosses: what is wanted, which pairs can bring it, how many seeds it takes.
//!
//! [`Goals`] stand in the project's settings and change through its one door. All else is derived and carries the
//! revision it holds for: [`Knowledge`] of the traits (breeding values, variances), [`Candidates`] ranked by it, the
//! [`Rates`] at which seed gets through each stage; from these the [`Planner`] makes a [`SeasonPlan`], dated by
//! [`SeasonDates`], taken on by [`accept`], and a [`LookAhead`] plays strategies out. All of it may be made on a worker from a snapshot.

mod accept;
mod candidate;
mod candidates;
mod curve;
mod dates;
mod diversity;
mod exclusion;
mod explain;
mod father_cases;
mod fathers;
mod funnel;
mod knowledge;
mod look_ahead;
mod mixed_pollen;
mod needs;
mod parent;
mod prior;
mod rates;
mod season;
mod stages;
mod thresholds;

pub use crate::record::goals::{CrossLimits, Goals, LATEST_SEEN, Space, TraitGoal};
pub use accept::accept;
pub use candidate::{
    BadCase, BestOf, Candidate, Outlook, PollenAtHand, Relatedness, ResistanceSource,
};
pub use candidates::Candidates;
pub use curve::{Curve, Season};
pub use dates::{
    Back, RAISING, Raising, SeasonDate, SeasonDates, SeasonStep, WeekLoad, capacity,
    expected_flowering,
};
pub use diversity::{Diversity, USUAL_INTERVAL, size_words};
pub use exclusion::{Exclusion, Window};
pub use father_cases::{FatherCase, PaternityTest, UncertainFathers};
pub use fathers::possible_fathers;
pub use funnel::{Funnel, FunnelStage, FunnelStageKind, Left, MOST_SEEDS};
pub use knowledge::{Basis, Knowledge, TraitKnowledge};
pub use look_ahead::{LookAhead, NoOutlook, Played};
pub use mixed_pollen::MixedCross;
pub use needs::{Need, NeedKind, needs};
pub use parent::{Parent, why_not};
pub use prior::Prior;
pub use rates::{LearnedRate, Mean, Rates, SurvivalStage};
pub use season::{
    Binding, LimitKind, Lock, NoPlan, POLLINATION_WEEKS, PairKey, PlanWish, PlannedCross, Planner,
    SeasonPlan,
};
pub use thresholds::{Threshold, Thresholds};
