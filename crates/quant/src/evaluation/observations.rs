//! What was observed.

use super::EvaluationError;

/// Observations in records: a record is one plant or plot on one occasion, with a value or a gap
/// for each trait. Values in one record share the residual of that occasion.
#[derive(Clone, Debug)]
pub struct Observations {
    traits: usize,
    values: Vec<Option<f64>>,
}

impl Observations {
    /// One trait, one value or gap per record.
    ///
    /// # Errors
    /// A value that is not finite.
    pub fn single(values: Vec<Option<f64>>) -> Result<Self, EvaluationError> {
        Self::new(1, values)
    }

    /// Several traits: the values of the first record, trait by trait, then those of the next.
    ///
    /// # Errors
    /// A value that is not finite, or a last record that is not complete.
    pub fn new(traits: usize, values: Vec<Option<f64>>) -> Result<Self, EvaluationError> {
        if traits == 0 || !values.len().is_multiple_of(traits) {
            let expected = values.len().div_ceil(traits.max(1)) * traits;
            let (input, index, found) = ("observations", 0, values.len());
            return Err(EvaluationError::Length {
                input,
                index,
                found,
                expected,
            });
        }
        if let Some(place) = values
            .iter()
            .position(|value| value.is_some_and(|value| !value.is_finite()))
        {
            return Err(EvaluationError::NotFinite {
                input: "observation",
                record: place / traits,
            });
        }
        Ok(Self { traits, values })
    }

    /// How many traits.
    pub fn traits(&self) -> usize {
        self.traits
    }

    /// How many records.
    pub fn records(&self) -> usize {
        self.values.len() / self.traits
    }

    /// The value of a trait in a record.
    pub fn get(&self, record: usize, of_trait: usize) -> Option<f64> {
        self.values[record * self.traits + of_trait]
    }

    /// Whether a record has any value.
    pub(super) fn any(&self, record: usize) -> bool {
        self.recorded(record).next().is_some()
    }

    /// The traits recorded in a record, with their values.
    pub(super) fn recorded(&self, record: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let values = &self.values[record * self.traits..(record + 1) * self.traits];
        values
            .iter()
            .enumerate()
            .filter_map(|(of_trait, value)| value.map(|value| (of_trait, value)))
    }

    /// How many records have the trait.
    pub(super) fn count(&self, of_trait: usize) -> usize {
        (0..self.records())
            .filter(|&record| self.get(record, of_trait).is_some())
            .count()
    }

    /// The mean square of a trait's values about one of them, and the largest value without its sign.
    pub(super) fn spread(&self, of_trait: usize) -> (f64, f64) {
        let values = || (0..self.records()).filter_map(|record| self.get(record, of_trait));
        let origin = values().next().unwrap_or(0.0);
        let (mut squares, mut largest) = (0.0, 0.0_f64);
        for value in values() {
            squares += (value - origin).powi(2);
            largest = largest.max(value.abs());
        }
        (squares / self.count(of_trait).max(1) as f64, largest)
    }
}
