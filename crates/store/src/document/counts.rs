//! What a file says near its beginning that it holds, so that one whose end is cut off says how much is gone.
//!
//! ```json
//!   "counts": {
//!     "at": 12,
//!     "total": 464,
//!     "records": { "genotypes": 120, "observations": 344 }
//!   }
//! ```
//!
//! `contents` at the end says the same with a sum, and is believed where the sum agrees. A program of format 1.6 keeps these
//! counts as they were when it saves: `at` repeats the number of the file's last change, so that old ones are told apart.

use super::contents::Contents;
use crate::journal::Mark;
use domain::{Project, RecordKind};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What a file says near its beginning that it holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Counts {
    /// The number of the last change in the file these counts were written with.
    at: u64,
    /// How many records of all kinds.
    total: u64,
    /// How many of each kind, by the name of their table; kinds without any are left out.
    records: BTreeMap<String, u64>,
}

impl Counts {
    pub(super) fn of(project: &Project, mark: &Mark) -> Self {
        let count = |kind: &RecordKind| {
            let count = project.count(*kind) as u64;
            (count > 0).then(|| (kind.table().to_owned(), count))
        };
        Self {
            at: mark.sequence,
            total: project.record_count() as u64,
            records: RecordKind::ALL.iter().filter_map(count).collect(),
        }
    }

    /// Whether they belong to the file they stand in, and agree with themselves.
    fn holds(&self, mark: Option<Mark>) -> bool {
        let sum = (self.records.values()).try_fold(0_u64, |sum, count| sum.checked_add(*count));
        mark.is_none_or(|mark| mark.sequence == self.at) && sum == Some(self.total)
    }
}

/// How many records of each kind a file says it has, by what stands at its beginning and at its end.
#[derive(Debug, Default)]
pub(super) struct Stated {
    /// What may be believed; where both may and differ, a kind has several.
    said: Vec<BTreeMap<String, u64>>,
}

impl Stated {
    /// `agrees`: whether the text is the one its sum was made of.
    pub(super) fn by(
        counts: Option<Counts>,
        contents: Option<Contents>,
        mark: Option<Mark>,
        agrees: bool,
    ) -> Self {
        let counts = counts.filter(|counts| counts.holds(mark));
        let counts = counts.map(|counts| counts.records);
        let contents = contents.map(|contents| contents.records);
        let said = match (counts, contents) {
            (_, Some(contents)) if agrees => vec![contents],
            (counts, contents) => counts.into_iter().chain(contents).collect(),
        };
        Self { said }
    }

    /// Whether anything is said.
    pub(super) const fn is_silent(&self) -> bool {
        self.said.is_empty()
    }

    /// How many of a kind there are to be, where `there` are. Of two answers the one that fits, as a count may itself be
    /// what was hurt; else the greater.
    pub(super) fn of_kind(&self, kind: RecordKind, there: usize) -> usize {
        let of = |said: &BTreeMap<String, u64>| {
            let count = said.get(kind.table()).copied().unwrap_or_default();
            usize::try_from(count).unwrap_or(usize::MAX)
        };
        let answers = || self.said.iter().map(of);
        if answers().any(|count| count == there) {
            return there;
        }
        answers().max().unwrap_or_default()
    }

    /// The kinds of which there are to be some.
    pub(super) fn kinds(&self) -> impl Iterator<Item = RecordKind> + '_ {
        let some = |kind: &RecordKind| self.of_kind(*kind, 0) > 0;
        RecordKind::ALL.iter().copied().filter(some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counts(at: u64, plants: u64) -> Counts {
        Counts {
            at,
            total: plants,
            records: [("genotypes".into(), plants)].into(),
        }
    }

    fn mark(sequence: u64) -> Mark {
        Mark {
            sequence,
            ..Mark::new(uuid::Uuid::nil())
        }
    }

    #[test]
    fn counts_of_an_older_state_and_such_as_disagree_with_their_total_are_not_believed() {
        let stated = |counts| Stated::by(Some(counts), None, Some(mark(3)), false);
        let of = |counts| stated(counts).of_kind(RecordKind::Genotype, 0);
        assert_eq!(of(counts(3, 20)), 20);
        assert_eq!(of(counts(2, 20)), 0);
        let torn = Counts {
            total: 21,
            ..counts(3, 20)
        };
        assert_eq!(of(torn), 0);
    }
}
