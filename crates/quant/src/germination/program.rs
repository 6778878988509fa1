//! What is still to come of one lot, learnt from the lots before it.
//!
//! Ten days of one lot can't tell seed that is slow from seed that never comes. Lots of one program can: each has a
//! share that comes, a median and a steepness of its own, around those of the program. The program's are found by
//! expectation-maximisation over its lots (empirical Bayes: Carlin & Louis 2000, *Bayes and Empirical Bayes Methods for
//! Data Analysis*), those of a lot are weighed by importance sampling (Robert & Casella 2004, *Monte Carlo Statistical
//! Methods*, ch. 14) over all three shapes of course, and what is to come is the chance of each count under all that
//! the lot may be. Points are always the same ones, so the answer is too.

use super::{Emergence, TimeDistribution};
use crate::chance::normal::quantile;

/// Logit of the share that comes, logarithm of the median day, logarithm of the steepness.
type Figures = [f64; 3];

/// Points that a lot's figures are weighed on, for each shape.
const POINTS: usize = 400;
/// How the likelihood is let in step by step while the points gather where it is high.
const TEMPERING: [f64; 5] = [0.05, 0.2, 0.6, 1.0, 1.0];
/// Points lie wider than what they are to cover.
const WIDER: f64 = 1.5;
/// How often the program's figures are fitted, and the lots weighed anew.
const ROUNDS: usize = 3;
const STEPS: usize = 25;

/// What is thought of lots before any was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beforehand {
    /// The middle of the share that comes.
    pub share: f64,
    /// The middle of the day by which half of it are up.
    pub median: f64,
    /// The middle of the steepness.
    pub steepness: f64,
}

/// Standard deviations between lots before any was seen: of the logit of the share, of the logarithms of the median and
/// the steepness. Wide, so that a few lots overrule them: common practice.
const SPREAD: Figures = [1.0, 0.4, 0.4];
/// How many lots the thoughts beforehand weigh as much as.
const WEIGHT: f64 = 1.0;

/// Lots of a program, as far as they are known.
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    mean: Figures,
    variance: Figures,
    /// How likely each shape of course is.
    shapes: [f64; 3],
    lots: usize,
}

impl Program {
    /// Learns from lots, whether closed or still waited for.
    pub fn of(lots: &[Vec<Emergence>], beforehand: Beforehand) -> Self {
        let centre = [
            logit(beforehand.share),
            beforehand.median.ln(),
            beforehand.steepness.ln(),
        ];
        let start = SPREAD.map(|spread| spread * spread);
        let mut program = Self {
            mean: centre,
            variance: start,
            shapes: [1.0 / 3.0; 3],
            lots: lots.len(),
        };
        for _ in 0..ROUNDS {
            let known: Vec<Lot> = lots.iter().map(|seeds| program.weigh(seeds)).collect();
            for _ in 0..STEPS {
                program = program.refitted(&known, centre, start);
            }
        }
        program
    }

    /// How many lots it was learnt from.
    pub fn lots(&self) -> usize {
        self.lots
    }

    /// The likelier figures of the program, the lots being what they are.
    fn refitted(&self, lots: &[Lot], centre: Figures, start: Figures) -> Self {
        let count = lots.len() as f64;
        let mut sums = [0.0; 3];
        let mut squares = [0.0; 3];
        let mut shapes = [1.0; 3];
        for lot in lots {
            let weights = lot.weights_under(self);
            for (point, weight) in lot.points.iter().zip(&weights) {
                shapes[point.shape] += weight;
                for place in 0..3 {
                    sums[place] += weight * point.figures[place];
                    squares[place] += weight * point.figures[place].powi(2);
                }
            }
        }
        let mut next = self.clone();
        let total: f64 = shapes.iter().sum();
        next.shapes = shapes.map(|each| each / total);
        for place in 0..3 {
            let mean = (WEIGHT * centre[place] + sums[place]) / (WEIGHT + count);
            let spread = squares[place] - 2.0 * mean * sums[place]
                + count * mean * mean
                + WEIGHT * (start[place] + (mean - centre[place]).powi(2));
            next.mean[place] = mean;
            next.variance[place] = (spread / (WEIGHT + count)).max(1e-4);
        }
        next
    }

