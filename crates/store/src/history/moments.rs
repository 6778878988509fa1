//! States of a project along its history, so that every moment of it is near one.

use domain::{Edit, Project};

/// The most states that are kept. A state shares all that didn't change with those beside it.
const MOST: usize = 32;

/// States of a project after some of its changes, and after the last.
#[derive(Debug, Clone)]
pub(super) struct Moments {
    /// Each with the number of changes before it, the beginning first.
    kept: Vec<(usize, Project)>,
    /// The state after the last change that is known.
    last: (usize, Project),
    /// So many changes lie between two that are kept.
    stride: usize,
    /// Whether a change is missing: what comes after it isn't known.
    ended: bool,
}

impl Moments {
    /// From the project before the first change, where that is known.
    pub(super) fn from(base: Option<Project>) -> Self {
        Self {
            kept: base.clone().map(|base| (0, base)).into_iter().collect(),
            ended: base.is_none(),
            last: (0, base.unwrap_or_default()),
            stride: 16,
        }
    }

    /// Makes the next change.
    pub(super) fn follow(&mut self, edit: Edit) {
        if self.ended {
            return;
        }
        let (changes, project) = &mut self.last;
        if project.retrace(edit).is_err() {
            // Half made: the last state is the one kept before it, with what follows that.
            self.end();
            return;
        }
        *changes += 1;
        if changes.is_multiple_of(self.stride) {
            self.kept.push(self.last.clone());
        }
        if self.kept.len() > MOST {
            self.stride *= 2;
            let stride = self.stride;
            self.kept
                .retain(|(changes, _)| changes.is_multiple_of(stride));
        }
    }

    /// Says that the next change is missing.
    pub(super) const fn end(&mut self) {
        self.ended = true;
    }

    /// The state nearest before so many changes, with how many those before it are; nothing where that isn't known.
    pub(super) fn before(&self, changes: usize) -> Option<&(usize, Project)> {
        if changes > self.last.0 {
            return None;
        }
        if changes == self.last.0 && !self.ended {
            return Some(&self.last);
        }
        let after = self.kept.partition_point(|(kept, _)| *kept <= changes);
        self.kept.get(after.checked_sub(1)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::record::settings::SettingsField;

    #[test]
    fn states_stay_few_and_every_moment_is_near_one() {
        let mut moments = Moments::from(Some(Project::default()));
        let all = 3000;
        for change in 1..=all {
            moments.follow(Edit::Settings(SettingsField::Name(change.to_string())));
        }
        assert!(moments.kept.len() <= MOST);
        for changes in 1..=all {
            let (before, project) = moments.before(changes).expect("known");
            assert!(
                changes - before < all * 2 / MOST,
                "{before} before {changes}"
            );
            let expected = if *before == 0 {
                String::new()
            } else {
                before.to_string()
            };
            assert_eq!(project.settings().name, expected);
        }
        assert!(moments.before(all + 1).is_none());
    }

    #[test]
    fn nothing_is_known_behind_a_missing_change() {
        let mut moments = Moments::from(Some(Project::default()));
        let name = |name: &str| Edit::Settings(SettingsField::Name(name.into()));
        moments.follow(name("one"));
        moments.end();
        moments.follow(name("three"));
        assert!(moments.before(1).is_some());
        assert!(moments.before(2).is_none());
        assert!(Moments::from(None).before(0).is_none());
    }
}
