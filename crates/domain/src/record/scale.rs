//! How a trait is expressed, what a value of it may be, and on which basis a value stands.

use crate::id::Id;
use crate::record::observation::Trait;
use chrono::{Datelike as _, NaiveDate};
use serde::{Deserialize, Serialize};

/// How a trait is expressed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Scale {
    /// Whole scores from one number to another, such as 1 to 9.
    Score {
        /// The lowest score.
        from: i32,
        /// The highest score.
        to: i32,
        /// What the lowest means.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        low: String,
        /// What the highest means.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        high: String,
        /// What scores between them mean, where that is agreed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        between: Vec<Level>,
    },
    /// Classes in an order, by their words.
    Classes {
        /// The words, lowest first.
        classes: Vec<String>,
    },
    /// A whole number of things.
    Number,
    /// A measurement.
    Measure {
        /// Its unit.
        unit: String,
        /// What no value can be below.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at_least: Option<f64>,
        /// What no value can be above.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at_most: Option<f64>,
    },
    /// A day, such as that of the first open burrs.
    Date,
    /// Yes or no.
    YesNo,
    /// Words.
    Text,
    /// Calculated from other traits, never recorded.
    Derived {
        /// How.
        rule: Rule,
    },
}

/// What one score means.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Level {
    /// The score.
    pub score: i32,
    /// What it means.
    pub word: String,
}

/// How a derived trait follows from others. Moisture in per cent of the weight as it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// A part of a whole in per cent, such as cohumulone of alpha acids, both in per cent of the cones.
    Share {
        /// The part.
        part: Id<Trait>,
        /// The whole.
        whole: Id<Trait>,
    },
    /// One divided by the other, such as alpha to beta acids.
    Ratio {
        /// What is divided.
        over: Id<Trait>,
        /// What divides.
        under: Id<Trait>,
    },
    /// Hop storage index: absorbance at 275 nm by that at 325 nm (ASBC Methods of Analysis, Hops-12).
    StorageIndex {
        /// Absorbance at 275 nm.
        at_275: Id<Trait>,
        /// Absorbance at 325 nm.
        at_325: Id<Trait>,
    },
    /// A green weight brought to a moisture: weight × dry matter / (1 − moisture). For 10 % that is divided by 0.9;
    /// multiplied by 1.1 it would come out 1 % short.
    AtMoisture {
        /// The weight as picked.
        green: Id<Trait>,
        /// Its dry matter.
        dry_matter: Id<Trait>,
        /// The moisture it is brought to, in per cent.
        moisture: f64,
    },
    /// A substance on an area: yield × content, both brought to dry matter, such as kilograms of alpha acids a hectare.
    PerArea {
        /// The yield on the area.
        of_yield: Id<Trait>,
        /// What part of it the substance is.
        content: Id<Trait>,
    },
}

impl Rule {
    /// The two traits it takes, in the order of its formula.
    pub const fn operands(&self) -> [Id<Trait>; 2] {
        match *self {
            Self::Share { part, whole } => [part, whole],
            Self::Ratio { over, under } => [over, under],
            Self::StorageIndex { at_275, at_325 } => [at_275, at_325],
            Self::AtMoisture {
                green, dry_matter, ..
            } => [green, dry_matter],
            Self::PerArea { of_yield, content } => [of_yield, content],
        }
    }
}

impl Scale {
    /// Scores 1 to 9, the trade's usual.
    pub fn one_to_nine(low: &str, high: &str) -> Self {
        Self::Score {
            from: 1,
            to: 9,
            low: low.into(),
            high: high.into(),
            between: Vec::new(),
        }
    }

    /// A measurement without bounds.
    pub fn measure(unit: impl Into<String>) -> Self {
        Self::Measure {
            unit: unit.into(),
            at_least: None,
            at_most: None,
        }
    }

    /// The scale or unit for a column's header.
    pub fn unit(&self) -> String {
        match self {
            Self::Score { from, to, .. } => format!("{from} to {to}"),
            Self::Classes { classes } => classes.join(" < "),
            Self::Number => "number".into(),
            Self::Measure { unit, .. } => unit.clone(),
            Self::Date => "date".into(),
            Self::YesNo => "yes or no".into(),
            Self::Text => "text".into(),
            Self::Derived { rule } => match rule {
                Rule::Share { .. } => "%".into(),
                Rule::AtMoisture { moisture, .. } => format!("at {moisture} % moisture"),
                _ => String::new(),
            },
        }
    }

