//! Whole portions made better by exchange.

use super::Problem;

/// Sweeps over all exchanges, at most.
const SWEEPS: usize = 60;

/// Moves portions about as long as that makes a plan better.
pub(super) struct Exchange<'p> {
    problem: &'p Problem,
    limit: f64,
    locked: Vec<bool>,
    rooms_of: Vec<Vec<(usize, f64)>>,
    counts_of: Vec<Vec<usize>>,
}

/// A plan with what exchanges are judged by.
struct PlanState {
    portions: Vec<u32>,
    plants: Vec<f64>,
    x: Vec<f64>,
    /// K x.
    kx: Vec<f64>,
    sum: f64,
    quadratic: f64,
    taken: Vec<f64>,
    made: Vec<u32>,
    score: f64,
}

impl<'p> Exchange<'p> {
    pub(super) fn new(problem: &'p Problem, limit: f64, locked: &[usize]) -> Self {
        let families = problem.families.len();
        let mut is_locked = vec![false; families];
        for &family in locked {
            is_locked[family] = true;
        }
        let mut rooms_of = vec![Vec::new(); families];
        for (place, room) in problem.rooms.iter().enumerate() {
            for &(family, take) in &room.takes {
                rooms_of[family].push((place, take));
            }
        }
        let mut counts_of = vec![Vec::new(); families];
        for (place, count) in problem.counts.iter().enumerate() {
            for &family in &count.families {
                counts_of[family].push(place);
            }
        }
        Self {
            problem,
            limit,
            locked: is_locked,
            rooms_of,
            counts_of,
        }
    }

    /// The best plan reached from `start` by exchanges among some families; `None` if the limits on coancestry or
    /// locks aren't met.
    pub(super) fn improve(&self, start: &[u32], among: &[usize]) -> Option<Vec<u32>> {
        let scale: f64 = self.problem.levels.weights.iter().sum::<f64>()
            * f64::from(self.problem.quantities.wanted);
        let mut portions = self.within(start);
        // Too much coancestry is first weighed against gain, then mended at any price.
        for penalty in [50.0 * scale, 1e6 * scale.max(f64::MIN_POSITIVE)] {
            portions = self.ascend(portions, among, penalty);
            let locked: Vec<usize> = (0..self.locked.len())
                .filter(|&family| self.locked[family])
                .collect();
            if self.problem.allows(&portions, self.limit, &locked) {
                return Some(portions);
            }
        }
        None
    }

    /// The plan with the least coancestry reached from `start`.
    pub(super) fn narrowest(&self, start: &[u32], among: &[usize]) -> Vec<u32> {
        self.ascend(self.within(start), among, 1e9)
    }

    /// The part of a plan that limits of rooms and counts allow, what is locked in first.
    fn within(&self, start: &[u32]) -> Vec<u32> {
        let least = self.problem.quantities.least;
        let mut state = self.state(vec![0; start.len()], 0.0);
        let mut order: Vec<usize> = (0..start.len())
            .filter(|&family| start[family] > 0 || self.locked[family])
            .collect();
        order.sort_by_key(|&family| {
            (
                !self.locked[family],
                std::cmp::Reverse(start[family]),
                family,
            )
        });
        for &family in &order {
            self.try_set(&mut state, family, least);
        }
        for &family in &order {
            let now = state.portions[family];
            if now > 0 {
                let wanted = start[family].min(self.problem.most[family]);
                for portions in (now + 1..=wanted).rev() {
                    if self.try_set(&mut state, family, portions) {
                        break;
                    }
                }
            }
        }
        state.portions
    }

    fn try_set(&self, state: &mut PlanState, family: usize, portions: u32) -> bool {
        let fits = portions <= self.problem.most[family] && self.fits(state, &[(family, portions)]);
        if fits {
            self.make(state, &[(family, portions)], 0.0);
        }
        fits
    }

