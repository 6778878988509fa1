//! Small symmetric matrices: how the traits vary together within one effect.

use faer::{Mat, Side};

/// A symmetric matrix with one row and column per trait, in the traits' squared units.
///
/// With a single trait it is that trait's variance.
#[derive(Clone, Debug, PartialEq)]
pub struct Covariance {
    order: usize,
    /// The lower triangle, row by row.
    lower: Vec<f64>,
}

impl Covariance {
    /// The variance of one trait.
    pub fn variance(value: f64) -> Self {
        Self {
            order: 1,
            lower: vec![value],
        }
    }

    /// `order` traits that do not vary at all.
    pub fn zeros(order: usize) -> Self {
        Self {
            order,
            lower: vec![0.0; order * (order + 1) / 2],
        }
    }

    /// Independent traits with these variances.
    pub fn diagonal(variances: &[f64]) -> Self {
        let mut matrix = Self::zeros(variances.len());
        for (a, &variance) in variances.iter().enumerate() {
            matrix.set(a, a, variance);
        }
        matrix
    }

    /// From the lower triangle, row by row: `[v00, c10, v11, c20, c21, v22, …]`.
    ///
    /// `None` when the length is not that of a triangle.
    pub fn from_lower(lower: &[f64]) -> Option<Self> {
        let order = (0..=lower.len()).find(|order| order * (order + 1) / 2 >= lower.len())?;
        (order * (order + 1) / 2 == lower.len()).then(|| Self {
            order,
            lower: lower.to_vec(),
        })
    }

    /// How many traits.
    pub fn order(&self) -> usize {
        self.order
    }

    /// The covariance of traits `a` and `b`.
    pub fn get(&self, a: usize, b: usize) -> f64 {
        self.lower[place(a, b)]
    }

    /// Sets the covariance of traits `a` and `b`.
    pub fn set(&mut self, a: usize, b: usize, value: f64) {
        self.lower[place(a, b)] = value;
    }

    /// The correlation of traits `a` and `b`; `None` when one of them does not vary.
    pub fn correlation(&self, a: usize, b: usize) -> Option<f64> {
        let scale = (self.get(a, a) * self.get(b, b)).sqrt();
        (scale > 0.0).then(|| self.get(a, b) / scale)
    }

    /// The part that concerns only `traits`, in that order.
    #[must_use]
    pub fn restricted(&self, traits: &[usize]) -> Self {
        let mut part = Self::zeros(traits.len());
        for (i, &a) in traits.iter().enumerate() {
            for (j, &b) in traits[..=i].iter().enumerate() {
                part.set(i, j, self.get(a, b));
            }
        }
        part
    }

    pub(crate) fn is_zero(&self) -> bool {
        self.lower.iter().all(|&value| value == 0.0)
    }

    pub(crate) fn is_finite(&self) -> bool {
        self.lower.iter().all(|value| value.is_finite())
    }

    /// Adds `factor` times `other`.
    pub(crate) fn add_scaled(&mut self, factor: f64, other: &Self) {
        for (value, &more) in self.lower.iter_mut().zip(&other.lower) {
            *value += factor * more;
        }
    }

    /// `self · inner · self`, symmetric when both are.
    pub(crate) fn sandwich(&self, inner: &Self) -> Self {
        let outer = self.to_mat();
        Self::from_mat(&(&outer * inner.to_mat() * &outer))
    }

    /// The inverse and the log-determinant; `None` unless positive definite.
    pub(crate) fn inverse(&self) -> Option<(Self, f64)> {
        if !self.is_finite() {
            return None;
        }
        let factor = self.to_mat().llt(Side::Lower).ok()?;
        let diagonal = factor.L().diagonal().column_vector();
        let log_determinant = 2.0 * diagonal.iter().map(|value| value.ln()).sum::<f64>();
        let identity = Mat::<f64>::identity(self.order, self.order);
        let inverse = faer::prelude::Solve::solve(&factor, &identity);
        log_determinant
            .is_finite()
            .then(|| (Self::from_mat(&inverse), log_determinant))
    }

