//! Two states of a project side by side, and the edit that turns one into the other.
//!
//! One comparison serves all that looks back: a backup restored is the edit that turns now into then, a moment of the
//! history likewise, and the meeting of two copies ([`crate::merge`]) begins with what each changed.

use crate::edit::{Change, Edit};
use crate::id::{AnyId, Id, RecordKind};
use crate::macros::with_kinds;
use crate::project::Project;
use crate::record::{Fields as _, Record};
use crate::table::Table;
use std::collections::BTreeMap;

/// What turns one state of a project into another.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Comparison {
    /// Settings first, then the records by kind; the edits of one record stand together.
    pub edits: Vec<Edit>,
}

/// How many records of a kind differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tally {
    /// The kind.
    pub kind: RecordKind,
    /// Records that are added.
    pub added: usize,
    /// Records that change in at least one field.
    pub changed: usize,
    /// Records that are taken away.
    pub removed: usize,
}

impl Tally {
    /// Records that differ in any way.
    pub const fn all(&self) -> usize {
        self.added + self.changed + self.removed
    }
}

macro_rules! define_comparison {
    ($($Kind:ident $table:ident $noun:literal,)*) => {
        impl Comparison {
            /// What turns `from` into `to`. Quick where the two share most of their structure, as a snapshot does.
            pub fn between(from: &Project, to: &Project) -> Self {
                let settings = from.settings().changed_fields(to.settings());
                let mut edits: Vec<Edit> = settings.into_iter().map(Edit::Settings).collect();
                $(edits.extend(changes(from.$table(), to.$table()).into_iter().map(Edit::$Kind));)*
                Self { edits }
            }
        }

        impl Edit {
            /// How the thing this edit is about stands in a project: the same field with the value it has there, or the
            /// whole record; nothing if the record isn't there.
            #[must_use]
            pub fn as_in(&self, project: &Project) -> Option<Self> {
                match self {
                    $(Self::$Kind(change) => standing(change, project.$table()).map(Self::$Kind),)*
                    Self::Settings(field) => Some(Self::Settings(project.settings().read(field))),
                    Self::All { .. } => None,
                }
            }

            /// The record it adds, changes or removes, where it is about just one.
            pub fn about(&self) -> Option<AnyId> {
                match self {
                    $(Self::$Kind(change) => Some(change.id().into()),)*
                    Self::Settings(_) | Self::All { .. } => None,
                }
            }

            /// What becomes of the record it is about.
            pub fn verb(&self) -> Verb {
                match self {
                    $(Self::$Kind(change) => Verb::of(change),)*
                    Self::Settings(_) => Verb::Set,
                    Self::All { .. } => Verb::Several,
                }
            }

            /// Whether both are about the same field of the same record, or the same setting.
            pub fn same_field(&self, other: &Self) -> bool {
                match (self, other) {
                    $((Self::$Kind(Change::Set(id, field)), Self::$Kind(Change::Set(other, like))) => {
                        id == other && std::mem::discriminant(field) == std::mem::discriminant(like)
                    })*
                    (Self::Settings(field), Self::Settings(like)) => {
                        std::mem::discriminant(field) == std::mem::discriminant(like)
                    }
                    _ => false,
                }
            }

            /// The value that a set field or setting gets, as it would be read out; nothing for other edits.
            pub fn value_words(&self, project: &Project) -> Option<String> {
                match self {
                    $(Self::$Kind(Change::Set(_, field)) => Some(<crate::$Kind>::value_words(field, project)),)*
                    Self::Settings(field) => Some(crate::Settings::value_words(field, project)),
                    _ => None,
                }
            }

            /// The field that this edit sets, as it stood once `earlier` was made; nothing if that doesn't say.
            #[must_use]
            pub fn value_after(&self, earlier: &Self) -> Option<Self> {
                match (self, earlier) {
                    $((Self::$Kind(Change::Set(id, field)), Self::$Kind(Change::Add(record))) if record.id == *id => {
                        Some(Self::$Kind(Change::Set(*id, record.read(field))))
                    })*
                    (_, Self::All { edits, .. }) => edits.iter().rev().find_map(|edit| self.value_after(edit)),
                    _ => self.same_field(earlier).then(|| earlier.clone()),
                }
            }

            /// The edits of fields that turn the record of this edit into that of another of the same kind and identity;
            /// none if these aren't two such records to be added.
            #[must_use]
            pub fn changed_fields(&self, other: &Self) -> Vec<Self> {
                match (self, other) {
                    $((Self::$Kind(Change::Add(from)), Self::$Kind(Change::Add(to))) if from.id == to.id => {
                        let fields = from.changed_fields(to).into_iter();
                        fields.map(|field| Self::$Kind(Change::Set(to.id, field))).collect()
                    })*
                    _ => Vec::new(),
                }
            }

            /// The record to be added, with fields set to these values; other edits stay as they are.
            #[must_use]
            pub fn with_fields(&self, sets: impl Iterator<Item = Self>) -> Self {
                let mut added = self.clone();
                for set in sets {
                    match (&mut added, set) {
                        $((Self::$Kind(Change::Add(record)), Self::$Kind(Change::Set(id, field))) if record.id == id => {
                            record.replace(field);
                        })*
                        _ => {}
                    }
                }
                added
            }

            /// The edits it comes down to, none of them several.
            pub fn parts(&self) -> Vec<&Self> {
                match self {
                    Self::All { edits, .. } => edits.iter().flat_map(Self::parts).collect(),
                    one => vec![one],
                }
            }
        }

        impl Project {
            /// The record itself as the edit that would add it.
            pub fn record(&self, id: AnyId) -> Option<Edit> {
                match id.kind {
                    $(RecordKind::$Kind => {
                        let record = self.$table().get(Id::from_uuid(id.uuid))?;
                        Some(Edit::$Kind(Change::Add(record.clone())))
                    })*
                }
            }

            /// Every record that this one refers to, in no order.
            pub fn references(&self, id: AnyId) -> Vec<AnyId> {
                let mut references = Vec::new();
                match id.kind {
                    $(RecordKind::$Kind => if let Some(record) = self.$table().get(Id::from_uuid(id.uuid)) {
                        record.each_reference(&mut |to| references.push(to));
                    },)*
                }
                references
            }
        }

        /// The edit that takes a record of any kind away.
        pub fn removal(id: AnyId) -> Edit {
            match id.kind {
                $(RecordKind::$Kind => Edit::$Kind(Change::Remove(Id::from_uuid(id.uuid))),)*
            }
        }
    };
}
with_kinds!(define_comparison);

