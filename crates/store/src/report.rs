//! What opening a project found.

use crate::damage::{Damage, Loss};
use crate::document::QuarantinedRecord;
use crate::error::ReadOnly;
use chrono::{DateTime, Utc};
use domain::RecordKind;
use domain::words::counted;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// So many records that are set aside are told one by one.
const MOST_NAMED: usize = 10;

/// What opening a project found, for people to read.
#[derive(Debug, Clone, Default)]
pub struct Report {
    /// Changes brought back from the journal.
    pub recovered: Option<Recovered>,
    /// Records that can't be in the project, kept in the file.
    pub quarantined: Vec<QuarantinedRecord>,
    /// Why the project can only be read, if so.
    pub read_only: Option<ReadOnly>,
    /// Whether the file is damaged, be it that every record in it can be read. The next save mends that.
    pub is_hurt: bool,
    /// What a damaged file has lost, if it is one that can only be read for that.
    pub damage: Option<Damage>,
    /// What was lost before and gone on without.
    pub losses: Vec<Loss>,
    /// Changes of journals that aren't in the project.
    pub lost_changes: Vec<LostChanges>,
    /// What another program did to the file since it was saved, if something.
    pub changed_outside: Option<ChangedOutside>,
    /// Copies of the project file that lie beside it since it was found damaged, or as another program had left it.
    pub copies: Vec<PathBuf>,
    /// Files that could not be used and lie beside the project, byte for byte.
    pub kept: Vec<PathBuf>,
    /// Anything else worth telling, as sentences.
    pub notes: Vec<String>,
}

/// What another program, or a person's editor, did to a file since it was saved.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ChangedOutside {
    /// When the last change was made that the file contains, if the journal tells.
    pub since: Option<DateTime<Utc>>,
    /// What differs from what was saved, such as '12 plants'; nothing if it isn't known, or nothing does.
    pub differs: Option<String>,
    /// Whether what was saved is known, to be compared with.
    pub is_known: bool,
    /// Each thing that differs in words, as far as they are told.
    pub told: Vec<String>,
    /// How many more there are.
    pub more: usize,
    /// How many things were changed both in the file and in what the journal brought back: that stands.
    pub clashes: usize,
}

impl ChangedOutside {
    /// What was done, with its moment as `clock` writes it.
    pub fn words(&self, clock: impl Fn(DateTime<Utc>) -> String) -> String {
        let since = self.since.map_or_else(
            || "it was saved".to_owned(),
            |at| format!("it was saved with the change of {}", clock(at)),
        );
        let differs = match (&self.differs, self.is_known) {
            (Some(words), _) if words.starts_with("1 ") && !words.contains(" and ") => {
                format!(": {words} differs")
            }
            (Some(words), _) => format!(": {words} differ"),
            (None, true) => ", with no record different".to_owned(),
            (None, false) => String::new(),
        };
        let clashes = match self.clashes {
            0 => String::new(),
            1 => " 1 thing was also changed here since: that is kept, and the file as it was found is kept.".into(),
            many => format!(
                " {many} things were also changed here since: those are kept, and the file as it was found is kept."
            ),
        };
        format!("The file was changed outside the program since {since}{differs}.{clashes}")
    }
}

/// Changes of a journal that aren't in the project.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LostChanges {
    /// How many; nothing if that can't be told.
    pub count: Option<usize>,
    /// Why they aren't.
    pub why: WhyLost,
    /// The file that has them; nothing where the journal was left as it is.
    pub kept: Option<PathBuf>,
}

/// Why changes of a journal aren't in the project.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyLost {
    /// The journal is damaged before them.
    Damaged,
    /// The journal isn't this file's; the reason as a sentence.
    NotUsed(&'static str),
    /// Their journal was set aside earlier.
    SetAside,
}

impl LostChanges {
    /// What isn't there, and where it lies.
    pub fn words(&self) -> String {
        let count = self.count.map_or_else(
            || "an unknown number of changes".to_owned(),
            |count| counted(count, "change", "changes"),
        );
        let is_one = self.count == Some(1);
        let (are, they_are) = if is_one {
            ("is", "It is")
        } else {
            ("are", "They are")
        };
        let text = match self.why {
            WhyLost::Damaged => {
                format!("The journal is damaged: {count} in it could not be brought back")
            }
            WhyLost::NotUsed(why) => format!(
                "The journal beside the project was not used. {why} In it {are} {count} not known to be in the project"
            ),
            WhyLost::SetAside => format!(
                "In a journal that was set aside {are} {count} not known to be in the project. {they_are} told of as long as the file lies there"
            ),
        };
        match &self.kept {
            None => format!("{text}."),
            Some(path) if self.why == WhyLost::SetAside => format!("{text}: {}", path.display()),
            Some(path) => format!("{text}. The journal is kept: {}", path.display()),
        }
    }
}

