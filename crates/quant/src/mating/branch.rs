//! One plan: relaxed, rounded, improved by exchange, and its distance to the bound closed by branch and bound.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::ops::ControlFlow;

use super::bound::{Relaxation, Relaxed, Span};
use super::exchange::Exchange;
use super::{MatingError, Problem, SearchProgress};

/// What is asked of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// The greatest mean coancestry of the plants raised; infinite for none.
    pub coancestry: f64,
    /// Families that must be made.
    pub locked: Vec<usize>,
    /// How many branches may be looked into to close the distance to the bound.
    pub branches: usize,
}

/// A plan and what it is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Portions of seed of each family; 0 where the cross isn't made.
    pub portions: Vec<u32>,
    /// Expected value of the best plants, above the floor.
    pub gain: f64,
    /// No plan within the limits gains more than this.
    pub bound: f64,
    /// Mean coancestry of the plants raised; `None` if there are none.
    pub coancestry: Option<f64>,
}

impl Plan {
    /// How much better a plan could at most be, as a share of the bound.
    pub fn distance(&self) -> f64 {
        if self.bound > 0.0 {
            ((self.bound - self.gain) / self.bound).max(0.0)
        } else {
            0.0
        }
    }
}

/// Families an exchange looks among besides those the relaxed plan makes.
const NEARLY: usize = 24;
/// A branch is closed when it can't gain more than this share of the greatest gain there could be.
const CLOSED: f64 = 1e-6;

/// The best plan found: never worse than the best of those `known` that the request allows.
///
/// # Errors
/// No plan within the limits, or stopped.
pub fn plan(
    problem: &Problem,
    request: &Request,
    known: &[Vec<u32>],
    progress: &mut SearchProgress<'_>,
) -> Result<Plan, MatingError> {
    if request
        .locked
        .iter()
        .any(|&family| family >= problem.families.len())
    {
        return Err(MatingError::Missing);
    }
    if request.coancestry.is_nan() {
        return Err(MatingError::Figure);
    }
    let mut search = Search::new(problem, request);
    for portions in known {
        search.keep(portions.clone());
    }
    let ControlFlow::Continue(bound) = search.run(known, progress) else {
        return Err(MatingError::Stopped);
    };
    let Some((gain, portions)) = search.best else {
        return Err(if request.locked.is_empty() {
            MatingError::Nothing
        } else {
            MatingError::Locked
        });
    };
    Ok(Plan {
        coancestry: problem.coancestry(&portions),
        gain,
        bound: bound.max(gain),
        portions,
    })
}

/// Families to begin with: the best alone, and the best of each parent.
pub(super) fn promising(problem: &Problem, many: usize) -> Vec<usize> {
    let alone: Vec<f64> = (0..problem.families.len())
        .map(|family| {
            let most = f64::from(problem.most[family]);
            let above = problem.levels.above[family].iter();
            problem.levels.gain(above.map(|above| most * above))
        })
        .collect();
    let mut order: Vec<usize> = (0..alone.len())
        .filter(|&family| problem.most[family] > 0)
        .collect();
    order.sort_by(|&one, &other| alone[other].total_cmp(&alone[one]).then(one.cmp(&other)));
    let mut met = vec![false; problem.kinship.nrows()];
    let mut chosen = Vec::new();
    for (rank, &family) in order.iter().enumerate() {
        let each = problem.families[family];
        let new = !met[each.female] || !met[each.male];
        if rank < many || (new && chosen.len() < 4 * many) {
            chosen.push(family);
            met[each.female] = true;
            met[each.male] = true;
        }
    }
    chosen
}

struct Search<'p> {
    problem: &'p Problem,
    request: &'p Request,
    exchange: Exchange<'p>,
    relaxation: Relaxation<'p>,
    best: Option<(f64, Vec<u32>)>,
}

/// A part of the plans, by its bound.
struct Branch {
    span: Span,
    relaxed: Relaxed,
}

impl<'p> Search<'p> {
    fn new(problem: &'p Problem, request: &'p Request) -> Self {
        let mut active = promising(problem, 40);
        active.extend(&request.locked);
        Self {
            problem,
            request,
            exchange: Exchange::new(problem, request.coancestry, &request.locked),
            relaxation: Relaxation::new(problem, request.coancestry, active),
            best: None,
        }
    }

    fn keep(&mut self, portions: Vec<u32>) {
        if self
            .problem
            .allows(&portions, self.request.coancestry, &self.request.locked)
        {
            let gain = self.problem.gain(&portions);
            if self.best.as_ref().is_none_or(|best| gain > best.0) {
                self.best = Some((gain, portions));
            }
        }
    }

    fn gain(&self) -> f64 {
        self.best.as_ref().map_or(f64::NEG_INFINITY, |best| best.0)
    }

