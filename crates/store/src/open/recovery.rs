//! Bringing back what a file lacks and its journal has, and telling what others did to either.

use crate::backup::Backup;
use crate::document;
use crate::error::{ReadOnly, StoreError};
use crate::files::replace;
use crate::journal::{Begin, Continuation, Cut, Handed, Harmless, Mark, Memory, Scan, Stop};
use crate::journal::{KnownChanges, continuation, newer_major, scan as scan_of};
use crate::open::Store;
use crate::project_file::Saved;
use crate::quarantine::QuarantinedPart;
use crate::report::{ChangedOutside, LostChanges, Recovered, Report, WhyLost};
use domain::compare::Comparison;
use domain::merge::{merge, told};
use domain::{Edit, Project};
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Instant;

/// How many of the things that another program changed are told one by one.
const MOST_TOLD: usize = 200;

/// A project being opened, its journal not yet replayed.
pub(super) struct Opening<'a> {
    pub(super) store: &'a Store,
    pub(super) path: PathBuf,
    pub(super) journal: PathBuf,
    pub(super) project: Project,
    pub(super) mark: Mark,
    pub(super) writing: bool,
    pub(super) report: Report,
    /// The changes that were replayed.
    pub(super) since: VecDeque<Handed>,
    /// The journal up to the file's mark.
    pub(super) history: Option<Arc<Vec<u8>>>,
    /// Whether the journal that lies there isn't this file's.
    pub(super) is_foreign: bool,
}

