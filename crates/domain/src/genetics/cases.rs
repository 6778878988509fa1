//! What records say of a trait under each heritability that it may have.
//!
//! The heritability of few families is badly known, and what is said of plants at the best guess of it is surer than it
//! should be. So the equations are solved at several heritabilities; each counts by its likelihood and by what was
//! thought of it before, and what it says of the plants is put together by the laws of total expectation and variance
//! (Sorensen & Gianola 2002, *Likelihood, Bayesian, and MCMC Methods in Quantitative Genetics*, chapter 2 and 13).

use super::model::{Effects, Records, model_of};
use super::{Progress, ProgressSink};
use quant::evaluation::{Combination, Combined, Components, EvaluationError, Model, Solution};
use quant::kinship::Kinship;

/// The heritabilities that are tried.
const TRIED: [f64; 10] = [0.03, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.92];
/// A case with less of the chance than this tells nothing.
const UNLIKELY: f64 = 0.005;
/// Plants whose errors are known together, at the most: those of the others are taken as independent.
const MOST_TOGETHER: usize = 400;

/// What is asked of the records of one trait.
pub(crate) struct Asked<'a> {
    /// The plants' relationships.
    pub(crate) kinship: &'a Kinship,
    /// The records.
    pub(crate) records: &'a Records,
    /// How much of the variance stays with a clone and with a plant over its records, the inherited part included;
    /// where heritability is more, that much. Repeated records tell it well, and how much of it is inherited they can't.
    pub(crate) stays: Stays,
    /// The variance of single records, where it isn't left to the records.
    pub(crate) variance: Option<f64>,
    /// Whether the records tell heritabilities apart.
    pub(crate) tells: bool,
    /// The heritability, where it is given.
    pub(crate) given: Option<f64>,
    /// The density of the heritability, before the records.
    pub(crate) prior: fn(f64) -> f64,
    /// The plants whose errors are wanted together.
    pub(crate) wanted: &'a [usize],
    /// 1 where more is better, -1 where less is: the best are wanted first.
    pub(crate) sign: f64,
}

/// What of the variance of single records stays with plants.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Stays {
    /// The effects there are.
    pub(crate) effects: Effects,
    /// The share of it, breeding values included.
    pub(crate) repeatability: f64,
    /// How much of what is beyond breeding values goes with the clone, not the hill.
    pub(crate) clonal: f64,
}

/// What the records say over all heritabilities.
#[derive(Debug)]
pub(crate) struct Found {
    /// Mean and standard deviation of the heritability.
    pub(crate) heritability: [f64; 2],
    /// Value of an unselected plant: over the levels of what was corrected for, as often as they occur.
    pub(crate) base: f64,
    /// Expected variance of breeding values.
    pub(crate) additive: f64,
    /// Expected variance of single records about them.
    pub(crate) residual: f64,
    /// Breeding values, the variances of their errors, and how well the records tell them (reliability, 0 to 1),
    /// plant by plant.
    pub(crate) values: Vec<[f64; 3]>,
    /// The errors that plants have together.
    pub(crate) together: Together,
}

/// Covariances of the errors of what plants pass on, the level that their values are counted from included.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Together {
    /// The plants by place in the kinship, in order.
    plants: Vec<usize>,
    covariances: Vec<f64>,
}

impl Together {
    /// The covariance of the errors of two plants; `None` unless both are among those known together.
    pub fn covariance(&self, one: usize, other: usize) -> Option<f64> {
        let place = |plant| self.plants.binary_search(&plant).ok();
        Some(self.covariances[place(one)? * self.plants.len() + place(other)?])
    }
}

/// What the records say at one heritability.
struct Case {
    heritability: f64,
    minus_two_log_likelihood: f64,
    variance: f64,
    components: Components,
    solution: Solution,
}

