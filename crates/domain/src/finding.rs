//! A finding: something doubtful or missing in the records, and what to do about it.

use crate::id::AnyId;

/// Something doubtful or missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub weight: Weight,
    /// The record.
    pub about: Option<AnyId>,
    /// What was found, as a sentence.
    pub what: String,
    /// What to do, as a sentence.
    pub remedy: String,
}

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// The records contradict each other.
    Fault,
    /// Something is likely wrong or at risk.
    Doubt,
    /// Something is missing that will be wanted one day.
    Gap,
}

impl Weight {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fault => "fault",
            Self::Doubt => "doubt",
            Self::Gap => "gap",
        }
    }
}
