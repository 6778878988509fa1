//! The chance that all families of a plan together bring enough good plants.
//!
//! A seed becomes a good plant if it passes every stage from the cold to the flower and its values reach every
//! threshold. Given all that isn't known, the plants of a family are good independently of one another, so that their
//! number is binomial, and the sum over the families the convolution of these. What isn't known is shared: all seed of a
//! family has its stages' rates, and all families of a parent have that parent's error. Both are drawn at the same
//! stratified points every time ([`crate::chance::stratified`]), and the chance is the mean over these. Two plans that
//! share a parent fail together; the mean over points keeps that, where a product of families' chances would not.

use crate::chance::normal::{above, below, quantile};
use crate::chance::{StageSurvival, stratified};
use crate::evaluation::Covariance;
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

/// Points that all that isn't known is drawn at: errors of a chance near 0.9 are below a hundredth.
const POINTS: usize = 512;
/// Points within a family, where several thresholds must be reached together.
const WITHIN: usize = 24;
/// More good plants than these are counted as a normal number, not one by one.
const COUNTED: u32 = 200;

/// What makes a family's plants good.
#[derive(Debug, Clone, PartialEq)]
pub struct FamilyGoal {
    /// The two parents, indices into [`GoodPlants::new`]'s errors.
    pub parents: [usize; 2],
    /// How much of a parent's value, and of its error, its seedlings get: 1/2 of diploids.
    pub transmitted: [f64; 2],
    /// For each threshold, how far the family's expected mean lies above it.
    pub margins: Vec<f64>,
    /// Share of the genetic variance that is left within the family.
    pub mendelian: f64,
    /// From seed to a grown plant of the right sex.
    pub survival: Arc<StageSurvival>,
}

/// The thresholds, and what isn't known of the parents.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertainty {
    /// What each trait counts in the sum that a threshold is set for: one row a threshold.
    pub thresholds: Vec<Vec<f64>>,
    /// Covariances of breeding values between the sums of the thresholds.
    pub genetic: Covariance,
    /// What the sums vary by beside breeding values: nothing for a threshold that the plant itself must reach, the rest
    /// of a single record for one that the record must reach.
    pub beside: Covariance,
    /// Correlations of breeding values between the traits.
    pub correlations: Covariance,
    /// Covariances of the errors of the parents' breeding values, a matrix a trait: what isn't known of the level of the
    /// trait or of its heritability, they share.
    pub errors: Vec<Covariance>,
}

impl Uncertainty {
    /// No threshold.
    pub fn none() -> Self {
        Self {
            thresholds: Vec::new(),
            genetic: Covariance::zeros(0),
            beside: Covariance::zeros(0),
            correlations: Covariance::zeros(0),
            errors: Vec::new(),
        }
    }
}

/// How many good plants the families of a plan bring, in chances.
#[derive(Debug, Clone)]
pub struct GoodPlants {
    wanted: u32,
    families: Vec<FamilyGoal>,
    /// For each parent, what its error does to each threshold's sum at each point.
    shifts: Vec<Vec<Vec<f64>>>,
    /// Roots of the covariances of the thresholds' sums within a family, lower left, by the bits of the share of the
    /// genetic variance that is left in it.
    roots: BTreeMap<u64, Vec<Vec<f64>>>,
    within: Vec<Vec<f64>>,
    /// For each family, the chance that a seed becomes a good plant at each point; calculated when first needed.
    chances: Vec<OnceLock<Vec<f64>>>,
}

impl GoodPlants {
    /// For at least `wanted` good plants, 1 or more.
    pub fn new(wanted: u32, families: Vec<FamilyGoal>, uncertainty: &Uncertainty) -> Self {
        let shifts = shifts(uncertainty);
        let count = uncertainty.thresholds.len();
        let mut roots = BTreeMap::new();
        for family in &families {
            let share = family.mendelian.max(0.0);
            roots.entry(family.mendelian.to_bits()).or_insert_with(|| {
                let mut within = uncertainty.genetic.clone();
                for row in 0..count {
                    for column in 0..=row {
                        let genetic = share * uncertainty.genetic.get(row, column);
                        within.set(row, column, genetic + uncertainty.beside.get(row, column));
                    }
                }
                root_of(&within)
            });
        }
        Self {
            wanted: wanted.max(1),
            chances: families.iter().map(|_| OnceLock::new()).collect(),
            families,
            shifts,
            roots,
            within: (1..count.max(1))
                .map(|axis| stratified(1_000_003 + axis as u64, WITHIN))
                .collect(),
        }
    }