/// What an edit does to a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verb {
    /// It is new.
    Add,
    /// One field changes.
    Set,
    /// It is taken away.
    Remove,
    /// Several edits at once.
    Several,
}

impl Verb {
    const fn of<R: Record>(change: &Change<R>) -> Self {
        match change {
            Change::Add(_) => Self::Add,
            Change::Set(..) => Self::Set,
            Change::Remove(_) => Self::Remove,
        }
    }
}

fn changes<R: Record>(from: &Table<R>, to: &Table<R>) -> Vec<Change<R>> {
    let mut changes = Vec::new();
    for pair in from.differences(to) {
        match pair {
            (None, Some(new)) => changes.push(Change::Add(new.clone())),
            (Some(old), None) => changes.push(Change::Remove(old.id())),
            (Some(old), Some(new)) => {
                let fields = old.changed_fields(new).into_iter();
                changes.extend(fields.map(|field| Change::Set(old.id(), field)));
            }
            (None, None) => {}
        }
    }
    changes
}

fn standing<R: Record>(change: &Change<R>, table: &Table<R>) -> Option<Change<R>> {
    let record = table.get(change.id())?;
    Some(match change {
        Change::Set(id, field) => Change::Set(*id, record.read(field)),
        Change::Add(_) | Change::Remove(_) => Change::Add(record.clone()),
    })
}

impl Comparison {
    /// Whether the two are the same.
    pub fn is_empty(&self) -> bool {
        self.edits.is_empty()
    }

    /// How many records differ, by kind; kinds without a difference are left out.
    pub fn tallies(&self) -> Vec<Tally> {
        let mut records: BTreeMap<AnyId, Verb> = BTreeMap::new();
        for edit in &self.edits {
            for part in edit.parts() {
                if let Some(id) = part.about() {
                    records.entry(id).or_insert_with(|| part.verb());
                }
            }
        }
        let mut tallies: Vec<Tally> = Vec::new();
        for (id, verb) in records {
            if tallies.last().is_none_or(|last| last.kind != id.kind) {
                tallies.push(Tally {
                    kind: id.kind,
                    added: 0,
                    changed: 0,
                    removed: 0,
                });
            }
            if let Some(last) = tallies.last_mut() {
                match verb {
                    Verb::Add => last.added += 1,
                    Verb::Remove => last.removed += 1,
                    Verb::Set | Verb::Several => last.changed += 1,
                }
            }
        }
        tallies
    }

