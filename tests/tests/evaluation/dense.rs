//! Dense matrices and the mixed model by way of V⁻¹: slow, and independent of the program.

use std::f64::consts::TAU;
use std::ops::{Index, IndexMut};

use quant::evaluation::{Components, Covariance};

#[derive(Clone, Debug)]
pub(crate) struct Dense {
    pub(crate) rows: usize,
    pub(crate) columns: usize,
    values: Vec<f64>,
}

impl Index<(usize, usize)> for Dense {
    type Output = f64;
    fn index(&self, (i, j): (usize, usize)) -> &f64 {
        &self.values[i * self.columns + j]
    }
}

impl IndexMut<(usize, usize)> for Dense {
    fn index_mut(&mut self, (i, j): (usize, usize)) -> &mut f64 {
        &mut self.values[i * self.columns + j]
    }
}

impl Dense {
    pub(crate) fn zeros(rows: usize, columns: usize) -> Self {
        Self {
            rows,
            columns,
            values: vec![0.0; rows * columns],
        }
    }

    pub(crate) fn from_fn(
        rows: usize,
        columns: usize,
        value: impl Fn(usize, usize) -> f64,
    ) -> Self {
        let mut matrix = Self::zeros(rows, columns);
        for i in 0..rows {
            for j in 0..columns {
                matrix[(i, j)] = value(i, j);
            }
        }
        matrix
    }

    pub(crate) fn identity(size: usize) -> Self {
        Self::from_fn(size, size, |i, j| f64::from(u8::from(i == j)))
    }

    pub(crate) fn transpose(&self) -> Self {
        Self::from_fn(self.columns, self.rows, |i, j| self[(j, i)])
    }

    pub(crate) fn times(&self, other: &Self) -> Self {
        assert_eq!(self.columns, other.rows);
        let mut product = Self::zeros(self.rows, other.columns);
        for i in 0..self.rows {
            for k in 0..self.columns {
                let factor = self[(i, k)];
                if factor != 0.0 {
                    for j in 0..other.columns {
                        product[(i, j)] += factor * other[(k, j)];
                    }
                }
            }
        }
        product
    }

    pub(crate) fn plus(&self, factor: f64, other: &Self) -> Self {
        Self::from_fn(self.rows, self.columns, |i, j| {
            self[(i, j)] + factor * other[(i, j)]
        })
    }

    /// Left ⊗ right, the right index running fastest.
    pub(crate) fn kronecker(&self, right: &Self) -> Self {
        Self::from_fn(
            self.rows * right.rows,
            self.columns * right.columns,
            |i, j| {
                self[(i / right.rows, j / right.columns)]
                    * right[(i % right.rows, j % right.columns)]
            },
        )
    }

    /// Gauss–Jordan with pivoting: the inverse and ln|determinant|.
    pub(crate) fn inverse(&self) -> (Self, f64) {
        let size = self.rows;
        let (mut left, mut right) = (self.clone(), Self::identity(size));
        let mut log_determinant = 0.0;
        for column in 0..size {
            let pivot = (column..size)
                .max_by(|&i, &j| left[(i, column)].abs().total_cmp(&left[(j, column)].abs()))
                .unwrap();
            for j in 0..size {
                for matrix in [&mut left, &mut right] {
                    let (above, below) = (matrix[(column, j)], matrix[(pivot, j)]);
                    matrix[(column, j)] = below;
                    matrix[(pivot, j)] = above;
                }
            }
            let value = left[(column, column)];
            log_determinant += value.abs().ln();
            for j in 0..size {
                left[(column, j)] /= value;
                right[(column, j)] /= value;
            }
            for i in (0..size).filter(|&i| i != column) {
                let factor = left[(i, column)];
                if factor != 0.0 {
                    for j in 0..size {
                        left[(i, j)] -= factor * left[(column, j)];
                        right[(i, j)] -= factor * right[(column, j)];
                    }
                }
            }
        }
        (right, log_determinant)
    }
}