    /// The chance of enough good plants from so many seeds of each family, each family once.
    pub fn chance(&self, seeds: &[(usize, u32)]) -> f64 {
        let made: Vec<(&[f64], u32)> = seeds
            .iter()
            .filter(|each| each.1 > 0)
            .map(|&(family, seeds)| (self.of_family(family), seeds))
            .collect();
        let at = |point: usize| {
            let each = made.iter().map(|&(chances, seeds)| (chances[point], seeds));
            if self.wanted > COUNTED {
                self.enough_of_many(each)
            } else {
                self.enough(each)
            }
        };
        (0..POINTS).map(at).sum::<f64>() / POINTS as f64
    }

    /// The same quickly, for a search: good plants of all families are taken as one Poisson number. Below the true
    /// chance where that is high, and near it where good plants are rare among seeds.
    pub(super) fn quick_chance(&self, expected: &[f64]) -> f64 {
        let enough = |mean: f64| {
            if self.wanted > COUNTED || mean > 600.0 {
                return above((f64::from(self.wanted) - 0.5 - mean) / mean.sqrt().max(1e-9));
            }
            let mut chance = (-mean).exp();
            let mut fewer = 0.0;
            for count in 0..self.wanted {
                fewer += chance;
                chance *= mean / f64::from(count + 1);
            }
            (1.0 - fewer).max(0.0)
        };
        expected.iter().copied().map(enough).sum::<f64>() / expected.len() as f64
    }

    /// Good plants expected at each point.
    pub(super) fn expected(&self, seeds: impl Iterator<Item = (usize, u32)>) -> Vec<f64> {
        let mut expected = vec![0.0; POINTS];
        for (family, seeds) in seeds.filter(|each| each.1 > 0) {
            self.add(&mut expected, family, f64::from(seeds));
        }
        expected
    }

    /// Adds what so many seeds of a family bring, or takes it away below 0.
    pub(super) fn add(&self, expected: &mut [f64], family: usize, seeds: f64) {
        for (sum, chance) in expected.iter_mut().zip(self.of_family(family)) {
            *sum = (*sum + seeds * chance).max(0.0);
        }
    }

    /// The chance that a seed of a family becomes a good plant, at each point.
    fn of_family(&self, family: usize) -> &[f64] {
        self.chances[family].get_or_init(|| {
            let each = &self.families[family];
            let rates = stratified(2 * family as u64 + 1, POINTS);
            (0..POINTS)
                .map(|point| each.survival.quantile(rates[point]) * self.reaches(each, point))
                .collect()
        })
    }

    /// The chance that a plant of a family reaches all thresholds, its parents' errors being those of a point: one
    /// threshold after the other, given those before (Genz 1992, J. Comput. Graph. Stat. 1:141–149).
    fn reaches(&self, family: &FamilyGoal, point: usize) -> f64 {
        let count = family.margins.len();
        let margin = |nth: usize| {
            let shift: f64 = family
                .parents
                .iter()
                .zip(family.transmitted)
                .map(|(&parent, share)| share * self.shifts[parent][nth][point])
                .sum();
            family.margins[nth] + shift
        };
        let root = &self.roots[&family.mendelian.to_bits()];
        let reach = |nth: usize, before: f64| {
            let left = root[nth][nth];
            let least = -margin(nth) - before;
            if left > 1e-12 {
                above(least / left)
            } else {
                f64::from(u8::from(least <= 0.0))
            }
        };
        match count {
            0 => 1.0,
            1 => reach(0, 0.0),
            _ => {
                let mut sum = 0.0;
                let mut values = vec![0.0; count];
                for inner in 0..WITHIN {
                    let mut chance = 1.0;
                    for nth in 0..count {
                        let before: f64 =
                            (0..nth).map(|other| root[nth][other] * values[other]).sum();
                        let passes = reach(nth, before);
                        chance *= passes;
                        if chance <= 0.0 {
                            break;
                        }
                        if nth + 1 < count {
                            // A value among those that reach it.
                            let place = 1.0 - passes * self.within[nth][inner];
                            values[nth] = quantile(place.clamp(1e-12, 1.0 - 1e-12));
                        }
                    }
                    sum += chance;
                }
                sum / WITHIN as f64
            }
        }
    }