    /// The unit that stands after a measured value; nothing for other scales, and for a measurement without a unit.
    pub fn measured_in(&self) -> Option<&str> {
        match self {
            Self::Measure { unit, .. } => Some(unit.as_str()).filter(|unit| !unit.is_empty()),
            _ => None,
        }
    }

    /// What a score means, if that is agreed.
    pub fn word_for(&self, score: i32) -> Option<&str> {
        let Self::Score {
            from,
            to,
            low,
            high,
            between,
        } = self
        else {
            return None;
        };
        let word = match score {
            _ if score == *from => low.as_str(),
            _ if score == *to => high.as_str(),
            _ => &between.iter().find(|each| each.score == score)?.word,
        };
        (!word.is_empty()).then_some(word)
    }

    /// A value as the number that models calculate with: a class by its place from 1, yes as 1, a date as the day of
    /// its year from 1. Nothing for words, nor for a value of another kind; a
    /// bare number is taken whatever the scale.
    pub fn number(&self, value: &Value) -> Option<f64> {
        match (self, value) {
            (Self::Classes { classes }, Value::Class { class }) => {
                let place = classes.iter().position(|each| same_words(each, class))?;
                Some(place as f64 + 1.0)
            }
            (_, Value::Number(number)) => number.is_finite().then_some(*number),
            (Self::YesNo, Value::YesNo(yes)) => Some(f64::from(u8::from(*yes))),
            (Self::Date, Value::Date { date }) => Some(f64::from(date.ordinal())),
            _ => None,
        }
    }

    /// Why a value can't be of this scale, as a sentence about the trait `name`.
    pub fn fault(&self, name: &str, value: &Value) -> Option<String> {
        let fault = match (self, value) {
            (Self::Derived { .. }, _) => {
                return Some(format!(
                    "{name} is calculated from other traits and isn't recorded itself."
                ));
            }
            (_, Value::Number(number)) if !number.is_finite() => format!("can't be {number}"),
            (Self::Score { from, to, .. }, Value::Number(number)) => {
                if number.fract() == 0.0 && *number >= f64::from(*from) && *number <= f64::from(*to)
                {
                    return None;
                }
                format!("is scored in whole numbers from {from} to {to}, not {number}")
            }
            (Self::Number, Value::Number(number)) => {
                if number.fract() == 0.0 && *number >= 0.0 {
                    return None;
                }
                format!("is a count and can't be {number}")
            }
            (
                Self::Measure {
                    unit,
                    at_least,
                    at_most,
                },
                Value::Number(number),
            ) => {
                if at_least.is_some_and(|least| *number < least) {
                    format!(
                        "can't be below {} {unit}, so not {number}",
                        at_least.unwrap_or_default()
                    )
                } else if at_most.is_some_and(|most| *number > most) {
                    format!(
                        "can't be above {} {unit}, so not {number}",
                        at_most.unwrap_or_default()
                    )
                } else {
                    return None;
                }
            }
            (Self::Classes { classes }, Value::Class { class }) => {
                if classes.iter().any(|each| same_words(each, class)) {
                    return None;
                }
                format!("is one of {}, not '{class}'", classes.join(", "))
            }
            (Self::Date, Value::Date { .. }) | (Self::YesNo, Value::YesNo(_)) => return None,
            (Self::Text, Value::Text { text }) => {
                if !text.trim().is_empty() {
                    return None;
                }
                "needs some words".into()
            }
            (Self::Score { from, to, .. }, _) => {
                format!("is scored in whole numbers from {from} to {to}, not '{value}'")
            }
            (Self::Number, _) => format!("is a count, not '{value}'"),
            (Self::Measure { unit, .. }, _) if unit.is_empty() => {
                format!("is measured as a number, not '{value}'")
            }
            (Self::Measure { unit, .. }, _) => {
                format!("is measured as a number, in {unit}, not '{value}'")
            }
            (Self::Classes { classes }, _) => {
                format!("is one of {}, not '{value}'", classes.join(", "))
            }
            (Self::Date, _) => format!("is a date, not '{value}'"),
            (Self::YesNo, _) => format!("is yes or no, not '{value}'"),
            (Self::Text, _) => format!("is told in words, not by {value}"),
        };
        Some(format!("{name} {}.", fault.replace(" ,", ",")))
    }

