//! The plan without whole portions: a convex problem, and a bound on every plan.

use std::ops::ControlFlow;

use super::Problem;
use super::cone::{ConeSolution, Program, Terms};

/// Between which portions each family may lie.
#[derive(Clone, Debug)]
pub(super) struct Span {
    pub(super) low: Vec<u32>,
    pub(super) high: Vec<u32>,
}

impl Span {
    /// The families that may have any.
    fn open(&self) -> Vec<usize> {
        (0..self.high.len())
            .filter(|&family| self.high[family] > 0)
            .collect()
    }
}

/// The best without whole portions.
#[derive(Clone, Debug)]
pub(super) struct Relaxed {
    /// Portions of each family.
    pub(super) portions: Vec<f64>,
    /// No plan within the span gains more than this.
    pub(super) bound: f64,
    /// What a family lacks to be worth its place, at most 0 for those in it.
    pub(super) costs: Vec<f64>,
}

/// What is kept from one solution to the next: the families taken in, and the tangents at each level.
pub(super) struct Relaxation<'p> {
    problem: &'p Problem,
    limit: f64,
    pub(super) active: Vec<usize>,
    /// Numbers of plants at which each level's curve has a tangent.
    touched: Vec<Vec<f64>>,
}

/// Rounds of new tangents and families for one solution.
const ROUNDS: usize = 12;
/// Families taken in at once.
const TAKEN_IN: usize = 24;
/// How near the model must come to the curve, relative to the scale of gains.
const TOLERANCE: f64 = 1e-7;

/// Where variables stand in the program: portions of families as shares of their most, what parents give, plants
/// above each level, and how many of these are kept.
struct VariableLayout {
    /// In order.
    families: Vec<usize>,
    /// In order; none where kinship is not limited.
    parents: Vec<usize>,
    levels_at: usize,
    kept_at: usize,
}

impl VariableLayout {
    fn of_family(&self, family: usize) -> Option<usize> {
        self.families.binary_search(&family).ok()
    }
}

/// A row that keeps what is kept at a level under a tangent of its curve.
struct Tangent {
    level: usize,
    row: usize,
    slope: f64,
    right: f64,
}

/// Where things stand in the program.
struct Layout {
    places: VariableLayout,
    tangents: Vec<Tangent>,
    rooms: Vec<usize>,
    /// Row and right side of each count.
    counts: Vec<(usize, f64)>,
    /// The first row of the cone.
    cone: Option<usize>,
}

impl<'p> Relaxation<'p> {
    pub(super) fn new(problem: &'p Problem, limit: f64, mut active: Vec<usize>) -> Self {
        active.sort_unstable();
        active.dedup();
        let wanted = f64::from(problem.quantities.wanted);
        Self {
            problem,
            limit,
            active,
            touched: vec![vec![0.0, 0.5 * wanted, wanted, 2.0 * wanted]; problem.levels.len()],
        }
    }

    /// The greatest gain there could be at all.
    pub(super) fn scale(&self) -> f64 {
        let all: f64 = self.problem.levels.weights.iter().sum();
        all * f64::from(self.problem.quantities.wanted)
    }

    /// The best within the span, or `None` if nothing lies in it. Stops early once the bound is at most `enough`.
    pub(super) fn solve(
        &mut self,
        span: &Span,
        enough: f64,
        progress: &mut super::SearchProgress<'_>,
        part: f64,
    ) -> ControlFlow<(), Option<Relaxed>> {
        let scale = self.scale();
        if scale == 0.0 {
            let portions = span.low.iter().copied().map(f64::from).collect();
            return ControlFlow::Continue(Some(Relaxed {
                portions,
                bound: 0.0,
                costs: vec![0.0; span.low.len()],
            }));
        }
        let mut best: Option<Relaxed> = None;
        for _ in 0..ROUNDS {
            progress(part)?;
            let Some((layout, solved)) = self.program(span, scale) else {
                break;
            };
            let Some(solved) = solved.solve() else {
                // Too few families for what is locked in, or a hard case for the solver: all families are tried once.
                let all = span.open();
                if all.len() == self.active.len() {
                    break;
                }
                self.active = all;
                continue;
            };
            let (bound, costs) = self.bound(&layout, &solved, span, scale);
            let portions = self.portions(&layout, &solved, span);
            let lowest = best.as_ref().map_or(f64::INFINITY, |best| best.bound);
            let sharper = self.touch(&layout, &solved);
            let joined = self.join(span, &costs);
            best = Some(Relaxed {
                portions,
                bound: bound.min(lowest),
                costs,
            });
            if bound.min(lowest) <= enough || !(sharper || joined) {
                break;
            }
        }
        ControlFlow::Continue(best)
    }

