//! Why an edit was not made.

use crate::id::AnyId;
use std::error::Error;
use std::fmt;

/// An edit that would break the model: what is wrong, with which record, and what would make it acceptable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// What is wrong, as a sentence.
    pub what: String,
    /// The record it is about, where there is one to show.
    pub about: Option<AnyId>,
    /// What to do, as a sentence.
    pub remedy: String,
}

impl Refusal {
    /// A refusal about a record.
    pub fn about(id: impl Into<AnyId>, what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            about: Some(id.into()),
            remedy: remedy.into(),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.what, self.remedy)
    }
}

impl Error for Refusal {}
