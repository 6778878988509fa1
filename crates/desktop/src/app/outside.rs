//! A line over the screens while another window or program has to do with the open file, with the button that settles it.

use super::{App, Notice};
use crate::screens::Screens;
use crate::theme::{Meaning, space, strong, tokens};
use crate::view::Screen;
use crate::watch::Outside;
use egui::{Frame, Margin, Panel, Ui};

impl App {
    pub(super) fn outside_ui(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        let Some(open) = &mut self.open else { return };
        let reading = open.read_only().is_some();
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
                "Bring together…",
            ),
        };
        let pair = tokens(ui).meaning(Meaning::Soon);
        let frame = Frame::new()
            .fill(pair.fill)
            .inner_margin(Margin::symmetric(space::L as i8, space::XS as i8));
        let clicked = Panel::top("outside")
            .frame(frame)
            .show(ui, |ui| {
                ui.horizontal(|ui| {
                    ui.label(strong(format!("{} {words}", Meaning::Soon.mark())).color(pair.text));
                    ui.button(button).clicked()
                })
                .inner
            })
            .inner;
        if !clicked {
            return;
        }
        if reading {
            self.read_again();
        } else {
            let path = self.open.as_ref().map(|open| open.path().to_owned());
            if let Some(path) = path {
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
