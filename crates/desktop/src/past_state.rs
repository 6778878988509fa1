//! A moment of the past: the whole project as it stood then, to be read and not changed.

use crate::derived::Derived;
use chrono::{DateTime, Local, NaiveDate, Utc};
use domain::Project;
use kit::widgets::grouped;

/// A project as it stood at a moment of its past.
#[derive(Debug, Clone, PartialEq)]
pub struct PastState {
    /// The whole project.
    pub project: Project,
    /// When it stood so.
    pub at: DateTime<Utc>,
    /// The number of the last change made to it by then; nothing where that isn't known.
    pub after: Option<u64>,
}

impl PastState {
    /// When it is, as a sentence.
    pub fn words(&self) -> String {
        let at = self.at.with_timezone(&Local);
        let at = at.format("%-d %B %Y at %H:%M");
        match self.after {
            Some(change) => format!("As it was on {at}, after change {}.", grouped(change)),
            None => format!("The project as it was on {at}."),
        }
    }

    /// The day it was: what was due then is calculated from it.
    pub fn day(&self) -> NaiveDate {
        self.at.with_timezone(&Local).date_naive()
    }
}

/// A moment that is looked at, with what is derived from it. The revisions of its project say nothing of those of the
/// present: nothing derived may be shared between the two.
pub(crate) struct Past {
    pub(crate) moment: PastState,
    /// What stands over the screens, and the answer to every change.
    pub(crate) words: String,
    pub(crate) derived: Derived,
}

impl Past {
    pub(crate) fn new(moment: PastState, derived: Derived) -> Self {
        Self {
            words: format!("{} Nothing can be changed here.", moment.words()),
            moment,
            derived,
        }
    }
}
