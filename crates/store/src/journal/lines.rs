//! A journal as a row of lines, each sound or damaged, whatever it means.

use super::{Sum, check};
use std::collections::HashSet;
use std::ops::Range;

#[derive(Debug, Clone)]
pub(super) struct JournalLine {
    pub(super) range: Range<usize>,
    /// Number, sum of the line before, own sum; nothing if the line is damaged.
    pub(super) sound: Option<(u64, Sum, Sum)>,
    /// Whether it ends as a line does.
    pub(super) ended: bool,
    /// Whether the same line stands further up.
    pub(super) repeat: bool,
}

/// A journal being taken apart, line by line.
pub(super) struct Taking<'a> {
    bytes: &'a [u8],
    pub(super) pieces: Vec<JournalLine>,
    /// A first line that stands further down.
    pub(super) again: Option<Range<usize>>,
    /// The greatest number so far.
    greatest: u64,
    /// The lines so far, once a number comes again.
    seen: Option<HashSet<(u64, u32)>>,
}

impl<'a> Taking<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        Self {
            bytes,
            pieces: Vec::new(),
            again: None,
            greatest: 0,
            seen: None,
        }
    }

    /// Takes a line for what it is, or for the lines that ran together in it.
    pub(super) fn line(&mut self, line: Range<usize>, ended: bool) {
        if line.is_empty() {
            return;
        }
        if let Some(kind) = self.kind(&line) {
            return self.push(line, Some(kind), ended);
        }
        let starts: Vec<usize> = joints(&self.bytes[line.clone()])
            .map(|at| line.start + at)
            .collect();
        let mut from = line.start;
        for end in starts
            .into_iter()
            .chain([line.end])
            .filter(|end| *end > line.start)
        {
            // Whatever stands where the end of the line was.
            let parts = [from..end, from..end.saturating_sub(1).max(from)];
            let found = parts
                .into_iter()
                .find_map(|part| Some((self.kind(&part)?, part)));
            let last = end == line.end;
            match found {
                Some((kind, part)) => self.push(part, Some(kind), ended || !last),
                None => self.push(from..end, None, ended || !last),
            }
            from = end;
        }
    }

    /// What a line is that agrees with its sum.
    fn kind(&self, range: &Range<usize>) -> Option<SoundLine> {
        let line = &self.bytes[range.clone()];
        let sum = check(line)?;
        if line.starts_with(FIRST_BEGINS) {
            return Some(SoundLine::First);
        }
        let (n, after) = numbers(line)?;
        Some(SoundLine::Change(n, after, sum))
    }

    /// Adds a piece. Damage is one piece however many lines it looks like.
    fn push(&mut self, range: Range<usize>, kind: Option<SoundLine>, ended: bool) {
        let sound = match kind {
            Some(SoundLine::First) => {
                self.again.get_or_insert(range);
                return;
            }
            Some(SoundLine::Change(n, after, sum)) => Some((n, after, sum)),
            None => None,
        };
        let repeat = sound.is_some_and(|(n, _, sum)| self.is_repeat(n, sum));
        match self.pieces.last_mut() {
            Some(JournalLine {
                range: before,
                sound: None,
                ended: as_before,
                ..
            }) if sound.is_none() => {
                before.end = range.end;
                *as_before = ended;
            }
            _ => self.pieces.push(JournalLine {
                range,
                sound,
                ended,
                repeat,
            }),
        }
    }

    /// Whether the line of this number and sum stood there before.
    fn is_repeat(&mut self, n: u64, sum: Sum) -> bool {
        if n > self.greatest {
            self.greatest = n;
            if let Some(seen) = &mut self.seen {
                seen.insert((n, sum.0));
            }
            return false;
        }
        let pieces = &self.pieces;
        let seen = self.seen.get_or_insert_with(|| {
            let sound = pieces.iter().filter_map(|piece| piece.sound);
            sound.map(|(n, _, sum)| (n, sum.0)).collect()
        });
        !seen.insert((n, sum.0))
    }
}

/// What a line is that agrees with its sum.
#[derive(Clone, Copy)]
enum SoundLine {
    /// The first line of a journal.
    First,
    /// A change: its number, the sum of the line before, its own.
    Change(u64, Sum, Sum),
}

/// How the first line begins.
pub(super) const FIRST_BEGINS: &[u8] = br#"{"format":{"name":"binewright journal""#;

/// The places in a line where a change begins, or a journal anew.
pub(super) fn joints(line: &[u8]) -> impl Iterator<Item = usize> + '_ {
    const BEGINS: &[u8] = br#"{"n":"#;
    let places = memchr::memchr_iter(b'{', line).skip_while(|at| *at == 0);
    places.filter(|at| {
        let rest = &line[*at..];
        rest.starts_with(BEGINS) || rest.starts_with(FIRST_BEGINS)
    })
}

/// A range without the blanks at its ends.
pub(super) fn trimmed(bytes: &[u8], range: Range<usize>) -> Range<usize> {
    let text = &bytes[range.clone()];
    let start = range.start + (text.len() - text.trim_ascii_start().len());
    let length = text.trim_ascii().len();
    start..start + length
}

pub(super) fn memchr(bytes: &[u8]) -> Option<usize> {
    memchr::memchr(b'\n', bytes)
}

/// The number and the sum before, which stand first in a line.
pub(super) fn numbers(line: &[u8]) -> Option<(u64, Sum)> {
    let rest = line.strip_prefix(br#"{"n":"#)?;
    let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let n = std::str::from_utf8(&rest[..digits]).ok()?.parse().ok()?;
    let after = rest[digits..].strip_prefix(br#","after":""#)?.get(..8)?;
    Some((n, Sum::parse(after)?))
}

/// The lines of a part of a journal that begins with a line.
pub(super) fn pieces_of(bytes: &[u8], from: usize) -> Vec<JournalLine> {
    let (mut taking, mut from) = (Taking::new(bytes), from);
    while from < bytes.len() {
        let end = memchr(&bytes[from..]).map(|length| from + length);
        let line = trimmed(bytes, from..end.unwrap_or(bytes.len()));
        taking.line(line, end.is_some());
        from = end.map_or(bytes.len(), |end| end + 1);
    }
    taking.pieces
}

impl JournalLine {
    /// How many lines a damaged piece seems to be.
    pub(super) fn damaged_lines(&self, bytes: &[u8]) -> usize {
        let lines = bytes[self.range.clone()].split(|byte| *byte == b'\n');
        lines.filter(|line| !line.trim_ascii().is_empty()).count()
    }
}