    /// How many settings differ.
    pub fn settings(&self) -> usize {
        let settings = self.edits.iter();
        settings
            .filter(|edit| matches!(edit, Edit::Settings(_)))
            .count()
    }

    /// What differs in a few words, such as '12 plants and 3 checks'; nothing if nothing does.
    pub fn words(&self) -> Option<String> {
        let mut parts: Vec<String> = self
            .tallies()
            .iter()
            .map(|tally| tally.kind.counted(tally.all()))
            .collect();
        match self.settings() {
            0 => {}
            1 => parts.push("1 setting".into()),
            many => parts.push(format!("{many} settings")),
        }
        let last = parts.pop()?;
        Some(if parts.is_empty() {
            last
        } else {
            format!("{} and {last}", parts.join(", "))
        })
    }

    /// The one edit that makes all of it.
    pub fn into_edit(self, label: impl Into<String>) -> Edit {
        Edit::all(label, self.edits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::genotype::GenotypeField;
    use crate::record::settings::SettingsField;
    use crate::{Genotype, Hemisphere, IdSource, Origin, actions};

    fn begun() -> (Project, Vec<Id<Genotype>>) {
        let mut ids = IdSource::new(1_770_000_000_000, 3);
        let mut project = Project::default();
        project
            .apply(actions::begin_project(
                "Tarn",
                Hemisphere::Northern,
                &mut ids,
            ))
            .unwrap();
        let plants = ["A", "B", "C"].map(|code| {
            let id = ids.next();
            let plant = Genotype::new(id, code, Origin::Unknown);
            project.apply(Edit::add(plant)).unwrap();
            id
        });
        (project, plants.into())
    }

    #[test]
    fn a_comparison_says_what_differs_and_its_edit_turns_one_into_the_other() {
        let (before, plants) = begun();
        let mut after = before.clone();
        let place = |text: &str| GenotypeField::Location(text.into());
        for edit in [
            Edit::set(plants[0], place("row 1")),
            Edit::set(plants[0], GenotypeField::Name(Some("First".into()))),
            Edit::remove(plants[1]),
            Edit::Settings(SettingsField::Place("Hill".into())),
        ] {
            after.apply(edit).unwrap();
        }
        let comparison = Comparison::between(&before, &after);
        assert_eq!(
            comparison.words().as_deref(),
            Some("2 plants and 1 setting")
        );
        assert_eq!(
            comparison.tallies(),
            [Tally {
                kind: RecordKind::Genotype,
                added: 0,
                changed: 1,
                removed: 1
            }]
        );
        for (from, to) in [(&before, &after), (&after, &before)] {
            let mut project = from.clone();
            let edit = Comparison::between(from, to).into_edit("restore");
            let inverse = project.apply(edit).unwrap();
            assert!(project == *to);
            project.apply(inverse).unwrap();
            assert!(project == *from);
        }
        assert_eq!(Comparison::between(&after, &after.clone()).words(), None);
    }

    #[test]
    fn codes_may_be_exchanged_in_one_edit_though_never_shared() {
        let (before, plants) = begun();
        let mut after = before.clone();
        let code =
            |plant: usize, code: &str| Edit::set(plants[plant], GenotypeField::Code(code.into()));
        let exchange = Edit::all("exchange", vec![code(0, "B"), code(1, "A")]);
        assert!(after.apply(code(0, "B")).is_err());
        after.apply(exchange).unwrap();
        let back = Comparison::between(&after, &before).into_edit("back");
        after.apply(back).unwrap();
        assert!(after == before);
    }

    #[test]
    fn a_value_is_found_in_what_set_it_before() {
        let (project, plants) = begun();
        let set = |text: &str| Edit::set(plants[0], GenotypeField::Location(text.into()));
        let added = project.record(plants[0].into()).unwrap();
        assert_eq!(set("row 2").value_after(&set("row 1")), Some(set("row 1")));
        assert_eq!(set("row 1").value_after(&added), Some(set("")));
        let several = Edit::all("move", vec![set("row 3"), set("row 4")]);
        assert_eq!(set("row 5").value_after(&several), Some(set("row 4")));
        assert_eq!(set("row 2").value_words(&project).as_deref(), Some("row 2"));
        let other = Edit::set(plants[1], GenotypeField::Location("row 1".into()));
        assert_eq!(set("row 2").value_after(&other), None);
    }
}
