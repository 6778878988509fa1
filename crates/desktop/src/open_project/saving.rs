//! What brings an open project onto the disk: saves on a worker, photos beside it, and letting go of it.

use super::OpenProject;
use crate::record_history::{RecordHistory, time};
use chrono::NaiveDate;
use domain::{AnyId, Edit, Photo};
use kit::theme::Meaning;
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::Duration;
use store::photos::Copied;
use store::{Existing, Loss, LostChanges, ProjectFile, Report, Snapshot, Store, StoreError};

/// A save under way.
pub(super) struct Saving {
    /// The file to go on with, where it isn't the same.
    written: Receiver<Result<Option<ProjectFile>, StoreError>>,
    /// Into another file than the one that is open.
    elsewhere: bool,
    /// What was changed since it began, to be handed to the other file too.
    pub(super) since: Vec<Edit>,
}

/// What came of copying photos.
pub enum PhotosCopied {
    /// One was to be hung on a record; its path, with the day.
    Kept(AnyId, NaiveDate, Result<String, StoreError>),
    /// All were to go along to another file.
    Along(Copied),
}

/// Whether what is on screen is on disk.
pub struct SaveState {
    /// How it stands.
    pub meaning: Meaning,
    /// In a word or two.
    pub word: String,
    /// At more length.
    pub detail: String,
    /// It will be otherwise in a moment: look again.
    pub passing: bool,
}

impl OpenProject {
    /// Begins writing the whole project into its file, on a worker that asks for a frame when it is done.
    pub fn save(&mut self, ctx: &egui::Context) {
        self.write(ctx, false, |file, snapshot| {
            file.save_snapshot(snapshot).map(|()| None)
        });
    }

    /// The same over a file that another program changed.
    pub fn overwrite(&mut self, ctx: &egui::Context) {
        self.write(ctx, false, |file, snapshot| {
            file.overwrite_snapshot(snapshot).map(|()| None)
        });
    }

    /// Begins writing the whole project into another file, to go on with that, its history and its photos with it.
    /// What is changed meanwhile goes into both. An error says why it can't begin.
    pub fn save_as(&mut self, ctx: &egui::Context, path: &Path) -> Result<(), String> {
        if self.saving.is_some() || !self.copying.is_empty() {
            return Err(
                "The project or a photo is just being written. Try again in a moment.".into(),
            );
        }
        let path = path.to_owned();
        self.write(ctx, true, move |file, snapshot| {
            // The system's dialog has asked already whether a file that is there may be written over.
            file.save_snapshot_as(&path, snapshot, Existing::Replace)
                .map(Some)
        });
        Ok(())
    }

    fn write(
        &mut self,
        ctx: &egui::Context,
        elsewhere: bool,
        work: impl FnOnce(&ProjectFile, &Snapshot) -> Result<Option<ProjectFile>, StoreError>
        + Send
        + 'static,
    ) {
        if self.saving.is_some() {
            return;
        }
        let (sender, written) = channel();
        let (file, snapshot, ctx) = (
            Arc::clone(&self.file),
            self.file.snapshot(self.session.project()),
            ctx.clone(),
        );
        std::thread::spawn(move || {
            let written = work(&file, &snapshot);
            // Whoever hears of it may close the file at once.
            drop(file);
            if sender.send(written).is_ok() {
                ctx.request_repaint();
            }
        });
        self.saving = Some(Saving {
            written,
            elsewhere,
            since: Vec::new(),
        });
    }

    /// How a save that was under way ended, once it has.
    pub fn save_ended(&mut self, ctx: &egui::Context) -> Option<Result<(), StoreError>> {
        let saving = self.saving.take()?;
        match saving.written.try_recv() {
            Ok(written) => {
                let ended = self.go_on(ctx, written, &saving.since);
                if ended.is_ok() {
                    self.look_at_backup();
                }
                Some(ended)
            }
            Err(TryRecvError::Empty) => {
                self.saving = Some(saving);
                None
            }
            Err(TryRecvError::Disconnected) => Some(Err(self.broke_off("saving the project"))),
        }
    }

    /// Work that ended without a word of how.
    fn broke_off(&self, doing: &'static str) -> StoreError {
        StoreError::Disk {
            path: self.path().to_owned(),
            doing,
            why: "the work broke off".into(),
        }
    }

