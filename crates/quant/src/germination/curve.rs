//! The course of germination without a model: the share germinated by each look, from seeds that each came up some
//! time between two looks, or not by the last look at them.
//!
//! Turnbull (1976) Journal of the Royal Statistical Society B 38:290–295. Where every day of germination is known it is
//! the curve of Kaplan & Meier (1958) Journal of the American Statistical Association 53:457–481, and its standard
//! error that of Greenwood.

use super::Emergence;
use crate::proportion::{Interval, exact_interval, normal_quantile};
use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};

/// How far the masses may be from the best ones: none could gain more than this share of the likelihood's slope.
const TOLERANCE: f64 = 1e-9;
const MOST_ROUNDS: usize = 50_000;
/// A mass below this is none.
const NOTHING: f64 = 1e-8;

/// The share germinated over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Its rises, in order of time.
    pub steps: Vec<CurveStep>,
    /// The share not germinated by the end of the last look.
    pub rest: f64,
    /// How many seeds it rests on.
    pub seeds: u32,
}

/// A rise of the curve: where between its days is not known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveStep {
    /// Some time after this day,
    pub after: f64,
    /// and by this one,
    pub by: f64,
    /// this share of the seeds came up,
    pub mass: f64,
    /// so that by then this share was up in all.
    pub reached: f64,
    /// The standard error of the share reached; `None` where it is 0 or 1.
    pub standard_error: Option<f64>,
    /// The interval of the share reached, for this step alone.
    pub band: Interval,
}

impl Curve {
    /// The curve of some seeds, with a pointwise band at `level`. `None` without seeds.
    pub fn of(seeds: &[Emergence], level: f64) -> Option<Self> {
        let grid = Grid::of(seeds)?;
        let masses = grid.masses();
        let covariance = grid.covariance(&masses);
        let z = normal_quantile(f64::midpoint(1.0, level));
        let (mut steps, mut reached) = (Vec::new(), 0.0);
        for (at, &mass) in masses.iter().enumerate() {
            let (after, by) = grid.spans[at];
            if mass == 0.0 || by.is_infinite() {
                continue;
            }
            reached += mass;
            let inside = reached > NOTHING && reached < 1.0 - NOTHING;
            let standard_error = covariance
                .as_ref()
                .filter(|_| inside)
                .map(|covariance| covariance.up_to(at).max(0.0).sqrt());
            let band = match standard_error {
                Some(error) => {
                    let logit = (reached / (1.0 - reached)).ln();
                    let half = z * error / (reached * (1.0 - reached));
                    let share = |logit: f64| 1.0 / (1.0 + (-logit).exp());
                    Interval {
                        low: share(logit - half),
                        high: share(logit + half),
                    }
                }
                // All are up: what is left to chance is whether all of another sample would be.
                None => exact_interval(
                    (reached * grid.total).round() as u32,
                    grid.total as u32,
                    level,
                ),
            };
            steps.push(CurveStep {
                after,
                by,
                mass,
                reached: reached.min(1.0),
                standard_error,
                band,
            });
        }
        Some(Self {
            steps,
            rest: (1.0 - reached).max(0.0),
            seeds: grid.total as u32,
        })
    }

    /// The share germinated by a day: the curve rises at the end of each step.
    pub fn at(&self, day: f64) -> f64 {
        self.steps
            .iter()
            .take_while(|step| step.by <= day)
            .last()
            .map_or(0.0, |step| step.reached)
    }
}

/// The stretches of time that can hold mass, and which of them each group of seeds spans.
pub(super) struct Grid {
    /// `(after, by)` of each stretch; one day alone is after and by itself.
    pub(super) spans: Vec<(f64, f64)>,
    pub(super) groups: Vec<Spanning>,
    total: f64,
}

/// A group of seeds on the grid: it spans the stretches from `first` up to, not with, `last`.
pub(super) struct Spanning {
    pub(super) first: usize,
    pub(super) last: usize,
    pub(super) seeds: f64,
    /// Not up by the last look at it.
    pub(super) waiting: bool,
}

/// A moment in the order of time: on a day come first the left ends of seeds that came up on just that day, then the
/// right ends, then the left ends of seeds that came up after it.
type Event = (f64, i8);

fn ends(seeds: &Emergence) -> (Event, Event) {
    let left = if seeds.after == seeds.by { -1 } else { 1 };
    ((seeds.after, left), (seeds.by, 0))
}

