//! One mean for every entry in every environment.

use faer::Mat;

/// Means, entries in rows and environments in columns, none missing.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    pub(crate) values: Mat<f64>,
}

/// Sums of squares of a table of means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SumsOfSquares {
    /// Of entries.
    pub entries: f64,
    /// Of environments.
    pub environments: f64,
    /// Of entries by environments.
    pub interaction: f64,
}

impl Table {
    /// `None` for fewer than two entries or environments, or a value that is no number.
    pub fn new(values: Mat<f64>) -> Option<Self> {
        let (rows, columns) = (values.nrows(), values.ncols());
        let sound =
            (0..rows).all(|row| (0..columns).all(|column| values[(row, column)].is_finite()));
        (rows > 1 && columns > 1 && sound).then_some(Self { values })
    }

    /// Entries.
    pub fn entries(&self) -> usize {
        self.values.nrows()
    }

    /// Environments.
    pub fn environments(&self) -> usize {
        self.values.ncols()
    }

    /// The mean of each entry.
    pub fn entry_means(&self) -> Vec<f64> {
        let count = self.environments() as f64;
        (0..self.entries())
            .map(|row| {
                (0..self.environments())
                    .map(|column| self.values[(row, column)])
                    .sum::<f64>()
                    / count
            })
            .collect()
    }

    /// The mean of each environment.
    pub fn environment_means(&self) -> Vec<f64> {
        let count = self.entries() as f64;
        (0..self.environments())
            .map(|column| {
                (0..self.entries())
                    .map(|row| self.values[(row, column)])
                    .sum::<f64>()
                    / count
            })
            .collect()
    }

    /// The mean of all.
    pub fn mean(&self) -> f64 {
        self.entry_means().iter().sum::<f64>() / self.entries() as f64
    }

    /// What is left once entries and environments are taken out.
    pub fn interaction(&self) -> Mat<f64> {
        let (rows, columns, mean) = (self.entry_means(), self.environment_means(), self.mean());
        Mat::from_fn(self.entries(), self.environments(), |row, column| {
            self.values[(row, column)] - rows[row] - columns[column] + mean
        })
    }

    /// Sums of squares of entries, environments and both.
    pub fn sums_of_squares(&self) -> SumsOfSquares {
        let mean = self.mean();
        let squares =
            |means: &[f64]| -> f64 { means.iter().map(|each| (each - mean).powi(2)).sum() };
        let rest = self.interaction();
        SumsOfSquares {
            entries: squares(&self.entry_means()) * self.environments() as f64,
            environments: squares(&self.environment_means()) * self.entries() as f64,
            interaction: rest.squared_norm_l2(),
        }
    }
}
