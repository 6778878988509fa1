//! What a damaged file has lost, where it can be had back, and what was accepted as lost.

use crate::backup::Backup;
use crate::document::{self, Document};
use crate::error::StoreError;
use crate::journal::{Continuation, Mark, continuation, scan};
use crate::open::Store;
use chrono::{DateTime, Utc};
use domain::compare::{Comparison, Verb};
use domain::merge::merge;
use domain::words::counted;
use domain::{AnyId, Project, RecordKind};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// So many kinds are named where there is room for little.
const MOST_KINDS: usize = 3;

/// What a damaged file has lost.
#[derive(Debug, Clone)]
pub struct Damage {
    /// How many records are missing, by kind, most first. Empty if nothing tells how many.
    pub missing: Vec<(RecordKind, usize)>,
    /// Where they can be had back from.
    pub source: Option<Source>,
}

/// Where records that a file has lost are still to be had.
#[derive(Debug, Clone)]
pub struct Source {
    /// The backup; nothing if it is the journal, which has the project just as it was saved.
    pub backup: Option<DateTime<Utc>>,
    /// How many of the missing records it has.
    pub has: usize,
    /// The project as it stood there.
    pub(crate) project: Project,
    /// The last change it contains, if that is known.
    pub(crate) mark: Option<Mark>,
}

/// Records that were missing when a damaged file was gone on with. They stay told until they are there again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Loss {
    /// When it was accepted.
    pub at: DateTime<Utc>,
    /// How many records were missing, by the name of their table; empty if nothing told how many.
    pub missing: BTreeMap<String, usize>,
    /// The identities of those that are known.
    pub ids: Vec<Uuid>,
}

impl Damage {
    /// How many records are missing, as far as is known.
    pub fn count(&self) -> usize {
        self.missing.iter().map(|(_, count)| count).sum()
    }

    /// What is wrong and what can be done, moments as `clock` writes them.
    pub fn words(&self, clock: impl Fn(DateTime<Utc>) -> String) -> String {
        self.words_of(in_words(&self.missing), clock)
    }

    /// The same where there is room for little: the kinds of which most are missing, and the rest of them summed up.
    pub fn brief(&self, clock: impl Fn(DateTime<Utc>) -> String) -> String {
        let (named, rest) = self.missing.split_at(self.missing.len().min(MOST_KINDS));
        let rest: usize = rest.iter().map(|(_, count)| count).sum();
        let words = if rest == 0 {
            in_words(named)
        } else {
            let named = named.iter().map(|(kind, count)| kind.counted(*count));
            let named: Vec<_> = named.collect();
            let rest = counted(rest, "other record", "other records");
            Some(format!("{} and {rest}", named.join(", ")))
        };
        self.words_of(words, clock)
    }

    fn words_of(&self, missing: Option<String>, clock: impl Fn(DateTime<Utc>) -> String) -> String {
        let missing = missing.map_or_else(
            || "The file is damaged; how much is missing isn't known".to_owned(),
            |words| {
                let verb = if self.count() == 1 { "is" } else { "are" };
                format!("The file is damaged: {words} {verb} missing")
            },
        );
        let has = |source: &Source| match (source.has, self.count()) {
            (has, 1) if has > 0 => "has it".to_owned(),
            (has, all) if has >= all && all > 0 => "has every missing record".to_owned(),
            (0, _) => "can be looked at".to_owned(),
            (has, _) => format!("has {has} of the missing records"),
        };
        match &self.source {
            None => format!("{missing}. No backup or journal has what is missing."),
            Some(source) => match source.backup {
                None => format!("{missing}; the journal {}.", has(source)),
                Some(at) => format!("{missing}; the backup of {} {}.", clock(at), has(source)),
            },
        }
    }

    /// Why a copy that has lost this can't be merged: its losses would pass for removals.
    pub(crate) fn refuses_merge(&self, path: PathBuf, own: bool) -> StoreError {
        let what = match in_words(&self.missing) {
            Some(words) => format!("The file is damaged and lacks {words}"),
            None => "The file is damaged; how much is missing isn't known".to_owned(),
        };
        StoreError::Damaged { path, what, own }
    }

    /// The project as read, with what is missing put back where it can be had.
    pub(crate) fn mended(&self, project: &Project) -> Project {
        let Some(source) = &self.source else {
            return project.clone();
        };
        // Nothing at all could be read: not even the settings stand against what is had back.
        if *project == Project::default() {
            return source.project.clone();
        }
        let back = merge(None, project, &source.project).clean;
        let mut mended = project.clone();
        let edit = back.into_edit("bring back what was missing");
        match mended.apply(edit) {
            Ok(_) => mended,
            // What was read breaks rules of its own; then the whole stands for all of it.
            Err(_) => source.project.clone(),
        }
    }

