//! The one door: how an edit is made, and where the rules are asked.
//!
//! The records of an edit are put in place first, all of them; then the rules are asked of every record it touched. So
//! several edits that belong together ([`Edit::All`]) are judged by what they come to, whatever their order: two plants
//! may exchange their codes, a batch may move its start and its end.

use super::{CODE_LIMIT, Project, fold};
use crate::edit::{Change, Edit};
use crate::id::{AnyId, Id, RecordKind};
use crate::macros::with_kinds;
use crate::record::{Fields as _, Record};
use crate::refusal::Refusal;
use crate::table::Table;
use crate::words::{sentence, with_article};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Writing access to a table, for the door alone.
trait TableMut: Record {
    fn table_mut(project: &mut Project) -> &mut Table<Self>;
}

/// A rule to be asked once an edit is whole.
type Asked = Box<dyn FnOnce(&Project) -> Result<(), Refusal>>;

/// What an edit in the making has touched: what the rules are asked about once it is whole.
#[derive(Default)]
struct Touched {
    records: Vec<AnyId>,
    seen: BTreeSet<AnyId>,
    /// Records as they were: others may have rested on that.
    before: Vec<Asked>,
    settings: bool,
}

impl Touched {
    fn note(&mut self, id: AnyId) {
        if self.seen.insert(id) {
            self.records.push(id);
        }
    }
}

macro_rules! define_door {
    ($($Kind:ident $table:ident $noun:literal,)*) => {
        $(impl TableMut for crate::$Kind {
            fn table_mut(project: &mut Project) -> &mut Table<Self> { &mut project.$table }
        })*

        impl Project {
            fn make(&mut self, edit: Edit, touched: &mut Touched) -> Result<Edit, Refusal> {
                match edit {
                    $(Edit::$Kind(change) => self.change(change, touched).map(Edit::$Kind),)*
                    Edit::Settings(field) => {
                        touched.settings = true;
                        Ok(Edit::Settings(self.settings.replace(field)))
                    }
                    Edit::All { label, edits } => {
                        let mut inverses = edits.into_iter().map(|edit| self.make(edit, touched)).collect::<Result<Vec<_>, _>>()?;
                        inverses.reverse();
                        Ok(Edit::All { label, edits: inverses })
                    }
                }
            }

            /// The project with these records put in place as they are, without asking the rules: for words about what
            /// once was, never to be worked on. Edits that add nothing are passed over.
            #[must_use]
            pub fn with_removed(&self, records: impl IntoIterator<Item = Edit>) -> Self {
                let mut project = self.clone();
                for record in records {
                    match record {
                        $(Edit::$Kind(Change::Add(record)) => project.put(record),)*
                        _ => {}
                    }
                }
                project
            }

            /// Asks the rules about a record that was put in place.
            fn check_record(&self, id: AnyId) -> Result<(), Refusal> {
                match id.kind {
                    $(RecordKind::$Kind => match self.$table.get(Id::from_uuid(id.uuid)) {
                        Some(record) => self.check_present(record),
                        None => self.check_absent(id),
                    },)*
                }
            }
        }
    };
}
with_kinds!(define_door);

impl Project {
    /// The one door: makes the edit, checks the outcome against the model, and returns the exact inverse. Refused, it
    /// leaves everything as it was.
    pub fn apply(&mut self, edit: Edit) -> Result<Edit, Refusal> {
        let before = self.clone();
        let mut touched = Touched::default();
        let made = self.make(edit, &mut touched);
        match made.and_then(|inverse| self.check_touched(touched).map(|()| inverse)) {
            Ok(inverse) => {
                self.revision = before.revision + 1;
                Ok(inverse)
            }
            Err(refusal) => {
                *self = before;
                Err(refusal)
            }
        }
    }

    /// Makes an edit that was taken once, without asking the rules again: for states of the past that follow from a
    /// journal, never to be worked on. Where a record isn't there, which no edit that was taken can ask for, the edit
    /// is left half made.
    pub fn retrace(&mut self, edit: Edit) -> Result<(), Refusal> {
        self.make(edit, &mut Touched::default())?;
        self.revision += 1;
        Ok(())
    }

    fn check_touched(&self, touched: Touched) -> Result<(), Refusal> {
        if touched.settings {
            self.check_settings()?;
        }
        for id in touched.records {
            self.check_record(id)?;
        }
        // What a record was is gone from those it was about, too: seed brought back, now to another lot.
        for check in touched.before {
            check(self)?;
        }
        Ok(())
    }