    /// The logarithm of how likely a lot's figures and shape are in this program.
    fn log_density(&self, figures: &Figures, shape: usize) -> f64 {
        let normal: f64 = (0..3)
            .map(|place| {
                let away = figures[place] - self.mean[place];
                away * away / self.variance[place] + self.variance[place].ln()
            })
            .sum();
        self.shapes[shape].max(1e-12).ln() - 0.5 * normal
    }

    /// What a lot of the program may be, its counts being these.
    pub fn weigh(&self, seeds: &[Emergence]) -> Lot {
        let groups: Vec<Emergence> = seeds
            .iter()
            .copied()
            .filter(|each| each.seeds > 0)
            .collect();
        let points = (0..3)
            .flat_map(|shape| self.points_of(&groups, shape))
            .collect();
        Lot { points }
    }

    fn points_of(&self, groups: &[Emergence], shape: usize) -> Vec<Point> {
        let mut centre = self.mean;
        let mut root = [[0.0; 3]; 3];
        for (place, row) in root.iter_mut().enumerate() {
            row[place] = self.variance[place].sqrt() * WIDER;
        }
        let mut points = Vec::new();
        for tempering in TEMPERING {
            points = (0..POINTS)
                .map(|nth| {
                    let normal = normal_point(nth);
                    let mut figures = centre;
                    for (row, figure) in figures.iter_mut().enumerate() {
                        *figure += (0..=row).map(|c| root[row][c] * normal[c]).sum::<f64>();
                    }
                    let drawn = -0.5 * normal.iter().map(|z| z * z).sum::<f64>()
                        - (0..3).map(|place| root[place][place].ln()).sum::<f64>();
                    Point {
                        shape,
                        figures,
                        log_likelihood: log_likelihood(
                            groups,
                            TimeDistribution::ALL[shape],
                            &figures,
                        ),
                        drawn,
                    }
                })
                .collect();
            let weights = normalized(points.iter().map(|point| {
                tempering * point.log_likelihood + self.log_density(&point.figures, shape)
                    - point.drawn
            }));
            (centre, root) = gathered(&points, &weights);
        }
        points
    }
}

/// What one lot may be.
#[derive(Debug, Clone)]
pub struct Lot {
    points: Vec<Point>,
}

#[derive(Debug, Clone)]
struct Point {
    shape: usize,
    figures: Figures,
    log_likelihood: f64,
    /// The logarithm of the density it was drawn with.
    drawn: f64,
}

impl Lot {
    fn weights_under(&self, program: &Program) -> Vec<f64> {
        normalized(self.points.iter().map(|point| {
            point.log_likelihood + program.log_density(&point.figures, point.shape) - point.drawn
        }))
    }

    /// The chance of each number still to come, from none to all of `waiting` seeds last looked at on day `looked`: those
    /// that come after day `from` and by day `until`.
    pub fn still_to_come(
        &self,
        program: &Program,
        waiting: u32,
        looked: f64,
        from: f64,
        until: f64,
    ) -> ToCome {
        let mut chances = vec![0.0; waiting as usize + 1];
        for (point, weight) in self.points.iter().zip(self.weights_under(program)) {
            if weight < 1e-9 {
                continue;
            }
            let up = |day| up_by(TimeDistribution::ALL[point.shape], &point.figures, day);
            let left = (1.0 - up(looked)).max(1e-12);
            let share = ((up(until.max(looked)) - up(from.max(looked))) / left).clamp(0.0, 1.0);
            add_binomial(&mut chances, share, weight);
        }
        ToCome { chances }
    }
}

/// How many are still to come: the chance of each number.
#[derive(Debug, Clone, PartialEq)]
pub struct ToCome {
    chances: Vec<f64>,
}

impl ToCome {
    /// Nothing is to come.
    pub fn none() -> Self {
        Self { chances: vec![1.0] }
    }

    /// These and others, which come independently.
    #[must_use]
    pub fn and(&self, others: &Self) -> Self {
        let mut chances = vec![0.0; self.chances.len() + others.chances.len() - 1];
        for (number, chance) in self.chances.iter().enumerate() {
            for (other, also) in others.chances.iter().enumerate() {
                chances[number + other] += chance * also;
            }
        }
        Self { chances }
    }

    /// The number expected.
    pub fn mean(&self) -> f64 {
        (0..)
            .zip(&self.chances)
            .map(|(n, p)| f64::from(n) * p)
            .sum()
    }

    /// The chance of at most so many.
    pub fn at_most(&self, number: u32) -> f64 {
        self.chances.iter().take(number as usize + 1).sum()
    }

