//! What stands on a label, as plain data.

use chrono::NaiveDate;

/// One label: a code, drawn large and again as a QR code, and the lines beneath it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LabelContent {
    /// The code of the lot, box, pot or plant; the QR code holds exactly this text.
    pub code: String,
    /// The lines, the most important first: where space is too small even for the smallest
    /// readable type, the last go first.
    pub lines: Vec<LabelLine>,
}

/// One line of a label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LabelLine {
    /// Female × male, the female first.
    Cross {
        /// The seed parent.
        female: String,
        /// The pollen parent, or words such as 'open pollination'.
        male: String,
    },
    /// The day on which the cones were harvested.
    Harvested(NaiveDate),
    /// The day on which the seed went into the cold.
    ChillStarted(NaiveDate),
    /// How many there are.
    Count {
        /// The number.
        number: u32,
        /// Of what: 'seeds', 'plants'.
        noun: String,
        /// True when the number is an estimate, as by weight; shown by '≈'.
        approximate: bool,
    },
    /// Free words.
    Note(String),
}

impl LabelLine {
    /// The small word before the value, or none.
    pub(crate) fn caption(&self) -> Option<&str> {
        match self {
            Self::Cross { .. } | Self::Note(_) => None,
            Self::Harvested(_) => Some("harvest"),
            Self::ChillStarted(_) => Some("chill from"),
            Self::Count { noun, .. } => Some(noun),
        }
    }

    /// The value as it is printed; dates as ISO 8601 writes them.
    pub(crate) fn value(&self) -> String {
        match self {
            Self::Cross { female, male } => format!("{female} × {male}"),
            Self::Harvested(date) | Self::ChillStarted(date) => {
                date.format("%-d %b %Y").to_string()
            }
            Self::Count {
                number,
                approximate: true,
                ..
            } => format!("≈ {number}"),
            Self::Count {
                number,
                approximate: false,
                ..
            } => number.to_string(),
            Self::Note(text) => text.clone(),
        }
    }

    /// What a person calls this line.
    pub(crate) fn name(&self) -> &'static str {
        match self {
            Self::Cross { .. } => "cross",
            Self::Harvested(_) => "date of harvest",
            Self::ChillStarted(_) => "start of chill",
            Self::Count { .. } => "count",
            Self::Note(_) => "note",
        }
    }
}