    /// The program over the active families; `None` if a count is broken already.
    fn program(&self, span: &Span, scale: f64) -> Option<(Layout, Program)> {
        let problem = self.problem;
        let levels = problem.levels.len();
        let places = self.places(span);
        let mut cost = vec![0.0; places.kept_at + levels];
        for (level, weight) in problem.levels.weights.iter().enumerate() {
            cost[places.kept_at + level] = -weight / scale;
        }
        let mut program = Program::new(cost);
        self.link(&mut program, &places);
        for (place, &family) in places.families.iter().enumerate() {
            let most = f64::from(problem.most[family]);
            program.at_most(&[(place, -1.0)], -f64::from(span.low[family]) / most);
            program.at_most(&[(place, 1.0)], f64::from(span.high[family]) / most);
        }
        let rooms = self.room_rows(&mut program, &places);
        let counts = self.count_rows(&mut program, &places, span)?;
        let tangents = self.tangent_rows(&mut program, &places);
        let cone = self.cone_rows(&mut program, &places);
        let layout = Layout {
            places,
            tangents,
            rooms,
            counts,
            cone,
        };
        Some((layout, program))
    }

    fn places(&self, span: &Span) -> VariableLayout {
        let problem = self.problem;
        let open = |family: &usize| span.high[*family] > 0;
        let families: Vec<usize> = self.active.iter().copied().filter(open).collect();
        let mut parents = Vec::new();
        if self.limit.is_finite() {
            let both = families.iter().map(|&family| problem.families[family]);
            parents = both.flat_map(|each| [each.female, each.male]).collect();
            parents.sort_unstable();
            parents.dedup();
        }
        let levels_at = families.len() + parents.len();
        VariableLayout {
            levels_at,
            kept_at: levels_at + problem.levels.len(),
            families,
            parents,
        }
    }

    /// Plants above each level, and what each parent gives, follow from the portions.
    fn link(&self, program: &mut Program, places: &VariableLayout) {
        let problem = self.problem;
        for level in 0..problem.levels.len() {
            let mut terms: Terms = vec![(places.levels_at + level, 1.0)];
            terms.extend(places.families.iter().enumerate().map(|(at, &family)| {
                let above = problem.levels.above[family][level];
                (at, -above * f64::from(problem.most[family]))
            }));
            program.equal(&terms, 0.0);
        }
        for (at, &parent) in places.parents.iter().enumerate() {
            let mut terms: Terms = vec![(places.families.len() + at, 1.0)];
            for (place, &family) in places.families.iter().enumerate() {
                let each = problem.families[family];
                let sides = [each.female, each.male];
                let given = sides.iter().filter(|&&side| side == parent).count();
                terms.push((place, -(given as f64) * self.half(family)));
            }
            program.equal(&terms, 0.0);
        }
    }

    fn room_rows(&self, program: &mut Program, places: &VariableLayout) -> Vec<usize> {
        let problem = self.problem;
        let rooms = problem.rooms.iter().map(|room| {
            let terms: Terms = room
                .takes
                .iter()
                .filter_map(|&(family, take)| {
                    let term = room_term(take, problem.most[family], room.room);
                    Some((places.of_family(family)?, term))
                })
                .collect();
            program.at_most(&terms, 1.0)
        });
        rooms.collect()
    }

