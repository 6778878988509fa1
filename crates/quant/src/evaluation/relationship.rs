//! How the levels of a random effect are related.

use super::EvaluationError;

/// The relationship matrix K among the levels of a random effect, known by its sparse inverse.
///
/// Its scale is free: with the additive relationship matrix of any ploidy the diagonal
/// `a_ii` differs from level to level, and accuracies are reckoned against `a_ii · variance`.
#[derive(Clone, Debug)]
pub struct Relationship {
    diagonal: Vec<f64>,
    /// Lower triangle of the inverse, `(row, column, value)` with `row >= column`; `None` is the identity.
    inverse: Option<Vec<(usize, usize, f64)>>,
    log_determinant_of_inverse: f64,
}

impl Relationship {
    /// Unrelated levels: K is the identity.
    pub fn independent(levels: usize) -> Self {
        Self {
            diagonal: vec![1.0; levels],
            inverse: None,
            log_determinant_of_inverse: 0.0,
        }
    }

    /// From the lower triangle of K⁻¹ as `(row, column, value)` in any order (repeated places
    /// add up), the natural logarithm of its determinant, and the diagonal of K, one per level.
    ///
    /// # Errors
    /// A place above the diagonal or outside the matrix, a value that is not finite, or a
    /// diagonal of K that is not positive.
    pub fn from_inverse(
        diagonal: Vec<f64>,
        inverse: Vec<(usize, usize, f64)>,
        log_determinant_of_inverse: f64,
    ) -> Result<Self, EvaluationError> {
        let fault = |reason| Err(EvaluationError::Relationship { reason });
        if !log_determinant_of_inverse.is_finite() {
            return fault("has no finite log-determinant");
        }
        if diagonal
            .iter()
            .any(|&value| !(value.is_finite() && value > 0.0))
        {
            return fault("belongs to a matrix with a diagonal that is not positive");
        }
        if inverse
            .iter()
            .any(|&(row, column, _)| row < column || row >= diagonal.len())
        {
            return fault("has an entry outside its lower triangle");
        }
        if inverse.iter().any(|&(_, _, value)| !value.is_finite()) {
            return fault("has an entry that is not finite");
        }
        Ok(Self {
            diagonal,
            inverse: Some(inverse),
            log_determinant_of_inverse,
        })
    }

    /// How many levels.
    pub fn levels(&self) -> usize {
        self.diagonal.len()
    }

    /// The diagonal of K, one value per level.
    pub fn diagonal(&self) -> &[f64] {
        &self.diagonal
    }

    pub(crate) fn is_independent(&self) -> bool {
        self.inverse.is_none()
    }

    /// ln|K|.
    pub(crate) fn log_determinant(&self) -> f64 {
        -self.log_determinant_of_inverse
    }

    /// Calls `visit(row, column, value)` for each entry of the lower triangle of K⁻¹.
    pub fn for_each_entry_of_inverse(&self, mut visit: impl FnMut(usize, usize, f64)) {
        match &self.inverse {
            Some(entries) => entries
                .iter()
                .for_each(|&(row, column, value)| visit(row, column, value)),
            None => (0..self.levels()).for_each(|level| visit(level, level, 1.0)),
        }
    }
}
