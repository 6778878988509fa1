//! How many changes lie in a journal, or a part of one, that aren't known to be in the project beside it: the one count, the
//! same before it is set aside and after.

use super::lines::{FIRST_BEGINS, numbers, pieces_of};
use super::reading::{Scan, entry_of, scan};
use super::{Mark, Sum};
use std::collections::{HashMap, HashSet};

/// What is known of the changes in a project.
pub(crate) struct KnownChanges<'a> {
    /// The journal in use, empty if there is none.
    own: &'a [u8],
    scan: Option<Scan<'a>>,
    /// Those of its lines that lead to the project, by number and sum.
    lines: HashSet<(u64, u32)>,
    /// Places that the project is known to have gone through.
    through: Vec<Mark>,
    /// Lines of other journals that were counted already.
    counted: HashSet<(u64, u32)>,
}

impl<'a> KnownChanges<'a> {
    /// `own` is the journal of the project at `mark`, `earlier` states of it that were saved.
    pub(crate) fn of(own: &'a [u8], mark: Mark, earlier: impl IntoIterator<Item = Mark>) -> Self {
        let scan = scan(own);
        let lines = scan.as_ref().map_or_else(HashSet::new, |scan| {
            let after: HashMap<(u64, u32), Sum> = scan
                .sound_sums()
                .map(|(n, after, sum)| ((n, sum.0), after))
                .collect();
            let (mut lines, mut at) = (HashSet::new(), (mark.sequence, mark.sum.0));
            while let Some(before) = after.get(&at) {
                lines.insert(at);
                at = (at.0.saturating_sub(1), before.0);
            }
            // Before a gap in the history stands what the project came from all the same.
            lines.extend(after.into_keys().filter(|(n, _)| *n <= at.0));
            lines
        });
        let earlier = earlier.into_iter();
        let earlier = earlier.filter(|each| each.id == mark.id && each.sequence < mark.sequence);
        Self {
            own,
            scan,
            lines,
            through: earlier.chain([mark]).collect(),
            counted: HashSet::new(),
        }
    }

    /// How many changes a journal has beside the known ones and those counted before. Damaged ones count, and those that are
    /// gone between others; a last line that was never finished doesn't, as nobody was told that it is kept. Nothing if no
    /// change can be read in it and its first line is damaged: it may have had any number.
    ///
    /// `is_cut`: it is the end of a journal, not a whole one.
    pub(crate) fn beside(&mut self, bytes: &[u8], is_cut: bool) -> Option<usize> {
        let theirs = scan(bytes);
        if !is_cut && theirs.as_ref().is_none_or(Scan::has_nothing) {
            return None;
        }
        let start = theirs.as_ref().and_then(|scan| scan.start);
        let pieces = pieces_of(bytes, 0);
        let contained = self.contained(start, pieces.iter().filter_map(|piece| piece.sound));
        let mut before = start.map(|start| start.sequence);
        let (mut count, mut damaged) = (0_usize, 0);
        for (nth, piece) in pieces.iter().enumerate() {
            let Some((n, after, sum)) = piece.sound else {
                // At the beginning it is what the first line has become.
                if before.is_some() || is_cut || nth > 0 {
                    damaged += self.strange_lines(&bytes[piece.range.clone()], piece.ended);
                }
                continue;
            };
            if piece.repeat {
                continue;
            }
            if n <= contained || self.is_known(n, sum) {
                (before, damaged) = (Some(n), 0);
                continue;
            }
            let gone = match before {
                _ if n <= 1 || self.is_known(n - 1, after) => 0,
                Some(before) => n.saturating_sub(before.saturating_add(1)),
                None if is_cut => self.missing_before(n, &bytes[piece.range.clone()]),
                None => 1,
            };
            count = count.saturating_add(usize::try_from(gone).unwrap_or(usize::MAX));
            count = count.saturating_add(1);
            self.counted.insert((n, sum.0));
            (before, damaged) = (Some(n), 0);
        }
        Some(count.saturating_add(damaged))
    }

    fn is_known(&self, n: u64, sum: Sum) -> bool {
        self.lines.contains(&(n, sum.0)) || self.counted.contains(&(n, sum.0))
    }

    /// Up to which change a journal has nothing but what led to the project: the last place both went through.
    fn contained(&self, start: Option<Mark>, lines: impl Iterator<Item = (u64, Sum, Sum)>) -> u64 {
        let places: HashSet<(u64, u32)> = lines
            .map(|(n, _, sum)| (n, sum.0))
            .chain(start.map(|start| (start.sequence, start.sum.0)))
            .collect();
        let shared = (self.through.iter())
            .filter(|mark| start.is_none_or(|start| start.id == mark.id))
            .filter(|mark| mark.sequence > 0)
            .filter(|mark| places.contains(&(mark.sequence, mark.sum.0)));
        shared.map(|mark| mark.sequence).max().unwrap_or_default()
    }

    /// How many lines of a damaged piece are nowhere in the journal in use.
    fn strange_lines(&self, piece: &[u8], ended: bool) -> usize {
        let mut lines: Vec<&[u8]> = piece.split(|byte| *byte == b'\n').collect();
        if !ended {
            lines.pop();
        }
        let lines = lines.into_iter().map(<[u8]>::trim_ascii);
        let strange = lines.filter(|line| {
            let is_first = line.starts_with(FIRST_BEGINS);
            !(line.is_empty() || is_first || memchr::memmem::find(self.own, line).is_some())
        });
        strange.count()
    }

    /// How many changes are gone between the place where the journal in use was cut and the first line of the end that was
    /// cut off: what was recorded after the cut was recorded later.
    fn missing_before(&self, n: u64, line: &[u8]) -> u64 {
        let reached = entry_of(line).and_then(|entry| {
            let scan = self.scan.as_ref()?;
            let known = scan
                .lines()
                .filter(|line| numbers(&self.own[line.clone()]).is_some_and(|(own, _)| own < n));
            let earlier = known
                .filter_map(|line| entry_of(&self.own[line]))
                .filter(|own| own.at <= entry.at)
                .map(|own| own.sequence);
            earlier.max().or_else(|| Some(scan.start?.sequence))
        });
        reached.map_or(1, |reached| n.saturating_sub(reached.saturating_add(1)))
    }
}
