//! Which crosses to make, and how many seeds of each to sow.
//!
//! # The question
//!
//! Each [`Family`] that could be made has seedlings whose predictable values are normal. Seeds are given out in equal
//! portions. Of all plants that come up in all families together, the `wanted` best will be kept. A plan is as good
//! as the value of these is expected to be, counted from a floor: the level one has already. What lies below it, or
//! does not come up at all, counts nothing.
//!
//! The mean coancestry of the plants raised may not exceed a limit: with contributions x of the parents it is x'Kx
//! (Meuwissen 1997, J. Anim. Sci. 75:934-940). Space, cones and pollen are linear limits, numbers of crosses are
//! counts.
//!
//! # The expected best few
//!
//! Let N(t) be how many plants are above t. The k best, from the floor up, sum to ∫ min(k, N(t)) dt. Seeds come up,
//! and are good, independently and rarely: N(t) is taken as Poisson with mean Λ(t) = Σ seeds × rate × P(above t). Then
//! E min(k, N) is a concave function of Λ, and the whole a concave function of the seeds. Where seeds are few and
//! nearly all come up, true counts vary less than Poisson ones, and the true value is a little higher (Hoeffding
//! 1956, Ann. Math. Stat. 27:713-721: for concave functions of sums of independent trials).
//!
//! # How it is solved
//!
//! Without whole portions this is a convex problem: the concave curve of each level t is bounded by tangents, to
//! which new ones are added where the solution lies, and each step is solved as a second-order cone program by an
//! interior point method ([`clarabel`]). Families are taken in when their reduced cost asks for it. The dual solution
//! bounds what any plan can reach, however inexactly it was solved. Whole portions are found by rounding and improved
//! by exchange; branch and bound closes the gap on small cases and narrows it on others.
//!
//! # What is guaranteed
//!
//! Every search is handed the plans known already, and gives back none that is worse than the best of these that is
//! allowed. So more space can't make a plan worse when the old plan is handed in, and as what a lock allows is
//! allowed without it too, [`lock_costs`] takes better finds over and no lock costs less than nothing.

mod bound;
mod branch;
mod cone;
mod contributions;
mod curve;
mod exchange;
mod goal;
mod problem;
mod surest;
mod value;

pub use branch::{Plan, Request, plan};
pub use contributions::{Coancestries, Contributions, optimal_contributions, with_given};
pub use curve::{LockCost, curve, lock_costs};
pub use goal::{FamilyGoal, GoodPlants, Uncertainty};
pub use problem::{CountLimit, Family, MatingError, Problem, Quantities, RoomLimit};
pub use surest::{SureRequest, surest};

use std::ops::ControlFlow;

/// Is told the part that is done, 0 to 1, and stops the search by answering [`ControlFlow::Break`].
pub type SearchProgress<'a> = dyn FnMut(f64) -> ControlFlow<()> + 'a;
