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
    /// When it was first drawn, in seconds of input time.
    since: Option<f64>,
}

/// A notice stands so long, in seconds, and a while more for each letter of it.
const STANDS: f64 = 8.0;
const PER_LETTER: f64 = 0.06;

/// So long it takes to fade, in seconds.
const FADES: f64 = 0.6;

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
            since: None,
        }
    }

    /// The same of an edit that was made and isn't on the disk; nothing if it tells of something else.
    pub(super) fn not_on_disk(&self) -> Option<Self> {
        let is_done = self.meaning == Meaning::Good && self.action == Some(Action::Undo);
        is_done.then(|| Self {
            text: format!("{}: {}", self.text, kit::unkept::WORDS),
            meaning: Meaning::Danger,
            ..self.clone()
        })
    }

    /// An edit was refused.
    pub(super) const fn refused(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Late,
            action: None,
            since: None,
        }
    }

    /// Something worth knowing.
    pub(super) const fn said(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Plain,
            action: None,
            since: None,
        }
    }

    /// Another program wrote to the file: the person decides.
    pub(super) const fn changed_elsewhere(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Danger,
            action: Some(Action::Overwrite),
            since: None,
        }
    }

    /// Something went wrong.
    pub(super) const fn failed(text: String) -> Self {
        Self {
            text,
            meaning: Meaning::Danger,
            action: None,
            since: None,
        }
    }

    /// How much of it is left to see, from 1 to 0, and after how many seconds that changes; `held` while the pointer is
    /// on it. What is wrong stays until it is closed or something else happens.
    pub(super) fn left(&mut self, now: f64, held: bool) -> (f32, Option<f64>) {
        let since = *self.since.get_or_insert(now);
        if matches!(self.meaning, Meaning::Late | Meaning::Danger) {
            return (1.0, None);
        }
        if held {
            self.since = Some(now);
            return (1.0, None);
        }
        let stands = STANDS + PER_LETTER * self.text.chars().count() as f64;
        let gone = now - since - stands;
        if gone < 0.0 {
            (1.0, Some(-gone))
        } else {
            ((1.0 - gone / FADES).max(0.0) as f32, Some(0.03))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_done_fades_and_what_is_wrong_stays() {
        let mut made = Notice::made("plant 24-02-030 culled");
        assert_eq!(made.left(10.0, false).0, 1.0);
        assert_eq!(made.left(15.0, false).0, 1.0);
        assert!(made.left(19.6, false).0 < 1.0, "it fades");
        assert_eq!(made.left(30.0, true).0, 1.0, "not under the pointer");
        assert_eq!(made.left(60.0, false).0, 0.0);
        let mut wrong = Notice::refused("It can't be.".into());
        assert_eq!(wrong.left(0.0, false).0, 1.0);
        assert_eq!(wrong.left(1000.0, false).0, 1.0);
    }
}
