//! First-order autoregression: the correlation of two levels is ρ to the power of the steps between them.
//!
//! With E the identity, D the diagonal of levels that have two neighbours and N the matrix of neighbours,
//! `K⁻¹ = (E + ρ²D − ρN) / (1 − ρ²)`; a level alone in its line counts −1 in D, so that its variance stays 1. Over rows
//! and columns the inverse is the Kronecker product of the two (Martin 1979, Biometrika 66:209–217; Cullis & Gleeson
//! 1991, Biometrics 47:1449–1460).

use super::{Entries, ShapeKind, ShapeParameter, Structure, StructureKind};
use crate::evaluation::EvaluationError;

/// No correlation is taken nearer to 1 than this leaves.
const NEAREST: f64 = 0.999;

fn correlation(kind: ShapeKind) -> ShapeParameter {
    ShapeParameter {
        kind,
        lower: -NEAREST,
        upper: NEAREST,
        start: 0.4,
    }
}

/// The factors of E, D and N.
pub(super) fn coefficients(rho: f64) -> [f64; 3] {
    let rest = 1.0 - rho * rho;
    [1.0 / rest, rho * rho / rest, -rho / rest]
}

/// The slopes of [`coefficients`].
pub(super) fn slopes(rho: f64) -> [f64; 3] {
    let rest = (1.0 - rho * rho).powi(2);
    [
        2.0 * rho / rest,
        2.0 * rho / rest,
        -(1.0 + rho * rho) / rest,
    ]
}

pub(super) fn products(rows: &[f64; 3], columns: &[f64; 3]) -> Vec<f64> {
    rows.iter()
        .flat_map(|row| columns.iter().map(move |column| row * column))
        .collect()
}

fn pieces(lines: &[usize]) -> [Entries; 3] {
    let mut pieces = [Vec::new(), Vec::new(), Vec::new()];
    let mut first = 0;
    for &length in lines {
        for place in first..first + length {
            let at = place as u32;
            pieces[0].push((at, at, 1.0));
            let neighbours = usize::from(place > first) + usize::from(place + 1 < first + length);
            match neighbours {
                2 => pieces[1].push((at, at, 1.0)),
                0 => pieces[1].push((at, at, -1.0)),
                _ => {}
            }
            if place > first {
                pieces[2].push((at, at - 1, 1.0));
            }
        }
        first += length;
    }
    pieces
}

impl Structure {
    /// Lines of these lengths, their levels one after another.
    pub(in crate::evaluation) fn lines(lengths: &[usize]) -> Result<Self, EvaluationError> {
        let parameter = correlation(ShapeKind::Correlation);
        let size = lengths.iter().sum();
        Self::new(
            StructureKind::Lines,
            vec![parameter],
            size,
            &pieces(lengths),
            Vec::new(),
        )
    }

    /// A full grid, row by row.
    pub(in crate::evaluation) fn grid(
        rows: usize,
        columns: usize,
    ) -> Result<Self, EvaluationError> {
        let parameters = vec![
            correlation(ShapeKind::RowCorrelation),
            correlation(ShapeKind::ColumnCorrelation),
        ];
        let (down, along) = (pieces(&[rows]), pieces(&[columns]));
        let products: Vec<Entries> = down
            .iter()
            .flat_map(|down| {
                along
                    .iter()
                    .map(move |along| kronecker(down, along, columns))
            })
            .collect();
        Self::new(
            StructureKind::Grid,
            parameters,
            rows * columns,
            &products,
            Vec::new(),
        )
    }
}

/// The lower triangle of the Kronecker product of two symmetric matrices, the second `size` wide.
pub(super) fn kronecker(left: &Entries, right: &Entries, size: usize) -> Entries {
    let size = size as u32;
    let mut product = Vec::with_capacity(left.len() * right.len());
    for &(i, j, x) in left {
        for &(k, l, z) in right {
            product.push((i * size + k, j * size + l, x * z));
            if i != j && k != l {
                product.push((i * size + l, j * size + k, x * z));
            }
        }
    }
    product
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The inverse of the correlations of five places in a line at .6, worked out dense: ends 1.5625, between them 2.125,
    /// beside the diagonal -.9375.
    #[test]
    fn inverse_along_a_line() {
        let line = Structure::lines(&[5]).unwrap();
        let mut dense = [[0.0; 5]; 5];
        for (piece, coefficient) in line.coefficients(&[0.6]).into_iter().enumerate() {
            line.for_each_entry(piece, |(row, column, value)| {
                dense[row][column] += coefficient * value;
            });
        }
        for (row, values) in dense.iter().enumerate() {
            for (column, &found) in values.iter().enumerate().take(row + 1) {
                let expected = match row - column {
                    0 if row == 0 || row == 4 => 1.5625,
                    0 => 2.125,
                    1 => -0.9375,
                    _ => 0.0,
                };
                assert!((found - expected).abs() < 1e-12, "{row} {column}: {found}");
            }
        }
    }
}
