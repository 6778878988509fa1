//! Errors of estimates that calculate with the variances being estimates too.
//!
//! The covariance `Φ = (X′V⁻¹X)⁻¹` of the estimates is too small twice over: the true error is larger because weights are
//! estimated, and Φ at estimated variances falls short of Φ at the true ones. Kenward & Roger (1997, Biometrics
//! 53:983–997) add `2 Φ [Σ W_ij (Q_ij − P_i Φ P_j)] Φ` where V is linear in its parameters, with W their sampling
//! covariance. For combinations l and m it is `2 Σ W_ij (V_i b_l)′ P (V_j b_m)`, where `b_l = V⁻¹XΦl` are the weights of
//! the observations in l and `V_i = ∂V/∂θ_i`: the working variates of the average information with b in place of `P y`.

use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};

use super::solved::Solved;
use super::{Combination, EvaluationError, Fit, Model};

/// The most records: their projection is held dense.
const MOST_RECORDS: usize = 2000;
/// The most combinations, each with each.
const MOST_COMBINATIONS: usize = 1000;
/// Right-hand sides that are solved for at once.
const AT_ONCE: usize = 64;

/// The errors of combinations of fixed effects, adjusted for the variances being estimates.
#[derive(Clone, Debug)]
pub struct SmallSample {
    /// Φ among the combinations.
    plain: Mat<f64>,
    adjusted: Mat<f64>,
    /// By parameter, the slope of Φ among the combinations.
    slopes: Vec<Mat<f64>>,
    /// The sampling covariance of the parameters.
    sampling: Mat<f64>,
}

/// Where a parameter of V stands: each is a variance.
#[derive(Clone, Copy, Debug)]
enum Variance {
    /// Of an effect of the model without those that don't vary.
    Effect(usize),
    /// Of an effect of the whole model, estimated as zero.
    Zero(usize),
    /// Of a part of the residual.
    Residual(usize),
}

impl SmallSample {
    /// The adjusted covariance of the errors of two.
    pub fn covariance(&self, one: usize, other: usize) -> f64 {
        self.adjusted[(one, other)]
    }

    /// The adjusted variance of the error of the first minus the second.
    pub fn variance_of_difference(&self, one: usize, other: usize) -> f64 {
        of_difference(&self.adjusted, one, other).max(0.0)
    }

    /// The degrees of freedom of one.
    pub fn degrees_of_freedom(&self, one: usize) -> f64 {
        self.degrees(|matrix| matrix[(one, one)])
    }

    /// The degrees of freedom of the first minus the second; infinite where its variance is known.
    pub fn degrees_of_freedom_of_difference(&self, one: usize, other: usize) -> f64 {
        self.degrees(|matrix| of_difference(matrix, one, other))
    }

    /// `2v² / var(v)` with v before it is adjusted: what Kenward & Roger's degrees of freedom are for a single comparison,
    /// whose statistic they leave unscaled.
    fn degrees(&self, of: impl Fn(&Mat<f64>) -> f64) -> f64 {
        let slopes: Vec<f64> = self.slopes.iter().map(&of).collect();
        let mut spread = 0.0;
        for (i, one) in slopes.iter().enumerate() {
            for (j, other) in slopes.iter().enumerate() {
                spread += one * other * self.sampling[(i, j)];
            }
        }
        if spread > 0.0 {
            2.0 * of(&self.plain).powi(2) / spread
        } else {
            f64::INFINITY
        }
    }
}

fn of_difference(matrix: &Mat<f64>, one: usize, other: usize) -> f64 {
    matrix[(one, one)] + matrix[(other, other)] - matrix[(one, other)] - matrix[(other, one)]
}

