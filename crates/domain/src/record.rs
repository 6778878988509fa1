//! The records a project is made of, one file for each part of the work.

use crate::id::{AnyId, Id, RecordKind};
use crate::macros::with_kinds;
use crate::project::Project;
use crate::refusal::Refusal;
use crate::table::Table;

pub mod chill;
pub mod cross;
pub mod disease_test;
pub mod genotype;
pub mod germination;
pub mod goals;
pub mod journal;
pub mod observation;
pub mod permission;
pub mod protocol;
pub mod readings;
pub mod sample;
pub mod scale;
pub mod scoring_sheet;
pub mod seed_lot;
pub mod seed_test;
pub mod settings;
pub mod temperature_log;

/// A thing whose fields can be exchanged one at a time.
pub trait Fields {
    /// One field with a value.
    type Field;

    /// Puts a value into its field and returns the one that was there.
    fn replace(&mut self, field: Self::Field) -> Self::Field;

    /// The field's name in plain words.
    fn field_name(field: &Self::Field) -> String;

    /// The value that stands in the same field as `like`.
    fn read(&self, like: &Self::Field) -> Self::Field;

    /// The fields of `other` that differ from this one's: set in turn, they turn this into that.
    fn changed_fields(&self, other: &Self) -> Vec<Self::Field>;

    /// The value in words, as it would be read out.
    fn value_words(field: &Self::Field, project: &Project) -> String;
}

/// What the list of kinds says of every record alike: which kind it is, its identity, the table that keeps it.
pub trait OfKind: Sized {
    /// What it is.
    const KIND: RecordKind;

    /// Its identity.
    fn id(&self) -> Id<Self>;

    /// The table of its kind.
    fn table(project: &Project) -> &Table<Self>
    where
        Self: Record;
}

macro_rules! define_of_kind {
    ($($Kind:ident $table:ident $noun:literal,)*) => {
        $(impl OfKind for crate::$Kind {
            const KIND: RecordKind = RecordKind::$Kind;

            fn id(&self) -> Id<Self> {
                self.id
            }

            fn table(project: &Project) -> &Table<Self> {
                project.$table()
            }
        })*
    };
}
with_kinds!(define_of_kind);

/// A record: something with an identity that the project keeps in a table. The rules of its kind stand here; what it
/// is made of comes from `record!`, where it is kept from the list of kinds.
pub trait Record: OfKind + Fields + Clone + PartialEq + std::fmt::Debug {
    /// The code people read, for the kinds that carry a label.
    fn code(&self) -> Option<&str> {
        None
    }

    /// What a record without a code is called: its name, or its title.
    fn name(&self, _project: &Project) -> Option<String> {
        None
    }

    /// The record that this one belongs to, as a count belongs to its run.
    fn owner(&self) -> Option<AnyId> {
        None
    }

    /// The record in a few words, to say what was added or removed.
    fn summary(&self, _project: &Project) -> String {
        match self.code() {
            Some(code) => format!("{} {code}", Self::KIND.noun()),
            None => Self::KIND.noun().to_owned(),
        }
    }

    /// Calls `visit` with every record this one refers to.
    fn each_reference(&self, visit: &mut dyn FnMut(AnyId));

    /// The record's own rules, asked with it already in place. References are known to exist.
    fn check(&self, project: &Project) -> Result<(), Refusal>;

    /// The rule that nothing descends from itself, asked after its own. Apart, because of a whole project it is asked of
    /// all at once: `ancestry::circles`.
    fn check_descent(&self, _project: &Project) -> Result<(), Refusal> {
        Ok(())
    }

    /// The rules of others that this record could break by being what it is, asked after its own.
    fn check_dependents(&self, _project: &Project) -> Result<(), Refusal> {
        Ok(())
    }

    /// The rules of others that the taking away of this one could break, asked with the record already gone.
    fn check_without(&self, _project: &Project) -> Result<(), Refusal> {
        Ok(())
    }
}

/// Whether a field holds its default and can be left out of a file.
pub(crate) fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}
