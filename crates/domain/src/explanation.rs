//! Where a number comes from.

use std::fmt;

/// Where a number comes from: what to show a person who asks.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// The number in words, such as 'inbreeding of HB26-014'.
    pub what: String,
    /// How it is calculated.
    pub formula: String,
    /// What went in.
    pub inputs: Vec<Input>,
    /// How many records or plants it rests on, where that is a number.
    pub n: Option<usize>,
    /// Who published the method.
    pub source: &'static str,
}

/// Something that went into a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// Its name.
    pub name: String,
    /// Its value, with its unit.
    pub value: String,
}

impl Explanation {
    pub(crate) fn new(
        what: impl Into<String>,
        formula: impl Into<String>,
        source: &'static str,
    ) -> Self {
        Self {
            what: what.into(),
            formula: formula.into(),
            inputs: Vec::new(),
            n: None,
            source,
        }
    }

    #[must_use]
    pub(crate) fn with(mut self, name: impl Into<String>, value: impl Into<String>) -> Self {
        self.inputs.push(Input {
            name: name.into(),
            value: value.into(),
        });
        self
    }

    #[must_use]
    pub(crate) fn resting_on(mut self, n: usize) -> Self {
        self.n = Some(n);
        self
    }
}

impl fmt::Display for Explanation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", self.what)?;
        writeln!(f, "{}", self.formula)?;
        for Input { name, value } in &self.inputs {
            writeln!(f, "{name}: {value}")?;
        }
        if let Some(n) = self.n {
            writeln!(f, "n: {n}")?;
        }
        write!(f, "Source: {}", self.source)
    }
}

/// A number as people read it: four decimals, without trailing zeros.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".into()
    } else {
        text.into()
    }
}