impl Grid {
    pub(super) fn of(seeds: &[Emergence]) -> Option<Self> {
        let seeds: Vec<_> = seeds.iter().filter(|group| group.seeds > 0).collect();
        if seeds.is_empty() || seeds.iter().any(|group| !group.is_sound()) {
            return None;
        }
        let mut moments: Vec<(Event, bool)> = seeds
            .iter()
            .map(|group| ends(group))
            .flat_map(|(left, right)| [(left, true), (right, false)])
            .collect();
        let order = |one: Event, other: Event| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1));
        moments.sort_by(|one, other| order(one.0, other.0).then(one.1.cmp(&other.1)));
        // Only a left end with a right end next to it bounds a stretch where mass can lie.
        let spans: Vec<(Event, Event)> = moments
            .windows(2)
            .filter(|pair| pair[0].1 && !pair[1].1)
            .map(|pair| (pair[0].0, pair[1].0))
            .collect();
        let groups = seeds
            .iter()
            .map(|group| {
                let (left, right) = ends(group);
                Spanning {
                    first: spans.partition_point(|span| order(span.0, left).is_lt()),
                    last: spans.partition_point(|span| order(span.1, right).is_le()),
                    seeds: f64::from(group.seeds),
                    waiting: group.by.is_infinite(),
                }
            })
            .collect::<Vec<_>>();
        Some(Self {
            spans: spans
                .into_iter()
                .map(|(left, right)| (left.0, right.0))
                .collect(),
            total: groups.iter().map(|group| group.seeds).sum(),
            groups,
        })
    }

    /// The masses that make the seeds likeliest, by self-consistency: each round shares every group out over its
    /// stretches in proportion to their masses.
    pub(super) fn masses(&self) -> Vec<f64> {
        let size = self.spans.len();
        let mut masses = vec![1.0 / size as f64; size];
        for _ in 0..MOST_ROUNDS {
            let slopes = self.slopes(&masses);
            for (mass, slope) in masses.iter_mut().zip(&slopes) {
                *mass *= slope;
            }
            // At the top no slope is above 1, and those of masses are 1 (Gentleman & Geyer 1994, Biometrika 81:618–623).
            let steepest = slopes.iter().copied().fold(0.0, f64::max);
            let moving = slopes
                .iter()
                .zip(&masses)
                .any(|(slope, mass)| *mass > NOTHING && (slope - 1.0).abs() > TOLERANCE);
            if steepest < 1.0 + TOLERANCE && !moving {
                break;
            }
        }
        for mass in &mut masses {
            if *mass < NOTHING {
                *mass = 0.0;
            }
        }
        let total: f64 = masses.iter().sum();
        for mass in &mut masses {
            *mass /= total;
        }
        masses
    }

    /// How the likelihood rises with each mass, a seed.
    fn slopes(&self, masses: &[f64]) -> Vec<f64> {
        let sums = running_sums(masses);
        let mut steps = vec![0.0; masses.len() + 1];
        for group in &self.groups {
            let held = (sums[group.last] - sums[group.first]).max(f64::MIN_POSITIVE);
            let weight = group.seeds / held / self.total;
            steps[group.first] += weight;
            steps[group.last] -= weight;
        }
        let mut slope = 0.0;
        steps[..masses.len()]
            .iter()
            .map(|step| {
                slope += step;
                slope
            })
            .collect()
    }

    /// The covariance of the masses, from the curvature of the likelihood; `None` where it is flat.
    fn covariance(&self, masses: &[f64]) -> Option<Covariance> {
        // The masses sum to one: all but one are free.
        let held: Vec<usize> = (0..masses.len()).filter(|at| masses[*at] > 0.0).collect();
        let (&last, free) = held.split_last()?;
        if free.is_empty() {
            return None;
        }
        let sums = running_sums(masses);
        let mut information = Mat::<f64>::zeros(free.len(), free.len());
        for group in &self.groups {
            let spanned = group.first..group.last;
            let weight = group.seeds / (sums[spanned.end] - sums[spanned.start]).powi(2);
            let holds = |at: usize| f64::from(u8::from(spanned.contains(&at)));
            let base = holds(last);
            let slopes: Vec<f64> = free.iter().map(|at| holds(*at) - base).collect();
            for (row, one) in slopes.iter().enumerate() {
                for (column, other) in slopes.iter().enumerate() {
                    information[(row, column)] += weight * one * other;
                }
            }
        }
        let factor = information.llt(Side::Lower).ok()?;
        let inverse = factor.solve(Mat::<f64>::identity(free.len(), free.len()));
        Some(Covariance {
            free: free.to_vec(),
            last,
            inverse,
        })
    }
}

struct Covariance {
    free: Vec<usize>,
    last: usize,
    inverse: Mat<f64>,
}

impl Covariance {
    /// The variance of the sum of the masses up to and with this one.
    fn up_to(&self, at: usize) -> f64 {
        let base = f64::from(u8::from(self.last <= at));
        let parts: Vec<f64> = self
            .free
            .iter()
            .map(|each| f64::from(u8::from(*each <= at)) - base)
            .collect();
        parts
            .iter()
            .enumerate()
            .map(|(row, one)| {
                parts
                    .iter()
                    .enumerate()
                    .map(|(column, other)| one * other * self.inverse[(row, column)])
                    .sum::<f64>()
            })
            .sum()
    }
}

/// Sums of all before each place, one more than the values.
fn running_sums(values: &[f64]) -> Vec<f64> {
    let mut sums = vec![0.0];
    let mut sum = 0.0;
    for value in values {
        sum += value;
        sums.push(sum);
    }
    sums
}