    fn ascend(&self, start: Vec<u32>, among: &[usize], penalty: f64) -> Vec<u32> {
        let mut state = self.state(start, penalty);
        for _ in 0..SWEEPS {
            let before = state.score;
            for &grown in among {
                for more in self.more(&state, grown) {
                    self.accept(&mut state, &[(grown, more)], penalty);
                }
            }
            let given: Vec<usize> = (0..state.portions.len())
                .filter(|&family| state.portions[family] > 0)
                .collect();
            for shrunk in given {
                for less in self.less(&state, shrunk) {
                    self.accept(&mut state, &[(shrunk, less)], penalty);
                }
                for &grown in among.iter().filter(|&&grown| grown != shrunk) {
                    self.shift(&mut state, shrunk, grown, penalty);
                }
            }
            if state.score <= before + 1e-12 * (1.0 + before.abs()) {
                break;
            }
        }
        state.portions
    }

    /// Tries to move one portion, half of them, and all of them from one family to another.
    fn shift(&self, state: &mut PlanState, shrunk: usize, grown: usize, penalty: f64) {
        let least = self.problem.quantities.least;
        let held = state.portions[shrunk];
        if held == 0 {
            return;
        }
        let mut tried = [1, held / 2, held];
        tried.sort_unstable();
        for moved in tried {
            let held = state.portions[shrunk];
            if moved == 0 || moved > held {
                continue;
            }
            let left = held - moved;
            let left = if left < least { 0 } else { left };
            if left == 0 && self.locked[shrunk] {
                continue;
            }
            let now = state.portions[grown];
            let more = (now + held - left).max(least);
            self.accept(state, &[(shrunk, left), (grown, more)], penalty);
        }
    }

    fn more(&self, state: &PlanState, family: usize) -> [u32; 2] {
        let now = state.portions[family];
        let one = if now == 0 {
            self.problem.quantities.least
        } else {
            now + 1
        };
        [one, one + now.max(4)]
    }

    fn less(&self, state: &PlanState, family: usize) -> Vec<u32> {
        let now = state.portions[family];
        let mut less = Vec::with_capacity(2);
        if now > self.problem.quantities.least {
            less.push(now - 1);
        }
        if now > 0 && !self.locked[family] {
            less.push(0);
        }
        less
    }

    /// Makes the exchange if it is allowed and better.
    fn accept(&self, state: &mut PlanState, changes: &[(usize, u32)], penalty: f64) -> bool {
        let within = changes
            .iter()
            .all(|&(family, portions)| portions == 0 || portions <= self.problem.most[family]);
        let real = changes
            .iter()
            .any(|&(family, portions)| state.portions[family] != portions);
        if !within || !real || !self.fits(state, changes) {
            return false;
        }
        let score = self.score(state, changes, penalty);
        let better = score > state.score + 1e-11 * (1.0 + state.score.abs());
        if better {
            self.make(state, changes, score);
        }
        better
    }

    fn fits(&self, state: &PlanState, changes: &[(usize, u32)]) -> bool {
        let rooms = &self.problem.rooms;
        let touched = changes
            .iter()
            .flat_map(|change| &self.rooms_of[change.0])
            .map(|each| each.0);
        let room_left = touched.into_iter().all(|place| {
            let more: f64 = changes
                .iter()
                .map(|&(family, portions)| {
                    let takes = self.rooms_of[family].iter().filter(|each| each.0 == place);
                    let take: f64 = takes.map(|each| each.1).sum();
                    rooms[place].taken(take, portions)
                        - rooms[place].taken(take, state.portions[family])
                })
                .sum();
            more <= 0.0 || state.taken[place] + more <= rooms[place].room * (1.0 + 1e-12) + 1e-9
        });
        let touched = changes.iter().flat_map(|change| &self.counts_of[change.0]);
        room_left
            && touched.into_iter().all(|&place| {
                let more: i64 = changes
                    .iter()
                    .filter(|change| self.counts_of[change.0].contains(&place))
                    .map(|&(family, portions)| {
                        i64::from(portions > 0) - i64::from(state.portions[family] > 0)
                    })
                    .sum();
                more <= 0
                    || i64::from(state.made[place]) + more
                        <= i64::from(self.problem.counts[place].most)
            })
    }

