//! An edit: the only thing that changes a project.

use crate::id::{AnyId, Id};
use crate::macros::with_kinds;
use crate::project::Project;
use crate::record::settings::SettingsField;
use crate::record::{Fields, Record};
use crate::{
    Check, ChillBatch, ChillBox, Count, Cross, CrossEvent, DiseaseTest, Genotype, Germination,
    GerminationTest, Movement, Note, Observation, Photo, Protocol, Sample, ScoringSheet, SeedLot,
    SeedWeighing, Stage, Task, TemperatureLog, Trait,
};
use serde::{Deserialize, Serialize};

/// One change to one record. Three verbs serve every kind: undo, the journal, the audit trail and the
/// comparison of two copies need to know no more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
#[cfg_attr(
    feature = "schema",
    schemars(bound = "R: schemars::JsonSchema, R::Field: schemars::JsonSchema")
)]
#[serde(bound(
    serialize = "R: Serialize, R::Field: Serialize",
    deserialize = "R: Deserialize<'de>, R::Field: Deserialize<'de>"
))]
pub enum Change<R: Fields> {
    /// A new record.
    Add(R),
    /// One field of a record, with its new value.
    Set(Id<R>, R::Field),
    /// A record taken away. Records that others refer to stay.
    Remove(Id<R>),
}

macro_rules! define_edit {
    ($($Kind:ident $table:ident $noun:literal,)*) => {
        /// A change to a project, small or many at once.
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(rename_all = "snake_case")]
        pub enum Edit {
            $(#[doc = concat!("A change to a ", $noun, ".")] $Kind(Change<$Kind>),)*
            /// A change of one setting.
            Settings(SettingsField),
            /// Several edits that belong together: made whole or not at all, undone in one step.
            All {
                /// What they amount to, such as 'pot up 24 seedlings'.
                label: String,
                /// The edits, in order.
                edits: Vec<Edit>,
            },
        }

        $(impl From<Change<$Kind>> for Edit {
            fn from(change: Change<$Kind>) -> Self { Self::$Kind(change) }
        })*

        impl Edit {
            /// What the edit does, in a few words, asked before it is made.
            pub fn describe(&self, project: &Project) -> String {
                match self {
                    $(Self::$Kind(change) => describe_change(change, project),)*
                    Self::Settings(field) => format!("change {}", crate::Settings::field_name(field)),
                    Self::All { label, .. } => label.clone(),
                }
            }

            /// Every record the edit touches.
            pub fn touches(&self) -> Vec<AnyId> {
                match self {
                    $(Self::$Kind(change) => vec![change.id().into()],)*
                    Self::Settings(_) => Vec::new(),
                    Self::All { edits, .. } => edits.iter().flat_map(Self::touches).collect(),
                }
            }
        }
    };
}
with_kinds!(define_edit);

impl<R: Record> Change<R> {
    /// The record it changes.
    pub fn id(&self) -> Id<R> {
        match self {
            Self::Add(record) => record.id(),
            Self::Set(id, _) | Self::Remove(id) => *id,
        }
    }
}

impl Edit {
    /// A new record.
    pub fn add<R: Record>(record: R) -> Self
    where
        Change<R>: Into<Self>,
    {
        Change::Add(record).into()
    }

    /// One field of a record, with its new value.
    pub fn set<R: Record>(id: Id<R>, field: R::Field) -> Self
    where
        Change<R>: Into<Self>,
    {
        Change::Set(id, field).into()
    }

    /// A record taken away.
    pub fn remove<R: Record>(id: Id<R>) -> Self
    where
        Change<R>: Into<Self>,
    {
        Change::Remove(id).into()
    }

    /// Several edits that belong together.
    pub fn all(label: impl Into<String>, edits: Vec<Self>) -> Self {
        Self::All {
            label: label.into(),
            edits,
        }
    }
}

fn describe_change<R: Record>(change: &Change<R>, project: &Project) -> String {
    match change {
        Change::Add(record) => format!("add {}", record.summary(project)),
        Change::Set(id, field) => format!(
            "{} of {}",
            R::field_name(field),
            project.describe((*id).into())
        ),
        Change::Remove(id) => {
            let words = R::table(project)
                .get(*id)
                .map(|record| record.summary(project));
            format!(
                "remove {}",
                words.unwrap_or_else(|| R::KIND.noun().to_owned())
            )
        }
    }
}
