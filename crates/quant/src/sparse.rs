//! Sparse symmetric matrices.

/// Lower triangle of a sparse symmetric matrix, compressed by column: in each column the diagonal comes first and
/// rows ascend. These are the arrays that sparse Cholesky factorisations take.
#[derive(Clone, Debug, PartialEq)]
pub struct SymmetricLower {
    column_starts: Vec<usize>,
    rows: Vec<usize>,
    values: Vec<f64>,
}

impl SymmetricLower {
    /// Adds up entries given as (row, column, value) with `row >= column`. Linear in their number, up to sorting
    /// within columns. Every diagonal entry is stored, given or not.
    ///
    /// # Panics
    /// If an entry lies above the diagonal or outside.
    pub fn from_entries(size: usize, entries: &[(u32, u32, f64)]) -> Self {
        let mut starts = vec![0; size + 1];
        for &(row, column, _) in entries {
            assert!(
                row >= column && (row as usize) < size,
                "entry ({row}, {column}) is not in the lower triangle"
            );
            starts[column as usize + 1] += 1;
        }
        for column in 0..size {
            starts[column + 1] += starts[column];
        }
        let mut next = starts.clone();
        let mut filed = vec![(0, 0.0); entries.len()];
        for &(row, column, value) in entries {
            let slot = &mut next[column as usize];
            filed[*slot] = (row, value);
            *slot += 1;
        }
        let mut matrix = Self {
            column_starts: vec![0],
            rows: Vec::new(),
            values: Vec::new(),
        };
        for column in 0..size {
            matrix.rows.push(column);
            matrix.values.push(0.0);
            let within = &mut filed[starts[column]..starts[column + 1]];
            within.sort_by_key(|&(row, _)| row);
            for &mut (row, value) in within {
                if matrix.rows.last() != Some(&(row as usize)) {
                    matrix.rows.push(row as usize);
                    matrix.values.push(0.0);
                }
                if let Some(entry) = matrix.values.last_mut() {
                    *entry += value;
                }
            }
            matrix.column_starts.push(matrix.rows.len());
        }
        matrix
    }

    /// Number of rows and columns.
    pub fn size(&self) -> usize {
        self.column_starts.len() - 1
    }

    /// Where each column starts in [`Self::rows`] and [`Self::values`], and one more for the end.
    pub fn column_starts(&self) -> &[usize] {
        &self.column_starts
    }

    /// Row of each stored entry.
    pub fn rows(&self) -> &[usize] {
        &self.rows
    }

    /// Each stored entry.
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// Stored entries as (row, column, value), `row >= column`, column by column.
    pub fn entries(&self) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
        (0..self.size()).flat_map(move |column| {
            (self.column_starts[column]..self.column_starts[column + 1])
                .map(move |entry| (self.rows[entry], column, self.values[entry]))
        })
    }

    /// The product of the whole symmetric matrix with a vector.
    ///
    /// # Panics
    /// If the vector has another length.
    pub fn times(&self, vector: &[f64]) -> Vec<f64> {
        assert_eq!(vector.len(), self.size(), "a vector as long as the matrix");
        let mut product = vec![0.0; vector.len()];
        for (row, column, value) in self.entries() {
            product[row] += value * vector[column];
            if row != column {
                product[column] += value * vector[row];
            }
        }
        product
    }
}

#[cfg(test)]
mod tests {
    use super::SymmetricLower;

    #[test]
    fn repeated_entries_add_up_and_diagonals_are_kept() {
        let matrix =
            SymmetricLower::from_entries(3, &[(2, 0, 1.0), (1, 0, 2.0), (2, 0, 3.0), (1, 1, 5.0)]);
        assert_eq!(matrix.column_starts(), [0, 3, 4, 5]);
        assert_eq!(matrix.rows(), [0, 1, 2, 1, 2]);
        assert_eq!(matrix.values(), [0.0, 2.0, 4.0, 5.0, 0.0]);
        assert_eq!(matrix.times(&[1.0, 10.0, 100.0]), [420.0, 52.0, 4.0]);
    }
}
