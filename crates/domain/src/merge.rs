//! Bringing together two copies of one project that were edited apart.
//!
//! With the state both began from known, what was changed there and not here comes in by itself, and a thing changed on
//! both sides is a [`Conflict`]: both are told, and a person decides. Without it the two are held side by side: a record
//! that only one of them has is taken for new, and every field that differs is a conflict. What both sides may have done
//! by itself but not together (two plants of one code, more seed drawn than there was) is a conflict too. So each change
//! of either copy is either in the outcome or in the list of conflicts; the outcome is one edit, made through the one
//! door, undone in one step.

use crate::compare::{Comparison, Verb};
use crate::edit::Edit;
use crate::id::AnyId;
use crate::project::Project;
use std::collections::{BTreeMap, BTreeSet};

mod fit;

/// What two copies come to.
#[derive(Debug, Clone)]
pub struct Merge {
    /// What comes in from the other copy without a question.
    pub clean: Comparison,
    /// What a person decides.
    pub conflicts: Vec<Conflict>,
    /// What was taken for new, where the state both began from isn't known.
    pub assumed: Option<Assumed>,
}

/// Records that only one copy has, taken for new there since nothing tells whether the other had them and took them away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Assumed {
    /// Only here: they stay.
    pub here: usize,
    /// Only there: they come in.
    pub there: usize,
}

/// Something that both copies can't have their way in.
#[derive(Debug, Clone, PartialEq)]
pub struct Conflict {
    /// The record; none for a setting.
    pub about: Option<AnyId>,
    /// What kind of conflict it is.
    pub clash: Clash,
    /// What it is about, such as 'place of plant F-01'.
    pub title: String,
    /// What stands here, in words: it stays if [`Choice::Mine`] is taken.
    pub mine: Vec<String>,
    /// What stands there, in words.
    pub theirs: Vec<String>,
    /// What was done here, to be looked up in the history of this copy.
    pub here: Vec<Edit>,
    /// What was done there, to be looked up in the history of the other copy.
    pub there: Vec<Edit>,
    /// What brings in what stands there. Nothing where that can't be, whatever is given up for it.
    take: Option<Vec<Edit>>,
}

/// What kind of conflict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Clash {
    /// Both changed the same field, or the same setting, to different values.
    Field,
    /// It was taken away here and changed there, or something there still needs it.
    GoneHere,
    /// It was taken away there and changed here, or something here still needs it.
    GoneThere,
    /// Another record here has the same code. Taken, the other copy's record gets this one.
    Code(String),
    /// Together they break a rule: what is wrong, as a sentence.
    Rule(String),
}

/// Whose version is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choice {
    /// What stands here stays.
    Mine,
    /// What stands there comes in.
    Theirs,
}

impl Conflict {
    /// Whether the other copy's version can be taken at all.
    pub const fn can_take_theirs(&self) -> bool {
        self.take.is_some()
    }
}

impl Merge {
    /// Whether the other copy has nothing that this one lacks.
    pub fn is_nothing(&self) -> bool {
        self.clean.is_empty() && self.conflicts.is_empty()
    }

    /// The one edit that brings the copies together, with a choice for each conflict in order. What was left out for
    /// [`Choice::Mine`] stays in the other copy, and is asked again when the two meet again.
    pub fn settle(&self, choices: &[Choice]) -> Edit {
        let mut edits = self.clean.edits.clone();
        for (conflict, choice) in self.conflicts.iter().zip(choices) {
            if *choice == Choice::Theirs {
                edits.extend(conflict.take.iter().flatten().cloned());
            }
        }
        Edit::all("bring in the other copy", edits)
    }
}

/// What `theirs` has that `mine` lacks, and where the two clash. `base` is the state both began from, where it is known.
pub fn merge(base: Option<&Project>, mine: &Project, theirs: &Project) -> Merge {
    let mut sorting = Sorting {
        base,
        mine,
        theirs,
        clean: Vec::new(),
        conflicts: Vec::new(),
    };
    let there = Comparison::between(base.unwrap_or(mine), theirs);
    let mut assumed = Assumed { here: 0, there: 0 };
    for edit in there.edits {
        match (base, edit.verb()) {
            (None, Verb::Remove) => assumed.here += 1,
            (None, Verb::Add) => {
                assumed.there += 1;
                sorting.clean.push(edit);
            }
            (None, _) => sorting.field(edit),
            (Some(base), _) => sorting.sort(base, edit),
        }
    }
    let (clean, refused) = fit::fit(mine, sorting.clean);
    let mut asking = fit::Asking::new(base, mine, theirs, &clean);
    let mut conflicts = sorting.conflicts;
    for conflict in &mut conflicts {
        asking.mend(conflict);
    }
    let clusters = fit::clusters(theirs, refused).into_iter();
    conflicts.extend(clusters.map(|cluster| asking.conflict(cluster)));
    Merge {
        clean: Comparison { edits: clean },
        conflicts,
        assumed: base.is_none().then_some(assumed),
    }
}

