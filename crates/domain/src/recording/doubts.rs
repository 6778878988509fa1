//! What ought to be asked about a value: a point that slipped, a day that hasn't come.

use crate::record::scale::{Scale, Value};
use crate::{Id, Observation, Project, Trait};
use chrono::{Datelike as _, NaiveDate};

/// So many values must be known before one is called unusual.
const ENOUGH: usize = 5;

/// The usual values of a trait by one method: their middle and their ends.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Usual {
    /// The values in order.
    values: Vec<f64>,
}

impl Usual {
    /// What is usual among all values of a trait that are told apart by neither method nor basis from `like`.
    pub fn of(project: &Project, of_trait: Id<Trait>, like: &Observation) -> Self {
        let method = like.method_words(project);
        let values = project
            .observations_of_trait(of_trait)
            .filter(|each| each.method_words(project) == method)
            .filter_map(|each| each.number(project));
        let mut values: Vec<f64> = values.filter(|value| *value > 0.0).collect();
        values.sort_by(f64::total_cmp);
        Self { values }
    }

    /// The median of all but `value`, once.
    fn median_without(&self, value: f64) -> Option<f64> {
        let own = self.values.iter().position(|each| *each == value);
        let count = self.values.len() - usize::from(own.is_some());
        if count < ENOUGH {
            return None;
        }
        let at = |place: usize| match own {
            Some(own) if place >= own => self.values[place + 1],
            _ => self.values[place],
        };
        let middle = count / 2;
        Some(if count.is_multiple_of(2) {
            f64::midpoint(at(middle - 1), at(middle))
        } else {
            at(middle)
        })
    }

    /// What to ask about a value that was seen on `day`, as a sentence; nothing if it looks like the others.
    pub fn question(&self, of_trait: &Trait, value: &Value, day: NaiveDate) -> Option<String> {
        let name = &of_trait.name;
        match (&of_trait.scale, value) {
            (Scale::Measure { .. } | Scale::Number, Value::Number(number)) => {
                let median = self.median_without(*number)?;
                let shown = shorter(median);
                if *number >= 10.0 * median {
                    Some(format!(
                        "{name} {number} is ten times the usual {shown} or more. Is its point in the right place?"
                    ))
                } else if *number > 0.0 && *number * 10.0 <= median {
                    Some(format!(
                        "{name} {number} is a tenth of the usual {shown} or less. Is its point in the right place?"
                    ))
                } else {
                    None
                }
            }
            (Scale::Date, Value::Date { date }) if *date > day => Some(format!(
                "{name} is on {date}, after the day it is recorded for. Is the date right?"
            )),
            (Scale::Date, Value::Date { date }) if date.year() < day.year() - 1 => Some(format!(
                "{name} is on {date}, more than a year before. Is the year right?"
            )),
            _ => None,
        }
    }
}

/// With three figures at most.
fn shorter(number: f64) -> String {
    if number >= 100.0 {
        format!("{number:.0}")
    } else if number >= 10.0 {
        format!("{number:.1}")
    } else {
        format!("{number:.2}")
    }
}
