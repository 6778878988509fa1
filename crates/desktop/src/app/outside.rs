//! A line over the screens while another window or program has to do with the open file, with the button that settles it.

use super::banner::banner;
use super::{App, Notice};
use crate::file_watcher::Outside;
use crate::screens::Screens;
use crate::view::Screen;
use egui::Ui;
use kit::theme::Meaning;

impl App {
    pub(super) fn outside_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        let Some(open) = &mut self.open else { return };
        let reading = open.file().read_only().is_some();
        let (words, button) = match (open.outside(&ctx), reading) {
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
            self.read_again();
        } else {
            let path = self.open.as_ref().map(|open| open.path().to_owned());
            if let Some(path) = path {
                self.return_to_now();
                crate::screens::history::meet(&mut self.screens.history, path);
                self.go(Screen::History);
            }
        }
        ctx.request_repaint();
    }

    /// Opens the same file once more, for writing if it may be written now.
    fn read_again(&mut self) {
        let Some(path) = self.open.as_ref().map(|open| open.path().to_owned()) else {
            return;
        };
        let current = self.screens.current;
        match crate::open_project::OpenProject::open(&path, &self.preferences.who) {
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