    fn count_rows(
        &self,
        program: &mut Program,
        places: &VariableLayout,
        span: &Span,
    ) -> Option<Vec<(usize, f64)>> {
        let counts = self.problem.counts.iter().map(|count| {
            let made = count
                .families
                .iter()
                .filter(|&&family| span.low[family] > 0);
            let left = f64::from(count.most) - made.count() as f64;
            let terms: Terms = count
                .families
                .iter()
                .filter_map(|&family| {
                    Some((places.of_family(family)?, self.count_term(family, span)))
                })
                .collect();
            (left >= 0.0).then(|| (program.at_most(&terms, left), left))
        });
        counts.collect()
    }

    fn tangent_rows(&self, program: &mut Program, places: &VariableLayout) -> Vec<Tangent> {
        let most = f64::from(self.problem.quantities.wanted);
        let mut tangents = Vec::new();
        for (level, touched) in self.touched.iter().enumerate() {
            let mut add = |slope: f64, right: f64| {
                let terms = [
                    (places.kept_at + level, 1.0),
                    (places.levels_at + level, -slope),
                ];
                tangents.push(Tangent {
                    level,
                    row: program.at_most(&terms, right),
                    slope,
                    right,
                });
            };
            for &plants in touched {
                let (kept, slope) = self.problem.levels.kept(plants);
                add(slope, kept - slope * plants);
            }
            add(0.0, most);
        }
        tangents
    }

    /// Kinship at most the limit: the first row of the cone, where there is one.
    fn cone_rows(&self, program: &mut Program, places: &VariableLayout) -> Option<usize> {
        if places.parents.is_empty() {
            return None;
        }
        let root = &self.problem.root;
        let used = || (places.families.len()..).zip(&places.parents);
        let head: Terms = used().map(|(at, _)| (at, self.limit.sqrt())).collect();
        let others: Vec<Terms> = (0..root.nrows())
            .map(|row| {
                used()
                    .map(|(at, &parent)| (at, root[(row, parent)]))
                    .collect()
            })
            .collect();
        Some(program.cone(&head, 0.0, &others))
    }

    /// Half of the plants of a family at its most portions, on a scale that keeps the program's figures near 1.
    fn half(&self, family: usize) -> f64 {
        let problem = self.problem;
        0.5 * problem.families[family].rate * f64::from(problem.most[family])
    }

    /// What a whole family counts in a limit on crosses, for its share of its most portions.
    fn count_term(&self, family: usize, span: &Span) -> f64 {
        if span.low[family] > 0 || span.high[family] == 0 {
            return 0.0;
        }
        f64::from(self.problem.most[family]) / f64::from(span.high[family])
    }