    fn score(&self, state: &PlanState, changes: &[(usize, u32)], penalty: f64) -> f64 {
        let levels = &self.problem.levels;
        let by =
            |family: usize, portions: u32| f64::from(portions) - f64::from(state.portions[family]);
        let gain =
            match *changes {
                [(one, portions)] => {
                    let more = by(one, portions);
                    let above = state.plants.iter().zip(&levels.above[one]);
                    levels.gain(above.map(|(plants, above)| (plants + more * above).max(0.0)))
                }
                [(one, first), (other, second)] => {
                    let (less, more) = (by(one, first), by(other, second));
                    let above = state
                        .plants
                        .iter()
                        .zip(&levels.above[one])
                        .zip(&levels.above[other]);
                    levels.gain(above.map(|((plants, one), other)| {
                        (plants + less * one + more * other).max(0.0)
                    }))
                }
                _ => 0.0,
            };
        if self.limit.is_infinite() {
            return gain;
        }
        let (mut quadratic, mut sum) = (state.quadratic, state.sum);
        let mut moved: Vec<(usize, f64)> = Vec::with_capacity(4);
        for &(family, portions) in changes {
            let each = &self.problem.families[family];
            let plants = by(family, portions) * self.problem.weight(each);
            sum += plants;
            moved.push((each.female, 0.5 * plants));
            moved.push((each.male, 0.5 * plants));
        }
        for &(parent, by) in &moved {
            quadratic += 2.0 * by * state.kx[parent];
            for &(other, too) in &moved {
                quadratic += by * too * self.problem.kinship[(parent, other)];
            }
        }
        gain - penalty * self.excess(quadratic, sum)
    }

    /// How far the coancestry is above the limit.
    fn excess(&self, quadratic: f64, sum: f64) -> f64 {
        if sum <= 0.0 {
            // Nothing sown: as bad as can be, so that a way out of too much coancestry isn't to sow nothing.
            return 1.0;
        }
        (quadratic / (sum * sum) - self.limit).max(0.0)
    }

    fn make(&self, state: &mut PlanState, changes: &[(usize, u32)], score: f64) {
        for &(family, portions) in changes {
            let each = &self.problem.families[family];
            let by = f64::from(portions) - f64::from(state.portions[family]);
            for (plants, above) in state
                .plants
                .iter_mut()
                .zip(&self.problem.levels.above[family])
            {
                *plants = (*plants + by * above).max(0.0);
            }
            let plants = by * self.problem.weight(each);
            for parent in [each.female, each.male] {
                state.quadratic += plants * state.kx[parent]
                    + 0.25 * plants * plants * self.problem.kinship[(parent, parent)];
                state.x[parent] += 0.5 * plants;
                for (other, kx) in state.kx.iter_mut().enumerate() {
                    *kx += 0.5 * plants * self.problem.kinship[(other, parent)];
                }
            }
            state.sum += plants;
            for &(place, take) in &self.rooms_of[family] {
                let room = &self.problem.rooms[place];
                state.taken[place] +=
                    room.taken(take, portions) - room.taken(take, state.portions[family]);
            }
            let (was, is) = (state.portions[family] > 0, portions > 0);
            for &place in &self.counts_of[family] {
                state.made[place] = state.made[place] + u32::from(is) - u32::from(was);
            }
            state.portions[family] = portions;
        }
        state.score = score;
    }

    fn state(&self, portions: Vec<u32>, penalty: f64) -> PlanState {
        let problem = self.problem;
        let (x, sum) = problem.contributions(&portions);
        let kx: Vec<f64> = (0..x.len())
            .map(|i| (0..x.len()).map(|j| problem.kinship[(i, j)] * x[j]).sum())
            .collect();
        let quadratic = x.iter().zip(&kx).map(|(x, kx)| x * kx).sum();
        let made = problem.counts.iter().map(|count| {
            count
                .families
                .iter()
                .filter(|&&family| portions[family] > 0)
                .count() as u32
        });
        let mut state = PlanState {
            plants: problem.plants(&portions),
            taken: problem
                .rooms
                .iter()
                .map(|room| problem.taken(room, &portions))
                .collect(),
            made: made.collect(),
            portions,
            x,
            kx,
            sum,
            quadratic,
            score: 0.0,
        };
        state.score = self.score(&state, &[], penalty);
        if state.sum > 0.0 {
            let gain = problem.levels.gain(state.plants.iter().copied());
            state.score += gain;
        }
        state
    }
}