    /// Goes on with what a save left: with another file, if it wrote one.
    fn go_on(
        &mut self,
        ctx: &egui::Context,
        written: Result<Option<ProjectFile>, StoreError>,
        since: &[Edit],
    ) -> Result<(), StoreError> {
        let Some(file) = written? else { return Ok(()) };
        file.sign_as(&self.file.signed());
        for edit in since {
            file.append(edit)?;
        }
        self.read_only = file.read_only().map(ToString::to_string);
        let before = std::mem::replace(&mut self.file, Arc::new(file));
        self.watch = None;
        // What is typed goes along too; the file that is left keeps none of it.
        self.drafts.finish(&self.file)?;
        before.keep_drafts("")?;
        // What is kept in the file went along.
        self.report = Report {
            quarantined: std::mem::take(&mut self.report.quarantined),
            losses: std::mem::take(&mut self.report.losses),
            ..Report::default()
        };
        self.record_history = RecordHistory::default();
        self.derived
            .photos
            .belong_to(self.store.clone(), self.file.path());
        let (project, file) = (self.session.project().clone(), Arc::clone(&self.file));
        let moved = before.path().parent() != file.path().parent();
        if moved && !project.photos().is_empty() {
            self.copy(ctx, move |store| {
                PhotosCopied::Along(store.copy_photos(before.path(), file.path(), &project))
            });
        }
        Ok(())
    }

    /// Copies a photo to beside the project, on a worker that asks for a frame when it is done. The record of it is
    /// made by [`Self::photos_copied`], when no loss of power can take the photo away.
    pub fn keep_photo(
        &mut self,
        ctx: &egui::Context,
        about: AnyId,
        chosen: &Path,
        day: NaiveDate,
    ) -> Result<(), String> {
        self.refuse_if_read_only()?;
        if self.saving.as_ref().is_some_and(|saving| saving.elsewhere) {
            return Err(
                "The project is just moving to another file. Try again in a moment.".into(),
            );
        }
        let (chosen, file) = (chosen.to_path_buf(), Arc::clone(&self.file));
        self.copy(ctx, move |store| {
            PhotosCopied::Kept(about, day, store.keep_photo(file.path(), &chosen))
        });
        Ok(())
    }

    fn copy(
        &mut self,
        ctx: &egui::Context,
        work: impl FnOnce(&Store) -> PhotosCopied + Send + 'static,
    ) {
        let (sender, receiver) = channel();
        let (store, ctx) = (self.store.clone(), ctx.clone());
        std::thread::spawn(move || {
            if sender.send(work(&store)).is_ok() {
                ctx.request_repaint();
            }
        });
        self.copying.push(receiver);
    }

    /// What has come of copying photos since it was asked last, in words; the records of new ones are made.
    pub fn photos_copied(&mut self) -> Vec<Result<String, String>> {
        let mut come = Vec::new();
        self.copying.retain(|receiver| match receiver.try_recv() {
            Ok(copied) => {
                come.push(Some(copied));
                false
            }
            Err(TryRecvError::Empty) => true,
            Err(TryRecvError::Disconnected) => {
                come.push(None);
                false
            }
        });
        come.into_iter()
            .map(|copied| match copied {
                Some(copied) => self.take_in(copied),
                None => Err(self.broke_off("copying a photo").to_string()),
            })
            .collect()
    }

    fn take_in(&mut self, copied: PhotosCopied) -> Result<String, String> {
        match copied {
            PhotosCopied::Kept(about, day, kept) => {
                let photo = Photo {
                    id: self.ids.next(),
                    about,
                    path: kept.map_err(|error| error.to_string())?,
                    date: Some(day),
                    caption: String::new(),
                };
                self.make(&Edit::add(photo))
            }
            PhotosCopied::Along(copied) => match copied.failed.first() {
                None => Ok(match copied.copied {
                    1 => "1 photo was copied along.".into(),
                    many => format!("{many} photos were copied along."),
                }),
                Some((_, error)) => Err(format!(
                    "{} photos could not be copied along. The first: {error}",
                    copied.failed.len()
                )),
            },
        }
    }

    /// Brings everything onto the disk, so that the project can be let go of. Returns what went wrong beside it, in words: told
    /// once, with all else on the disk, so that finishing again lets go of the project.
    pub fn finish(&mut self) -> Result<Option<String>, StoreError> {
        if let Some(saving) = self.saving.take() {
            let written = saving.written.recv();
            let written = written.unwrap_or_else(|_| Err(self.broke_off("saving the project")));
            // It is waited for here: no frame needs to be asked for.
            self.go_on(&egui::Context::default(), written, &saving.since)?;
        }
        let mut lost = None;
        for receiver in std::mem::take(&mut self.copying) {
            let copied = match receiver.recv() {
                Ok(copied) => self.take_in(copied),
                Err(_) => Err(self.broke_off("copying a photo").to_string()),
            };
            lost = copied.err().or(lost);
        }
        if self.read_only.is_none() {
            self.drafts.finish(&self.file)?;
            if self.file.has_unsaved() {
                self.file.save(self.session.project())?;
                self.look_at_backup();
                lost = lost.or_else(|| self.no_backup.clone());
            }
        }
        Ok(lost)
    }

    /// Notes whether the save that just ended left its backup.
    fn look_at_backup(&mut self) {
        let trouble = self.file.backup_trouble();
        self.no_backup =
            trouble.map(|trouble| format!("Saved, but no backup could be left. {trouble}"));
    }