    /// The fewest and the most that may well come. An end is put where the chance beyond it and half of its own reach the
    /// tail (mid-P: Lancaster 1961, Journal of the American Statistical Association 56:223–234), so that intervals of
    /// counts cover about as often as they say, not always more.
    pub fn interval(&self, level: f64) -> (u32, u32) {
        let tail = (1.0 - level) / 2.0;
        let end = |chances: &mut dyn Iterator<Item = f64>| {
            let mut beyond = 0.0;
            let mut inside = 0;
            for chance in chances {
                if beyond + 0.5 * chance >= tail {
                    break;
                }
                beyond += chance;
                inside += 1;
            }
            inside
        };
        let low = end(&mut self.chances.iter().copied());
        let high = end(&mut self.chances.iter().rev().copied());
        let most = self.chances.len() as u32 - 1;
        (low.min(most), most.saturating_sub(high))
    }
}

fn logit(share: f64) -> f64 {
    (share / (1.0 - share)).ln()
}

fn up_by(course: TimeDistribution, figures: &Figures, day: f64) -> f64 {
    let share = 1.0 / (1.0 + (-figures[0]).exp());
    share * course.up_by(day, figures[1].exp(), figures[2].exp())
}

fn log_likelihood(groups: &[Emergence], course: TimeDistribution, figures: &Figures) -> f64 {
    groups
        .iter()
        .map(|group| {
            let before = up_by(course, figures, group.after);
            let chance = if group.by.is_infinite() {
                1.0 - before
            } else {
                up_by(course, figures, group.by) - before
            };
            f64::from(group.seeds) * chance.max(1e-300).ln()
        })
        .sum()
}

/// Weights from their logarithms, summing to one.
fn normalized(logarithms: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut weights: Vec<f64> = logarithms.collect();
    let highest = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut sum = 0.0;
    for weight in &mut weights {
        *weight = (*weight - highest).exp();
        sum += *weight;
    }
    for weight in &mut weights {
        *weight /= sum;
    }
    weights
}

/// Where weighted points lie, and the root of a somewhat wider scatter.
fn gathered(points: &[Point], weights: &[f64]) -> (Figures, [Figures; 3]) {
    let mut mean = [0.0; 3];
    for (point, weight) in points.iter().zip(weights) {
        for (mean, figure) in mean.iter_mut().zip(&point.figures) {
            *mean += weight * figure;
        }
    }
    let mut scatter = [[0.0; 3]; 3];
    for (point, weight) in points.iter().zip(weights) {
        for row in 0..3 {
            for column in 0..=row {
                scatter[row][column] += WIDER
                    * weight
                    * (point.figures[row] - mean[row])
                    * (point.figures[column] - mean[column]);
            }
        }
    }
    let mut root = [[0.0; 3]; 3];
    for row in 0..3 {
        for column in 0..=row {
            let before: f64 = (0..column).map(|k| root[row][k] * root[column][k]).sum();
            root[row][column] = if row == column {
                (scatter[row][row] - before).max(1e-8).sqrt()
            } else {
                (scatter[row][column] - before) / root[column][column]
            };
        }
    }
    (mean, root)
}

/// Points spread evenly over a normal distribution in three dimensions: the additive sequence of Roberts (2018), *The
/// unreasonable effectiveness of quasirandom sequences*, through the normal quantile.
fn normal_point(nth: usize) -> Figures {
    const ROOT: f64 = 1.220_744_084_605_759_5;
    let mut step = 1.0;
    std::array::from_fn(|_| {
        step /= ROOT;
        let place: f64 = 0.5 + step * (nth + 1) as f64;
        quantile(place.fract().clamp(1e-9, 1.0 - 1e-9))
    })
}

/// Adds `weight` times the chances of a binomial number.
fn add_binomial(chances: &mut [f64], share: f64, weight: f64) {
    let seeds = chances.len() - 1;
    if share <= 0.0 {
        chances[0] += weight;
        return;
    }
    if share >= 1.0 {
        chances[seeds] += weight;
        return;
    }
    let odds = (share / (1.0 - share)).ln();
    let mut log = seeds as f64 * (-share).ln_1p();
    for (number, chance) in chances.iter_mut().enumerate() {
        *chance += weight * log.exp();
        log += ((seeds - number) as f64 / (number + 1) as f64).ln() + odds;
    }
}
