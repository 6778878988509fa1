//! Entries over environments: who keeps the rank, who needs good ground, and how to compare entries that were not all
//! grown everywhere.
//!
//! Environments are years, sites, or both. A [`Table`] holds one mean for every entry in every environment; where some
//! are missing, [`additive`] and [`joint_regression`] compare fairly: a mean over the environments an entry happened to
//! stand in says as much of those as of the entry.
//!
//! Sources: Finlay & Wilkinson (1963), Aust. J. Agric. Res. 14:742–754; Eberhart & Russell (1966), Crop Sci. 6:36–40;
//! Wricke (1962), Z. Pflanzenzüchtung 47:92–96; Shukla (1972), Heredity 29:237–245; Lin & Binns (1988), Can. J. Plant
//! Sci. 68:193–198; Digby (1979), J. Agric. Sci. 93:81–86.

mod additive;
mod indices;
mod joint;
mod repeatability;
mod table;

pub use additive::{Additive, Cell, additive};
pub use indices::{Stability, stability};
pub use joint::{Joint, joint_regression};
pub use repeatability::{harvests_needed, of_a_mean, variance_of_a_mean};
pub use table::{SumsOfSquares, Table};