    pub(crate) fn as_loss(&self, project: &Project, at: DateTime<Utc>) -> Loss {
        let source = self.source.as_ref();
        Loss {
            at,
            missing: self
                .missing
                .iter()
                .map(|(kind, count)| (kind.table().to_owned(), *count))
                .collect(),
            ids: source.map_or_else(Vec::new, |source| {
                lacking(project, &source.project)
                    .map(|id| id.uuid)
                    .collect()
            }),
        }
    }
}

impl Loss {
    /// Whether every record that was missing is there again.
    pub fn is_mended(&self, project: &Project) -> bool {
        let there = |uuid: &Uuid| {
            let mut kinds = RecordKind::ALL.iter();
            kinds.any(|kind| {
                project.contains(AnyId {
                    kind: *kind,
                    uuid: *uuid,
                })
            })
        };
        !self.ids.is_empty() && self.ids.iter().all(there)
    }

    /// What was lost, as a sentence, with its moment as `clock` writes it.
    pub fn words(&self, clock: impl Fn(DateTime<Utc>) -> String) -> String {
        let missing: Vec<_> = self
            .missing
            .iter()
            .filter_map(|(table, count)| Some((RecordKind::of_table(table)?, *count)))
            .collect();
        let what = in_words(&missing).unwrap_or_else(|| "An unknown number of records".to_owned());
        format!(
            "{what} went missing from a damaged file, which was gone on with on {}.",
            clock(self.at)
        )
    }
}

/// Counts of kinds in words, such as '890 plants and 12 notes'; nothing if there are none.
pub(crate) fn in_words(counts: &[(RecordKind, usize)]) -> Option<String> {
    let mut parts: Vec<String> = counts
        .iter()
        .map(|(kind, count)| kind.counted(*count))
        .collect();
    let last = parts.pop()?;
    Some(if parts.is_empty() {
        last
    } else {
        format!("{} and {last}", parts.join(", "))
    })
}

/// The records of `whole` that `project` has not.
fn lacking(project: &Project, whole: &Project) -> impl Iterator<Item = AnyId> {
    let all = Comparison::between(project, whole).edits;
    all.into_iter()
        .filter(|edit| edit.verb() == Verb::Add)
        .filter_map(|edit| edit.about())
        .collect::<Vec<_>>()
        .into_iter()
}

impl Store {
    /// What a file read as `document` has lost, if it has.
    pub(crate) fn damage(&self, path: &Path, document: &Document) -> Option<Damage> {
        let lost = document.lost.as_ref()?;
        let source = self.whole(path, document);
        let missing = match &source {
            // The journal has it as it was saved, a backup as it was some time before.
            Some(source) if source.backup.is_none() || lost.by_kind.is_empty() => {
                let mut counts = BTreeMap::new();
                for id in lacking(&document.project, &source.project) {
                    *counts.entry(id.kind).or_insert(0) += 1;
                }
                counts.into_iter().collect()
            }
            _ => lost.by_kind.clone(),
        };
        // All was there after all, the file's own count being what was hurt.
        if missing.is_empty()
            && source
                .as_ref()
                .is_some_and(|source| source.backup.is_none())
        {
            return None;
        }
        let mut missing: Vec<_> = missing.into_iter().collect();
        missing.sort_by_key(|(kind, count)| (std::cmp::Reverse(*count), *kind));
        Some(Damage { missing, source })
    }

    /// A file in which there is nothing, where its journal leads to the project or a backup has it; nothing if neither does.
    pub(crate) fn blank(&self, path: &Path, bytes: &[u8]) -> Option<Document> {
        if !document::is_blank(bytes) {
            return None;
        }
        let journal = self.journal_bytes(path).ok()?;
        let end = scan(&journal).and_then(|scan| {
            let Continuation::Follows { end, .. } = continuation(&scan, scan.start?) else {
                return None;
            };
            scan.project_at(end.sequence).map(|_| end)
        });
        let document = document::blank(end);
        self.whole(path, &document).map(|_| document)
    }

    /// The nearest whole state: what the journal has for the file's own mark, or else the newest whole backup.
    fn whole(&self, path: &Path, document: &Document) -> Option<Source> {
        let source = |backup, project: Project, mark| Source {
            backup,
            has: lacking(&document.project, &project).count(),
            project,
            mark,
        };
        let journal = document.mark.and_then(|mark| {
            let bytes = self.journal_bytes(path).ok()?;
            let scan = scan(&bytes)?;
            let through = scan.marks().contains(&mark);
            through.then(|| scan.project_at(mark.sequence))?
        });
        if let Some(project) = journal {
            return Some(source(None, project, document.mark));
        }
        let backups = self.backups(path).unwrap_or_default();
        backups.iter().find_map(|backup: &Backup| {
            let bytes = self.read(&backup.path).ok()?;
            let there = document::read(&bytes).ok()?;
            let same = document
                .mark
                .is_none_or(|mark| there.mark.is_some_and(|theirs| theirs.id == mark.id));
            let whole = !there.damaged && there.lost.is_none() && !there.changed_outside;
            (same && whole).then(|| source(Some(backup.at), there.project, there.mark))
        })
    }
}
