//! A table of records and the parts of a model made of its columns.

use quant::evaluation::{Combination, FixedEffect, Observations, RandomEffect, Role};

pub(crate) fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found}, not {expected}"
    );
}

pub(crate) struct Table {
    header: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
}

/// A column's levels by number, with their names in order.
pub(crate) struct Factor {
    pub(crate) level: Vec<usize>,
    pub(crate) names: Vec<String>,
}

impl Table {
    pub(crate) fn read(file: &str) -> Self {
        let mut reader = csv::Reader::from_path(format!("tests/data/{file}")).unwrap();
        let header = reader.headers().unwrap().iter().map(String::from).collect();
        let rows = reader
            .records()
            .map(|row| row.unwrap().iter().map(String::from).collect())
            .collect();
        Self { header, rows }
    }

    fn place(&self, column: &str) -> usize {
        self.header.iter().position(|name| name == column).unwrap()
    }

    /// Keeps the rows of which `keep` accepts the value in a column.
    pub(crate) fn keep(&mut self, column: &str, keep: impl Fn(&str) -> bool) {
        let place = self.place(column);
        self.rows.retain(|row| keep(&row[place]));
    }

    /// A number in each row; `None` where there is none.
    pub(crate) fn values(&self, column: &str) -> Vec<Option<f64>> {
        let place = self.place(column);
        self.rows
            .iter()
            .map(|row| row[place].parse().ok())
            .collect()
    }

    pub(crate) fn numbers(&self, column: &str) -> Vec<f64> {
        self.values(column)
            .into_iter()
            .map(Option::unwrap)
            .collect()
    }

    pub(crate) fn observed(&self, column: &str) -> Observations {
        Observations::single(self.values(column)).unwrap()
    }

    /// The levels of columns joined.
    pub(crate) fn factor(&self, columns: &[&str]) -> Factor {
        let places: Vec<usize> = columns.iter().map(|column| self.place(column)).collect();
        let texts: Vec<String> = self
            .rows
            .iter()
            .map(|row| {
                let parts: Vec<&str> = places.iter().map(|&place| row[place].as_str()).collect();
                parts.join(":")
            })
            .collect();
        let mut names = texts.clone();
        names.sort();
        names.dedup();
        let level = texts
            .iter()
            .map(|text| names.binary_search(text).unwrap())
            .collect();
        Factor { level, names }
    }

    pub(crate) fn fixed(&self, columns: &[&str]) -> FixedEffect {
        let factor = self.factor(columns);
        FixedEffect::Factor {
            level: factor.level,
            levels: factor.names.len(),
        }
    }

    pub(crate) fn random(&self, columns: &[&str]) -> RandomEffect {
        let factor = self.factor(columns);
        RandomEffect::independent(Role::Other, &factor.level, factor.names.len())
    }

    pub(crate) fn mean(&self) -> FixedEffect {
        FixedEffect::mean(self.rows.len())
    }
}

impl Factor {
    pub(crate) fn of(&self, name: &str) -> usize {
        self.names.iter().position(|known| known == name).unwrap()
    }
}

/// The mean of each level of the first fixed effect over the levels of the others, alike weighted.
pub(crate) fn adjusted(levels: usize, others: &[usize]) -> Vec<Combination> {
    (0..levels)
        .map(|level| {
            let mut mean = Combination::new().with_fixed(0, level, 1.0);
            for (nth, &count) in others.iter().enumerate() {
                for other in 0..count {
                    mean = mean.with_fixed(nth + 1, other, 1.0 / count as f64);
                }
            }
            mean
        })
        .collect()
}

/// The predicted levels of a random effect.
pub(crate) fn predicted(effect: usize, levels: usize) -> Vec<Combination> {
    (0..levels)
        .map(|level| Combination::new().with_random(effect, level, 1.0))
        .collect()
}