impl Opening<'_> {
    /// Replays what the journal has beyond the file. Returns how the journal goes on.
    pub(super) fn recover(&mut self) -> Result<Begin, StoreError> {
        // Looked at before it is read: one that another program puts there meanwhile isn't taken for the one that was read.
        let read = self
            .store
            .facts(&self.journal)
            .and_then(|facts| Ok((facts.identity, self.store.read(&self.journal)?)));
        let (identity, bytes) = match read {
            Ok(read) => read,
            Err(StoreError::Missing(_)) => return Ok(Begin::New),
            Err(error) => return Err(error),
        };
        if let Some(major) = newer_major(&bytes) {
            self.report.read_only = Some(ReadOnly::NewerFormat(major));
            return Ok(Begin::New);
        }
        let Some(scan) = scan_of(&bytes) else {
            return self.quarantine_journal("Nothing in it can be read.", &bytes);
        };
        let (lines, end, mut cut, harmless) = match continuation(&scan, self.mark) {
            Continuation::Foreign(why) => return self.quarantine_journal(why, &bytes),
            Continuation::Follows {
                lines,
                end,
                cut,
                harmless,
            } => (lines, end, cut, harmless),
        };
        // Cut off there, nothing would be left that a journal can go on from.
        let stub = |cut: &Cut| scan_of(&bytes[..cut.at]).is_none_or(|left| left.has_nothing());
        if cut.as_ref().is_some_and(stub) {
            return self.quarantine_journal("It is damaged from its beginning on.", &bytes);
        }
        self.tell_of(harmless);
        let before = self.mark.sequence;
        let upto = lines
            .first()
            .map_or_else(|| cut.map_or(bytes.len(), |cut| cut.at), |line| line.start);
        let stopped = self.replay(&scan, &lines);
        debug_assert_eq!(self.since.len() as u64, self.mark.sequence - before);
        if self.writing {
            self.history = Memory::history(&bytes[..upto]);
        }
        if let Some(stopped) = stopped {
            cut = stopped;
        } else {
            self.mark = end;
        }
        if let Some(cut) = cut {
            self.cut_off(&bytes, cut, identity)?;
            return Ok(Begin::after(&bytes[..cut.at], identity));
        }
        Ok(Begin::after(&bytes, identity))
    }

    /// Tells what another program did to the file since it was saved, by the journal. Returns the edit that makes the
    /// journal lead to what is here now, to be written before the next change.
    pub(super) fn look_at_outside(
        &mut self,
        saved: &Saved,
        bytes: &[u8],
    ) -> Result<Option<Edit>, StoreError> {
        let journal = self.store.journal_bytes(self.path())?;
        let scan = scan_of(&journal);
        let mut outside = ChangedOutside::default();
        let mut change = None;
        if let Some(scan) = &scan
            && scan.marks().contains(&saved.mark)
        {
            outside.since = scan.time_of(saved.mark.sequence);
            let then = scan.project_at(saved.mark.sequence);
            let now = scan.project_at(self.mark.sequence);
            if let (Some(then), Some(mut now)) = (then, now) {
                outside.is_known = true;
                let differs = Comparison::between(&then, &saved.project);
                outside.more = differs.edits.len().saturating_sub(MOST_TOLD);
                outside.told = differs
                    .edits
                    .iter()
                    .take(MOST_TOLD)
                    .map(|edit| {
                        let gone = edit.about().is_some_and(|id| !saved.project.contains(id));
                        told(edit, if gone { &then } else { &saved.project })
                    })
                    .collect();
                outside.differs = differs.words();
                outside.clashes = merge(Some(&then), &now, &saved.project).conflicts.len();
                let edit = Comparison::between(&now, &self.project)
                    .into_edit("change the file outside the program");
                let whole = now.apply(edit.clone()).is_ok() && now == self.project;
                change = whole.then_some(edit).filter(|_| outside.differs.is_some());
            }
        }
        if outside.clashes > 0 && self.writing {
            let kept = QuarantinedPart::Outside.path(self.path(), bytes);
            replace(&*self.store.files, &kept, bytes, Some(self.path()))
                .map_err(|error| StoreError::from_io(&error, "keeping the file", &kept))?;
            self.report.kept.push(kept);
        }
        self.report.changed_outside = Some(outside);
        Ok(change)
    }

    fn path(&self) -> &Path {
        &self.path
    }

    /// Applies the lines in order. If one can't be, returns where to cut the journal, if it is to be cut.
    #[expect(
        clippy::option_option,
        reason = "whether it stopped, and whether to cut there"
    )]
    fn replay(&mut self, scan: &Scan<'_>, lines: &[std::ops::Range<usize>]) -> Option<Option<Cut>> {
        for line in lines {
            let sequence = self.mark.sequence.saturating_add(1);
            let Ok(entry) = scan.whole_entry(line) else {
                // Sound, but not understood. It stays for the program that wrote it.
                self.report.read_only = Some(ReadOnly::NewerChanges(sequence));
                return Some(None);
            };
            let touches = entry.edit.touches();
            if let Err(refusal) = self.project.apply(entry.edit) {
                self.report.notes.push(format!(
                    "Change {sequence} in the journal and those after it don't fit the project. {refusal}"
                ));
                return Some(Some(Cut {
                    at: line.start,
                    stop: Stop::Damaged,
                    before: false,
                }));
            }
            self.mark = scan.mark_after(line, self.mark);
            self.since.push_back(Handed {
                text: scan.text(line),
                touches,
                at: Instant::now(),
            });
            let recovered = self.report.recovered.get_or_insert(Recovered {
                changes: 0,
                from: entry.at,
                to: entry.at,
            });
            recovered.changes += 1;
            recovered.to = entry.at;
        }
        None
    }

    /// Tells what is damaged in the journal though no change is missing.
    fn tell_of(&mut self, harmless: Harmless) {
        let notes = &mut self.report.notes;
        if harmless.first {
            notes.push("The first line of the journal is damaged: what the project was before the changes in it can't be had from there.".into());
        }
        match harmless.history {
            0 => {}
            1 => notes.push("1 line of the journal is damaged. Its change is in the project; the history has a gap.".into()),
            many => notes.push(format!("{many} lines of the journal are damaged. Their changes are in the project; the history has gaps.")),
        }
        if harmless.between {
            notes.push(
                "Something that is no change stands in the journal. No change is missing.".into(),
            );
        }
    }

    /// Keeps the end of the journal that can't be used under another name, and cuts it off.
    fn cut_off(
        &mut self,
        bytes: &[u8],
        cut: Cut,
        identity: Option<(u64, u64)>,
    ) -> Result<(), StoreError> {
        let (what, rest) = if cut.before {
            (QuarantinedPart::Other, bytes)
        } else {
            (QuarantinedPart::Cut, &bytes[cut.at..])
        };
        let count = KnownChanges::of(&bytes[..cut.at], self.mark, self.saved_before())
            .beside(rest, what == QuarantinedPart::Cut);
        let mut kept_as = None;
        if self.writing {
            let files = &*self.store.files;
            let tell = |error| StoreError::from_io(&error, "repairing the journal", &self.journal);
            let kept = what.path(&self.journal, rest);
            replace(files, &kept, rest, Some(&self.journal)).map_err(tell)?;
            files
                .continue_at(&self.journal, cut.at as u64, identity)
                .and_then(|mut file| file.sync())
                .map_err(tell)?;
            self.report.kept.push(kept.clone());
            kept_as = Some(kept);
        }
        match (count, cut.stop) {
            (Some(0), Stop::Torn) => self.report.notes.push(
                "The last line of the journal was cut off while it was being written. A change that was on its way to the disk just then isn't in the project; it was never said to be kept."
                    .into(),
            ),
            (Some(0), Stop::Damaged) => self.report.notes.push(
                "The end of the journal is damaged. No change is missing.".into(),
            ),
            (count, _) => self.report.lost_changes.push(LostChanges {
                count,
                why: WhyLost::Damaged,
                kept: kept_as,
            }),
        }
        Ok(())
    }

    /// Puts a journal aside that isn't this file's, or can't be read, and tells what is in it.
    fn quarantine_journal(&mut self, why: &'static str, bytes: &[u8]) -> Result<Begin, StoreError> {
        self.is_foreign = true;
        let kept = if self.writing {
            self.store.set_journal_aside(&self.journal)?
        } else {
            None
        };
        self.report.kept.extend(kept.clone());
        let count = KnownChanges::of(&[], self.mark, self.saved_before()).beside(bytes, false);
        if count == Some(0) {
            self.report.notes.push(format!(
                "The journal beside the project was not used. {why}"
            ));
        } else {
            self.report.lost_changes.push(LostChanges {
                count,
                why: WhyLost::NotUsed(why),
                kept,
            });
        }
        Ok(Begin::New)
    }

    /// The states of the project that its backups have.
    fn saved_before(&self) -> Vec<Mark> {
        // A folder that can't be listed tells of itself where something is saved.
        let backups = self.store.backups(&self.path).unwrap_or_default();
        let read = |backup: &Backup| self.store.read(&backup.path).ok();
        let marks = backups.iter().filter_map(read);
        marks
            .filter_map(|bytes| document::mark_of(&bytes))
            .collect()
    }

    /// Tells of changes in journals that were set aside and still lie beside the project.
    pub(super) fn look_aside(&mut self) -> Result<(), StoreError> {
        let aside = self.store.quarantined(&self.path)?;
        let (mut aside, copies): (Vec<_>, Vec<_>) = aside
            .into_iter()
            .partition(|file| matches!(file.what, QuarantinedPart::Cut | QuarantinedPart::Other));
        let copies = copies.into_iter().map(|file| file.path);
        let kept = &self.report.kept;
        self.report.copies = copies.filter(|path| !kept.contains(path)).collect();
        if aside.is_empty() {
            return Ok(());
        }
        let own = if self.is_foreign {
            Vec::new()
        } else {
            self.store.journal_bytes(&self.path)?
        };
        let told: Vec<_> = (self.report.lost_changes.iter())
            .filter_map(|lost| lost.kept.clone())
            .collect();
        // What was told of already comes first, so that a change is counted once.
        aside.sort_by_key(|file| !told.contains(&file.path));
        let mut known = KnownChanges::of(&own, self.mark, self.saved_before());
        if self.is_foreign && !self.writing {
            known.beside(&self.store.journal_bytes(&self.path)?, false);
        }
        for file in aside {
            let bytes = self.store.read(&file.path)?;
            let count = known.beside(&bytes, file.what == QuarantinedPart::Cut);
            if count != Some(0) && !told.contains(&file.path) {
                self.report.lost_changes.push(LostChanges {
                    count,
                    why: WhyLost::SetAside,
                    kept: Some(file.path),
                });
            }
        }
        Ok(())
    }
}
