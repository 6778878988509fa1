//! What is still to come of one lot, learnt from the lots before it.
//!
//! Ten days of one lot can't tell seed that is slow from seed that never comes. Lots of one program can: each has a
//! share that comes, a median and a steepness of its own, around those of the program for seed of its age. The program's
//! are found by expectation-maximisation over its lots (empirical Bayes: Carlin & Louis 2000, *Bayes and Empirical Bayes
//! Methods for Data Analysis*), those of a lot are weighed by importance sampling (Robert & Casella 2004, *Monte Carlo
//! Statistical Methods*, ch. 14) over all shapes of course, and what is to come is the chance of each count under all
//! that the lot may be. Points are always the same ones, so the answer is too.
//!
//! Seed may also come in two flushes, part of it in a second one later on: a mixture of two log-normal courses of one
//! steepness. Halfway between the flushes such a lot looks done, and only other lots tell that it isn't.

use super::{Emergence, TimeDistribution};
use crate::chance::normal::quantile;
use statrs::function::gamma::ln_gamma;
use std::sync::LazyLock;

/// Logit of the share that comes, logarithm of the median day, logarithm of the steepness; of two flushes also the logit
/// of the part that comes in the second, and the logarithm of how many times later its median is.
type Figures = [f64; 5];

/// Points that a lot's figures are weighed on, for each shape; twice as many for two flushes.
const POINTS: usize = 400;
/// How the likelihood is let in step by step while the points gather where it is high.
const TEMPERING: [f64; 5] = [0.05, 0.2, 0.6, 1.0, 1.0];
/// Points lie wider than what they are to cover.
const WIDER: f64 = 1.5;
/// How often the program's figures are fitted, and the lots weighed anew.
const ROUNDS: usize = 3;
const STEPS: usize = 25;

/// The shape of a lot's course.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Course {
    One(TimeDistribution),
    TwoFlushes,
}

/// Every shape.
const COURSES: [Course; 4] = [
    Course::One(TimeDistribution::LogLogistic),
    Course::One(TimeDistribution::LogNormal),
    Course::One(TimeDistribution::Weibull),
    Course::TwoFlushes,
];

impl Course {
    /// How many of the figures it has.
    const fn figures(self) -> usize {
        match self {
            Self::One(_) => 3,
            Self::TwoFlushes => 5,
        }
    }

    /// The part of all seeds that are up by a day.
    fn up_by(self, figures: &Figures, day: f64) -> f64 {
        let part = |logit: f64| 1.0 / (1.0 + (-logit).exp());
        let (median, steepness) = (figures[1].exp(), figures[2].exp());
        let of_those_that_come = match self {
            Self::One(shape) => shape.up_by(day, median, steepness),
            Self::TwoFlushes => {
                let flush = |median| TimeDistribution::LogNormal.up_by(day, median, steepness);
                let second = part(figures[3]);
                (1.0 - second) * flush(median) + second * flush(median * figures[4].exp())
            }
        };
        part(figures[0]) * of_those_that_come
    }
}

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

/// Standard deviations between lots before any was seen, figure by figure. Wide, so that a few lots overrule them: common
/// practice.
const SPREAD: Figures = [1.0, 0.4, 0.4, 1.0, 0.4];
/// The middle of the part in a second flush, a third, and of how many times later it comes, twice. Our own rule.
const SECOND_FLUSH: [f64; 2] = [-std::f64::consts::LN_2, std::f64::consts::LN_2];
/// How many lots the thoughts beforehand weigh as much as.
const WEIGHT: f64 = 1.0;
/// How many lots of each shape are thought of beforehand.
const SHAPE_WEIGHT: f64 = 0.5;
/// How many lots, a year of age from the others, the thought weighs as much as that age makes no difference.
const AGELESS: f64 = 2.0;

/// Seed of which something is known: what came when, and how old it was.
#[derive(Debug, Clone, PartialEq)]
pub struct AgedSeed {
    /// What is known of each seed.
    pub seeds: Vec<Emergence>,
    /// Years from harvest to warmth; `None` where the harvest isn't known, and then as of middling age.
    pub age: Option<f64>,
}

