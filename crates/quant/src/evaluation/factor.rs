//! Sparse Cholesky factorization, analysed once and refilled at each set of variances.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::LltRegularization;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::supernodal::SupernodalLltRef;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymbolicCholeskyRaw, SymmetricOrdering,
    factorize_symbolic_cholesky, supernodal,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMat};
use faer::{Conj, MatMut, Par, Side, Spec};

use super::EvaluationError;

/// The most places of a factor: 3.2 GB, and as much again for the inverse at its places.
const MOST_PLACES: usize = 400_000_000;
/// The most multiplications of one factorization. An estimation makes some ten of them, with twice as many for the inverse
/// each: with so many it takes about an hour.
const MOST_OPERATIONS: f64 = 1e12;

/// The elimination order (approximate minimum degree) and the places that fill in.
#[derive(Debug)]
pub(super) struct Elimination {
    pattern: SymbolicSparseColMat<usize>,
    symbolic: SymbolicCholesky<usize>,
}

impl Elimination {
    /// Analyses the lower triangle whose column `j` has rows
    /// `row_index[column_start[j]..column_start[j + 1]]`, ascending.
    pub(super) fn new(
        column_start: Vec<usize>,
        row_index: Vec<usize>,
    ) -> Result<Self, EvaluationError> {
        let size = column_start.len() - 1;
        let pattern = SymbolicSparseColMat::new_checked(size, size, column_start, None, row_index);
        // The selected inverse walks supernodes, so the supernodal form is asked for at any size.
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold(-1.0),
            ..CholeskySymbolicParams::default()
        };
        let symbolic = factorize_symbolic_cholesky(
            pattern.as_ref(),
            Side::Lower,
            SymmetricOrdering::Amd,
            params,
        )
        .map_err(|_out_of_memory| EvaluationError::Memory)?;
        let elimination = Self { pattern, symbolic };
        let places = elimination.symbolic.len_val();
        if places > MOST_PLACES || elimination.operations() > MOST_OPERATIONS {
            return Err(EvaluationError::TooLarge {
                unknowns: size,
                places,
            });
        }
        Ok(elimination)
    }

    /// About how many multiplications a factorization takes: of each column, half the square of what stands below it.
    pub(super) fn operations(&self) -> f64 {
        let supernodes = self.supernodes();
        (0..supernodes.n_supernodes())
            .map(|s| {
                let begin = supernodes.supernode_begin()[s];
                let width = (supernodes.supernode_end()[s] - begin) as f64;
                let below = supernodes.supernode(s).pattern().len() as f64;
                width * (width * width / 6.0 + width * below / 2.0 + below * below / 2.0)
            })
            .sum()
    }

    pub(super) fn size(&self) -> usize {
        self.symbolic.nrows()
    }

    /// Rows of the lower triangle, column after column.
    pub(super) fn row_index(&self) -> &[usize] {
        self.pattern.row_idx()
    }

    /// Where each column starts in [`Self::row_index`], and the end of the last.
    pub(super) fn column_start(&self) -> &[usize] {
        self.pattern.col_ptr()
    }

    /// The supernodes of the factor.
    pub(super) fn supernodes(&self) -> &supernodal::SymbolicSupernodalCholesky<usize> {
        match self.symbolic.raw() {
            SymbolicCholeskyRaw::Supernodal(supernodes) => supernodes,
            SymbolicCholeskyRaw::Simplicial(_) => unreachable!("the supernodal form was asked for"),
        }
    }

    /// The place of each equation in the elimination order.
    pub(super) fn order(&self) -> &[usize] {
        self.symbolic
            .perm()
            .map_or(&[], |permutation| permutation.arrays().1)
    }

    /// Factorizes the matrix with these values in the analysed places.
    pub(super) fn factorize(&self, values: &[f64]) -> Result<Factor<'_>, EvaluationError> {
        let matrix = SparseColMatRef::new(self.pattern.as_ref(), values);
        let mut lower = vec![0.0; self.symbolic.len_val()];
        let mut memory = MemBuffer::try_new(
            self.symbolic
                .factorize_numeric_llt_scratch::<f64>(Par::Seq, Spec::default()),
        )
        .map_err(|_out_of_memory| EvaluationError::Memory)?;
        self.symbolic
            .factorize_numeric_llt(
                &mut lower,
                matrix,
                Side::Lower,
                LltRegularization::default(),
                Par::Seq,
                MemStack::new(&mut memory),
                Spec::default(),
            )
            .map_err(|_not_positive| EvaluationError::Singular)?;
        Ok(Factor {
            elimination: self,
            lower,
        })
    }
}

/// A Cholesky factor.
#[derive(Debug)]
pub(super) struct Factor<'a> {
    elimination: &'a Elimination,
    lower: Vec<f64>,
}

impl<'a> Factor<'a> {
    pub(super) fn elimination(&self) -> &'a Elimination {
        self.elimination
    }

    /// The factor by supernodes.
    pub(super) fn supernodes(&self) -> SupernodalLltRef<'_, usize, f64> {
        SupernodalLltRef::new(self.elimination.supernodes(), &self.lower)
    }

    /// The natural logarithm of the determinant of the factorized matrix.
    pub(super) fn log_determinant(&self) -> f64 {
        let factor = self.supernodes();
        (0..factor.symbolic().n_supernodes())
            .flat_map(|s| factor.supernode(s).val().diagonal().column_vector().iter())
            .map(|pivot| 2.0 * pivot.ln())
            .sum()
    }

    /// Replaces `right` (columns of the matrix's size, one after another) by the solutions.
    pub(super) fn solve_in_place(&self, right: &mut [f64]) {
        let symbolic = &self.elimination.symbolic;
        let columns = right.len() / symbolic.nrows();
        let right = MatMut::from_column_major_slice_mut(right, symbolic.nrows(), columns);
        let mut memory = MemBuffer::new(symbolic.solve_in_place_scratch::<f64>(columns, Par::Seq));
        LltRef::new(symbolic, &self.lower).solve_in_place_with_conj(
            Conj::No,
            right,
            Par::Seq,
            MemStack::new(&mut memory),
        );
    }
}
