//! What the owner of a plant allows to be bred from it.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// What is allowed, and where that stands written. As it is noted with one plant; what it means for a plant and all
/// that descends from it is told by [`crate::permission`].
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Permission {
    /// Whether it may be crossed.
    pub breeding: BreedingUse,
    /// Who owns it or gives the permission.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub owner: String,
    /// The letter, licence, agreement or permit in which it stands.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub document: String,
    /// The conditions, in a few words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub conditions: String,
    /// The last day on which it holds; for ever if none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<NaiveDate>,
}

/// Whether a plant may be crossed.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum BreedingUse {
    /// Nobody has written it down.
    #[default]
    NotKnown,
    /// It may be crossed, and what comes of it used, as one likes.
    Free,
    /// It may be crossed on conditions, which bind what descends from it as well.
    WithConditions,
    /// It may not be crossed, nor what descends from it.
    NotForBreeding,
}

impl BreedingUse {
    /// All of them, as they are offered.
    pub const ALL: [Self; 4] = [
        Self::NotKnown,
        Self::Free,
        Self::WithConditions,
        Self::NotForBreeding,
    ];

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotKnown => "not known",
            Self::Free => "free",
            Self::WithConditions => "with conditions",
            Self::NotForBreeding => "not for breeding",
        }
    }
}

impl Permission {
    /// Whether the day up to which it held is past on `today`.
    pub fn has_ended(&self, today: NaiveDate) -> bool {
        self.breeding != BreedingUse::NotKnown && self.until.is_some_and(|until| until < today)
    }

    /// Where it stands written: 'Letter 14/3 of the Union, until 2030-12-31'; empty if nowhere.
    pub fn reference(&self) -> String {
        let by = match (self.document.trim(), self.owner.trim()) {
            ("", "") => String::new(),
            (document, "") => document.to_owned(),
            ("", owner) => format!("by {owner}"),
            (document, owner) => format!("{document}, by {owner}"),
        };
        match (by.is_empty(), self.until) {
            (_, None) => by,
            (true, Some(until)) => format!("until {until}"),
            (false, Some(until)) => format!("{by}, until {until}"),
        }
    }

    /// The whole in words: 'with conditions: no sale of seedlings (letter, by the Union, until 2030-12-31)'.
    pub fn words(&self) -> String {
        let mut words = self.breeding.words().to_owned();
        if !self.conditions.trim().is_empty() {
            words += ": ";
            words += self.conditions.trim();
        }
        let reference = self.reference();
        if !reference.is_empty() {
            words += " (";
            words += &reference;
            words += ")";
        }
        words
    }
}