/// Changes of the other copy, sorted into those that come in by themselves and those that a person decides.
struct Sorting<'a> {
    base: Option<&'a Project>,
    mine: &'a Project,
    theirs: &'a Project,
    clean: Vec<Edit>,
    conflicts: Vec<Conflict>,
}

impl Sorting<'_> {
    fn sort(&mut self, base: &Project, edit: Edit) {
        let (was, stands) = (edit.as_in(base), edit.as_in(self.mine));
        match edit.verb() {
            Verb::Set if stands.as_ref() == Some(&edit) => {}
            Verb::Set if stands == was => self.clean.push(edit),
            Verb::Set if stands.is_some() => self.field(edit),
            Verb::Set => self.gone_here(edit),
            // Both may have it from a copy older than the one they began from.
            Verb::Add => match (stands, edit.about()) {
                (None, _) => self.clean.push(edit),
                (Some(_), Some(id)) => {
                    for field in changed_fields(self.mine, self.theirs, id) {
                        self.field(field);
                    }
                }
                (Some(_), None) => {}
            },
            Verb::Remove if stands.is_none() => {}
            Verb::Remove if stands == was => self.clean.push(edit),
            Verb::Remove => self.gone_there(edit),
            Verb::Several => {}
        }
    }

    /// Another value for the same field on each side.
    fn field(&mut self, edit: Edit) {
        let Some(stands) = edit.as_in(self.mine) else {
            return;
        };
        self.conflicts.push(Conflict {
            about: edit.about(),
            clash: Clash::Field,
            title: edit.describe(self.mine),
            mine: stands.value_words(self.mine).into_iter().collect(),
            theirs: edit.value_words(self.theirs).into_iter().collect(),
            here: vec![stands],
            there: vec![edit.clone()],
            take: Some(vec![edit]),
        });
    }

    /// Taken away here, changed there: all changes of one record are one conflict.
    fn gone_here(&mut self, edit: Edit) {
        let Some(id) = edit.about() else { return };
        let words = told(&edit, self.theirs);
        if let Some(known) = self
            .conflicts
            .iter_mut()
            .find(|each| each.about == Some(id) && each.clash == Clash::GoneHere)
        {
            known.theirs.push(words);
            known.there.push(edit);
            return;
        }
        self.conflicts.push(Conflict {
            about: Some(id),
            clash: Clash::GoneHere,
            title: self.theirs.describe(id),
            mine: vec!["removed".into()],
            theirs: vec![words],
            here: vec![crate::compare::removal(id)],
            there: vec![edit],
            take: self.theirs.record(id).map(|record| vec![record]),
        });
    }

    /// Changed here, taken away there.
    fn gone_there(&mut self, edit: Edit) {
        let Some(id) = edit.about() else { return };
        let changes = self
            .base
            .map(|base| changed_fields(base, self.mine, id))
            .unwrap_or_default();
        self.conflicts.push(Conflict {
            about: Some(id),
            clash: Clash::GoneThere,
            title: self.mine.describe(id),
            mine: changes.iter().map(|each| told(each, self.mine)).collect(),
            theirs: vec!["removed".into()],
            here: changes,
            there: vec![edit.clone()],
            take: Some(vec![edit]),
        });
    }
}

/// The edits of fields that turn a record of one project into the same record of another.
fn changed_fields(from: &Project, to: &Project, id: AnyId) -> Vec<Edit> {
    let (Some(before), Some(after)) = (from.record(id), to.record(id)) else {
        return Vec::new();
    };
    before.changed_fields(&after)
}

/// An edit with its value: 'place of plant F-01: row 3'.
pub fn told(edit: &Edit, project: &Project) -> String {
    let words = edit.describe(project);
    match edit.value_words(project) {
        Some(value) => format!("{words}: {value}"),
        None => words,
    }
}

/// Edits by the record they are about, settings apart, in their order.
fn by_record(edits: Vec<Edit>) -> Vec<Vec<Edit>> {
    let mut groups: Vec<Vec<Edit>> = Vec::new();
    let mut places: BTreeMap<AnyId, usize> = BTreeMap::new();
    for edit in edits {
        let next = groups.len();
        // Each setting stands by itself.
        let place = edit
            .about()
            .map_or(next, |id| *places.entry(id).or_insert(next));
        if place == next {
            groups.push(Vec::new());
        }
        groups[place].push(edit);
    }
    groups
}

/// The records these edits are about.
fn records(edits: &[Edit]) -> BTreeSet<AnyId> {
    edits.iter().filter_map(Edit::about).collect()
}
