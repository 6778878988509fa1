//! A line over the screens while records are missing from a damaged file, with the buttons that settle it.

use super::banner::brief_banner;
use super::{App, Notice};
use crate::open_project::OpenProject;
use egui::Ui;
use kit::theme::Meaning;
use std::path::Path;
use store::StoreError;

/// A way to open a damaged file for writing.
type Way = fn(&Path, &str) -> Result<OpenProject, StoreError>;

impl App {
    pub(super) fn damage_ui(&mut self, ui: &mut Ui) {
        let damage = self
            .open
            .as_ref()
            .and_then(|open| open.report().damage.as_ref());
        let Some(damage) = damage else { return };
        let words = damage.words(crate::record_history::time);
        let brief = damage.brief(crate::record_history::time);
        let mut way: Option<Way> = None;
        let rest = "Going on without it, what is missing stays listed under Findings.";
        let mut rest = (rest, rest);
        if damage.source.is_some() {
            let back = "Bring back what is missing";
            if brief_banner(ui, "damage", Meaning::Danger, (&brief, &words), back) {
                way = Some(OpenProject::bring_back);
            }
        } else {
            rest = (&brief, &words);
        }
        if brief_banner(ui, "loss", Meaning::Late, rest, "Go on without it") {
            way = Some(OpenProject::go_on_without);
        }
        if let Some(way) = way {
            self.settle_damage(way);
            ui.ctx().request_repaint();
        }
    }

    fn settle_damage(&mut self, way: Way) {
        let Some(path) = self.open.as_ref().map(|open| open.path().to_owned()) else {
            return;
        };
        match way(&path, &self.preferences.who) {
            Ok(open) => self.open_project(open),
            Err(error) => self.notice = Some(Notice::failed(error.to_string())),
        }
    }
}