impl Model {
    /// The errors of combinations of one trait's fixed effects, adjusted for the variances being estimates. A variance
    /// of unrelated levels that is estimated as 0 counts among them, so that a trial whose blocks happen to look alike
    /// isn't taken for one without blocks.
    ///
    /// `None` where it isn't worked out: for several traits, random effects within a combination, parameters that V isn't
    /// linear in (correlations, the balance of a surface), a residual variance at 0, or more than 2,000 records or 1,000
    /// combinations.
    ///
    /// # Errors
    /// Variances that don't fit the model.
    pub fn small_sample(
        &self,
        fit: &Fit,
        combinations: &[Combination],
    ) -> Result<Option<SmallSample>, EvaluationError> {
        let components = fit.components();
        self.check_components(components)?;
        let varies = |k: usize| !components.effects[k].is_zero();
        let shaped = |k: usize| !self.shape_parameters(k).is_empty();
        let effects = self.random.len();
        let residual = effects..self.components();
        if self.traits() > 1
            || self.observations.count(0) > MOST_RECORDS
            || combinations.len() > MOST_COMBINATIONS
            || combinations.iter().any(Combination::has_random)
            || (0..effects).any(|k| varies(k) && shaped(k))
            || residual.clone().any(shaped)
            || residual.clone().any(|k| fit.residual_is_zero(k - effects))
        {
            return Ok(None);
        }
        let simpler;
        let model = if (0..effects).all(varies) {
            self
        } else {
            simpler = self.with_effects(varies)?;
            &simpler
        };
        let solved = Solved::new(model, components.restricted(varies))?;
        let mut variances = Vec::new();
        let mut kept = 0;
        for k in 0..effects {
            if varies(k) {
                variances.push(Variance::Effect(kept));
                kept += 1;
            } else if self.random[k].relationship.is_independent() {
                variances.push(Variance::Zero(k));
            }
        }
        variances.extend(residual.map(|k| Variance::Residual(k - effects)));
        let projection = Projection {
            whole: self,
            model,
            solved: &solved,
        };
        let Some(sampling) = projection.sampling(&variances) else {
            return Ok(None);
        };
        Ok(Some(projection.adjusted(
            combinations,
            &variances,
            sampling,
        )))
    }
}

/// The model at its variances, and what they make of single observations.
struct Projection<'a> {
    /// With the effects that don't vary.
    whole: &'a Model,
    /// Without them.
    model: &'a Model,
    solved: &'a Solved<'a>,
}

