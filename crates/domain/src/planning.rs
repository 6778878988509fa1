//! Planning the season's crosses: what is wanted, which pairs can bring it, how many seeds it takes.
//!
//! [`Goals`] stand in the project's settings and change through its one door. All else is derived and carries the
//! revision it holds for: [`Knowledge`] of the traits (breeding values, variances), [`Candidates`] ranked by it, the
//! [`Rates`] at which seed gets through each stage. All of it may be made on a worker from a snapshot.

mod bars;
mod candidate;
mod candidates;
mod exclusion;
mod goals;
mod knowledge;
mod parent;
mod prior;
mod rates;

pub use bars::{Bar, Bars};
pub use candidate::{Candidate, Outlook, PollenAtHand, Relatedness, ResistanceSource};
pub use candidates::Candidates;
pub use exclusion::{Exclusion, Window};
pub use goals::{CrossLimits, Goals, Space, TraitGoal};
pub use knowledge::{Basis, Knowledge, TraitKnowledge};
pub use parent::{Parent, why_not};
pub use prior::Prior;
pub use rates::{LearnedRate, Mean, Rates, Step};