impl Asked<'_> {
    /// What the records say at each heritability, put together.
    ///
    /// # Errors
    /// Records that can't support the model, or that `sink` stopped it.
    pub(crate) fn find(&self, sink: &mut ProgressSink<'_>) -> Result<Found, EvaluationError> {
        let model = model_of(self.kinship, self.records, self.stays.effects)?;
        let given = self.given.map(|given| vec![given.clamp(0.01, 0.99)]);
        let tried = given.unwrap_or_else(|| TRIED.to_vec());
        let mut cases = Vec::with_capacity(tried.len());
        for (nth, &heritability) in tried.iter().enumerate() {
            let progress = Progress {
                step: "Weighing what the heritability may be",
                part: Some(nth as f32 / tried.len() as f32),
                iteration: None,
            };
            if sink(progress).is_break() {
                return Err(EvaluationError::Cancelled);
            }
            cases.push(self.case(&model, heritability)?);
        }
        let mut weights = weights(&cases, self.tells, self.prior);
        for weight in &mut weights {
            if *weight < UNLIKELY {
                *weight = 0.0;
            }
        }
        let all: f64 = weights.iter().sum();
        let likely: Vec<(f64, &Case)> = weights
            .iter()
            .zip(&cases)
            .filter(|each| *each.0 > 0.0)
            .map(|(weight, case)| (weight / all, case))
            .collect();
        let mean = |of: &dyn Fn(&Case) -> f64| -> f64 {
            likely.iter().map(|(weight, case)| weight * of(case)).sum()
        };
        let values: Vec<[f64; 3]> = (0..self.kinship.pedigree().len())
            .map(|plant| {
                let value = |case: &Case| case.solution.random(0, plant, 0).value;
                let expected = mean(&value);
                let error = mean(&|case| {
                    let own = case.variance * case.solution.random(0, plant, 0).error_variance;
                    own + (value(case) - expected).powi(2)
                });
                let reliability = mean(&|case| case.solution.random(0, plant, 0).reliability());
                [expected, error, reliability]
            })
            .collect();
        let heritability = mean(&|case| case.heritability);
        let spread = mean(&|case| (case.heritability - heritability).powi(2)).sqrt();
        let (base, together) = self.together(&model, &likely, &values)?;
        Ok(Found {
            heritability: [heritability, spread],
            base,
            additive: mean(&|case| case.heritability * case.variance),
            residual: mean(&|case| (1.0 - case.heritability) * case.variance),
            values,
            together,
        })
    }

    fn case(&self, model: &Model, heritability: f64) -> Result<Case, EvaluationError> {
        let Stays {
            effects,
            repeatability,
            clonal,
        } = self.stays;
        let stays = if effects == Effects::default() {
            0.0
        } else {
            (repeatability - heritability).clamp(0.0, 0.99 * (1.0 - heritability))
        };
        let mut random = vec![heritability];
        match (effects.clonal, effects.permanent) {
            (true, true) => random.extend([clonal * stays, (1.0 - clonal) * stays]),
            (false, false) => {}
            _ => random.push(stays),
        }
        let components = Components::single(&random, 1.0 - heritability - stays);
        let solution = model.solve(&components)?;
        let (scale, degrees) = solution.best_scale();
        // The mean of what the variance may be, given the records: an inverse chi-square has none below three.
        let told = scale * degrees / (degrees - 2.0).max(1.0);
        Ok(Case {
            heritability,
            minus_two_log_likelihood: solution.minus_two_log_likelihood_of_shares(),
            variance: self.variance.unwrap_or(told),
            components,
            solution,
        })
    }

    /// The value of an unselected plant, and the errors that plants have together.
    fn together(
        &self,
        model: &Model,
        likely: &[(f64, &Case)],
        values: &[[f64; 3]],
    ) -> Result<(f64, Together), EvaluationError> {
        let mut plants = self.wanted.to_vec();
        plants.sort_by(|one, other| {
            let worth = |plant: &usize| self.sign * values[*plant][0];
            worth(other).total_cmp(&worth(one)).then(one.cmp(other))
        });
        plants.dedup();
        plants.truncate(MOST_TOGETHER);
        plants.sort_unstable();
        let base = self.base();
        let mut sums = vec![base.clone()];
        sums.extend(
            plants
                .iter()
                .map(|plant| base.clone().with_random(0, *plant, 1.0)),
        );
        let mut solved = Vec::with_capacity(likely.len());
        for (weight, case) in likely {
            solved.push((
                *weight,
                case.variance,
                model.combine(&case.components, 0, &sums)?,
            ));
        }
        let expected: Vec<f64> = (0..sums.len())
            .map(|nth| {
                (solved.iter())
                    .map(|(w, _, each)| w * each.estimate(nth).value)
                    .sum()
            })
            .collect();
        let off = |each: &Combined, nth: usize| each.estimate(nth).value - expected[nth];
        let mut covariances = Vec::with_capacity(plants.len() * plants.len());
        for one in 1..sums.len() {
            for other in 1..sums.len() {
                let sum = solved.iter().map(|(weight, variance, each)| {
                    let own = variance * each.covariance(one, other);
                    weight * (own + off(each, one) * off(each, other))
                });
                covariances.push(sum.sum::<f64>());
            }
        }
        let together = Together {
            plants,
            covariances,
        };
        Ok((expected[0], together))
    }

    fn base(&self) -> Combination {
        let mut base = Combination::new();
        if self.records.factors.is_empty() {
            return base.with_fixed(0, 0, 1.0);
        }
        let count = self.records.len().max(1) as f64;
        for (effect, factor) in self.records.factors.iter().enumerate() {
            let mut times = vec![0_u32; factor.levels.len()];
            for level in &factor.level {
                times[*level] += 1;
            }
            for (level, times) in times.into_iter().enumerate() {
                base = base.with_fixed(effect, level, f64::from(times) / count);
            }
        }
        base
    }
}

/// The chance of each case: by its likelihood, unless the records don't tell heritabilities apart, and by `prior`, the
/// density of what was thought before. Between cases the likelihood goes by straight lines of its logarithm, and a
/// heritability there counts for the cases on either side as it is near them.
fn weights(cases: &[Case], by_likelihood: bool, prior: fn(f64) -> f64) -> Vec<f64> {
    const STEPS: u32 = 40;
    let mut weights = vec![0.0; cases.len()];
    if let [_] = cases {
        return vec![1.0];
    }
    let least = cases
        .iter()
        .map(|case| case.minus_two_log_likelihood)
        .fold(f64::INFINITY, f64::min);
    for (nth, pair) in cases.windows(2).enumerate() {
        let [one, other] = pair else { continue };
        let width = other.heritability - one.heritability;
        for step in 0..STEPS {
            let place = (f64::from(step) + 0.5) / f64::from(STEPS);
            let between = |of: fn(&Case) -> f64| (1.0 - place) * of(one) + place * of(other);
            let far = between(|case| case.minus_two_log_likelihood) - least;
            let likelihood = if by_likelihood {
                (-0.5 * far).exp()
            } else {
                1.0
            };
            let chance = width * likelihood * prior(between(|case| case.heritability));
            weights[nth] += (1.0 - place) * chance;
            weights[nth + 1] += place * chance;
        }
    }
    let all: f64 = weights.iter().sum();
    for weight in &mut weights {
        *weight /= all;
    }
    weights
}
