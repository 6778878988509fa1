//! Selection in stages: many entries on few plots, then few on many.
//!
//! Values are in genetic standard deviations of the candidates unless said. Gains come from integration over normal
//! values (Cochran 1951, 2nd Berkeley Symposium, 449–470), so that they are those of many candidates; with few, a
//! little less is gained.

mod gain;
mod plan;
mod response;
mod variances;

pub use gain::{Gain, one_stage, two_stages, with_index};
pub use plan::{Stage, StagePlan, StageRequest, TrialSize, plan_stages};
pub use response::{Correlated, realised_heritability, response};
pub use variances::EntryVariances;
