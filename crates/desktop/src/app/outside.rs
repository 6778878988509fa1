//! What another window or program has to do with the open file, with the button that settles it: over the screens what
//! stands from the opening on, in the strip at the foot what comes by itself.

use super::banner::banner;
use super::overlays::Overlay;
use super::{App, Notice};
use crate::file_watcher::Outside;
use crate::open_project::OpenProject;
use crate::screens::Screens;
use crate::view::Screen;
use egui::{Context, Label, ScrollArea, Ui};
use kit::theme::Meaning;
use kit::widgets::heading;
use std::path::{Path, PathBuf};
use store::{ReadOnly, StoreError};

/// Something that others did to the file, told in the strip at the foot: it comes and goes by itself, and the strip is
/// room that is always kept, so that nothing moves under a finger.
pub(super) struct OutsideChange {
    /// As much as the strip has room for.
    pub(super) words: &'static str,
    /// All of it.
    pub(super) whole: String,
    /// The words of the button that settles it.
    pub(super) button: &'static str,
    /// Whether it comes before all else the strip says: what is done here may be lost to it.
    pub(super) is_pressing: bool,
    settles: Settles,
}

/// What the button does.
#[derive(Clone, Copy)]
enum Settles {
    TakeOver,
    ReadAgain,
    MergeWithFile,
    ShowDifference,
    LookAtPutAside,
}

impl App {
    /// A window that only reads says so over the screens from its opening on.
    pub(super) fn elsewhere_ui(&mut self, ui: &mut Ui) {
        let Some(open) = &self.open else { return };
        let Some(ReadOnly::Elsewhere(_)) = open.file().read_only() else {
            return;
        };
        let words = open.read_only().unwrap_or_default().to_owned();
        if banner(ui, "elsewhere", Meaning::Soon, &words, "Take over") {
            self.open_again(OpenProject::take_over);
            ui.ctx().request_repaint();
        }
    }

    /// What others did to the file: the most pressing of it first.
    pub(super) fn told_outside(&mut self, ctx: &Context) -> Option<OutsideChange> {
        let open = self.open.as_mut()?;
        if let Some(ReadOnly::Elsewhere(_)) = open.file().read_only() {
            return None;
        }
        let reading = open.file().read_only().is_some();
        let told = |words, whole: &str, button, settles| {
            Some(OutsideChange {
                words,
                whole: whole.to_owned(),
                button,
                is_pressing: matches!(settles, Settles::ReadAgain | Settles::MergeWithFile),
                settles,
            })
        };
        match (open.outside(ctx), reading) {
            (Outside::Quiet, _) => {}
            (Outside::LetGo, _) => {
                return told(
                    "The other window is closed: you can go on here.",
                    "The window that had the project open is closed. You can go on here.",
                    "Take over",
                    Settles::TakeOver,
                );
            }
            (Outside::Changed, true) => {
                return told(
                    "Changed in the other window since it was read.",
                    "The project was changed in the other window since it was read here.",
                    "Read it again",
                    Settles::ReadAgain,
                );
            }
            (Outside::Changed, false) => {
                return told(
                    "Another program changed the file: merge, then save.",
                    "Another program changed the file. Nothing is overwritten: bring the two together, then save.",
                    "Merge…",
                    Settles::MergeWithFile,
                );
            }
        }
        if let Some(outside) = open.changed_outside() {
            return told(
                "Another program changed the file before it was opened.",
                &outside.words(crate::record_history::time),
                "Look at the difference…",
                Settles::ShowDifference,
            );
        }
        let path = open.put_aside()?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let whole = format!(
            "What lay here and doesn't lead to this file was put aside, whole: {name}. It can be brought in."
        );
        told(
            "A file that lay here was put aside, whole.",
            &whole,
            "Look at it…",
            Settles::LookAtPutAside,
        )
    }

    /// The button of what is told was pressed.
    pub(super) fn settle_outside(&mut self, told: &OutsideChange, ctx: &Context) {
        match told.settles {
            Settles::TakeOver => self.open_again(OpenProject::take_over),
            Settles::ReadAgain => self.open_again(OpenProject::open),
            Settles::MergeWithFile => {
                let path = self.open.as_ref().map(|open| open.path().to_owned());
                if let Some(path) = path {
                    self.merge_with(path);
                }
            }
            Settles::ShowDifference => self.overlay = Some(Overlay::Difference),
            Settles::LookAtPutAside => {
                let path = self.open.as_ref().and_then(OpenProject::put_aside);
                if let Some(path) = path.map(Path::to_owned) {
                    self.merge_with(path);
                }
            }
        }
        ctx.request_repaint();
    }

    /// Shows this file beside the project, or what another program made of the project itself, held against what is here.
    pub(super) fn merge_with(&mut self, path: PathBuf) {
        self.return_to_now();
        crate::screens::history::meet(&mut self.screens.history, path);
        self.go(Screen::History);
    }

    /// What another program changed in the file before it was opened here. True when it is done with.
    pub(super) fn difference_ui(&self, ui: &mut Ui) -> bool {
        heading(ui, "What another program changed");
        let outside = self
            .open
            .as_ref()
            .and_then(|open| open.report().changed_outside.as_ref());
        let Some(outside) = outside else { return true };
        ui.add(Label::new(outside.words(crate::record_history::time)).wrap());
        ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
            for line in &outside.told {
                ui.add(Label::new(line).wrap());
            }
            if outside.more > 0 {
                ui.label(format!("and {} more", outside.more));
            }
        });
        ui.button("Close").clicked()
    }

    /// Opens the same file once more, for writing if it may be written now.
    fn open_again(&mut self, way: fn(&Path, &str) -> Result<OpenProject, StoreError>) {
        let Some(path) = self.open.as_ref().map(|open| open.path().to_owned()) else {
            return;
        };
        let current = self.screens.current;
        match way(&path, &self.preferences.who) {
            Ok(open) => {
                self.open_project(open);
                self.screens = Screens {
                    current,
                    ..Screens::default()
                };
            }
            Err(error) => self.notice = Some(Notice::failed(error.to_string())),
        }
    }
}