/// Lots of a program, as far as they are known.
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    mean: Figures,
    /// What a year of age adds to each figure.
    by_age: Figures,
    variance: Figures,
    /// How likely each shape of course is.
    shapes: [f64; COURSES.len()],
    /// The mean age of its lots, years.
    middling_age: f64,
    /// Of how many lots each figure was learnt, the thoughts beforehand among them; none while it is being fitted, when
    /// figures are taken as if they were known.
    learnt_of: Option<Figures>,
    /// Twice the logarithm of what a Student density of so many degrees has in its middle, of what a normal one has.
    student: Figures,
    /// What is known of the effect of age, in lots times years squared.
    learnt_of_age: Figures,
}

impl Program {
    /// Learns from lots, whether closed or still waited for.
    pub fn of(lots: &[AgedSeed], beforehand: Beforehand) -> Self {
        let centre = [
            logit(beforehand.share),
            beforehand.median.ln(),
            beforehand.steepness.ln(),
            SECOND_FLUSH[0],
            SECOND_FLUSH[1],
        ];
        let start = SPREAD.map(|spread| spread * spread);
        let (sum, count) = lots
            .iter()
            .filter_map(|lot| lot.age)
            .fold((0.0, 0.0), |(sum, count), age| (sum + age, count + 1.0));
        let mut program = Self {
            mean: centre,
            by_age: [0.0; 5],
            variance: start,
            shapes: [1.0 / COURSES.len() as f64; COURSES.len()],
            middling_age: if count > 0.0 { sum / count } else { 0.0 },
            learnt_of: None,
            student: [0.0; 5],
            learnt_of_age: [AGELESS; 5],
        };
        let mut sums = [Sums::default(); 5];
        for _ in 0..ROUNDS {
            let known: Vec<Lot> = lots.iter().map(|lot| program.weigh(lot)).collect();
            for _ in 0..STEPS {
                (program, sums) = program.refitted(&known, centre, start);
            }
        }
        program.learnt_of = Some(sums.map(|sum| WEIGHT + sum.count));
        program.student = sums.map(|sum| {
            let lots = WEIGHT + sum.count;
            2.0 * (ln_gamma(0.5 * (lots + 1.0)) - ln_gamma(0.5 * lots)) - (0.5 * lots).ln()
        });
        program.learnt_of_age = sums.map(|sum| AGELESS + sum.age_squared);
        program
    }

    /// The likelier figures of the program, the lots being what they are.
    fn refitted(&self, lots: &[Lot], centre: Figures, start: Figures) -> (Self, [Sums; 5]) {
        // Of each figure: how many lots have it, its sums and squares, and the same with age.
        let mut sums = [Sums::default(); 5];
        let mut shapes = [SHAPE_WEIGHT; COURSES.len()];
        for lot in lots {
            let mut of_lot = [Sums::default(); 5];
            for (point, weight) in lot.points.iter().zip(lot.weights_under(self)) {
                shapes[point.shape] += weight;
                let has = COURSES[point.shape].figures();
                for (sum, figure) in of_lot.iter_mut().zip(&point.figures).take(has) {
                    sum.add(weight, *figure, lot.older);
                }
            }
            for (sum, of_lot) in sums.iter_mut().zip(&of_lot) {
                sum.join(of_lot);
            }
        }
        let mut next = self.clone();
        let total: f64 = shapes.iter().sum();
        next.shapes = shapes.map(|each| each / total);
        for (place, sum) in sums.iter().enumerate() {
            let slope = self.by_age[place];
            let mean =
                (WEIGHT * centre[place] + sum.figure - slope * sum.age) / (WEIGHT + sum.count);
            let slope = (sum.figure_by_age - mean * sum.age) / (AGELESS + sum.age_squared);
            let spread = sum.around(mean, slope)
                + WEIGHT * (start[place] + (mean - centre[place]).powi(2))
                + AGELESS * slope * slope;
            next.mean[place] = mean;
            next.by_age[place] = slope;
            next.variance[place] = (spread / (WEIGHT + sum.count)).max(1e-4);
        }
        (next, sums)
    }

    /// The middle of the figures of lots older than the middling one by so many years.
    fn middle(&self, older: f64) -> Figures {
        std::array::from_fn(|place| self.mean[place] + self.by_age[place] * older)
    }