    fn change<R: TableMut + 'static>(
        &mut self,
        change: Change<R>,
        touched: &mut Touched,
    ) -> Result<Change<R>, Refusal> {
        match change {
            Change::Add(record) => {
                let id = record.id();
                if R::table(self).contains(id) {
                    return Err(Refusal::about(
                        id,
                        format!("This {} is there already.", R::KIND.noun()),
                        "Change the one that is there.",
                    ));
                }
                touched.note(id.into());
                self.put(record);
                Ok(Change::Remove(id))
            }
            Change::Set(id, field) => {
                let before = self.take_out::<R>(id).ok_or_else(|| missing(id.into()))?;
                let mut record = before.clone();
                let was = record.replace(field);
                touched.note(id.into());
                self.put(record);
                touched
                    .before
                    .push(Box::new(move |project| before.check_without(project)));
                Ok(Change::Set(id, was))
            }
            Change::Remove(id) => {
                let record = self.take_out::<R>(id).ok_or_else(|| missing(id.into()))?;
                touched.note(id.into());
                let before = record.clone();
                touched
                    .before
                    .push(Box::new(move |project| before.check_without(project)));
                Ok(Change::Add(record))
            }
        }
    }

    pub(super) fn check_settings(&self) -> Result<(), Refusal> {
        self.settings.check().map_err(|(what, remedy)| Refusal {
            what,
            about: None,
            remedy: remedy.into(),
        })?;
        match self.settings.protocol {
            Some(protocol) if !self.protocols.contains(protocol) => Err(missing(protocol.into())),
            _ => Ok(()),
        }?;
        let mut goals = self.settings.goals.traits.iter();
        match goals.find(|goal| !self.traits.contains(goal.of_trait)) {
            Some(goal) => Err(missing(goal.of_trait.into())),
            None => Ok(()),
        }
    }

    /// Lays a record in its table, and notes what it refers to and its code.
    fn put<R: TableMut>(&mut self, record: R) {
        let id = AnyId::from(record.id());
        if let Some(code) = record.code() {
            self.codes.insert((fold(code), id));
        }
        let links = &mut self.links;
        record.each_reference(&mut |to| {
            links.insert((to, id));
        });
        R::table_mut(self).insert(Arc::new(record));
    }

    fn take_out<R: TableMut>(&mut self, id: Id<R>) -> Option<R> {
        let record = R::table_mut(self).remove(id)?;
        let links = &mut self.links;
        record.each_reference(&mut |to| {
            links.remove(&(to, id.into()));
        });
        if let Some(code) = record.code() {
            self.codes.remove(&(fold(code), id.into()));
        }
        Some(record)
    }

    /// The rules of a record that is there: its code, what it refers to, those of its kind.
    fn check_present<R: Record>(&self, record: &R) -> Result<(), Refusal> {
        if let Some(code) = record.code() {
            self.check_code(record.id().into(), code)?;
        }
        let mut absent = None;
        record.each_reference(&mut |to| {
            if absent.is_none() && !self.contains(to) {
                absent = Some(to);
            }
        });
        if let Some(absent) = absent {
            return Err(missing(absent));
        }
        record.check(self)?;
        record.check_descent(self)?;
        record.check_dependents(self)
    }

    /// Whether a record that was taken away may be missed.
    fn check_absent(&self, id: AnyId) -> Result<(), Refusal> {
        // A record about itself, such as a note on a note, kept only itself.
        if let Some(referrer) = self.referrers(id).find(|other| *other != id) {
            return Err(Refusal::about(
                referrer,
                format!(
                    "This {} is still needed by {}.",
                    id.kind.noun(),
                    self.describe(referrer)
                ),
                "Take that away first.",
            ));
        }
        if self
            .settings
            .protocol
            .is_some_and(|protocol| AnyId::from(protocol) == id)
        {
            return Err(Refusal::about(
                id,
                "New batches start from this protocol.",
                "Choose another for the project first.",
            ));
        }
        let mut goals = self.settings.goals.traits.iter();
        if goals.any(|goal| AnyId::from(goal.of_trait) == id) {
            return Err(Refusal::about(
                id,
                "This trait is among the goals of the season.",
                "Take it out of the goals first.",
            ));
        }
        Ok(())
    }

    fn check_code(&self, id: AnyId, code: &str) -> Result<(), Refusal> {
        let refuse = |what: String, remedy: &str| Err(Refusal::about(id, what, remedy));
        if code.trim().is_empty() {
            return refuse(
                format!("{} needs a code.", sentence(&with_article(id.kind.noun()))),
                "Type the code that will be on its label.",
            );
        }
        if code.trim() != code || code.chars().any(char::is_control) {
            return refuse(
                format!(
                    "'{}' begins or ends with a space, or contains characters that can't be printed.",
                    code.escape_debug()
                ),
                "Type it again.",
            );
        }
        if code.chars().count() > CODE_LIMIT {
            return refuse(
                format!("'{code}' is too long for a label."),
                "Use at most 40 letters and digits.",
            );
        }
        match self.find_code(code).find(|other| *other != id) {
            Some(other) => refuse(
                format!(
                    "{code} is already the code of {}.",
                    with_article(other.kind.noun())
                ),
                "Choose another code.",
            ),
            None => Ok(()),
        }
    }
}

fn missing(id: AnyId) -> Refusal {
    Refusal::about(
        id,
        format!("There is no such {} in this project.", id.kind.noun()),
        "It may have been removed; search again.",
    )
}