/// Changes made after the last save, brought back from the journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recovered {
    /// How many.
    pub changes: usize,
    /// When the first was made.
    pub from: DateTime<Utc>,
    /// When the last was made.
    pub to: DateTime<Utc>,
}

impl Report {
    /// Whether there is nothing to tell but of copies of before that lie beside the file.
    pub fn is_quiet(&self) -> bool {
        let copies = usize::from(!self.copies.is_empty());
        self.sentences().len() == copies
    }

    /// Whether something that was once recorded isn't in the project: what is worked out from it may be wrong.
    pub fn is_damaged(&self) -> bool {
        self.damage.is_some()
            || self.is_hurt
            || !(self.losses.is_empty()
                && self.lost_changes.is_empty()
                && self.quarantined.is_empty())
            || matches!(self.read_only, Some(ReadOnly::NewerChanges(_)))
    }

    /// One sentence a record that is set aside; of many, one that sums them up.
    fn quarantined_words(&self) -> Vec<String> {
        if self.quarantined.len() <= MOST_NAMED {
            return self.quarantined.iter().map(ToString::to_string).collect();
        }
        let mut counts: BTreeMap<RecordKind, usize> = BTreeMap::new();
        for kind in self.quarantined.iter().filter_map(QuarantinedRecord::kind) {
            *counts.entry(kind).or_default() += 1;
        }
        let counts: Vec<_> = counts.into_iter().collect();
        let records = crate::damage::in_words(&counts)
            .unwrap_or_else(|| counted(self.quarantined.len(), "record", "records"));
        let first = self.quarantined.first().map(ToString::to_string);
        vec![format!(
            "{records} can't be in the project, and are kept in the file. The first: {}",
            first.unwrap_or_default()
        )]
    }

    /// Whether a file that is kept is named with the changes it has.
    fn is_told_of(&self, kept: &PathBuf) -> bool {
        self.lost_changes
            .iter()
            .any(|lost| lost.kept.as_ref() == Some(kept))
    }

    /// What lies beside the project since it was saved over, and the way back to it.
    pub fn copies_words(&self) -> Option<String> {
        let names = self.copies.iter().filter_map(|path| path.file_name());
        let names: Vec<_> = names.map(|name| name.to_string_lossy()).collect();
        let (first, rest) = names.split_first()?;
        let which = match rest.len() {
            0 => format!(
                "A copy of the project file as it was before it was saved over lies beside it: {first}. Bring it in under Findings if something in it is wanted, or delete it"
            ),
            more => format!(
                "{} copies of the project file as it was before it was saved over lie beside it: {first} and {more} more. Bring them in under Findings if something in them is wanted, or delete them",
                names.len()
            ),
        };
        Some(format!("{which}."))
    }

    /// Everything, one sentence or two each, the weightiest first.
    pub fn sentences(&self) -> Vec<String> {
        self.sentences_by(|at| at.format("%Y-%m-%d %H:%M UTC").to_string())
    }

    /// The same, with moments as a clock shows them.
    pub fn sentences_by(&self, clock: impl Fn(DateTime<Utc>) -> String) -> Vec<String> {
        let mut sentences = Vec::new();
        sentences.extend(self.damage.as_ref().map(|damage| damage.words(&clock)));
        sentences.extend(self.read_only.as_ref().map(ToString::to_string));
        let outside = self.changed_outside.as_ref();
        sentences.extend(outside.map(|outside| outside.words(&clock)));
        sentences.extend(self.losses.iter().map(|loss| loss.words(&clock)));
        sentences.extend(self.lost_changes.iter().map(LostChanges::words));
        sentences.extend(self.recovered.map(|recovered| {
            let changes = counted(recovered.changes, "change", "changes");
            format!(
                "Brought back {changes} made after the last save, up to {}.",
                clock(recovered.to)
            )
        }));
        sentences.extend(self.notes.iter().cloned());
        sentences.extend(self.quarantined_words());
        sentences.extend(
            self.kept
                .iter()
                .filter(|path| !self.is_told_of(path))
                .map(|path| format!("What could not be used is kept: {}", path.display())),
        );
        sentences.extend(self.copies_words());
        sentences
    }
}