    /// The bound that the multipliers prove, and each family's reduced cost.
    ///
    /// Multipliers of equalities are calculated anew from the others, so that they are feasible exactly and the bound
    /// holds however far the solver went: the least of the Lagrangian over all portions within the span.
    fn bound(
        &self,
        layout: &Layout,
        solved: &ConeSolution,
        span: &Span,
        scale: f64,
    ) -> (f64, Vec<f64>) {
        let problem = self.problem;
        let z = |row: usize| solved.multipliers[row].max(0.0);
        let levels = problem.levels.len();
        let mut sums = vec![0.0; levels];
        for tangent in &layout.tangents {
            sums[tangent.level] += z(tangent.row);
        }
        let (mut of_level, mut least) = (vec![0.0; levels], 0.0);
        for tangent in &layout.tangents {
            let (level, sum) = (tangent.level, sums[tangent.level]);
            let weight = problem.levels.weights[level] / scale;
            let share = if sum > 0.0 { z(tangent.row) / sum } else { 0.0 };
            of_level[level] += tangent.slope * share * weight;
            least -= tangent.right * share * weight;
        }
        for (weight, _) in problem
            .levels
            .weights
            .iter()
            .zip(&sums)
            .filter(|each| *each.1 <= 0.0)
        {
            // No tangent is in force: the curve's own ceiling is.
            least -= f64::from(problem.quantities.wanted) * weight / scale;
        }
        let of_parent = layout.cone.map(|first| {
            let rows = problem.root.nrows();
            let tail: Vec<f64> = (0..rows)
                .map(|row| solved.multipliers[first + 1 + row])
                .collect();
            let norm = tail.iter().map(|value| value * value).sum::<f64>().sqrt();
            let head = solved.multipliers[first].max(norm);
            // The rows of the cone stand with the opposite sign.
            let price = |parent: usize| {
                let turned: f64 = (0..rows)
                    .map(|row| problem.root[(row, parent)] * tail[row])
                    .sum();
                self.limit.sqrt() * head + turned
            };
            (0..problem.kinship.nrows()).map(price).collect::<Vec<_>>()
        });
        for &row in &layout.rooms {
            least -= z(row);
        }
        for &(row, left) in &layout.counts {
            least -= left * z(row);
        }
        let mut costs = vec![0.0; problem.families.len()];
        for (family, cost) in costs.iter_mut().enumerate() {
            let above = problem.levels.above[family].iter().zip(&of_level);
            let gain: f64 = above.map(|(above, price)| above * price).sum();
            *cost = -gain * f64::from(problem.most[family]);
            if let Some(price) = &of_parent {
                let each = problem.families[family];
                *cost -= self.half(family) * (price[each.female] + price[each.male]);
            }
        }
        for (room, &row) in problem.rooms.iter().zip(&layout.rooms) {
            for &(family, take) in &room.takes {
                if problem.most[family] > 0 {
                    costs[family] += z(row) * room_term(take, problem.most[family], room.room);
                }
            }
        }
        for (count, &(row, _)) in problem.counts.iter().zip(&layout.counts) {
            for &family in &count.families {
                costs[family] += z(row) * self.count_term(family, span);
            }
        }
        for (family, cost) in costs.iter().enumerate() {
            if problem.most[family] > 0 {
                let most = f64::from(problem.most[family]);
                let share = if *cost > 0.0 {
                    span.low[family]
                } else {
                    span.high[family]
                };
                least += cost * f64::from(share) / most;
            }
        }
        (-least * scale, costs)
    }

    fn portions(&self, layout: &Layout, solved: &ConeSolution, span: &Span) -> Vec<f64> {
        let mut portions = vec![0.0; self.problem.families.len()];
        for (&family, &share) in layout.places.families.iter().zip(&solved.variables) {
            let within = share * f64::from(self.problem.most[family]);
            portions[family] = within.clamp(span.low[family].into(), span.high[family].into());
        }
        portions
    }

    /// Adds tangents where the solution lies; whether any was needed.
    fn touch(&mut self, layout: &Layout, solved: &ConeSolution) -> bool {
        let mut added = false;
        let wanted = f64::from(self.problem.quantities.wanted);
        for level in 0..self.problem.levels.len() {
            let plants = solved.variables[layout.places.levels_at + level].max(0.0);
            let modelled = solved.variables[layout.places.kept_at + level];
            if modelled - self.problem.levels.kept(plants).0 > TOLERANCE * wanted {
                self.touched[level].push(plants);
                added = true;
            }
        }
        added
    }

    /// Takes in the families that would do better than those at hand; whether there were any.
    fn join(&mut self, span: &Span, costs: &[f64]) -> bool {
        let outside = |family: &usize| self.active.binary_search(family).is_err();
        let mut better: Vec<usize> = span.open().into_iter().filter(outside).collect();
        better.retain(|&family| costs[family] < -TOLERANCE);
        better.sort_by(|&one, &other| costs[one].total_cmp(&costs[other]));
        better.truncate(TAKEN_IN);
        self.active.extend(&better);
        self.active.sort_unstable();
        !better.is_empty()
    }
}

/// What a family takes of a room at its most portions, as a share of the room.
fn room_term(take: f64, most: u32, room: f64) -> f64 {
    if room > 0.0 {
        take * f64::from(most) / room
    } else {
        0.0
    }
}
