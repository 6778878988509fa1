//! Where a journal goes on from a project file, and what of it can't be used.

use super::Mark;
use super::lines::{JournalLine, memchr};
use super::reading::Scan;
use domain::Project;
use std::collections::{BTreeSet, HashMap};
use std::ops::Range;
use uuid::Uuid;

/// How a journal goes on from a project file.
#[derive(Debug)]
pub(crate) enum Continuation {
    /// It passes through the file's mark: these lines follow it.
    Follows {
        /// The lines to replay, by their bytes.
        lines: Vec<Range<usize>>,
        /// The mark after the last of them.
        end: Mark,
        /// What can't be replayed, if anything.
        cut: Option<Cut>,
        /// What is damaged without a change being missing.
        harmless: Harmless,
    },
    /// It isn't this file's journal.
    Foreign {
        /// Why, as a sentence.
        why: &'static str,
        /// How many changes in it the file doesn't contain.
        changes: usize,
    },
}

/// Damage in a journal from which no change is missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Harmless {
    /// The first line: earlier states can't be had from the journal.
    pub(crate) first: bool,
    /// Damaged lines of changes that the file contains: the history has a gap.
    pub(crate) history: usize,
    /// Something stands between changes that are all there.
    pub(crate) between: bool,
}

/// Where a journal stops making sense.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Cut {
    /// The first byte that can't be used.
    pub(crate) at: usize,
    /// What is wrong there.
    pub(crate) stop: Stop,
    /// How many changes can't be brought back because of it.
    pub(crate) changes: usize,
    /// Whether some of them stand before that byte.
    pub(crate) before: bool,
}

/// Why a journal stops.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stop {
    /// The last line was never finished.
    Torn,
    /// A line is damaged, or one is missing, before others.
    Damaged,
}

/// Finds where the journal goes on from the file's mark: by the chain of sums, whatever stands between its lines.
pub(crate) fn continuation(scan: &Scan<'_>, mark: Mark) -> Continuation {
    let foreign = |why, from: u64| Continuation::Foreign {
        why,
        changes: scan.sound().filter(|line| line.sequence >= from).count(),
    };
    if scan.start.is_some_and(|start| start.id != mark.id) {
        return foreign("It belongs to another project.", 0);
    }
    let at_mark = scan.pieces.iter().position(|piece| {
        let sound = piece.sound;
        sound.is_some_and(|(n, _, sum)| n == mark.sequence && sum == mark.sum)
    });
    let (lines, end) = scan.chain_from(mark);
    // The first change of all comes after no sum: only the first line says of which project it is.
    let is_proven = at_mark.is_some()
        || scan.start == Some(mark)
        || (!lines.is_empty() && (mark.sequence > 0 || scan.names(mark.id)));
    if !is_proven {
        if scan.start.is_none() && mark.sequence == 0 {
            return foreign(
                "Its beginning is damaged, and nothing shows whose it is.",
                1,
            );
        }
        return if scan.sound().any(|line| line.sequence == mark.sequence) {
            foreign(
                "It belongs to another copy of the project, which went its own way.",
                mark.sequence,
            )
        } else {
            foreign(
                "It doesn't reach to the changes that the file contains.",
                mark.sequence.saturating_add(1),
            )
        };
    }
    let used: BTreeSet<usize> = lines.iter().copied().collect();
    // What the file contains, or what was made once and stands there twice.
    let is_known = |at: usize| {
        let piece = &scan.pieces[at];
        used.contains(&at)
            || piece
                .sound
                .is_some_and(|(n, ..)| piece.repeat || n <= mark.sequence)
    };
    let known = (0..scan.pieces.len()).rev().find(|at| is_known(*at));
    let rest = known.map_or(0, |last| last + 1);
    // With no change before it, damage may as well be that of the first line.
    let rest = if known.is_none() && scan.header.is_none() && scan.has_no_change() {
        scan.pieces.len()
    } else {
        rest
    };
    let begins = at_mark.or_else(|| lines.first().copied()).unwrap_or(0);
    let damaged = |upto: &[JournalLine]| -> usize {
        let damaged = upto.iter().filter(|piece| piece.sound.is_none());
        damaged.map(|piece| piece.damaged_lines(scan.bytes)).sum()
    };
    let first = scan.header.is_none();
    let history = if scan.start == Some(mark) || mark.sequence == 0 {
        0
    } else {
        // Where the first line runs on over several, it is told of by itself.
        let own = usize::from(first && scan.pieces.first().is_some_and(|it| it.sound.is_none()));
        damaged(&scan.pieces[own.min(begins)..begins])
    };
    let after = &scan.pieces[begins.min(rest)..rest];
    Continuation::Follows {
        cut: scan.cut(rest, end, |at| !is_known(at)),
        harmless: Harmless {
            first,
            history,
            between: damaged(after) > 0,
        },
        lines: lines
            .into_iter()
            .map(|at| scan.pieces[at].range.clone())
            .collect(),
        end,
    }
}

