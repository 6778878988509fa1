//! Measures of how steady an entry is.

use super::Table;

/// One entry over all environments.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stability {
    /// Its mean.
    pub mean: f64,
    /// Its slope on the environments' means (Finlay & Wilkinson): 1 on the average of all entries, below 1 for one that
    /// gains little from good ground.
    pub slope: f64,
    /// Mean square of its deviations from that line (Eberhart & Russell), no error subtracted. Not a number for two
    /// environments.
    pub deviation: f64,
    /// Its share of the sum of squares of entries by environments (Wricke's ecovalence).
    pub ecovalence: f64,
    /// Its variance over environments beyond their means (Shukla); may come out below 0, which is none. Not a number for
    /// two entries.
    pub variance: f64,
    /// Half the mean square of its distance from the best entry of each environment (Lin & Binns): the lower, the better.
    pub inferiority: f64,
}

/// The stability of every entry.
pub fn stability(table: &Table) -> Vec<Stability> {
    let (entries, environments) = (table.entries(), table.environments());
    let (means, mean) = (table.entry_means(), table.mean());
    let index: Vec<f64> = table
        .environment_means()
        .iter()
        .map(|each| each - mean)
        .collect();
    let spread: f64 = index.iter().map(|each| each * each).sum();
    let best: Vec<f64> = (0..environments)
        .map(|column| {
            (0..entries)
                .map(|row| table.values[(row, column)])
                .fold(f64::NEG_INFINITY, f64::max)
        })
        .collect();
    let rest = table.interaction();
    let (p, q) = (entries as f64, environments as f64);
    let shares: Vec<f64> = (0..entries)
        .map(|row| {
            (0..environments)
                .map(|column| rest[(row, column)].powi(2))
                .sum()
        })
        .collect();
    let all: f64 = shares.iter().sum();
    (0..entries)
        .map(|row| {
            let value = |column: usize| table.values[(row, column)];
            let slope = (0..environments)
                .map(|column| value(column) * index[column])
                .sum::<f64>()
                / spread;
            let off: f64 = (0..environments)
                .map(|column| (value(column) - means[row] - slope * index[column]).powi(2))
                .sum();
            let behind: f64 = (0..environments)
                .map(|column| (value(column) - best[column]).powi(2))
                .sum();
            Stability {
                mean: means[row],
                slope,
                deviation: off / (q - 2.0),
                ecovalence: shares[row],
                variance: (p * (p - 1.0) * shares[row] - all) / ((q - 1.0) * (p - 1.0) * (p - 2.0)),
                inferiority: behind / (2.0 * q),
            }
        })
        .collect()
}