    /// The smallest eigenvalue after dividing row and column `a` by the square root of `scale[a]`.
    pub(crate) fn smallest_eigenvalue(&self, scale: &[f64]) -> Option<f64> {
        let eigen = self
            .scaled(scale, -0.5)
            .to_mat()
            .self_adjoint_eigen(Side::Lower)
            .ok()?;
        eigen.S().column_vector().iter().copied().reduce(f64::min)
    }

    /// The nearest matrix whose eigenvalues, on the scale of `scale`, are at least `floor`.
    pub(crate) fn lifted(&self, scale: &[f64], floor: f64) -> Option<Self> {
        if !self.is_finite() {
            return None;
        }
        if self.smallest_eigenvalue(scale)? >= floor {
            return Some(self.clone());
        }
        let eigen = self
            .scaled(scale, -0.5)
            .to_mat()
            .self_adjoint_eigen(Side::Lower)
            .ok()?;
        let vectors = eigen.U();
        let values = eigen.S().column_vector();
        let lifted = Mat::from_fn(self.order, self.order, |i, j| {
            (0..self.order)
                .map(|k| vectors[(i, k)] * values[k].max(floor) * vectors[(j, k)])
                .sum::<f64>()
        });
        Some(Self::from_mat(&lifted).scaled(scale, 0.5))
    }

    fn scaled(&self, scale: &[f64], power: f64) -> Self {
        let mut scaled = self.clone();
        for a in 0..self.order {
            for b in 0..=a {
                scaled.set(a, b, self.get(a, b) * (scale[a] * scale[b]).powf(power));
            }
        }
        scaled
    }

    pub(crate) fn to_mat(&self) -> Mat<f64> {
        Mat::from_fn(self.order, self.order, |a, b| self.get(a, b))
    }

    fn from_mat(mat: &Mat<f64>) -> Self {
        let mut matrix = Self::zeros(mat.nrows());
        for a in 0..mat.nrows() {
            for b in 0..=a {
                matrix.set(a, b, 0.5 * (mat[(a, b)] + mat[(b, a)]));
            }
        }
        matrix
    }
}

fn place(a: usize, b: usize) -> usize {
    let (row, column) = if a >= b { (a, b) } else { (b, a) };
    row * (row + 1) / 2 + column
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inverse_and_log_determinant_of_two_traits() {
        let matrix = Covariance::from_lower(&[4.0, 1.0, 9.0]).unwrap();
        let (inverse, log_determinant) = matrix.inverse().unwrap();
        assert!((log_determinant - 35.0_f64.ln()).abs() < 1e-12);
        assert!((inverse.get(0, 0) - 9.0 / 35.0).abs() < 1e-15);
        assert!((inverse.get(0, 1) + 1.0 / 35.0).abs() < 1e-15);
    }

    #[test]
    fn no_inverse_at_a_correlation_of_one() {
        assert!(
            Covariance::from_lower(&[1.0, 1.0, 1.0])
                .unwrap()
                .inverse()
                .is_none()
        );
        assert!(Covariance::from_lower(&[1.0, 1.0]).is_none());
    }

    #[test]
    fn lifting_leaves_a_matrix_inside_alone_and_moves_one_outside_to_the_floor() {
        let inside = Covariance::from_lower(&[4.0, 1.0, 9.0]).unwrap();
        assert_eq!(inside.lifted(&[4.0, 9.0], 1e-3).unwrap(), inside);
        let outside = Covariance::from_lower(&[4.0, 7.0, 9.0]).unwrap();
        let lifted = outside.lifted(&[4.0, 9.0], 1e-3).unwrap();
        assert!((lifted.smallest_eigenvalue(&[4.0, 9.0]).unwrap() - 1e-3).abs() < 1e-12);
    }
}
