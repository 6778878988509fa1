//! The line that says what just happened.

use super::App;
use crate::command::Command;
use egui::{Frame, Margin, Panel, Ui};
use kit::theme::{Meaning, space, tokens};
use kit::widgets::{NoticeAnswer, capital, notice};

/// What just happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// The sentence.
    pub text: String,
    meaning: Meaning,
    /// What its button does, if it has one.
    action: Option<Action>,
}

/// What the button of a notice does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Action {
    /// Take back what was just done.
    Undo,
    /// Save over a file that another program changed.
    Overwrite,
}

impl Notice {
    /// An edit was made.
    pub(super) fn made(label: &str) -> Self {
        Self {
            text: capital(label),
            meaning: Meaning::Good,
            action: Some(Action::Undo),
        }
    }

    /// An edit was refused.
    pub(super) const fn refused(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Late,
            action: None,
        }
    }

    /// Something worth knowing.
    pub(super) const fn said(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Plain,
            action: None,
        }
    }

    /// Another program wrote to the file: the person decides.
    pub(super) const fn changed_elsewhere(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Danger,
            action: Some(Action::Overwrite),
        }
    }

    /// Something went wrong.
    pub(super) const fn failed(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Danger,
            action: None,
        }
    }
}

impl App {
    pub(super) fn notice_ui(&mut self, ui: &mut Ui) {
        let Some(shown) = &self.notice else { return };
        let action = shown.action;
        let word = action.map(|action| match action {
            Action::Undo => "Undo",
            Action::Overwrite => "Save over it",
        });
        let frame = Frame::new()
            .fill(tokens(ui).surface)
            .inner_margin(Margin::symmetric(space::L as i8, space::XS as i8));
        let answer = Panel::bottom("notice")
            .frame(frame)
            .show_separator_line(false)
            .show(ui, |ui| notice(ui, shown.meaning, &shown.text, word))
            .inner;
        match answer {
            Some(NoticeAnswer::Act) if action == Some(Action::Overwrite) => {
                self.overwrite(&ui.ctx().clone());
            }
            Some(NoticeAnswer::Act) => self.run(&ui.ctx().clone(), Command::Undo),
            Some(NoticeAnswer::Dismiss) => self.notice = None,
            None => {}
        }
    }
}
