//! From many at the start to few at the end, through stages whose rates aren't exactly known.
//!
//! Each of n starts passes all stages with the product p of their rates. Given the rates the count at the end is
//! binomial; the rates are Beta, one independent of the other, and shared by all starts. So
//!
//! > P(at least k) = ∫ P(Binomial(n, p) ≥ k) dF(p),
//!
//! F the distribution of a product of Betas. -ln p is a sum, so F is found by convolution on a grid of equal steps of
//! -ln p: each cell's mass goes to its edges so that its mean and its variance stay what they are, whether it lies evenly in
//! the cell or, as of rates next to 1, at its beginning. A stage narrower than a cell does no harm. What is left is an error
//! of the third order in the step, below 1e-5 of a chance.

use super::rate::Rate;
use statrs::function::beta::checked_beta_reg;

/// Cells of -ln p per unit.
const CELLS: f64 = 512.0;
/// Mass left out at each end of a stage.
const TAIL: f64 = 1e-10;
/// The rates below e⁻⁴⁰ are as good as none.
const FARTHEST: f64 = 40.0;

/// A rate known as from so many trials is taken as known exactly.
const KNOWN: f64 = 5e6;
/// What the grid may take from a chance.
const ROUNDING: f64 = 1e-6;

/// The chance to pass a row of stages, as a distribution.
#[derive(Clone, Debug, PartialEq)]
pub struct StageSurvival {
    /// Chances to pass, with the mass of each.
    points: Vec<(f64, f64)>,
}

impl StageSurvival {
    /// Through stages with these rates, one independent of the other; through none, all pass.
    pub fn through(stages: &[Rate]) -> Self {
        let grid = stages
            .iter()
            .fold(Grid::START, |grid, &stage| grid.after(stage));
        grid.survival()
    }

    /// Through none of the stages, through the first, through the first two, and so on to all.
    pub fn step_by_step(stages: &[Rate]) -> Vec<Self> {
        let mut grid = Grid::START;
        let mut survivals = vec![grid.survival()];
        for &stage in stages {
            grid = grid.after(stage);
            survivals.push(grid.survival());
        }
        survivals
    }

    /// The mean chance to pass.
    pub fn mean(&self) -> f64 {
        self.points.iter().map(|(chance, mass)| chance * mass).sum()
    }

    /// The chance to pass below which it lies with the chance `below`, 0 to 1.
    pub fn quantile(&self, below: f64) -> f64 {
        // Points fall: the least chance to pass is the last.
        let mut mass = 0.0;
        for &(chance, each) in self.points.iter().rev() {
            mass += each;
            if mass >= below {
                return chance;
            }
        }
        self.points.first().map_or(1.0, |point| point.0)
    }

    /// The chance that at least `wanted` of `starts` pass all stages.
    pub fn at_least(&self, wanted: u64, starts: u64) -> f64 {
        if wanted == 0 {
            return 1.0;
        }
        if wanted > starts {
            return 0.0;
        }
        let chance: f64 = self
            .points
            .iter()
            .map(|&(chance, mass)| mass * at_least(wanted, starts, chance))
            .sum();
        chance.clamp(0.0, 1.0)
    }

    /// The fewest starts of which at least `wanted` pass with at least this chance; `None` if `most` are too few. A chance
    /// that is reached exactly counts, whatever the last digits say.
    pub fn fewest(&self, wanted: u64, chance: f64, most: u64) -> Option<u64> {
        let enough = |starts: u64| self.at_least(wanted, starts) >= chance - ROUNDING;
        if !enough(most) {
            return None;
        }
        Some(first(wanted.min(most), most, enough))
    }

    /// The count at the end that is not exceeded with at least this chance.
    pub fn count_below(&self, chance: f64, starts: u64) -> u64 {
        first(0, starts, |count| {
            1.0 - self.at_least(count + 1, starts) >= chance
        })
    }
}

/// P(Binomial(n, p) ≥ k), by the incomplete beta function: exact.
pub fn at_least(wanted: u64, starts: u64, chance: f64) -> f64 {
    if wanted == 0 {
        return 1.0;
    }
    if wanted > starts || chance <= 0.0 {
        return 0.0;
    }
    if chance >= 1.0 {
        return 1.0;
    }
    let (wanted, starts) = (wanted as f64, starts as f64);
    checked_beta_reg(wanted, starts - wanted + 1.0, chance).unwrap_or(0.0)
}