/// One observation: its record and trait, its fixed row, its level of each random effect.
pub(crate) struct Observed {
    pub(crate) record: usize,
    pub(crate) of_trait: usize,
    pub(crate) value: f64,
    pub(crate) fixed: Vec<f64>,
    pub(crate) level: Vec<Option<usize>>,
}

/// What the dense formulas give.
pub(crate) struct DenseSolution {
    pub(crate) fixed: Vec<f64>,
    pub(crate) fixed_error: Dense,
    /// By effect: level by level, trait within level.
    pub(crate) random: Vec<Vec<f64>>,
    /// By pair of effects, var(u − û).
    pub(crate) error: Vec<Vec<Dense>>,
    pub(crate) minus_two_log_likelihood: f64,
}

fn dense(covariance: &Covariance) -> Dense {
    Dense::from_fn(covariance.order(), covariance.order(), |a, b| {
        covariance.get(a, b)
    })
}

/// Searle, Casella & McCulloch (1992) *Variance Components*, chapters 6 and 7: generalized least
/// squares, BLUP as GZ′Py, and the restricted likelihood through |V| and |X′V⁻¹X|.
pub(crate) fn solve(
    observed: &[Observed],
    relationships: &[Dense],
    components: &Components,
) -> DenseSolution {
    let n = observed.len();
    let traits = components.residual().order();
    let x = Dense::from_fn(n, observed[0].fixed.len(), |i, j| observed[i].fixed[j]);
    let y = Dense::from_fn(n, 1, |i, _| observed[i].value);
    let incidence: Vec<Dense> = (0..relationships.len())
        .map(|k| {
            Dense::from_fn(n, relationships[k].rows * traits, |i, j| {
                let own = observed[i].level[k].map(|level| level * traits + observed[i].of_trait);
                f64::from(u8::from(own == Some(j)))
            })
        })
        .collect();
    let covariances: Vec<Dense> = relationships
        .iter()
        .zip(&components.effects)
        .map(|(k, g)| k.kronecker(&dense(g)))
        .collect();
    let mut v = Dense::from_fn(n, n, |i, j| {
        let same = observed[i].record == observed[j].record;
        let (a, b) = (observed[i].of_trait, observed[j].of_trait);
        if same {
            components.residual().get(a, b)
        } else {
            0.0
        }
    });
    for (z, g) in incidence.iter().zip(&covariances) {
        v = v.plus(1.0, &z.times(g).times(&z.transpose()));
    }
    let (v_inverse, log_v) = v.inverse();
    let (xt_v, log_x);
    let fixed_error;
    {
        let weighted = x.transpose().times(&v_inverse);
        let (inverse, log) = weighted.times(&x).inverse();
        fixed_error = inverse;
        log_x = log;
        xt_v = weighted;
    }
    let p = v_inverse.plus(-1.0, &xt_v.transpose().times(&fixed_error).times(&xt_v));
    let fixed = fixed_error.times(&xt_v).times(&y);
    let projected = p.times(&y);
    let back: Vec<Dense> = incidence
        .iter()
        .zip(&covariances)
        .map(|(z, g)| g.times(&z.transpose()))
        .collect();
    let random = back.iter().map(|b| b.times(&projected).values).collect();
    let error = (0..back.len())
        .map(|k| {
            (0..back.len())
                .map(|l| {
                    let lost = back[k].times(&p).times(&back[l].transpose());
                    let before = if k == l {
                        covariances[k].clone()
                    } else {
                        Dense::zeros(lost.rows, lost.columns)
                    };
                    before.plus(-1.0, &lost)
                })
                .collect()
        })
        .collect();
    let free = (n - x.columns) as f64;
    let quadratic = y.transpose().times(&projected)[(0, 0)];
    DenseSolution {
        fixed: fixed.values,
        fixed_error,
        random,
        error,
        minus_two_log_likelihood: free * TAU.ln() + log_v + log_x + quadratic,
    }
}
