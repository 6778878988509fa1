//! How the levels of a random effect are related.

use std::sync::Arc;

use super::EvaluationError;
use super::structure::{ShapeParameter, Spline, Structure as Shaped};
use crate::kinship::{Kinship, RelationshipInverse};
use crate::sparse::SymmetricLower;

/// The relationship matrix K among the levels of a random effect, known by its sparse inverse.
///
/// Its scale is free: with the additive relationship matrix of any ploidy the diagonal
/// `a_ii` differs from level to level, and accuracies are calculated against `a_ii · variance`.
#[derive(Clone, Debug)]
pub struct Relationship {
    diagonal: Vec<f64>,
    structure: Structure,
    /// ln|K| over the levels that have an equation.
    log_determinant: f64,
}

#[derive(Clone, Debug)]
enum Structure {
    /// K is the identity.
    Independent,
    /// Each level has an equation.
    Inverse(SymmetricLower),
    /// Some levels are sums of others.
    Additive(RelationshipInverse),
    /// K has parameters of its own.
    Shaped(Arc<Shaped>),
}

impl Relationship {
    /// Unrelated levels: K is the identity.
    pub fn independent(levels: usize) -> Self {
        Self {
            diagonal: vec![1.0; levels],
            structure: Structure::Independent,
            log_determinant: 0.0,
        }
    }

    /// From K⁻¹, the natural logarithm of |K|, and the diagonal of K, one per level.
    ///
    /// # Errors
    /// Sizes that differ, values that are not finite, or a diagonal that is not positive.
    pub fn from_inverse(
        diagonal: Vec<f64>,
        inverse: SymmetricLower,
        log_determinant: f64,
    ) -> Result<Self, EvaluationError> {
        let fault = |reason| Err(EvaluationError::Relationship { reason });
        if inverse.size() != diagonal.len() {
            return fault("has another size than the diagonal of its matrix");
        }
        if !log_determinant.is_finite() {
            return fault("has no finite log-determinant");
        }
        if diagonal
            .iter()
            .any(|&value| !(value.is_finite() && value > 0.0))
        {
            return fault("belongs to a matrix with a diagonal that is not positive");
        }
        if inverse.values().iter().any(|value| !value.is_finite()) {
            return fault("has an entry that is not finite");
        }
        let structure = Structure::Inverse(inverse);
        Ok(Self {
            diagonal,
            structure,
            log_determinant,
        })
    }

    /// Additive relationships of all genotypes of a pedigree, of any ploidy, one level each.
    ///
    /// Variants, doubled plants and others that are wholly determined by their sources have no
    /// equation of their own; they are evaluated through those that they are made of.
    pub fn additive(kinship: &Kinship) -> Self {
        let inverse = kinship.relationship_inverse();
        let genotypes = 0..kinship.pedigree().len();
        Self {
            diagonal: genotypes.map(|g| kinship.relationship(g, g)).collect(),
            log_determinant: inverse.log_determinant,
            structure: Structure::Additive(inverse),
        }
    }

    /// First-order autoregression along lines of these lengths, their levels one after another: the correlation of
    /// two levels of a line is ρ to the power of the steps between them.
    ///
    /// # Errors
    /// [`EvaluationError::Memory`].
    pub fn autoregressive(lengths: &[usize]) -> Result<Self, EvaluationError> {
        Shaped::lines(lengths).map(Self::shaped)
    }

    /// First-order autoregression over the rows and over the columns of a full grid, its levels row by row.
    ///
    /// # Errors
    /// [`EvaluationError::Memory`].
    pub fn grid(rows: usize, columns: usize) -> Result<Self, EvaluationError> {
        match (rows, columns) {
            // A side of one level has no neighbours to be correlated with.
            (1, length) | (length, 1) => Self::autoregressive(&[length]),
            _ => Shaped::grid(rows, columns).map(Self::shaped),
        }
    }

    /// Compound symmetry: all levels of a group are equally correlated. Groups of these sizes, their levels one after
    /// another.
    ///
    /// # Errors
    /// [`EvaluationError::Memory`].
    pub fn equicorrelated(sizes: &[usize]) -> Result<Self, EvaluationError> {
        Shaped::groups(sizes).map(Self::shaped)
    }

    /// A spline's departures from the straight lines that are its fixed part; level n is the place of record n.
    pub fn spline(spline: Spline) -> Self {
        Self::shaped(spline.structure)
    }

    fn shaped(structure: Shaped) -> Self {
        Self {
            diagonal: vec![1.0; structure.levels()],
            structure: Structure::Shaped(Arc::new(structure)),
            log_determinant: 0.0,
        }
    }

    /// The parameters that K has of its own.
    pub fn shape_parameters(&self) -> &[ShapeParameter] {
        self.shape().map_or(&[], Shaped::parameters)
    }

    pub(super) fn shape(&self) -> Option<&Shaped> {
        match &self.structure {
            Structure::Shaped(shape) => Some(shape),
            _ => None,
        }
    }

    /// How many levels.
    pub fn levels(&self) -> usize {
        self.diagonal.len()
    }

    /// The diagonal of K, one value per level.
    pub fn diagonal(&self) -> &[f64] {
        &self.diagonal
    }

    pub(super) fn is_independent(&self) -> bool {
        matches!(self.structure, Structure::Independent)
    }

    /// How many equations the levels need.
    pub(super) fn equations(&self) -> usize {
        match &self.structure {
            Structure::Independent => self.levels(),
            Structure::Inverse(inverse) => inverse.size(),
            Structure::Additive(inverse) => inverse.matrix.size(),
            Structure::Shaped(shape) => shape.size(),
        }
    }

    /// What a level is the sum of: equations and weights.
    pub(super) fn terms(&self, level: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let (sum, own): (&[(usize, f64)], _) = match &self.structure {
            Structure::Additive(inverse) => (inverse.expression(level), None),
            Structure::Independent | Structure::Inverse(_) => (&[], Some((level, 1.0))),
            Structure::Shaped(shape) => match shape.expression(level) {
                Some(sum) => (sum, None),
                None => (&[], Some((level, 1.0))),
            },
        };
        sum.iter().copied().chain(own)
    }

    /// ln|K| over the equations, 0 where K has parameters of its own.
    pub(super) fn log_determinant(&self) -> f64 {
        self.log_determinant
    }

    /// How many constant matrices K⁻¹ is a sum of.
    pub(super) fn pieces(&self) -> usize {
        self.shape().map_or(1, Shaped::pieces)
    }

    /// Calls `visit(row, column, value)` for each entry of the lower triangle of a piece of K⁻¹.
    pub(super) fn for_each_entry_of_inverse(
        &self,
        piece: usize,
        visit: impl FnMut((usize, usize, f64)),
    ) {
        match &self.structure {
            Structure::Independent => {
                (0..self.levels())
                    .map(|level| (level, level, 1.0))
                    .for_each(visit);
            }
            Structure::Inverse(inverse) => inverse.entries().for_each(visit),
            Structure::Additive(inverse) => inverse.matrix.entries().for_each(visit),
            Structure::Shaped(shape) => shape.for_each_entry(piece, visit),
        }
    }
}
