//! Correlations with parameters of their own: along lines, over grids, within groups, and of surfaces.
//!
//! A structure gives the inverse K⁻¹ of its correlation matrix as a sum of constant sparse matrices, its *pieces*, each
//! times a function of the parameters: `K⁻¹(φ) = Σ c_m(φ) M_m`. All that the likelihood needs follows from the
//! coefficients, their slopes, and one sparse factorization of K⁻¹.

mod autoregressive;
mod spline;
mod symmetric;

pub use spline::{Basis as SplineBasis, Spline};

use super::EvaluationError;
use super::factor::{Elimination, Factor};
use super::selected::{Places, SelectedInverse};
use crate::sparse::SymmetricLower;

/// Entries of the lower triangle: row, column, value.
pub(super) type Entries = Vec<(u32, u32, f64)>;

/// What a parameter of a structure means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShapeKind {
    /// The correlation of neighbours along a line, or of levels of one group.
    Correlation,
    /// The correlation of neighbours from row to row.
    RowCorrelation,
    /// The correlation of neighbours from column to column.
    ColumnCorrelation,
    /// Half the natural logarithm of how much stiffer a surface is from row to row than from column to column.
    Balance,
}

/// A parameter of a structure: what it means, its bounds, and where its estimation starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShapeParameter {
    /// What it means.
    pub kind: ShapeKind,
    /// The lowest value tried.
    pub lower: f64,
    /// The highest value tried.
    pub upper: f64,
    /// The value to start from.
    pub start: f64,
}

impl ShapeParameter {
    /// Whether a value is at a bound, as near as an estimate can tell.
    pub(super) fn at_bound(&self, value: f64) -> bool {
        let near = 1e-6 * (self.upper - self.lower);
        value <= self.lower + near || value >= self.upper - near
    }
}

#[derive(Debug)]
enum StructureKind {
    /// One correlation along lines.
    Lines,
    /// A correlation along each side of a grid.
    Grid,
    /// One correlation within groups of these sizes, one piece a size after the diagonal.
    Symmetric(Vec<usize>),
    /// A line bent against its second differences: no parameter.
    Curve,
    /// Stiffness along rows and along columns.
    Surface,
}

/// A correlation matrix with parameters, known by its inverse.
#[derive(Debug)]
pub(super) struct Structure {
    kind: StructureKind,
    parameters: Vec<ShapeParameter>,
    elimination: Elimination,
    places: Places,
    row_of: Vec<u32>,
    column_of: Vec<u32>,
    /// By piece: places of the common pattern, and values.
    pieces: Vec<Vec<(u32, f64)>>,
    /// What each level is the sum of; the unknown of the same number if empty.
    expressions: Vec<Vec<(usize, f64)>>,
}

impl Structure {
    fn new(
        kind: StructureKind,
        parameters: Vec<ShapeParameter>,
        size: usize,
        pieces: &[Entries],
        expressions: Vec<Vec<(usize, f64)>>,
    ) -> Result<Self, EvaluationError> {
        let all: Entries = pieces
            .iter()
            .flatten()
            .map(|&(row, column, _)| (row, column, 0.0))
            .collect();
        let pattern = SymmetricLower::from_entries(size, &all);
        let (row_of, column_of): (Vec<u32>, Vec<u32>) = pattern
            .entries()
            .map(|(row, column, _)| (row as u32, column as u32))
            .unzip();
        let (starts, rows) = (pattern.column_starts(), pattern.rows());
        let place = |row: u32, column: u32| {
            let column = column as usize;
            let within = &rows[starts[column]..starts[column + 1]];
            starts[column] + within.partition_point(|&other| other < row as usize)
        };
        let pieces = pieces
            .iter()
            .map(|entries| {
                entries
                    .iter()
                    .map(|&(row, column, value)| (place(row, column) as u32, value))
                    .collect()
            })
            .collect();
        let elimination = Elimination::new(starts.to_vec(), rows.to_vec())?;
        let places = Places::new(&elimination);
        Ok(Self {
            kind,
            parameters,
            elimination,
            places,
            row_of,
            column_of,
            pieces,
            expressions,
        })
    }

    pub(super) fn parameters(&self) -> &[ShapeParameter] {
        &self.parameters
    }

