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
    /// It isn't this file's journal; why, as a sentence.
    Foreign(&'static str),
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
    if scan.start.is_some_and(|start| start.id != mark.id) {
        return Continuation::Foreign("It belongs to another project.");
    }
    if scan.has_nothing() {
        return Continuation::Foreign(
            "Its first line is damaged, and no change can be read in it.",
        );
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
        return Continuation::Foreign(if scan.start.is_none() && mark.sequence == 0 {
            "Its beginning is damaged, and nothing shows whose it is."
        } else if scan.sound().any(|line| line.sequence == mark.sequence) {
            "It belongs to another copy of the project, which went its own way."
        } else {
            "It doesn't reach to the changes that the file contains."
        });
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
        cut: scan.cut(rest, |at| !is_known(at)),
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

    /// Whether neither its first line is whole nor a change in it.
    pub(crate) fn has_nothing(&self) -> bool {
        self.header.is_none() && self.has_no_change()
    }

    fn has_no_change(&self) -> bool {
        self.pieces.iter().all(|piece| piece.sound.is_none())
    }

    /// What can't be replayed: all from the piece `rest` on, and changes before it that are `strange`.
    fn cut(&self, rest: usize, strange: impl Fn(usize) -> bool) -> Option<Cut> {
        let mut strays = (0..rest).filter(|at| self.pieces[*at].sound.is_some() && strange(*at));
        let strays = strays.next().is_some();
        let cut = self.pieces.get(rest);
        if cut.is_none() && !strays {
            return None;
        }
        let left = &self.pieces[rest..];
        let is_torn = left.len() == 1 && left[0].sound.is_none() && !left[0].ended;
        Some(Cut {
            at: cut.map_or(self.bytes.len(), |piece| piece.range.start),
            stop: if is_torn && !strays {
                Stop::Torn
            } else {
                Stop::Damaged
            },
            before: strays,
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