    /// Why the scale makes no sense, and what to do.
    pub(crate) fn own_fault(&self) -> Option<(String, &'static str)> {
        match self {
            Self::Score { from, to, .. } if from >= to => Some((
                format!("scores can't run from {from} to {to}"),
                "Give the lower score first.",
            )),
            Self::Score {
                from, to, between, ..
            } => {
                let outside = between
                    .iter()
                    .find(|each| each.score <= *from || each.score >= *to)?;
                Some((
                    format!(
                        "{} has words, but scores between the ends run from {} to {}",
                        outside.score,
                        from + 1,
                        to - 1
                    ),
                    "Take the words away, or widen the scale.",
                ))
            }
            Self::Classes { classes } => {
                if classes.len() < 2 {
                    return Some((
                        "a choice needs at least two classes".into(),
                        "Name them, lowest first.",
                    ));
                }
                let twice = classes.iter().enumerate().find(|(place, each)| {
                    each.trim().is_empty()
                        || classes[..*place]
                            .iter()
                            .any(|other| same_words(other, each))
                })?;
                Some((
                    if twice.1.trim().is_empty() {
                        "a class has no name".into()
                    } else {
                        format!("the class '{}' stands twice", twice.1)
                    },
                    "Give each class a word of its own.",
                ))
            }
            Self::Measure {
                at_least: Some(least),
                at_most: Some(most),
                ..
            } if least >= most => Some((
                format!("values can't run from {least} to {most}"),
                "Give the lower bound first.",
            )),
            Self::Measure {
                at_least, at_most, ..
            } if [at_least, at_most]
                .iter()
                .any(|bound| bound.is_some_and(|bound| !bound.is_finite())) =>
            {
                Some(("a bound is no number".into(), "Type the bound again."))
            }
            Self::Derived {
                rule: Rule::AtMoisture { moisture, .. },
            } if !(0.0..100.0).contains(moisture) => Some((
                format!("a moisture of {moisture} % makes no sense"),
                "Give a moisture from 0 to less than 100 %, such as 10.",
            )),
            _ => None,
        }
    }
}

/// Whether two words are the same to a reader: letters large or small, spaces around them.
fn same_words(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

/// What was seen: a number for scores, counts and measurements, or what the other scales take. In a file a number is
/// written bare, as in the earliest format.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged)]
pub enum Value {
    /// A score, a count, a measurement.
    Number(f64),
    /// Yes or no.
    YesNo(bool),
    /// One class of several.
    Class {
        /// Its word.
        class: String,
    },
    /// A day.
    Date {
        /// The day.
        date: NaiveDate,
    },
    /// Words.
    Text {
        /// The words.
        text: String,
    },
}

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl std::fmt::Display for Value {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(number) => number.fmt(f),
            Self::YesNo(true) => f.write_str("yes"),
            Self::YesNo(false) => f.write_str("no"),
            Self::Class { class } => f.write_str(class),
            Self::Date { date } => date.fmt(f),
            Self::Text { text } => f.write_str(text),
        }
    }
}

/// What a content or a yield is calculated on.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Not stated.
    #[default]
    Unstated,
    /// Dry matter.
    Dry,
    /// As it is, with some water in it.
    AsIs {
        /// The moisture in per cent of the weight.
        moisture: f64,
    },
}

impl Basis {
    /// The share of dry matter in what it is calculated on; nothing if that isn't stated.
    pub fn dry_share(self) -> Option<f64> {
        match self {
            Self::Unstated => None,
            Self::Dry => Some(1.0),
            Self::AsIs { moisture } => Some(1.0 - moisture / 100.0),
        }
    }
}

impl std::fmt::Display for Basis {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Unstated => Ok(()),
            Self::Dry => f.write_str("dry"),
            Self::AsIs { moisture } => write!(f, "as is, {moisture} % moisture"),
        }
    }
}