impl Projection<'_> {
    /// `V_i` times what `unknowns` and `projected` = V⁻¹-weighted observations say: of an effect that varies `Z K Z′ p` is
    /// the effect's part of the unknowns over its variance.
    fn working(&self, variance: Variance, unknowns: &[f64], projected: &[f64]) -> Vec<f64> {
        let equations = &self.model.equations;
        match variance {
            Variance::Effect(k) => {
                let precision = 1.0 / self.solved.components.effects[k].get(0, 0);
                let effect = &self.model.random[k];
                let mut working = vec![0.0; projected.len()];
                for row in &equations.rows {
                    if let Some(level) = row.record.and_then(|record| effect.level[record]) {
                        let terms = equations.terms(k, &effect.relationship, level, 0);
                        let sum: f64 = terms.map(|(u, weight)| weight * unknowns[u]).sum();
                        working[row.first] = precision * sum;
                    }
                }
                working
            }
            Variance::Zero(k) => {
                let effect = &self.whole.random[k];
                let mut sums = vec![0.0; effect.relationship.levels()];
                let of_row = |record: Option<usize>| record.and_then(|r| effect.level[r]);
                for row in &equations.rows {
                    if let Some(level) = of_row(row.record) {
                        sums[level] += projected[row.first];
                    }
                }
                let mut working = vec![0.0; projected.len()];
                for row in &equations.rows {
                    if let Some(level) = of_row(row.record) {
                        working[row.first] = sums[level];
                    }
                }
                working
            }
            Variance::Residual(part) => {
                let mut working = vec![0.0; projected.len()];
                for row in &equations.rows {
                    if equations.patterns[row.pattern].part == part {
                        working[row.first] = projected[row.first];
                    }
                }
                working
            }
        }
    }

    /// The inverse of the expected information `½ tr(P V_i P V_j)`; `None` where it has none.
    fn sampling(&self, variances: &[Variance]) -> Option<Mat<f64>> {
        let count = self.model.equations.values.len();
        // V_i P, column by column.
        let mut through = vec![Mat::<f64>::zeros(count, count); variances.len()];
        let columns: Vec<usize> = (0..count).collect();
        for chunk in columns.chunks(AT_ONCE) {
            let units = chunk.iter().map(|&column| {
                let mut unit = vec![0.0; count];
                unit[column] = 1.0;
                unit
            });
            let solved = self.solved.project(units.collect());
            for (&column, (unknowns, projected)) in chunk.iter().zip(&solved) {
                for (through, &variance) in through.iter_mut().zip(variances) {
                    let working = self.working(variance, unknowns, projected);
                    for (row, value) in working.into_iter().enumerate() {
                        through[(row, column)] = value;
                    }
                }
            }
        }
        let information = Mat::from_fn(variances.len(), variances.len(), |i, j| {
            let (one, other) = (&through[i.max(j)], &through[i.min(j)]);
            let mut trace = 0.0;
            for row in 0..count {
                for column in 0..count {
                    trace += one[(row, column)] * other[(column, row)];
                }
            }
            0.5 * trace
        });
        let factor = information.llt(Side::Lower).ok()?;
        let side = variances.len();
        let inverse = factor.solve(Mat::<f64>::identity(side, side));
        (0..side)
            .all(|i| inverse[(i, i)].is_finite())
            .then_some(inverse)
    }

    fn adjusted(
        &self,
        combinations: &[Combination],
        variances: &[Variance],
        sampling: Mat<f64>,
    ) -> SmallSample {
        let equations = &self.model.equations;
        let (records, count) = (equations.values.len(), combinations.len());
        let matrix = || Mat::<f64>::zeros(records, count);
        let mut plain = Mat::<f64>::zeros(count, count);
        let mut weights = matrix();
        let mut working: Vec<Mat<f64>> = variances.iter().map(|_| matrix()).collect();
        let mut projected: Vec<Mat<f64>> = working.clone();
        let sums: Vec<Vec<(usize, f64)>> = combinations
            .iter()
            .map(|combination| self.model.unknowns_of(equations, combination, 0))
            .collect();
        for (column, sum) in sums.iter().enumerate() {
            let mut x = vec![0.0; equations.size];
            for &(unknown, weight) in sum {
                x[unknown] += weight;
            }
            self.solved.solve_in_place(&mut x);
            for (row, other) in sums.iter().enumerate() {
                plain[(row, column)] = other.iter().map(|&(unknown, w)| w * x[unknown]).sum();
            }
            let of_records = self.solved.weights(&x);
            // The equations of an effect hold Z′b + K⁻¹x/σ² = 0.
            let turned: Vec<f64> = x.iter().map(|value| -value).collect();
            let by_variance: Vec<Vec<f64>> = variances
                .iter()
                .map(|&variance| self.working(variance, &turned, &of_records))
                .collect();
            let through = self.solved.project(by_variance.clone());
            for (i, (own, (_, through))) in by_variance.iter().zip(&through).enumerate() {
                for row in 0..records {
                    working[i][(row, column)] = own[row];
                    projected[i][(row, column)] = through[row];
                }
            }
            for (row, weight) in of_records.into_iter().enumerate() {
                weights[(row, column)] = weight;
            }
        }
        let slopes = working
            .iter()
            .map(|own| weights.transpose() * own)
            .collect();
        let mut added = Mat::<f64>::zeros(count, count);
        for (j, through) in projected.iter().enumerate() {
            let mut weighted = matrix();
            for (i, own) in working.iter().enumerate() {
                weighted += sampling[(i, j)] * own;
            }
            added += weighted.transpose() * through;
        }
        let adjusted = Mat::from_fn(count, count, |i, j| {
            0.5 * (plain[(i, j)] + plain[(j, i)]) + added[(i, j)] + added[(j, i)]
        });
        SmallSample {
            plain,
            adjusted,
            slopes,
            sampling,
        }
    }
}