impl Scan<'_> {
    /// The lines that follow this place, each naming the sum of the one before, and the place after the last.
    fn chain_from(&self, mark: Mark) -> (Vec<usize>, Mark) {
        let (mut lines, mut end) = (Vec::new(), mark);
        let follows = |piece: &JournalLine, end: Mark| match piece.sound {
            Some((n, after, sum)) if n == end.sequence.saturating_add(1) && after == end.sum => {
                Some(sum)
            }
            _ => None,
        };
        let mut places: Option<HashMap<(u64, u32), usize>> = None;
        let mut next = 0;
        loop {
            // Mostly it is the next one.
            let found = match self.pieces.get(next) {
                Some(piece) if follows(piece, end).is_some() => Some(next),
                _ => {
                    let places = places.get_or_insert_with(|| self.places());
                    places
                        .get(&(end.sequence.saturating_add(1), end.sum.0))
                        .copied()
                }
            };
            let Some((at, sum)) = found.and_then(|at| Some((at, follows(&self.pieces[at], end)?)))
            else {
                return (lines, end);
            };
            end = Mark {
                sequence: end.sequence.saturating_add(1),
                sum,
                ..end
            };
            lines.push(at);
            next = at + 1;
        }
    }

    /// The first line of each number and sum before.
    fn places(&self) -> HashMap<(u64, u32), usize> {
        let mut places = HashMap::new();
        for (at, piece) in self.pieces.iter().enumerate() {
            if let Some((n, after, _)) = piece.sound {
                places.entry((n, after.0)).or_insert(at);
            }
        }
        places
    }

    /// Whether the first line names this identity, though it is damaged.
    fn names(&self, id: Uuid) -> bool {
        memchr::memmem::find(&self.bytes[self.first.clone()], id.to_string().as_bytes()).is_some()
    }

    fn has_no_change(&self) -> bool {
        self.pieces.iter().all(|piece| piece.sound.is_none())
    }

    /// What can't be replayed after `end`: all from the piece `rest` on, and changes before it that are `strange`.
    fn cut(&self, rest: usize, end: Mark, strange: impl Fn(usize) -> bool) -> Option<Cut> {
        let strays = (0..rest).filter(|at| self.pieces[*at].sound.is_some() && strange(*at));
        let strays = strays.count();
        let cut = self.pieces.get(rest);
        if cut.is_none() && strays == 0 {
            return None;
        }
        let left = &self.pieces[rest..];
        let sound = || left.iter().filter_map(|piece| piece.sound);
        let lines = left.iter().map(|piece| match piece.sound {
            Some(_) => 1,
            None => piece.damaged_lines(self.bytes),
        });
        // Those that are gone altogether are told by the number of the last.
        let upto = sound().map(|(n, ..)| n.saturating_sub(end.sequence)).max();
        let upto = upto.map_or(0, |upto| usize::try_from(upto).unwrap_or(usize::MAX));
        let is_torn = left.len() == 1 && sound().next().is_none() && !left[0].ended;
        Some(Cut {
            at: cut.map_or(self.bytes.len(), |piece| piece.range.start),
            stop: if is_torn && strays == 0 {
                Stop::Torn
            } else {
                Stop::Damaged
            },
            changes: strays + upto.max(lines.sum()),
            before: strays > 0,
        })
    }

    /// How many bytes it takes up to the end of the change of this number. Nothing if it isn't sound as far as that.
    pub(crate) fn length_to(&self, sequence: u64) -> Option<usize> {
        let start = self.start?;
        let changes = sequence.checked_sub(start.sequence)? as usize;
        let Continuation::Follows { lines, .. } = continuation(self, start) else {
            return None;
        };
        let last = match changes.checked_sub(1) {
            Some(last) => lines.get(last)?,
            None => self.header.as_ref()?,
        };
        let rest = &self.bytes[last.end..];
        Some(memchr(rest).map_or(self.bytes.len(), |end| last.end + end + 1))
    }

    /// Whether it is sound and its last change is the one before this mark.
    pub(crate) fn ends_at(&self, mark: Mark) -> bool {
        let Some(start) = self.start else {
            return false;
        };
        matches!(
            continuation(self, start),
            Continuation::Follows { end, cut: None, .. } if end == mark
        )
    }

    /// The project after the change of this number. Nothing if the journal doesn't reach back, or not so far forward.
    pub(crate) fn project_at(&self, sequence: u64) -> Option<Project> {
        let start = self.start?;
        let wanted = sequence.checked_sub(start.sequence)? as usize;
        let Continuation::Follows { lines, .. } = continuation(self, start) else {
            return None;
        };
        let mut project = self.base()?;
        for line in lines.get(..wanted)? {
            project.apply(self.entry(line).ok()?.edit).ok()?;
        }
        Some(project)
    }
}
