//! Beginning, opening, saving and closing a project.

use super::welcome::NewProject;
use super::{App, Notice};
use crate::dialogs::Question;
use crate::open_project::OpenProject;
use domain::{Project, actions};
use egui::Context;
use kit::drafts::Ticket;
use std::path::{Path, PathBuf};
use std::time::Duration;
use store::{Earlier, Store, StoreError};

impl App {
    pub(super) fn begin_new(&mut self) {
        self.close_project();
        if self.open.is_some() {
            return;
        }
        let mut drafts = self.own.drafts();
        drafts.open(&NewProject::key(), "New project", NewProject::empty());
    }

    /// Makes the project that the form describes.
    pub(super) fn begin_project(&mut self, form: &NewProject, ticket: Ticket) {
        let mut ids = crate::open_project::new_ids();
        let mut project = Project::default();
        let begun = project.apply(actions::begin_project(
            form.name.trim(),
            form.hemisphere,
            &mut ids,
        ));
        let made = begun.map_err(|refusal| refusal.to_string()).and_then(|_| {
            OpenProject::create(Path::new(form.path.trim()), project, &self.preferences.who)
                .map_err(|error| error.to_string())
        });
        match made {
            Ok(open) => {
                ticket.made();
                self.open_project(open);
            }
            Err(problem) => ticket.refused(&problem),
        }
    }

    pub(super) fn ask_open(&mut self) {
        if let Some(path) = (self.dialogs)(&Question::OpenProject) {
            self.open_path(&path);
        }
    }

    /// Opens the project in a file.
    pub fn open_path(&mut self, path: &Path) {
        self.close_project();
        if self.open.is_some() {
            return;
        }
        match OpenProject::open(path, &self.preferences.who) {
            Ok(open) => self.open_project(open),
            Err(error) => self.notice = Some(trouble(&error)),
        }
    }

    /// Opens a fresh copy of the sample season, dated for today.
    pub fn open_sample(&mut self) {
        self.close_project();
        if self.open.is_some() {
            return;
        }
        match OpenProject::sample(&self.places.samples, (self.today)(), &self.preferences.who) {
            Ok(open) => self.open_project(open),
            Err(sentence) => self.notice = Some(Notice::failed(sentence)),
        }
    }

    /// Shows a project that was opened or made.
    pub fn open_project(&mut self, open: OpenProject) {
        self.notice = open.opening_words().map(Notice::said);
        self.preferences.remember(open.path());
        self.keep_preferences();
        self.forget_screens();
        self.own.close_untouched(&NewProject::key());
        self.open = Some(open);
        // Since it was written last, days have gone by.
        self.kept_calendar = super::kept_calendar::State::default();
        self.refresh_calendar();
    }

    /// Writes the whole project into its file.
    pub fn save(&mut self, ctx: &Context) {
        if let Some(open) = &mut self.open {
            open.save(ctx);
        }
    }

    /// Says how a save ended, once it has; looks again soon while something is on its way to the disk.
    pub(super) fn follow_saving(&mut self, ctx: &Context) {
        let Some(open) = &mut self.open else { return };
        for copied in open.photos_copied() {
            self.notice = Some(copied.map_or_else(Notice::failed, |label| Notice::made(&label)));
        }
        let ended = open.save_ended(ctx);
        if open.save_state().passing {
            ctx.request_repaint_after(Duration::from_millis(120));
        }
        let path = open.path().to_owned();
        match ended {
            None => {}
            Some(Err(error)) => self.notice = Some(trouble(&error)),
            Some(Ok(())) => {
                self.notice = Some(match open.no_backup() {
                    None => Notice::said(format!("Saved in {}.", path.display())),
                    Some(sentence) => Notice::failed(sentence.to_owned()),
                });
                self.refresh_calendar();
                if self.preferences.recent.first() != Some(&path) {
                    if let Some(before) = self.preferences.recent.first().cloned() {
                        self.preferences.take_calendar_along(&before, &path);
                    }
                    self.preferences.remember(&path);
                    self.keep_preferences();
                }
            }
        }
    }

    /// Saves over a file that another program changed, as the person decided.
    pub(super) fn overwrite(&mut self, ctx: &Context) {
        if let Some(open) = &mut self.open {
            open.overwrite(ctx);
        }
    }

    pub(super) fn save_as(&mut self, ctx: &Context) {
        let Some(open) = &mut self.open else { return };
        if open.moment().is_some() {
            self.notice = Some(Notice::refused(
                "A moment of the past is shown. Go back to now to save the project under another name.".into(),
            ));
            return;
        }
        let Some(path) = (self.dialogs)(&Question::SaveProject(file_name(
            &open.project().settings().name,
        ))) else {
            return;
        };
        if let Err(sentence) = open.save_as(ctx, &path) {
            self.notice = Some(Notice::refused(sentence));
        }
    }

    /// Saves and closes. What can't be saved stays open.
    pub fn close_project(&mut self) {
        let Some(open) = &mut self.open else { return };
        match open.finish() {
            Ok(None) => {
                let told = self.last_calendar();
                if let Some(open) = self.open.take() {
                    open.close();
                }
                self.forget_screens();
                self.notice = told;
            }
            Ok(Some(sentence)) => self.notice = Some(Notice::failed(sentence)),
            Err(error) => self.notice = Some(trouble(&error)),
        }
    }

    /// Writes bytes where the person said. What stood there stays beside it.
    pub(super) fn export(&mut self, path: &Path, bytes: &[u8]) {
        let own = self.open.as_ref().map(OpenProject::path);
        let inputs: Vec<&Path> = own.into_iter().collect();
        let written = Store::new("").write_file(path, bytes, &inputs, Earlier::Keep);
        self.notice = Some(match written {
            Ok(()) => Notice::said(format!("Written: {}.", path.display())),
            Err(error) => Notice::failed(error.to_string()),
        });
    }
}

fn trouble(error: &StoreError) -> Notice {
    match error {
        StoreError::ChangedElsewhere(_) => Notice::changed_elsewhere(error.to_string()),
        _ => Notice::failed(error.to_string()),
    }
}

/// A file name for a project of this name.
pub(super) fn file_name(name: &str) -> String {
    let safe: String = name
        .trim()
        .chars()
        .map(|sign| if sign.is_alphanumeric() { sign } else { '-' })
        .collect();
    let stem = if safe.is_empty() { "hops" } else { &safe };
    format!("{stem}.{}", store::EXTENSION)
}

/// Where a project of this name is offered to be kept: among the person's documents.
pub(super) fn offered_path(name: &str) -> PathBuf {
    let user = directories::UserDirs::new();
    let folder = user.as_ref().map_or_else(
        || Path::new("."),
        |user| user.document_dir().unwrap_or_else(|| user.home_dir()),
    );
    folder.join(file_name(name))
}
