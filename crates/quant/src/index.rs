//! Selection index: one figure per plant from several traits.
//!
//! An index is a set of weights b on the observed traits, `I = Σ b_i x_i`. Smith–Hazel weights make
//! it the best linear predictor of a net value `Σ a_j g_j`; desired-gains weights make the genetic
//! means move in chosen proportions. With breeding values predicted for all traits together,
//! the best index is simply `Σ a_j û_j` ([`net_value`]), as the model has already weighed the
//! records.
//!
//! Sources: Smith (1936) Annals of Eugenics 7:240–250; Hazel (1943) Genetics 28:476–490; Pesek &
//! Baker (1969) Canadian Journal of Plant Science 49:803–804; usefulness: Schnell & Utz (1975).

use std::fmt;

use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};

use crate::evaluation::Covariance;

/// Why an index could not be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IndexError {
    /// The matrices and weights are not all for the same traits.
    Traits,
    /// The phenotypic matrix is not positive definite.
    Phenotypic,
    /// The genetic matrix is not positive definite, which desired gains need.
    Genetic,
    /// No weight, or no desired gain, differs from zero.
    NothingWanted,
}

impl fmt::Display for IndexError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Traits => "variances, covariances and weights must be for the same traits",
            Self::Phenotypic => {
                "the phenotypic covariances are not those of any records: a correlation is one or beyond"
            }
            Self::Genetic => {
                "the genetic covariances allow no free choice of gains: a trait does not vary or a correlation is one; use weights instead"
            }
            Self::NothingWanted => "give at least one trait a weight or a desired gain",
        })
    }
}

impl std::error::Error for IndexError {}

/// Index weights, and what selection on the index is expected to do.
#[derive(Clone, Debug, PartialEq)]
pub struct SelectionIndex {
    weights: Vec<f64>,
    standard_deviation: f64,
    accuracy: Option<f64>,
    gain_per_intensity: Vec<f64>,
}

impl SelectionIndex {
    /// Weights b = P⁻¹ G a for the phenotypic covariances P and genetic covariances G of the
    /// traits and the value a of one unit of each.
    ///
    /// # Errors
    /// See [`IndexError`].
    pub fn smith_hazel(
        phenotypic: &Covariance,
        genetic: &Covariance,
        values: &[f64],
    ) -> Result<Self, IndexError> {
        check(phenotypic, genetic, values)?;
        let (p, g, a) = (phenotypic.to_mat(), genetic.to_mat(), column(values));
        let weights = p
            .llt(Side::Lower)
            .map_err(|_not_positive| IndexError::Phenotypic)?
            .solve(&g * &a);
        let index = Self::from_weights(&p, &g, &weights)?;
        let net_variance = (a.transpose() * &g * &a)[(0, 0)];
        let accuracy = index.standard_deviation / net_variance.sqrt();
        Ok(Self {
            accuracy: accuracy.is_finite().then_some(accuracy),
            ..index
        })
    }

    /// Weights b = G⁻¹ d, which move the genetic means in the proportions d.
    ///
    /// # Errors
    /// See [`IndexError`].
    pub fn desired_gains(
        phenotypic: &Covariance,
        genetic: &Covariance,
        gains: &[f64],
    ) -> Result<Self, IndexError> {
        check(phenotypic, genetic, gains)?;
        let (p, g) = (phenotypic.to_mat(), genetic.to_mat());
        p.llt(Side::Lower)
            .map_err(|_not_positive| IndexError::Phenotypic)?;
        let weights = g
            .llt(Side::Lower)
            .map_err(|_not_positive| IndexError::Genetic)?
            .solve(column(gains));
        Self::from_weights(&p, &g, &weights)
    }

    fn from_weights(p: &Mat<f64>, g: &Mat<f64>, weights: &Mat<f64>) -> Result<Self, IndexError> {
        let standard_deviation = (weights.transpose() * p * weights)[(0, 0)].sqrt();
        if standard_deviation.is_nan() || standard_deviation <= 0.0 {
            return Err(IndexError::NothingWanted);
        }
        let gain = g * weights;
        Ok(Self {
            weights: weights.col(0).iter().copied().collect(),
            standard_deviation,
            accuracy: None,
            gain_per_intensity: gain
                .col(0)
                .iter()
                .map(|gain| gain / standard_deviation)
                .collect(),
        })
    }

    /// The weight of each trait.
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// The standard deviation of the index among plants.
    pub fn standard_deviation(&self) -> f64 {
        self.standard_deviation
    }

    /// The correlation of the index with the net value; `None` for desired gains, which have
    /// no net value, and where the net value does not vary.
    pub fn accuracy(&self) -> Option<f64> {
        self.accuracy
    }