    pub(super) fn size(&self) -> usize {
        self.elimination.size()
    }

    pub(super) fn pieces(&self) -> usize {
        self.pieces.len()
    }

    pub(super) fn expression(&self, level: usize) -> Option<&[(usize, f64)]> {
        self.expressions.get(level).map(Vec::as_slice)
    }

    pub(super) fn levels(&self) -> usize {
        if self.expressions.is_empty() {
            self.size()
        } else {
            self.expressions.len()
        }
    }

    pub(super) fn for_each_entry(&self, piece: usize, mut visit: impl FnMut((usize, usize, f64))) {
        for &(place, value) in &self.pieces[piece] {
            let (row, column) = (self.row_of[place as usize], self.column_of[place as usize]);
            visit((row as usize, column as usize, value));
        }
    }

    /// What each piece is multiplied by.
    pub(super) fn coefficients(&self, shape: &[f64]) -> Vec<f64> {
        match &self.kind {
            StructureKind::Lines => autoregressive::coefficients(shape[0]).to_vec(),
            StructureKind::Grid => autoregressive::products(
                &autoregressive::coefficients(shape[0]),
                &autoregressive::coefficients(shape[1]),
            ),
            StructureKind::Symmetric(sizes) => symmetric::coefficients(shape[0], sizes),
            StructureKind::Curve => vec![1.0],
            StructureKind::Surface => vec![shape[0].exp(), (-shape[0]).exp()],
        }
    }

    /// The slopes of [`Self::coefficients`] in one parameter.
    pub(super) fn slopes(&self, shape: &[f64], index: usize) -> Vec<f64> {
        use autoregressive::{coefficients, products, slopes};
        match (&self.kind, index) {
            (StructureKind::Lines, _) => slopes(shape[0]).to_vec(),
            (StructureKind::Grid, 0) => products(&slopes(shape[0]), &coefficients(shape[1])),
            (StructureKind::Grid, _) => products(&coefficients(shape[0]), &slopes(shape[1])),
            (StructureKind::Symmetric(sizes), _) => symmetric::slopes(shape[0], sizes),
            (StructureKind::Curve, _) => vec![0.0],
            (StructureKind::Surface, _) => vec![shape[0].exp(), -(-shape[0]).exp()],
        }
    }

    /// `Σ c_m M_m x`.
    pub(super) fn times(&self, coefficients: &[f64], x: &[f64]) -> Vec<f64> {
        let mut product = vec![0.0; x.len()];
        for (piece, &coefficient) in coefficients.iter().enumerate() {
            self.for_each_entry(piece, |(row, column, value)| {
                product[row] += coefficient * value * x[column];
                if row != column {
                    product[column] += coefficient * value * x[row];
                }
            });
        }
        product
    }

    /// `x′ M_m x` for each piece.
    pub(super) fn quadratics(&self, x: &[f64]) -> Vec<f64> {
        (0..self.pieces())
            .map(|piece| {
                let mut sum = 0.0;
                self.for_each_entry(piece, |(row, column, value)| {
                    let times = if row == column { 1.0 } else { 2.0 };
                    sum += times * value * x[row] * x[column];
                });
                sum
            })
            .collect()
    }

    /// Factorizes K⁻¹ at these parameters.
    pub(super) fn factorize(&self, shape: &[f64]) -> Result<Factor<'_>, EvaluationError> {
        let mut values = vec![0.0; self.row_of.len()];
        for (entries, coefficient) in self.pieces.iter().zip(self.coefficients(shape)) {
            for &(place, value) in entries {
                values[place as usize] += coefficient * value;
            }
        }
        self.elimination.factorize(&values)
    }

    /// `tr(K M_m)` for each piece.
    pub(super) fn traces(&self, factor: &Factor<'_>) -> Vec<f64> {
        let inverse = SelectedInverse::new(factor, &self.places);
        let of_piece = |entries: &Vec<(u32, f64)>| {
            entries
                .iter()
                .map(|&(place, value)| {
                    let place = place as usize;
                    let same = self.row_of[place] == self.column_of[place];
                    let times = if same { 1.0 } else { 2.0 };
                    times * value * inverse.at(place)
                })
                .sum()
        };
        self.pieces.iter().map(of_piece).collect()
    }
}
