//! The line that says what just happened.

use kit::theme::Meaning;
use kit::widgets::capital;

/// What just happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// The sentence.
    pub text: String,
    pub(super) meaning: Meaning,
    /// What its button does, if it has one.
    pub(super) action: Option<Action>,
}

/// What the button of a notice does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Action {
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
