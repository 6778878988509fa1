//! Entries compared fairly where not all were grown everywhere: entry plus environment, by least squares.

use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};

/// A value of an entry in an environment, both from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// The entry.
    pub entry: usize,
    /// The environment.
    pub environment: usize,
    /// The value.
    pub value: f64,
}

/// Entry plus environment, fitted by least squares to cells of which some are missing (fitting constants).
#[derive(Clone, Debug, PartialEq)]
pub struct Additive {
    /// The mean of each entry as if it had stood in every environment.
    pub means: Vec<f64>,
    /// Its standard error, the environments taken as they are; not a number if nothing is left for error.
    pub standard_errors: Vec<f64>,
    /// The mean of each environment as if every entry had stood there.
    pub environments: Vec<f64>,
    /// Sum of squares of entries, environments ignored.
    pub entries_alone: f64,
    /// Sum of squares of environments once entries are taken out.
    pub environments_after_entries: f64,
    /// Residual sum of squares.
    pub residual: f64,
    /// Its degrees of freedom.
    pub freedom: usize,
}

/// Fits entry plus environment. Several values of one entry in one environment are welcome.
///
/// `None` where a value is no number, entries or environments are not numbered through from 0, or they fall into
/// groups without anything in common, which can't be compared.
pub fn additive(cells: &[Cell]) -> Option<Additive> {
    let entries = 1 + cells.iter().map(|cell| cell.entry).max()?;
    let environments = 1 + cells.iter().map(|cell| cell.environment).max()?;
    if cells.iter().any(|cell| !cell.value.is_finite()) || !connected(cells, entries, environments)
    {
        return None;
    }
    // The first environment is the base.
    let size = entries + environments - 1;
    let columns = |cell: &Cell| {
        [
            Some(cell.entry),
            (cell.environment > 0).then(|| entries + cell.environment - 1),
        ]
    };
    let mut square = Mat::<f64>::zeros(size, size);
    let mut right = Mat::<f64>::zeros(size, 1);
    for cell in cells {
        for row in columns(cell).into_iter().flatten() {
            right[(row, 0)] += cell.value;
            for column in columns(cell).into_iter().flatten() {
                square[(row, column)] += 1.0;
            }
        }
    }
    let inverse = square
        .llt(Side::Lower)
        .ok()?
        .solve(&Mat::<f64>::identity(size, size));
    let solution = &inverse * &right;
    let effect = |environment: usize| {
        if environment == 0 {
            0.0
        } else {
            solution[(entries + environment - 1, 0)]
        }
    };
    let residual: f64 = cells
        .iter()
        .map(|cell| (cell.value - solution[(cell.entry, 0)] - effect(cell.environment)).powi(2))
        .sum();
    let freedom = cells.len() - size.min(cells.len());
    let share = 1.0 / environments as f64;
    let level = (0..environments).map(effect).sum::<f64>() * share;
    let variance = residual / freedom as f64;
    let standard_errors = (0..entries).map(|entry| {
        let weight = |place: usize| match place {
            _ if place == entry => 1.0,
            _ if place < entries => 0.0,
            _ => share,
        };
        let sum: f64 = (0..size)
            .filter(|&row| weight(row) != 0.0)
            .map(|row| {
                weight(row)
                    * (0..size)
                        .map(|column| inverse[(row, column)] * weight(column))
                        .sum::<f64>()
            })
            .sum();
        (sum * variance).sqrt()
    });
    let grand = cells.iter().map(|cell| cell.value).sum::<f64>() / cells.len() as f64;
    let mut sums = vec![(0.0, 0.0); entries];
    for cell in cells {
        sums[cell.entry].0 += cell.value - grand;
        sums[cell.entry].1 += 1.0;
    }
    let entries_alone: f64 = sums.iter().map(|(sum, count)| sum * sum / count).sum();
    let total: f64 = cells.iter().map(|cell| (cell.value - grand).powi(2)).sum();
    let over_entries = (0..entries).map(|entry| solution[(entry, 0)]).sum::<f64>() / entries as f64;
    Some(Additive {
        means: (0..entries)
            .map(|entry| solution[(entry, 0)] + level)
            .collect(),
        standard_errors: standard_errors.collect(),
        environments: (0..environments)
            .map(|environment| over_entries + effect(environment))
            .collect(),
        entries_alone,
        environments_after_entries: total - entries_alone - residual,
        residual,
        freedom,
    })
}

/// True if any entry can be reached from any other by shared environments, none left out.
fn connected(cells: &[Cell], entries: usize, environments: usize) -> bool {
    let mut group: Vec<usize> = (0..entries + environments).collect();
    fn root(group: &mut [usize], mut of: usize) -> usize {
        while group[of] != of {
            group[of] = group[group[of]];
            of = group[of];
        }
        of
    }
    for cell in cells {
        let (one, other) = (
            root(&mut group, cell.entry),
            root(&mut group, entries + cell.environment),
        );
        group[one] = other;
    }
    let first = root(&mut group, 0);
    (0..group.len()).all(|each| root(&mut group, each) == first)
}