/// The first of `low` to `high` that holds; what holds once holds further on, and does at `high`.
fn first(low: u64, high: u64, holds: impl Fn(u64) -> bool) -> u64 {
    let (mut low, mut high) = (low, high);
    // Small answers are the usual ones: double up to the first that holds before halving down.
    let (mut step, begin) = (1, low);
    while begin + step < high {
        if holds(begin + step) {
            high = begin + step;
            break;
        }
        low = begin + step + 1;
        step *= 2;
    }
    while low < high {
        let middle = low + (high - low) / 2;
        if holds(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

/// The sum of -ln p over the stages so far, on the grid.
struct Grid {
    /// The first cell with mass, and masses from there; none for a certain survival.
    first: f64,
    masses: Vec<f64>,
    /// How far the masses stand from the left edges of their cells.
    offset: f64,
}

impl Grid {
    const START: Self = Self {
        first: 0.0,
        masses: Vec::new(),
        offset: 0.0,
    };

    fn after(self, stage: Rate) -> Self {
        let cells = Cells::of(stage);
        let masses = if self.masses.is_empty() {
            cells.masses
        } else {
            convolved(&self.masses, &cells.masses)
        };
        // Tails that no chance depends on would only grow from stage to stage.
        let dropped = masses.iter().take_while(|mass| mass.abs() < 1e-15).count();
        let kept = masses
            .iter()
            .rposition(|mass| mass.abs() >= 1e-15)
            .map_or(0, |last| last + 1);
        Self {
            first: self.first + cells.first + dropped as f64,
            masses: masses[dropped.min(kept)..kept].to_vec(),
            offset: self.offset + cells.offset,
        }
    }

    fn survival(&self) -> StageSurvival {
        if self.masses.is_empty() {
            return StageSurvival {
                points: vec![(1.0, 1.0)],
            };
        }
        let loss = |cell: usize| (self.first + cell as f64) / CELLS + self.offset;
        let points = self
            .masses
            .iter()
            .enumerate()
            .filter(|(_, mass)| mass.abs() > 1e-14)
            .map(|(cell, mass)| ((-loss(cell)).exp().min(1.0), *mass))
            .collect();
        StageSurvival { points }
    }
}

/// One stage on the grid of -ln p.
struct Cells {
    /// The first edge with mass.
    first: f64,
    /// Masses on the edges of the cells. Of a narrow stage some are a little below 0.
    masses: Vec<f64>,
    /// How far the masses stand from the edges, so that the mean is exact.
    offset: f64,
}

/// Within a cell, its length being 1: the chance of it, and the first two moments about its beginning times that.
#[derive(Clone, Copy)]
struct Moments {
    mass: f64,
    first: f64,
    second: f64,
}

/// Places and weights of Gauss and Legendre on 0 to 1 (Abramowitz & Stegun 1964, table 25.4, five points, from memory).
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_5),
    (0.230_765_344_947_158_5, 0.239_314_335_249_683_2),
    (0.5, 0.284_444_444_444_444_4),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_2),
    (0.953_089_922_969_332, 0.118_463_442_528_094_5),
];
/// Stages of fewer cells, and so many cells next to a rate of 1, are integrated closely.
const FEW: usize = 48;
const NEXT_TO_ONE: usize = 12;

impl Moments {
    /// By parts: the moments are integrals of the chance to lie beyond.
    fn by_gauss(cell: f64, ends: [f64; 2], below: impl Fn(f64) -> f64) -> Self {
        let mut moments = Self {
            mass: ends[0] - ends[1],
            first: 0.0,
            second: 0.0,
        };
        // A density may rise without end next to a rate of 1, which is where the first cell begins.
        let mut pieces = vec![(0.0, 1.0)];
        if cell == 0.0 {
            pieces = (0..9)
                .map(|n| (10_f64.powi(-n - 1), 10_f64.powi(-n)))
                .collect();
            pieces.push((0.0, 1e-9));
        }
        for (from, to) in pieces {
            for (place, weight) in GAUSS {
                let t = from + place * (to - from);
                let beyond = weight * (to - from) * (below(cell + t) - ends[1]);
                moments.first += beyond;
                moments.second += 2.0 * t * beyond;
            }
        }
        moments
    }

    /// From the chances at the edges before, at both ends and behind, through which a cubic is laid.
    fn by_edges([before, start, end, behind]: [f64; 4]) -> Self {
        let whole = (13.0 * (start + end) - before - behind) / 24.0;
        let weighted =
            -7.0 / 360.0 * before + 11.0 / 60.0 * start + 43.0 / 120.0 * end - behind / 45.0;
        Self {
            mass: start - end,
            first: whole - end,
            second: 2.0 * weighted - end,
        }
    }
}