    /// By what factor a year of age changes the odds of a seed to come, and the day by which half of those that come are
    /// up.
    pub fn by_year_of_age(&self) -> [f64; 2] {
        [self.by_age[0].exp(), self.by_age[1].exp()]
    }

    /// The logarithm of how likely a lot's figures and shape are in this program.
    ///
    /// Once it is learnt, its own mean and variance are known only as well as its lots tell them: the figures of another
    /// lot are then of a Student distribution, the wider the fewer lots there were and the further its age is from theirs
    /// (Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., section 3.2).
    fn log_density(&self, point: &Point, older: f64) -> f64 {
        let middle = self.middle(older);
        let figures = 0..COURSES[point.shape].figures();
        let each = figures.map(|place| {
            let away = point.figures[place] - middle[place];
            let Some(lots) = self.learnt_of.map(|lots| lots[place]) else {
                return away * away / self.variance[place] + self.variance[place].ln();
            };
            let wider = 1.0 + 1.0 / lots + older * older / self.learnt_of_age[place];
            let variance = self.variance[place] * wider;
            (lots + 1.0) * (away * away / (variance * lots)).ln_1p() + variance.ln()
                - self.student[place]
        });
        self.shapes[point.shape].max(1e-12).ln() - 0.5 * each.sum::<f64>()
    }

    /// What a lot of the program may be, its counts being these.
    pub fn weigh(&self, lot: &AgedSeed) -> Lot {
        let looks = Looks::of(&lot.seeds);
        let older = lot.age.map_or(0.0, |age| age - self.middling_age);
        let points = (0..COURSES.len())
            .flat_map(|shape| self.points_of(&looks, shape, older))
            .collect();
        Lot { points, older }
    }

    fn points_of(&self, looks: &Looks, shape: usize, older: f64) -> Vec<Point> {
        let course = COURSES[shape];
        let has = course.figures();
        let mut centre = self.middle(older);
        let mut root = [[0.0; 5]; 5];
        for (place, row) in root.iter_mut().enumerate() {
            row[place] = self.variance[place].sqrt() * WIDER;
        }
        let spread = if has == 3 { &*IN_THREE } else { &*IN_FIVE };
        let count = spread.len();
        let mut ups = Vec::new();
        let mut points = Vec::new();
        for tempering in TEMPERING {
            points = spread
                .iter()
                .map(|normal| {
                    let mut figures = centre;
                    for (row, figure) in figures.iter_mut().enumerate().take(has) {
                        *figure += (0..=row).map(|c| root[row][c] * normal[c]).sum::<f64>();
                    }
                    let drawn = -0.5 * normal.iter().take(has).map(|z| z * z).sum::<f64>()
                        - (0..has).map(|place| root[place][place].ln()).sum::<f64>();
                    Point {
                        shape,
                        figures,
                        log_likelihood: looks.log_likelihood(course, &figures, &mut ups),
                        drawn: drawn + (count as f64).ln(),
                    }
                })
                .collect();
            let weights = normalized(points.iter().map(|point| {
                tempering * point.log_likelihood + self.log_density(point, older) - point.drawn
            }));
            gather(&points, &weights, has, &mut centre, &mut root);
        }
        points
    }
}

/// Sums over lots from which a figure's line over age is found.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    count: f64,
    figure: f64,
    square: f64,
    age: f64,
    age_squared: f64,
    figure_by_age: f64,
}

impl Sums {
    fn add(&mut self, weight: f64, figure: f64, age: f64) {
        self.count += weight;
        self.figure += weight * figure;
        self.square += weight * figure * figure;
        self.age += weight * age;
        self.age_squared += weight * age * age;
        self.figure_by_age += weight * figure * age;
    }

    fn join(&mut self, other: &Self) {
        self.count += other.count;
        self.figure += other.figure;
        self.square += other.square;
        self.age += other.age;
        self.age_squared += other.age_squared;
        self.figure_by_age += other.figure_by_age;
    }

    /// The sum of squares around a line.
    fn around(&self, mean: f64, slope: f64) -> f64 {
        self.square - 2.0 * mean * self.figure - 2.0 * slope * self.figure_by_age
            + mean * mean * self.count
            + 2.0 * mean * slope * self.age
            + slope * slope * self.age_squared
    }
}

/// What one lot may be.
#[derive(Debug, Clone)]
pub struct Lot {
    points: Vec<Point>,
    /// Years that it is older than the middling lot of the program.
    older: f64,
}

