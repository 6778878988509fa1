//! Laying out a trial: which entry stands on which plot, before anything is planted.
//!
//! Complete blocks, resolvable incomplete blocks, rows and columns, Latin squares, augmented and partly replicated
//! trials. An arrangement is found by search: entries are exchanged between plots so long as that lowers the mean
//! variance of a difference between two entries (the A-criterion), starting from known good arrangements where there
//! are any and from chance ones. The same request with the same seed gives the same layout.
//!
//! Sources: John & Williams (1995), Cyclic and Computer Generated Designs; Patterson, Williams & Hunter (1978), J.
//! Agric. Sci. 90:395–400 (alpha arrays); Federer (1956), Hawaiian Planters' Record 55:191–208 (augmented); Cullis,
//! Smith & Coombes (2006), JABES 11:381–393 (partly replicated).

mod alpha;
mod checks;
mod efficiency;
mod field;
mod grid;
mod ground;
mod information;
mod latin;
mod layout;
mod neighbours;
mod power;
mod request;
mod search;

pub use alpha::alpha;
pub use efficiency::{Efficiency, Nuisance, differences};
pub use ground::Ground;
pub use latin::latin_square;
pub use layout::design;
pub use power::{Comparison, noncentral_t_above};
pub use request::{Design, DesignError, Plot, Request, Shape};
