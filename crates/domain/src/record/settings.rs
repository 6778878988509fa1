//! What holds for the whole project.

use crate::display::DisplayValue as _;
use crate::id::Id;
use crate::project::Project;
use crate::record::goals::Goals;
use crate::record::protocol::Protocol;
use crate::record::{Fields, is_default};
use serde::{Deserialize, Serialize};

/// Half of the globe: which half of the year a season falls in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Hemisphere {
    /// Hops flower in June and July.
    #[default]
    Northern,
    /// Hops flower in December and January.
    Southern,
}

/// The cadence of a cross. Defaults are common practice; weather and cultivar move them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CrossTiming {
    /// The female is bagged this many days before pollination.
    pub bag_before: u32,
    /// Bags stay on this many days after the last pollination.
    pub bag_off_after: u32,
    /// Seed is ripe this many days after pollination, at the earliest.
    pub ripe_from: u32,
    /// Seed is ripe this many days after pollination, at the latest.
    pub ripe_to: u32,
    /// Cones are dried and seed is cleaned within so many days of harvest.
    pub clean_within: u32,
}

impl Default for CrossTiming {
    fn default() -> Self {
        Self {
            bag_before: 10,
            bag_off_after: 14,
            ripe_from: 42,
            ripe_to: 56,
            clean_within: 21,
        }
    }
}

/// What holds for the whole project.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Settings {
    /// The program's name.
    pub name: String,
    /// Where it is.
    #[serde(skip_serializing_if = "is_default")]
    pub place: String,
    /// Which half of the globe.
    pub hemisphere: Hemisphere,
    /// The protocol that new batches start from.
    #[serde(skip_serializing_if = "is_default")]
    pub protocol: Option<Id<Protocol>>,
    /// The cadence of crosses.
    pub cross_timing: CrossTiming,
    /// How seedlings are numbered: see [`crate::code::Template`].
    pub seedling_codes: crate::code::Template,
    /// What the season's crosses are to bring.
    #[serde(skip_serializing_if = "is_default")]
    pub goals: Goals,
}

impl Settings {
    /// Whether the settings make sense together; if not, what is wrong and what to do.
    pub fn check(&self) -> Result<(), (String, &'static str)> {
        if let Some(fault) = self.seedling_codes.fault() {
            return Err((fault, "Write one run of # where the number goes."));
        }
        let timing = &self.cross_timing;
        if timing.ripe_from > timing.ripe_to {
            return Err((
                format!(
                    "Seed can't be ripe {} to {} days after pollination.",
                    timing.ripe_from, timing.ripe_to
                ),
                "Give the smaller number first.",
            ));
        }
        self.goals.check()
    }
}

/// One setting with a value for it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each variant is the setting of that name")]
pub enum SettingsField {
    Name(String),
    Place(String),
    Hemisphere(Hemisphere),
    Protocol(Option<Id<Protocol>>),
    CrossTiming(CrossTiming),
    SeedlingCodes(crate::code::Template),
    Goals(Goals),
}

impl Fields for Settings {
    type Field = SettingsField;

    fn replace(&mut self, field: SettingsField) -> SettingsField {
        use std::mem::replace;
        match field {
            SettingsField::Name(value) => SettingsField::Name(replace(&mut self.name, value)),
            SettingsField::Place(value) => SettingsField::Place(replace(&mut self.place, value)),
            SettingsField::Hemisphere(value) => {
                SettingsField::Hemisphere(replace(&mut self.hemisphere, value))
            }
            SettingsField::Protocol(value) => {
                SettingsField::Protocol(replace(&mut self.protocol, value))
            }
            SettingsField::CrossTiming(value) => {
                SettingsField::CrossTiming(replace(&mut self.cross_timing, value))
            }
            SettingsField::SeedlingCodes(value) => {
                SettingsField::SeedlingCodes(replace(&mut self.seedling_codes, value))
            }
            SettingsField::Goals(value) => SettingsField::Goals(replace(&mut self.goals, value)),
        }
    }

    fn field_name(field: &SettingsField) -> String {
        match field {
            SettingsField::Name(_) => "name of the program",
            SettingsField::Place(_) => "place of the program",
            SettingsField::Hemisphere(_) => "hemisphere",
            SettingsField::Protocol(_) => "protocol of new batches",
            SettingsField::CrossTiming(_) => "cadence of crosses",
            SettingsField::SeedlingCodes(_) => "numbering of seedlings",
            SettingsField::Goals(_) => "goals of the season",
        }
        .into()
    }

    fn read(&self, like: &SettingsField) -> SettingsField {
        match like {
            SettingsField::Name(_) => SettingsField::Name(self.name.clone()),
            SettingsField::Place(_) => SettingsField::Place(self.place.clone()),
            SettingsField::Hemisphere(_) => SettingsField::Hemisphere(self.hemisphere),
            SettingsField::Protocol(_) => SettingsField::Protocol(self.protocol),
            SettingsField::CrossTiming(_) => SettingsField::CrossTiming(self.cross_timing.clone()),
            SettingsField::SeedlingCodes(_) => {
                SettingsField::SeedlingCodes(self.seedling_codes.clone())
            }
            SettingsField::Goals(_) => SettingsField::Goals(self.goals.clone()),
        }
    }

    fn changed_fields(&self, other: &Self) -> Vec<SettingsField> {
        [
            SettingsField::Name(other.name.clone()),
            SettingsField::Place(other.place.clone()),
            SettingsField::Hemisphere(other.hemisphere),
            SettingsField::Protocol(other.protocol),
            SettingsField::CrossTiming(other.cross_timing.clone()),
            SettingsField::SeedlingCodes(other.seedling_codes.clone()),
            SettingsField::Goals(other.goals.clone()),
        ]
        .into_iter()
        .filter(|field| self.read(field) != *field)
        .collect()
    }

    fn value_words(field: &SettingsField, project: &Project) -> String {
        match field {
            SettingsField::Name(value) | SettingsField::Place(value) => value.display(project),
            SettingsField::Hemisphere(value) => value.display(project),
            SettingsField::Protocol(value) => value.display(project),
            SettingsField::CrossTiming(value) => value.display(project),
            SettingsField::SeedlingCodes(value) => value.display(project),
            SettingsField::Goals(value) => value.display(project),
        }
    }
}