    /// The chance that binomial numbers sum to enough: they are convolved as far as they are too few.
    fn enough(&self, families: impl Iterator<Item = (f64, u32)>) -> f64 {
        let wanted = self.wanted as usize;
        let mut fewer = vec![0.0; wanted];
        fewer[0] = 1.0;
        for (share, seeds) in families {
            if share <= 0.0 {
                continue;
            }
            let odds = share / (1.0 - share).max(1e-300);
            let mut own = Vec::with_capacity(wanted);
            let mut log = f64::from(seeds) * (-share.min(1.0 - 1e-15)).ln_1p();
            for count in 0..wanted.min(seeds as usize + 1) {
                own.push(log.exp());
                log += (f64::from(seeds - count as u32) / (count + 1) as f64 * odds)
                    .max(1e-300)
                    .ln();
            }
            let mut next = vec![0.0; wanted];
            for (before, chance) in fewer.iter().enumerate() {
                for (more, each) in own.iter().enumerate().take(wanted - before) {
                    next[before + more] += chance * each;
                }
            }
            fewer = next;
        }
        (1.0 - fewer.iter().sum::<f64>()).clamp(0.0, 1.0)
    }

    fn enough_of_many(&self, families: impl Iterator<Item = (f64, u32)>) -> f64 {
        let (mut mean, mut variance) = (0.0, 0.0);
        for (share, seeds) in families {
            mean += share * f64::from(seeds);
            variance += share * (1.0 - share) * f64::from(seeds);
        }
        if variance <= 0.0 {
            return f64::from(u8::from(mean >= f64::from(self.wanted)));
        }
        below((mean - f64::from(self.wanted) + 0.5) / variance.sqrt())
    }
}

/// What the errors of each parent do to the sum of each threshold at each point.
fn shifts(uncertainty: &Uncertainty) -> Vec<Vec<Vec<f64>>> {
    let traits = uncertainty.correlations.order();
    let parents = uncertainty.errors.iter().map(Covariance::order).max();
    let parents = parents.unwrap_or(0);
    let mix = root_of(&uncertainty.correlations);
    let roots: Vec<Vec<Vec<f64>>> = uncertainty.errors.iter().map(root_of).collect();
    // Independent between traits, then as the traits are correlated.
    let mixed: Vec<Vec<Vec<f64>>> = (0..parents)
        .map(|source| {
            let normal: Vec<Vec<f64>> = (0..traits)
                .map(|place| {
                    let points = stratified(2 * (source * traits + place) as u64, POINTS);
                    points.into_iter().map(quantile).collect()
                })
                .collect();
            let of_trait = |place: usize| -> Vec<f64> {
                let at = |point: usize| -> f64 {
                    (0..=place)
                        .map(|other| mix[place][other] * normal[other][point])
                        .sum()
                };
                (0..POINTS).map(at).collect()
            };
            (0..traits).map(of_trait).collect()
        })
        .collect();
    let of_parent = |parent: usize| -> Vec<Vec<f64>> {
        let mut off = vec![vec![0.0; POINTS]; traits];
        for (place, off) in off.iter_mut().enumerate() {
            for (source, weight) in roots[place][parent][..=parent].iter().enumerate() {
                if *weight != 0.0 {
                    for (sum, normal) in off.iter_mut().zip(&mixed[source][place]) {
                        *sum += weight * normal;
                    }
                }
            }
        }
        let of_threshold = |row: &Vec<f64>| -> Vec<f64> {
            let at = |point: usize| row.iter().zip(&off).map(|(c, off)| c * off[point]).sum();
            (0..POINTS).map(at).collect()
        };
        uncertainty.thresholds.iter().map(of_threshold).collect()
    };
    (0..parents).map(of_parent).collect()
}

/// A root of covariances, lower left; what is negative by rounding counts as none.
fn root_of(covariances: &Covariance) -> Vec<Vec<f64>> {
    let order = covariances.order();
    let mut root = vec![vec![0.0; order]; order];
    for row in 0..order {
        for column in 0..=row {
            let before: f64 = (0..column).map(|k| root[row][k] * root[column][k]).sum();
            let rest = covariances.get(row, column) - before;
            root[row][column] = if row == column {
                rest.max(0.0).sqrt()
            } else if root[column][column] > 1e-12 {
                rest / root[column][column]
            } else {
                0.0
            };
        }
    }
    root
}
