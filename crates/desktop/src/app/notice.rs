//! The line that says what just happened.

use super::App;
use crate::command::Command;
use crate::theme::{Meaning, space, tokens};
use crate::widgets::{NoticeAnswer, notice};
use domain::Refusal;
use egui::{Frame, Margin, Panel, Ui};

/// What just happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// The sentence.
    pub text: String,
    meaning: Meaning,
    /// Undo can take it back.
    undoable: bool,
}

impl Notice {
    /// An edit was made.
    pub(super) fn made(label: &str) -> Self {
        Self {
            text: capital(label),
            meaning: Meaning::Good,
            undoable: true,
        }
    }

    /// An edit was refused.
    pub(super) fn refused(refusal: &Refusal) -> Self {
        Self {
            text: refusal.to_string(),
            meaning: Meaning::Late,
            undoable: false,
        }
    }

    /// Something worth knowing.
    pub(super) const fn said(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Plain,
            undoable: false,
        }
    }

    /// Something went wrong.
    pub(super) const fn failed(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Danger,
            undoable: false,
        }
    }
}

impl App {
    pub(super) fn notice_ui(&mut self, ui: &mut Ui) {
        let Some(shown) = &self.notice else { return };
        let action = shown.undoable.then_some("Undo");
        let frame = Frame::new()
            .fill(tokens(ui).surface)
            .inner_margin(Margin::symmetric(space::L as i8, space::XS as i8));
        let answer = Panel::bottom("notice")
            .frame(frame)
            .show_separator_line(false)
            .show(ui, |ui| notice(ui, shown.meaning, &shown.text, action))
            .inner;
        match answer {
            Some(NoticeAnswer::Act) => self.run(&ui.ctx().clone(), Command::Undo),
            Some(NoticeAnswer::Dismiss) => self.notice = None,
            None => {}
        }
    }
}

/// The words with a capital at the front.
fn capital(words: &str) -> String {
    let mut signs = words.chars();
    signs.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(signs).collect()
    })
}