    /// Looks for the best plan; answers with the bound.
    fn run(
        &mut self,
        known: &[Vec<u32>],
        progress: &mut SearchProgress<'_>,
    ) -> ControlFlow<(), f64> {
        let closed = CLOSED * self.relaxation.scale();
        let mut low = vec![0; self.problem.families.len()];
        for &family in &self.request.locked {
            low[family] = self.problem.quantities.least;
            if self.problem.most[family] < low[family] {
                return ControlFlow::Continue(f64::NEG_INFINITY);
            }
        }
        let root = Span {
            low,
            high: self.problem.most.clone(),
        };
        let Some(relaxed) = self
            .relaxation
            .solve(&root, f64::NEG_INFINITY, progress, 0.1)?
        else {
            return ControlFlow::Continue(f64::NEG_INFINITY);
        };
        progress(0.3)?;
        self.round(&relaxed, known);
        progress(0.6)?;
        let mut open = BinaryHeap::from([Branch {
            span: root,
            relaxed,
        }]);
        let mut looked = 0;
        // The greatest bound of what was closed without being solved to the end.
        let mut left = f64::NEG_INFINITY;
        while let Some(branch) = open.pop() {
            let enough = self.gain() + closed;
            if branch.relaxed.bound <= enough || looked >= self.request.branches {
                left = left.max(branch.relaxed.bound);
                break;
            }
            progress(0.6 + 0.4 * looked as f64 / self.request.branches.max(1) as f64)?;
            for span in self.divide(&branch) {
                looked += 1;
                let Some(mut relaxed) =
                    self.relaxation
                        .solve(&span, self.gain() + closed, progress, 0.6)?
                else {
                    continue;
                };
                relaxed.bound = relaxed.bound.min(branch.relaxed.bound);
                self.keep(self.rounded(&relaxed));
                if relaxed.bound > self.gain() + closed {
                    open.push(Branch { span, relaxed });
                } else {
                    left = left.max(relaxed.bound);
                }
            }
        }
        ControlFlow::Continue(left.max(self.gain()))
    }

    /// Whole portions from the relaxed plan and from known plans, improved by exchange.
    fn round(&mut self, relaxed: &Relaxed, known: &[Vec<u32>]) {
        let mut among: Vec<usize> = (0..relaxed.costs.len())
            .filter(|&family| self.problem.most[family] > 0)
            .collect();
        among.sort_by(|&one, &other| relaxed.costs[one].total_cmp(&relaxed.costs[other]));
        let made = |family: usize| relaxed.portions[family] > 1e-3;
        let nearly: Vec<usize> = among
            .iter()
            .copied()
            .filter(|&family| !made(family))
            .take(NEARLY)
            .collect();
        among.retain(|&family| made(family));
        among.extend(nearly);
        among.extend(&self.request.locked);
        among.sort_unstable();
        among.dedup();
        let mut starts = vec![self.rounded(relaxed), vec![0; relaxed.portions.len()]];
        starts.extend(
            known
                .iter()
                .filter(|each| each.len() == relaxed.portions.len())
                .take(3)
                .cloned(),
        );
        starts.extend(self.best.as_ref().map(|best| best.1.clone()));
        for start in starts {
            let mut among = among.clone();
            among.extend((0..start.len()).filter(|&family| start[family] > 0));
            among.sort_unstable();
            among.dedup();
            if let Some(portions) = self.exchange.improve(&start, &among) {
                self.keep(portions);
            }
        }
    }

    /// The relaxed plan rounded down, and the rest given by largest remainder.
    fn rounded(&self, relaxed: &Relaxed) -> Vec<u32> {
        let least = f64::from(self.problem.quantities.least);
        let mut portions: Vec<u32> = relaxed
            .portions
            .iter()
            .map(|&each| if each < 0.5 * least { 0.0 } else { (each + 1e-6).floor().max(least) } as u32)
            .collect();
        let mut order: Vec<usize> = (0..portions.len())
            .filter(|&family| portions[family] > 0)
            .collect();
        let rest = |family: usize| relaxed.portions[family].fract();
        order.sort_by(|&one, &other| rest(other).total_cmp(&rest(one)));
        for family in order {
            portions[family] += 1;
            if !self.problem.allows(&portions, f64::INFINITY, &[]) {
                portions[family] -= 1;
            }
        }
        portions
    }

    /// Two spans that hold all whole plans of a branch; none if its relaxed plan is whole.
    fn divide(&self, branch: &Branch) -> Vec<Span> {
        let (span, relaxed) = (&branch.span, &branch.relaxed);
        let least = self.problem.quantities.least;
        let cut = |family: usize, below: u32, above: u32| {
            let (mut down, mut up) = (span.clone(), span.clone());
            down.high[family] = below;
            up.low[family] = above;
            [down, up]
                .into_iter()
                .filter(|part| part.low[family] <= part.high[family])
                .collect::<Vec<_>>()
        };
        let free = |family: &usize| span.low[*family] < span.high[*family];
        let families = || (0..relaxed.portions.len()).filter(free);
        // How far from whole, on a scale of one portion.
        let broken = |family: usize| {
            let each = relaxed.portions[family];
            let up = if each < f64::from(least) {
                f64::from(least) - each
            } else {
                each.ceil() - each
            };
            let down = if each < f64::from(least) {
                each
            } else {
                each - each.floor()
            };
            up.min(down)
        };
        let worst = families().max_by(|&one, &other| broken(one).total_cmp(&broken(other)));
        let Some(worst) = worst else {
            return Vec::new();
        };
        let each = relaxed.portions[worst];
        if broken(worst) > 1e-6 {
            return if each < f64::from(least) {
                cut(worst, 0, least)
            } else {
                cut(worst, each.floor() as u32, each.ceil() as u32)
            };
        }
        // Whole, but more crosses than may be made, or their numbers not yet decided.
        let undecided = families().filter(|&family| span.low[family] == 0);
        if let Some(family) = undecided
            .max_by(|&one, &other| relaxed.portions[one].total_cmp(&relaxed.portions[other]))
        {
            return cut(family, 0, least);
        }
        let family = worst;
        let each = (relaxed.portions[family].round() as u32)
            .clamp(span.low[family], span.high[family] - 1);
        cut(family, each, each + 1)
    }
}

impl PartialEq for Branch {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Branch {}

impl PartialOrd for Branch {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Branch {
    fn cmp(&self, other: &Self) -> Ordering {
        self.relaxed.bound.total_cmp(&other.relaxed.bound)
    }
}
