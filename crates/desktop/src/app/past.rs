//! Looking at a moment of the past: what stands over the screens, and the way there and back.
//!
//! Screens keep what they made for a revision of a project, and revisions of a moment say nothing of those of the
//! present. So a moment gets screens of its own; those of the present wait, and come back as they were left.

use super::App;
use super::banner::banner;
use crate::past_state::PastState;
use crate::screens::Screens;
use egui::Ui;
use kit::theme::Meaning;

impl App {
    pub(super) fn past_ui(&mut self, ui: &mut Ui) {
        let Some(open) = self.open.as_ref().filter(|open| open.moment().is_some()) else {
            return;
        };
        let words = open.read_only().unwrap_or_default();
        if banner(ui, "moment", Meaning::Late, words, "Back to now") {
            self.return_to_now();
            ui.request_repaint();
        }
    }

    /// Shows the whole project as it stood at this moment, from the first screen.
    pub(super) fn look_back(&mut self, moment: PastState) {
        let Some(open) = &mut self.open else { return };
        open.look_back(moment);
        let left = std::mem::take(&mut self.screens);
        self.screens_of_now.get_or_insert(left);
        self.find.clear();
        self.notice = None;
    }

    /// Shows the project as it stands, on the screens as they were left.
    pub(super) fn return_to_now(&mut self) {
        let Some(open) = &mut self.open else { return };
        open.return_to_now();
        if let Some(screens) = self.screens_of_now.take() {
            self.screens = screens;
        }
        self.find.clear();
        self.notice = None;
    }

    /// Begins with fresh screens: another project is open, or none.
    pub(super) fn forget_screens(&mut self) {
        // Of the project that was open; its fields keep it as drafts.
        self.held.clear();
        self.screens = Screens::default();
        self.screens_of_now = None;
    }
}
