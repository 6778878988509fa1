//! The inverse of a sparse matrix at the places of its Cholesky factor only.
//!
//! With C = LL′ and Z = C⁻¹, the columns J of a supernode and the rows I below it satisfy
//!
//! ```text
//! Y    = L_IJ L_JJ⁻¹
//! Z_IJ = −Z_II Y
//! Z_JJ = (L_JJ L_JJ′)⁻¹ − Y′ Z_IJ
//! ```
//!
//! and every place of `Z_II` is one where later columns of L are stored, so a sweep from the last
//! supernode to the first needs nothing else. Sources: Takahashi, Fagan & Chin (1973)
//! *Formation of a sparse bus impedance matrix*; Erisman & Tinney (1975) Communications of the
//! ACM 18:177–179; for mixed models Misztal & Perez-Enciso (1993) Journal of Dairy Science
//! 76:1479–1483.

use faer::linalg::matmul::matmul;
use faer::linalg::triangular_solve::{
    solve_lower_triangular_in_place, solve_upper_triangular_in_place,
};
use faer::{Accum, MatMut, Par};

use super::factor::{Elimination, Factor};

/// Where the places of a matrix lie in its selected inverse; fixed by the pattern alone.
#[derive(Debug)]
pub(super) struct Places {
    /// The supernode of each column, in elimination order.
    supernode_of: Vec<u32>,
    /// For each stored place of the matrix, where its inverse is stored.
    of_matrix: Vec<usize>,
}

impl Places {
    pub(super) fn new(elimination: &Elimination) -> Self {
        let supernodes = elimination.supernodes();
        let mut supernode_of = vec![0; elimination.size()];
        for s in 0..supernodes.n_supernodes() {
            supernode_of[supernodes.supernode_begin()[s]..supernodes.supernode_end()[s]]
                .fill(s as u32);
        }
        let mut places = Self {
            supernode_of,
            of_matrix: Vec::new(),
        };
        let (starts, rows) = (elimination.column_start(), elimination.row_index());
        places.of_matrix = (0..elimination.size())
            .flat_map(|column| {
                rows[starts[column]..starts[column + 1]]
                    .iter()
                    .map(move |&row| (row, column))
            })
            .filter_map(|(row, column)| places.find(elimination, row, column))
            .collect();
        debug_assert_eq!(places.of_matrix.len(), rows.len());
        places
    }

    /// Where the inverse at `row`, `column` is stored, if it is.
    fn find(&self, elimination: &Elimination, row: usize, column: usize) -> Option<usize> {
        let supernodes = elimination.supernodes();
        let order = elimination.order();
        let (first, second) = (order[row].min(order[column]), order[row].max(order[column]));
        let s = self.supernode_of[first] as usize;
        let (start, end) = (
            supernodes.supernode_begin()[s],
            supernodes.supernode_end()[s],
        );
        let pattern = supernodes.supernode(s).pattern();
        let local = if second < end {
            second - start
        } else {
            end - start + pattern.binary_search(&second).ok()?
        };
        let height = end - start + pattern.len();
        Some(supernodes.col_ptr_for_val()[s] + (first - start) * height + local)
    }
}

/// C⁻¹ at the places of L.
#[derive(Debug)]
pub(super) struct SelectedInverse<'a> {
    elimination: &'a Elimination,
    places: &'a Places,
    values: Vec<f64>,
}