#[derive(Debug, Clone)]
struct Point {
    shape: usize,
    figures: Figures,
    log_likelihood: f64,
    /// The logarithm of the density it was drawn with, times the number of points of its shape.
    drawn: f64,
}

impl Lot {
    fn weights_under(&self, program: &Program) -> Vec<f64> {
        normalized(self.points.iter().map(|point| {
            point.log_likelihood + program.log_density(point, self.older) - point.drawn
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
            let up = |day| COURSES[point.shape].up_by(&point.figures, day);
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

/// Seeds between days, each day once: a course is worked out once for each.
struct Looks {
    days: Vec<f64>,
    /// For each group the places of its days, the last one of none for seed not up, and how many seeds.
    groups: Vec<(usize, Option<usize>, f64)>,
}

impl Looks {
    fn of(seeds: &[Emergence]) -> Self {
        let groups = || seeds.iter().filter(|group| group.seeds > 0);
        let mut days: Vec<f64> = groups()
            .flat_map(|group| [group.after, group.by])
            .filter(|day| day.is_finite())
            .collect();
        days.sort_by(f64::total_cmp);
        days.dedup();
        let place = |day: f64| days.partition_point(|other| *other < day);
        let groups = groups()
            .map(|group| {
                let by = group.by.is_finite().then(|| place(group.by));
                (place(group.after), by, f64::from(group.seeds))
            })
            .collect();
        Self { days, groups }
    }

    fn log_likelihood(&self, course: Course, figures: &Figures, ups: &mut Vec<f64>) -> f64 {
        ups.clear();
        ups.extend(self.days.iter().map(|day| course.up_by(figures, *day)));
        let of_group = |&(after, by, seeds): &(usize, Option<usize>, f64)| {
            let chance = by.map_or(1.0, |by| ups[by]) - ups[after];
            seeds * chance.max(1e-300).ln()
        };
        self.groups.iter().map(of_group).sum()
    }
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

/// Moves the centre to where weighted points lie, and the root to that of a somewhat wider scatter.
fn gather(
    points: &[Point],
    weights: &[f64],
    has: usize,
    centre: &mut Figures,
    root: &mut [Figures; 5],
) {
    let mut mean = [0.0; 5];
    for (point, weight) in points.iter().zip(weights) {
        for (mean, figure) in mean.iter_mut().zip(&point.figures) {
            *mean += weight * figure;
        }
    }
    let mut scatter = [[0.0; 5]; 5];
    for (point, weight) in points.iter().zip(weights) {
        for row in 0..has {
            for column in 0..=row {
                scatter[row][column] += WIDER
                    * weight
                    * (point.figures[row] - mean[row])
                    * (point.figures[column] - mean[column]);
            }
        }
    }
    *centre = mean;
    for row in 0..has {
        for column in 0..=row {
            let before: f64 = (0..column).map(|k| root[row][k] * root[column][k]).sum();
            root[row][column] = if row == column {
                (scatter[row][row] - before).max(1e-8).sqrt()
            } else {
                (scatter[row][column] - before) / root[column][column]
            };
        }
    }
}

static IN_THREE: LazyLock<Vec<Figures>> =
    LazyLock::new(|| (0..POINTS).map(|nth| normal_point(nth, 3)).collect());
static IN_FIVE: LazyLock<Vec<Figures>> =
    LazyLock::new(|| (0..2 * POINTS).map(|nth| normal_point(nth, 5)).collect());

/// Points spread evenly over a normal distribution in 3 or 5 dimensions: the additive sequence of Roberts (2018), *The
/// unreasonable effectiveness of quasirandom sequences*, through the normal quantile. Its step is the root of
/// x^(d + 1) = x + 1.
fn normal_point(nth: usize, dimensions: usize) -> Figures {
    let root: f64 = if dimensions == 3 {
        1.220_744_084_605_759_5
    } else {
        1.134_724_138_401_519_4
    };
    let mut step = 1.0;
    std::array::from_fn(|place| {
        if place >= dimensions {
            return 0.0;
        }
        step /= root;
        let point: f64 = 0.5 + step * (nth + 1) as f64;
        quantile(point.fract().clamp(1e-9, 1.0 - 1e-9))
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