    /// The expected gain of each trait at a selection intensity (the mean of those kept, in
    /// standard deviations).
    pub fn gains(&self, intensity: f64) -> Vec<f64> {
        self.gain_per_intensity
            .iter()
            .map(|gain| intensity * gain)
            .collect()
    }

    /// The expected gain in net value at a selection intensity, for Smith–Hazel weights.
    pub fn net_gain(&self, intensity: f64) -> Option<f64> {
        self.accuracy.map(|_| intensity * self.standard_deviation)
    }

    /// The index of a plant from its observed departures from the mean, trait by trait.
    pub fn of(&self, departures: &[f64]) -> f64 {
        net_value(&self.weights, departures)
    }
}

/// Σ weight · value over the traits.
pub fn net_value(weights: &[f64], values: &[f64]) -> f64 {
    weights
        .iter()
        .zip(values)
        .map(|(weight, value)| weight * value)
        .sum()
}

/// Usefulness of a cross: the expected mean of the seedlings selected from it, `mean + intensity ·
/// h · σ_g` with the square root `h` of the heritability and the genetic standard deviation
/// within the cross.
pub fn usefulness(mean: f64, intensity: f64, accuracy: f64, genetic_deviation: f64) -> f64 {
    mean + intensity * accuracy * genetic_deviation
}

fn check(phenotypic: &Covariance, genetic: &Covariance, wanted: &[f64]) -> Result<(), IndexError> {
    if phenotypic.order() != wanted.len() || genetic.order() != wanted.len() {
        return Err(IndexError::Traits);
    }
    if wanted.iter().all(|&value| value == 0.0) {
        return Err(IndexError::NothingWanted);
    }
    Ok(())
}

fn column(values: &[f64]) -> Mat<f64> {
    Mat::from_fn(values.len(), 1, |i, _| values[i])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn matrices() -> (Covariance, Covariance) {
        (
            Covariance::from_lower(&[4.0, 1.0, 9.0]).unwrap(),
            Covariance::from_lower(&[1.6, -0.6, 2.7]).unwrap(),
        )
    }

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-6, "{found} is not {expected}");
    }

    /// Smith (1936), Hazel (1943): b = P⁻¹Ga, with made-up parameters, worked by hand.
    #[test]
    fn smith_hazel_index_of_two_opposed_traits() {
        let (p, g) = matrices();
        let index = SelectionIndex::smith_hazel(&p, &g, &[1.0, 0.5]).unwrap();
        close(index.weights()[0], 0.312857);
        close(index.weights()[1], 0.048571);
        close(index.standard_deviation(), 0.665690);
        close(index.accuracy().unwrap(), 0.514357);
        let intensity = 1.754983; // The best tenth of many: z / p of the normal distribution.
        close(index.net_gain(intensity).unwrap(), 1.168275);
        assert!((index.net_gain(1.755).unwrap() - 1.168286).abs() < 1e-6);
        close(index.gains(1.755)[0], 1.242857);
        close(index.gains(1.755)[1], -0.149143);
        close(index.of(&[1.0, -2.0]), 0.312857 - 2.0 * 0.048571);
    }

    #[test]
    fn desired_gains_come_in_the_proportions_asked() {
        let (p, g) = matrices();
        let index = SelectionIndex::desired_gains(&p, &g, &[1.0, 2.0]).unwrap();
        let gains = index.gains(1.4);
        assert!(gains[0] > 0.0);
        close(gains[1] / gains[0], 2.0);
        assert_eq!(index.net_gain(1.4), None);
    }

    #[test]
    fn refuses_what_no_index_can_do() {
        let (p, g) = matrices();
        let alike = Covariance::from_lower(&[1.0, 1.0, 1.0]).unwrap();
        let refused = |p, g, d: &[f64]| SelectionIndex::desired_gains(p, g, d).unwrap_err();
        assert_eq!(refused(&p, &alike, &[1.0, 0.0]), IndexError::Genetic);
        assert_eq!(refused(&alike, &g, &[1.0, 0.0]), IndexError::Phenotypic);
        assert_eq!(refused(&p, &g, &[0.0, 0.0]), IndexError::NothingWanted);
        assert_eq!(refused(&p, &g, &[1.0]), IndexError::Traits);
    }

    /// Schnell & Utz (1975): at one in twenty (i = 2.0627) the cross with the lower mean and the
    /// larger spread is the more useful.
    #[test]
    fn usefulness_ranks_spread_above_mean() {
        let narrow = usefulness(10.0, 2.0627, 0.7, 1.2);
        let wide = usefulness(9.5, 2.0627, 0.7, 2.0);
        assert!((narrow - 11.7327).abs() < 1e-4);
        assert!((wide - 12.3878).abs() < 1e-4);
    }
}