impl Cells {
    fn of(rate: Rate) -> Self {
        if rate.trials() >= KNOWN {
            return Self {
                first: 0.0,
                masses: vec![1.0],
                offset: rate.mean_log_loss(),
            };
        }
        let loss = |share: f64| -share.max(1e-300).ln();
        let near = loss(rate.quantile(1.0 - TAIL)) * CELLS;
        let far = loss(rate.quantile(TAIL)).min(FARTHEST) * CELLS;
        // Of a rate that is nearly known most is to lie on one edge: the edges are put where its mean is.
        let phase = if near > 2.0 && far - near < FEW as f64 {
            (rate.mean_log_loss() * CELLS).fract()
        } else {
            0.0
        };
        let nearest = phase + (near - phase).floor().max(0.0);
        let farthest = nearest + (far - nearest).ceil().max(1.0);
        let edge = |cell: f64| rate.below((-cell / CELLS).exp());
        let count = (farthest - nearest) as usize;
        let edges: Vec<f64> = (0..=count)
            .map(|cell| edge(nearest + cell as f64))
            .collect();
        let close = |cell: usize| {
            count < FEW || nearest == 0.0 && cell < NEXT_TO_ONE || cell == 0 || cell + 1 == count
        };
        // Each cell's mass goes to three edges, so that its mean and its variance stay what they are: to both ends and
        // the edge before, or, at a rate of 1, the one behind.
        let begin = (nearest - 1.0).max(0.0);
        let before = (nearest - begin) as usize;
        let mut masses = vec![0.0; count + 2 + before];
        for cell in 0..count {
            let at = nearest + cell as f64;
            let Moments {
                mass,
                first,
                second,
            } = if close(cell) {
                Moments::by_gauss(at, [edges[cell], edges[cell + 1]], edge)
            } else {
                Moments::by_edges([0, 1, 2, 3].map(|nth| edges[cell + nth - 1]))
            };
            if mass <= 0.0 {
                continue;
            }
            let place = cell + before;
            if place > 0 {
                masses[place - 1] += (second - first) / 2.0;
                masses[place] += mass - second;
                masses[place + 1] += f64::midpoint(second, first);
            } else {
                masses[place] += mass - 1.5 * first + 0.5 * second;
                masses[place + 1] += 2.0 * first - second;
                masses[place + 2] += (second - first) / 2.0;
            }
        }
        // A rate that may be next to nothing: what lies beyond the grid never passes, and has no place in the mean.
        let beyond = rate.below((-FARTHEST).exp());
        let cut = beyond > TAIL;
        let whole: f64 = if cut { 1.0 } else { masses.iter().sum() };
        for mass in &mut masses {
            *mass /= whole;
        }
        let mean: f64 = masses
            .iter()
            .enumerate()
            .map(|(edge, mass)| (begin + edge as f64) / CELLS * mass)
            .sum();
        Self {
            first: begin,
            masses,
            offset: if cut {
                0.0
            } else {
                rate.mean_log_loss() - mean
            },
        }
    }
}

