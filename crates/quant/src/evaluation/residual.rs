//! How the residuals of records vary and are correlated.

use super::{EvaluationError, Observations, Relationship};

/// The residuals: independent with one variance, with a variance for each environment, or correlated by a structure
/// such as neighbours in a field or harvests of one plot.
#[derive(Clone, Debug)]
pub struct Residual {
    /// The part of each record; each part has a variance of its own.
    pub(super) part: Vec<usize>,
    /// The level of each record in the structure of its part.
    pub(super) level: Vec<usize>,
    /// The structure of each part; `None` for independent residuals.
    pub(super) parts: Vec<Option<Relationship>>,
}

impl Residual {
    /// Independent residuals of one variance.
    pub fn independent(records: usize) -> Self {
        Self {
            part: vec![0; records],
            level: vec![0; records],
            parts: vec![None],
        }
    }

    /// Independent residuals with a variance for each environment: the environment of each record, and their number.
    pub fn by_environment(environment: &[usize], environments: usize) -> Self {
        Self {
            part: environment.to_vec(),
            level: vec![0; environment.len()],
            parts: vec![None; environments],
        }
    }

    /// Correlated residuals: the level of each record, no level twice. Levels without a record are allowed for.
    pub fn correlated(level: &[usize], relationship: Relationship) -> Self {
        Self {
            part: vec![0; level.len()],
            level: level.to_vec(),
            parts: vec![Some(relationship)],
        }
    }

    /// How many parts have a variance of their own.
    pub fn parts(&self) -> usize {
        self.parts.len()
    }

    pub(super) fn check(&self, observations: &Observations) -> Result<(), EvaluationError> {
        let (input, expected) = ("residual", observations.records());
        let fault = |reason| Err(EvaluationError::Residual { reason });
        for (index, found) in [self.part.len(), self.level.len()].into_iter().enumerate() {
            if found != expected {
                return Err(EvaluationError::Length {
                    input,
                    index,
                    found,
                    expected,
                });
            }
        }
        let mut records = vec![0_usize; self.parts.len()];
        let mut taken: Vec<Vec<bool>> = self
            .parts
            .iter()
            .map(|part| vec![false; part.as_ref().map_or(0, Relationship::levels)])
            .collect();
        for record in (0..expected).filter(|&record| observations.any(record)) {
            let outside = |index, level, levels| EvaluationError::Level {
                input,
                index,
                record,
                level,
                levels,
            };
            let part = self.part[record];
            let Some(of_part) = self.parts.get(part) else {
                return Err(outside(0, part, self.parts.len()));
            };
            records[part] += 1;
            if of_part.is_some() {
                if observations.traits() > 1 {
                    return fault(
                        "can't be correlated between records of several traits: evaluate one trait",
                    );
                }
                let level = self.level[record];
                let levels = taken[part].len();
                match taken[part].get_mut(level) {
                    None => return Err(outside(1, level, levels)),
                    Some(true) => {
                        return fault(
                            "has two records at one place: give each its own, or model the places as a random effect",
                        );
                    }
                    Some(taken) => *taken = true,
                }
            }
        }
        if records.contains(&0) {
            return fault("has an environment without records: leave it out");
        }
        let simple = |part: &Relationship| {
            part.shape()
                .is_some_and(|shape| shape.levels() == shape.size())
        };
        if !self.parts.iter().flatten().all(simple) {
            return fault(
                "is correlated by a structure that isn't one of places: use lines, a grid or groups",
            );
        }
        Ok(())
    }
}