impl<'a> SelectedInverse<'a> {
    pub(super) fn new(factor: &Factor<'a>, places: &'a Places) -> Self {
        let elimination = factor.elimination();
        let supernodes = elimination.supernodes();
        let lower = factor.supernodes();
        let mut values = vec![0.0; lower.values().len()];
        let (mut scratch, mut locals) = (Vec::new(), Vec::new());
        for s in (0..supernodes.n_supernodes()).rev() {
            let supernode = lower.supernode(s);
            let (width, pattern) = (supernode.val().ncols(), supernode.pattern());
            let height = pattern.len();
            let (top, below) = supernode.val().split_at_row(width);
            let (done_from, own) = (
                supernodes.col_ptr_for_val()[s + 1],
                supernodes.col_ptr_for_val()[s],
            );
            let (unfinished, done) = values.split_at_mut(done_from);

            scratch.clear();
            scratch.resize(height * height + width * height + width * width, 0.0);
            let (related, rest) = scratch.split_at_mut(height * height);
            let (ratio, root) = rest.split_at_mut(width * height);
            gather(
                supernodes,
                &places.supernode_of,
                pattern,
                done,
                done_from,
                &mut locals,
                related,
            );

            // ratio = Y′ = L_JJ⁻ᵀ L_IJ′; root = L_JJ⁻¹.
            let mut ratio = MatMut::from_column_major_slice_mut(ratio, width, height);
            ratio.copy_from(below.transpose());
            solve_upper_triangular_in_place(top.transpose(), ratio.as_mut(), Par::Seq);
            let mut root = MatMut::from_column_major_slice_mut(root, width, width);
            root.as_mut().diagonal_mut().fill(1.0);
            solve_lower_triangular_in_place(top, root.as_mut(), Par::Seq);

            let related = MatMut::from_column_major_slice_mut(related, height, height);
            let block =
                MatMut::from_column_major_slice_mut(&mut unfinished[own..], width + height, width);
            let (mut own_block, mut below_block) = block.split_at_row_mut(width);
            let (ratio, root) = (ratio.as_ref(), root.as_ref());
            matmul(
                &mut below_block,
                Accum::Replace,
                related.as_ref(),
                ratio.transpose(),
                -1.0,
                Par::Seq,
            );
            matmul(
                &mut own_block,
                Accum::Replace,
                root.transpose(),
                root,
                1.0,
                Par::Seq,
            );
            matmul(
                &mut own_block,
                Accum::Add,
                ratio,
                below_block.as_ref(),
                -1.0,
                Par::Seq,
            );
        }
        Self {
            elimination,
            places,
            values,
        }
    }

    /// x′ C⁻¹ z for sparse x and z whose places are stored; see `Equations::triplets` for those
    /// that always are.
    pub(super) fn bilinear<X, Z>(&self, x: impl Fn() -> X, z: impl Fn() -> Z) -> f64
    where
        X: Iterator<Item = (usize, f64)>,
        Z: Iterator<Item = (usize, f64)>,
    {
        let entry = |row, column| {
            let place = self.places.find(self.elimination, row, column);
            place.map_or(f64::NAN, |place| self.values[place])
        };
        x().map(|(i, x)| z().map(|(j, z)| x * z * entry(i, j)).sum::<f64>())
            .sum()
    }

    /// The inverse at a stored place of the matrix.
    pub(super) fn at(&self, place: usize) -> f64 {
        self.values[self.places.of_matrix[place]]
    }
}

/// Copies `Z_II`, both triangles, from the finished columns.
fn gather(
    supernodes: &faer::sparse::linalg::cholesky::supernodal::SymbolicSupernodalCholesky<usize>,
    supernode_of: &[u32],
    pattern: &[usize],
    done: &[f64],
    done_from: usize,
    locals: &mut Vec<usize>,
    related: &mut [f64],
) {
    let height = pattern.len();
    let mut column = 0;
    while column < height {
        let s = supernode_of[pattern[column]] as usize;
        let (start, end) = (
            supernodes.supernode_begin()[s],
            supernodes.supernode_end()[s],
        );
        let below = supernodes.supernode(s).pattern();
        let tall = end - start + below.len();
        let offset = supernodes.col_ptr_for_val()[s] - done_from;

        // Rows of the pattern as rows of that supernode; both lists ascend.
        locals.clear();
        let mut seen = 0;
        for &row in &pattern[column..] {
            locals.push(if row < end {
                row - start
            } else {
                seen += below[seen..].partition_point(|&other| other < row);
                end - start + seen
            });
        }
        let first = column;
        while column < height && pattern[column] < end {
            let from = offset + (pattern[column] - start) * tall;
            for row in column..height {
                let value = done[from + locals[row - first]];
                related[column * height + row] = value;
                related[row * height + column] = value;
            }
            column += 1;
        }
    }
}