fn convolved(one: &[f64], other: &[f64]) -> Vec<f64> {
    let mut sum = vec![0.0; one.len() + other.len() - 1];
    for (i, &mass) in one.iter().enumerate() {
        if mass.abs() < 1e-15 {
            continue;
        }
        for (place, &more) in sum[i..].iter_mut().zip(other) {
            *place += mass * more;
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::function::beta::ln_beta;
    use statrs::function::factorial::ln_binomial;

    /// The distribution of the count after one stage, given the counts before it: exact sums of beta-binomials.
    fn beta_binomial(before: &[f64], rate: Rate) -> Vec<f64> {
        let [a, b] = rate.parameters();
        let mut after = vec![0.0; before.len()];
        for (n, &mass) in before.iter().enumerate().filter(|(_, mass)| **mass > 0.0) {
            for (k, sum) in after.iter_mut().enumerate().take(n + 1) {
                let log = ln_binomial(n as u64, k as u64)
                    + ln_beta(a + k as f64, b + (n - k) as f64)
                    - ln_beta(a, b);
                *sum += mass * log.exp();
            }
        }
        after
    }

    /// Three stages by exact sums of beta-binomials, one after the other.
    #[test]
    fn a_row_of_stages_agrees_with_exact_sums() {
        let stages = [
            Rate::of_mean(0.8, 12.0),
            Rate::of_mean(0.62, 40.0),
            Rate::of_mean(0.12, 6.0),
        ];
        let starts = 150;
        let mut counts = vec![0.0; starts + 1];
        counts[starts] = 1.0;
        for rate in stages {
            counts = beta_binomial(&counts, rate);
        }
        let survival = StageSurvival::through(&stages);
        for wanted in [1, 2, 3, 8, 20, 40] {
            let exact: f64 = counts[wanted..].iter().sum();
            let found = survival.at_least(wanted as u64, starts as u64);
            assert!(
                (found - exact).abs() < 1e-6,
                "{wanted}: {found} and {exact}"
            );
        }
        let mean: f64 = stages.iter().map(|rate| rate.mean()).product();
        assert!((survival.mean() - mean).abs() < 1e-6);
    }

    /// A single record that says nearly 1: most rates lie closer to 1 than a step, the others far from it. One stage is a
    /// beta-binomial, exactly; and the mean is that of the rate.
    #[test]
    fn rates_that_are_nearly_one() {
        for (mean, trials) in [
            (0.99, 1.0),
            (0.97, 1.3),
            (0.9, 1.0),
            (0.6, 1.1),
            (0.99, 40.0),
        ] {
            let rate = Rate::of_mean(mean, trials);
            let survival = StageSurvival::through(&[rate]);
            assert!((survival.mean() - mean).abs() < 1e-6, "{mean} {trials}");
            let starts = 60;
            let mut counts = vec![0.0; starts + 1];
            counts[starts] = 1.0;
            let counts = beta_binomial(&counts, rate);
            for wanted in [1, 20, 50, 59, 60] {
                let exact: f64 = counts[wanted..].iter().sum();
                let found = survival.at_least(wanted as u64, starts as u64);
                assert!(
                    (found - exact).abs() < 1e-5,
                    "{mean} {wanted}: {found} {exact}"
                );
            }
        }
    }

    /// One stage is a beta-binomial; uniform, every count of n is as likely (n + 1 of them).
    #[test]
    fn one_unknown_rate_makes_every_count_alike() {
        let survival = StageSurvival::through(&[Rate::UNKNOWN]);
        for wanted in [1, 5, 20] {
            let expected = 1.0 - wanted as f64 / 21.0;
            assert!((survival.at_least(wanted, 20) - expected).abs() < 1e-5);
        }
        assert_eq!(
            survival.fewest(1, 0.95, 1000),
            Some(19),
            "n / (n + 1) ≥ 0.95"
        );
    }

    /// Rates known exactly: family sizes for at least one plant, ceil(ln(1 - P) / ln(1 - q)), and for several, Sedcole
    /// (1977), Crop Sci. 17:667-668.
    #[test]
    fn known_rates_give_the_published_family_sizes() {
        for (chance, share, wanted, expected) in [
            (0.95, 0.5, 1, 5),
            (0.95, 0.25, 1, 11),
            (0.95, 1.0 / 16.0, 1, 47),
            (0.95, 0.01, 1, 299),
            (0.99, 0.01, 1, 459),
            (0.95, 0.5, 5, 16),
            (0.95, 0.5, 10, 28),
            (0.95, 0.25, 5, 34),
        ] {
            let known = StageSurvival::through(&[Rate::of_mean(share, 1e7)]);
            assert_eq!(
                known.fewest(wanted, chance, 10_000),
                Some(expected),
                "{share}, {wanted}"
            );
        }
    }

    /// What isn't known costs seed: the product of averages promises more than there is.
    #[test]
    fn uncertain_rates_ask_for_more_than_their_averages() {
        let stages = [Rate::of_mean(0.5, 4.0), Rate::of_mean(0.3, 4.0)];
        let exact = StageSurvival::through(&stages.map(|rate| Rate::of_mean(rate.mean(), 1e7)));
        let uncertain = StageSurvival::through(&stages);
        let [few, many] = [exact, uncertain].map(|each| each.fewest(3, 0.9, 100_000).unwrap());
        assert!(many > 3 * few, "{few} and {many}");
        assert_eq!(StageSurvival::through(&[]).fewest(3, 0.9, 10), Some(3));
        assert_eq!(
            StageSurvival::through(&[Rate::of_mean(1e-6, 10.0)]).fewest(3, 0.9, 100),
            None
        );
    }

    #[test]
    fn counts_not_exceeded_go_with_their_chance() {
        let half = StageSurvival::through(&[Rate::of_mean(0.5, 1e7)]);
        // Binomial(10, 1/2): P(≤ 6) = 0.828, P(≤ 7) = 0.945.
        assert_eq!(half.count_below(0.9, 10), 7);
        assert_eq!(half.count_below(0.8, 10), 6);
    }
}