    /// Why the last save left no backup, in words, if one was due.
    pub fn no_backup(&self) -> Option<&str> {
        self.no_backup.as_deref()
    }

    /// Lets go of the file once it is [finished](Self::finish): when this returns, it can be opened by others. Threads
    /// that just look at it are waited for, a tenth of a second at most.
    pub fn close(self) {
        let file = Arc::downgrade(&self.file);
        drop(self);
        for _ in 0..100 {
            if file.strong_count() == 0 {
                return;
            }
            std::thread::sleep(Duration::from_millis(1));
        }
    }

    /// How many things were once recorded and aren't in the project: they stay told until they are there again, or what is put
    /// aside is gone when the project is opened.
    pub fn missing(&self) -> usize {
        self.standing_losses().count()
            + self.report.lost_changes.len()
            + self.report.quarantined.len()
    }

    fn standing_losses(&self) -> impl Iterator<Item = &Loss> {
        let project = self.session.project();
        let losses = self.report.losses.iter();
        losses.filter(move |loss| !loss.is_mended(project))
    }

    /// The first of it, as a sentence.
    fn first_missing(&self) -> Option<String> {
        let loss = self.standing_losses().next().map(|loss| loss.words(time));
        let record = || self.report.quarantined.first().map(ToString::to_string);
        let change = || self.report.lost_changes.first().map(LostChanges::words);
        loss.or_else(record).or_else(change)
    }

    /// Whether what is on screen is on disk, and whether all is there that was ever recorded.
    pub fn save_state(&self) -> SaveState {
        let mut state = self.state_of_file();
        if state.meaning > Meaning::Soon || state.passing {
            return state;
        }
        let is_hurt = self.report.is_hurt && self.file.saved_up_to() == self.saved_then;
        let Some(first) = self.first_missing() else {
            if is_hurt {
                state.detail = "The file was damaged when it was opened, and every piece of it could be read. Save to mend it: the file as it was found is kept.".into();
                (state.word, state.meaning) = ("file damaged".into(), Meaning::Late);
            }
            return state;
        };
        let more = match self.missing() - 1 {
            0 => String::new(),
            more => format!(" And {more} more, under Findings."),
        };
        state.detail = format!("{first}{more} {}", state.detail);
        let only_changes = self.missing() == self.report.lost_changes.len();
        let word = if only_changes {
            "changes missing"
        } else {
            "records missing"
        };
        (state.word, state.meaning) = (word.into(), Meaning::Late);
        state
    }

    /// Whether what is on screen is on disk.
    fn state_of_file(&self) -> SaveState {
        let state = |meaning, word: &str, detail: String, passing| SaveState {
            meaning,
            word: word.into(),
            detail,
            passing,
        };
        if let Some(trouble) = self.file.trouble() {
            return state(
                Meaning::Danger,
                "not written",
                format!("{trouble} It is tried again every second."),
                true,
            );
        }
        if self.is_changed_by_others() {
            return state(
                Meaning::Danger,
                "file changed",
                format!(
                    "Another program changed {}, or put another file in its place. What is on screen is safe in the journal and not in that file: bring the two together, then save.",
                    self.path().display()
                ),
                false,
            );
        }
        if let Some(damage) = &self.report.damage {
            return state(
                Meaning::Danger,
                "records missing",
                damage.words(time),
                false,
            );
        }
        if self.saving.is_some() {
            return state(
                Meaning::Plain,
                "saving",
                "The whole project is being written.".into(),
                true,
            );
        }
        if self.file.acknowledged() < self.file.last() {
            return state(
                Meaning::Plain,
                "keeping",
                "The last change is on its way to the disk.".into(),
                true,
            );
        }
        let where_to = self.path().display();
        match self.file.last() - self.file.saved_up_to() {
            0 if !self.drafts.pending().is_empty() => {
                let drafts = self.drafts.pending();
                let word = match drafts.len() {
                    1 => "1 draft not recorded".to_owned(),
                    many => format!("{many} drafts not recorded"),
                };
                let detail = format!(
                    "Everything recorded is in {where_to}. Typed and not recorded: {}.",
                    super::words_of(&drafts)
                );
                state(Meaning::Soon, &word, detail, false)
            }
            0 if let Some(trouble) = &self.no_backup => {
                let detail = format!("Everything is in {where_to}. {trouble}");
                state(Meaning::Soon, "saved, no backup", detail, false)
            }
            0 => state(
                Meaning::Good,
                "saved",
                format!("Everything is in {where_to}."),
                false,
            ),
            changes => {
                let word = format!("{changes} unsaved (safe in the journal)");
                let detail = format!(
                    "{changes} changes since the last save are safe in the journal beside {where_to}, even if the \
                    power fails."
                );
                state(Meaning::Soon, &word, detail, false)
            }
        }
    }
}
