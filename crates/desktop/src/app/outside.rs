//! A line over the screens while another window or program has to do with the open file, with the button that settles it.

use super::banner::banner;
use super::{App, Notice};
use crate::file_watcher::Outside;
use crate::open_project::OpenProject;
use crate::screens::Screens;
use crate::view::Screen;
use egui::{Label, Panel, ScrollArea, Ui};
use kit::theme::Meaning;
use std::path::{Path, PathBuf};
use store::{ReadOnly, StoreError};

impl App {
    pub(super) fn outside_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        self.changed_outside_ui(ui);
        self.put_aside_ui(ui);
        let Some(open) = &mut self.open else { return };
        if let Some(ReadOnly::Elsewhere(_)) = open.file().read_only() {
            let words = open.read_only().unwrap_or_default().to_owned();
            if banner(ui, "elsewhere", Meaning::Soon, &words, "Take over") {
                self.open_again(OpenProject::take_over);
                ctx.request_repaint();
            }
            return;
        }
        let reading = open.file().read_only().is_some();
        // Under a finger it neither comes nor goes: what is beneath would slide away.
        let shown = egui::Id::unique("what is outside, as shown");
        let held = ctx.input(|input| input.pointer.any_down());
        let stood = ctx.data(|data| data.get_temp(shown)).filter(|_| held);
        let outside = stood.unwrap_or_else(|| open.outside(&ctx));
        ctx.data_mut(|data| data.insert_temp(shown, outside));
        let (words, button) = match (outside, reading) {
            (Outside::Quiet, _) => return,
            (Outside::LetGo, _) => (
                "The window that had the project open is closed. You can go on here.",
                "Take over",
            ),
            (Outside::Changed, true) => (
                "The project was changed in the other window since it was read here.",
                "Read it again",
            ),
            (Outside::Changed, false) => (
                "Another program changed the file. Nothing is overwritten: bring the two together, then save.",
                "Merge…",
            ),
        };
        if !banner(ui, "outside", Meaning::Soon, words, button) {
            return;
        }
        if reading {
            self.open_again(OpenProject::open);
        } else {
            let path = self.open.as_ref().map(|open| open.path().to_owned());
            if let Some(path) = path {
                self.merge_with(path);
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

    /// What another program changed in the file before it was opened here, to be looked at until the next save.
    fn changed_outside_ui(&self, ui: &mut Ui) {
        let Some(open) = &self.open else { return };
        let Some(outside) = open.changed_outside() else {
            return;
        };
        let place = egui::Id::unique("the difference made outside");
        let shown = ui.data(|data| data.get_temp(place) == Some(true));
        let button = if shown {
            "Hide the difference"
        } else {
            "Look at the difference"
        };
        let words = outside.words(crate::record_history::time);
        if banner(ui, "changed outside", Meaning::Soon, &words, button) {
            ui.data_mut(|data| data.insert_temp(place, !shown));
        }
        if shown {
            Panel::top("difference").show(ui, |ui| {
                ScrollArea::vertical().max_height(160.0).show(ui, |ui| {
                    for line in &outside.told {
                        ui.add(Label::new(line).wrap());
                    }
                    if outside.more > 0 {
                        ui.label(format!("and {} more", outside.more));
                    }
                });
            });
        }
    }

    /// A journal, or the file as another program left it, that lay here at opening and was put aside: it can be brought in.
    fn put_aside_ui(&mut self, ui: &mut Ui) {
        let Some(open) = &self.open else { return };
        let Some(path) = open.put_aside().map(Path::to_owned) else {
            return;
        };
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let words = format!(
            "What lay here and doesn't lead to this file was put aside, whole: {name}. It can be brought in."
        );
        if banner(ui, "put aside", Meaning::Soon, &words, "Look at it…") {
            self.merge_with(path);
        }
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
