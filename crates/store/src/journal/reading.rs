//! Reading a journal, sound or damaged.

use super::{Header, JOURNAL_MAJOR, JOURNAL_NAME, JournalEntry, LineIn, Mark, Sum, check};
use crate::document::Format;
use crate::json;
use chrono::{DateTime, Utc};
use domain::{Edit, Project, ProjectParts};
use serde_json::value::RawValue;
use std::collections::BTreeMap;
use std::ops::Range;

/// A journal taken apart, nothing in it read yet but the first line's place and each line's number and sums.
#[derive(Debug)]
pub(crate) struct Scan<'a> {
    bytes: &'a [u8],
    /// Where the journal starts; nothing if that can't be read any more.
    pub(crate) start: Option<Mark>,
    /// The first line, if it is whole, base and all.
    header: Option<Range<usize>>,
    pieces: Vec<JournalLine>,
}

#[derive(Debug, Clone)]
struct JournalLine {
    range: Range<usize>,
    /// Number, sum of the line before, own sum; nothing if the line is damaged.
    sound: Option<(u64, Sum, Sum)>,
    /// Whether it ends as a line does.
    ended: bool,
}

/// Takes a journal apart. Nothing if neither its first line nor any change in it can be read.
pub(crate) fn scan(bytes: &[u8]) -> Option<Scan<'_>> {
    // An editor may have put a byte order mark there.
    let from = if bytes.starts_with(b"\xEF\xBB\xBF") {
        3
    } else {
        0
    };
    let mut pieces = Vec::new();
    let mut first = None;
    let mut from = from;
    while from < bytes.len() {
        let end = memchr(&bytes[from..]).map(|length| from + length);
        let range = from..end.unwrap_or(bytes.len());
        from = end.map_or(bytes.len(), |end| end + 1);
        let line = trimmed(bytes, range);
        if line.is_empty() {
            continue;
        }
        let mut rest = line;
        if first.is_none() {
            // The end of the first line may be gone, and a change seem to stand in it.
            let changes = joints(&bytes[rest.clone()]).next();
            let own = changes.map_or(rest.end, |at| rest.start + at);
            let head = trimmed(bytes, rest.start..own);
            if numbers(&bytes[head.clone()]).is_some() {
                // The first line itself is gone.
                first = Some(First::default());
            } else {
                first = Some(read_first(bytes, head)?);
                rest = own..rest.end;
            }
        }
        take(bytes, rest, end.is_some(), &mut pieces);
    }
    let First { start, header } = first?;
    let some = pieces
        .iter()
        .any(|piece: &JournalLine| piece.sound.is_some());
    (start.is_some() || some).then_some(Scan {
        bytes,
        start,
        header,
        pieces,
    })
}

/// A line that is whole and agrees with its sum.
#[derive(Debug, Clone)]
pub(crate) struct Sound {
    /// Its bytes, without its end.
    pub(crate) range: Range<usize>,
    sequence: u64,
    after: Sum,
    sum: Sum,
}

impl Sound {
    fn of(piece: &JournalLine) -> Option<Self> {
        let (sequence, after, sum) = piece.sound?;
        Some(Self {
            range: piece.range.clone(),
            sequence,
            after,
            sum,
        })
    }

    /// Whether it is the line after this place.
    pub(crate) fn follows(&self, mark: Mark) -> bool {
        self.sequence == mark.sequence + 1 && self.after == mark.sum
    }

    /// The place after it, in the journal of the place before.
    pub(crate) fn mark_after(&self, before: Mark) -> Mark {
        Mark {
            sequence: self.sequence,
            sum: self.sum,
            ..before
        }
    }
}

/// The sound lines of a part of a journal that begins with a line.
pub(crate) fn sound_lines(bytes: &[u8], from: usize) -> Vec<Sound> {
    let (mut pieces, mut from) = (Vec::new(), from);
    while from < bytes.len() {
        let end = memchr(&bytes[from..]).map(|length| from + length);
        let line = trimmed(bytes, from..end.unwrap_or(bytes.len()));
        take(bytes, line, end.is_some(), &mut pieces);
        from = end.map_or(bytes.len(), |end| end + 1);
    }
    pieces.iter().filter_map(Sound::of).collect()
}

#[derive(Default)]
struct First {
    start: Option<Mark>,
    header: Option<Range<usize>>,
}

/// What the first line says. Nothing if it is of another kind of file.
fn read_first(bytes: &[u8], line: Range<usize>) -> Option<First> {
    const HEAD: &[u8] = br#","head":""#;
    let text = &bytes[line.clone()];
    let ours = |text: &[u8]| {
        let header: Header<serde::de::IgnoredAny> = serde_json::from_slice(text).ok()?;
        let Format { name, major, .. } = header.format;
        Some((name == JOURNAL_NAME && major == JOURNAL_MAJOR).then_some(header.start))
    };
    if check(text).is_some() {
        let start = ours(text)??;
        return Some(First {
            start: Some(start),
            header: Some(line),
        });
    }
    let head = text.windows(HEAD.len()).position(|part| part == HEAD);
    let start = head.and_then(|at| {
        let sum = Sum::parse(text.get(at + HEAD.len()..at + HEAD.len() + 8)?)?;
        let head = [&text[..at], b"}"].concat();
        (Sum::of(&text[..at]) == sum).then(|| ours(&head))?
    });
    match start {
        Some(None) => None,
        Some(start) => Some(First {
            start,
            header: None,
        }),
        None => Some(First::default()),
    }
}

/// Takes a line for what it is, or for the lines that ran together in it.
fn take(bytes: &[u8], line: Range<usize>, ended: bool, pieces: &mut Vec<JournalLine>) {
    if line.is_empty() {
        return;
    }
    let sound = |range: &Range<usize>| {
        let line = &bytes[range.clone()];
        let (sum, (n, after)) = (check(line)?, numbers(line)?);
        Some((n, after, sum))
    };
    if let Some(numbers) = sound(&line) {
        return push(pieces, line, Some(numbers), ended);
    }
    let starts: Vec<usize> = joints(&bytes[line.clone()])
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
            .find_map(|part| Some((sound(&part)?, part)));
        let last = end == line.end;
        match found {
            Some((numbers, part)) => push(pieces, part, Some(numbers), ended || !last),
            None => push(pieces, from..end, None, ended || !last),
        }
        from = end;
    }
}

/// Adds a piece. Damage is one piece however many lines it looks like.
fn push(
    pieces: &mut Vec<JournalLine>,
    range: Range<usize>,
    sound: Option<(u64, Sum, Sum)>,
    ended: bool,
) {
    match pieces.last_mut() {
        Some(JournalLine {
            range: before,
            sound: None,
            ..
        }) if sound.is_none() => before.end = range.end,
        _ => pieces.push(JournalLine {
            range,
            sound,
            ended,
        }),
    }
}

/// The places in a line where a change begins.
fn joints(line: &[u8]) -> impl Iterator<Item = usize> + '_ {
    const BEGINS: &[u8] = br#"{"n":"#;
    let places = line.windows(BEGINS.len()).enumerate().skip(1);
    places.filter_map(|(at, part)| (part == BEGINS).then_some(at))
}

/// A range without the blanks at its ends.
fn trimmed(bytes: &[u8], range: Range<usize>) -> Range<usize> {
    let text = &bytes[range.clone()];
    let start = range.start + (text.len() - text.trim_ascii_start().len());
    let length = text.trim_ascii().len();
    start..start + length
}

/// The major number of a journal that a newer program began, if that is what it is.
pub(crate) fn newer_major(bytes: &[u8]) -> Option<u32> {
    #[derive(serde::Deserialize)]
    struct First {
        format: Format,
    }
    let first = &bytes[..memchr(bytes)?];
    let Format { name, major, .. } = serde_json::from_slice::<First>(first).ok()?.format;
    (name == JOURNAL_NAME && major > JOURNAL_MAJOR).then_some(major)
}

fn memchr(bytes: &[u8]) -> Option<usize> {
    bytes.iter().position(|byte| *byte == b'\n')
}

/// The number and the sum before, which stand first in a line.
fn numbers(line: &[u8]) -> Option<(u64, Sum)> {
    let rest = line.strip_prefix(br#"{"n":"#)?;
    let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let n = std::str::from_utf8(&rest[..digits]).ok()?.parse().ok()?;
    let after = rest[digits..].strip_prefix(br#","after":""#)?.get(..8)?;
    Some((n, Sum::parse(after)?))
}

/// The change in a sound line; nothing if a newer program wrote it.
pub(crate) fn edit_of(line: &[u8]) -> Option<Edit> {
    json::read_leniently::<LineIn>(line)
        .ok()
        .map(|line| line.edit)
}

/// The change of a sound line with its number, moment and maker; nothing if a newer program wrote it.
pub(crate) fn entry_of(line: &[u8]) -> Option<JournalEntry> {
    serde_json::from_slice(line).ok().map(LineIn::entry)
}

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
        /// Damaged lines before the mark: the file contains their changes, the history has a hole.
        holes: usize,
    },
    /// It isn't this file's journal; why, as a sentence.
    Foreign(&'static str),
}

/// Where a journal stops making sense.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Cut {
    /// The first byte that can't be used.
    pub(crate) at: usize,
    /// What is wrong there.
    pub(crate) stop: Stop,
    /// Whole lines from there on.
    pub(crate) lines: usize,
}

/// Why a journal stops.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stop {
    /// The last line was never finished.
    Torn,
    /// A line is damaged, or one is missing, before others.
    Damaged,
}

/// Finds where the journal goes on from the file's mark.
pub(crate) fn continuation(scan: &Scan<'_>, mark: Mark) -> Continuation {
    if scan.start.is_some_and(|start| start.id != mark.id) {
        return Continuation::Foreign("It belongs to another project.");
    }
    let first = if scan.start == Some(mark) {
        0
    } else {
        let at_mark = scan.pieces.iter().position(|piece| {
            piece
                .sound
                .is_some_and(|(n, _, sum)| n == mark.sequence && sum == mark.sum)
        });
        let after_mark = || {
            scan.pieces.iter().position(|piece| {
                piece
                    .sound
                    .is_some_and(|(n, after, _)| n == mark.sequence + 1 && after == mark.sum)
            })
        };
        let Some(first) = at_mark.map(|at| at + 1).or_else(after_mark) else {
            let mut numbers = scan.pieces.iter().filter_map(|piece| piece.sound);
            return Continuation::Foreign(if numbers.any(|(n, ..)| n == mark.sequence) {
                "It belongs to another copy of the project, which went its own way."
            } else {
                "It doesn't reach to the changes that the file contains."
            });
        };
        first
    };
    let (before, after) = scan.pieces.split_at(first);
    let mut end = mark;
    let mut lines = Vec::new();
    let mut passed = 0;
    // What stands there twice was made once.
    let mut known: BTreeMap<u64, Sum> = before
        .iter()
        .filter_map(|piece| piece.sound)
        .map(|(n, _, sum)| (n, sum))
        .collect();
    for piece in after {
        match piece.sound {
            Some((n, _, sum)) if known.get(&n) == Some(&sum) => {}
            Some((n, after, sum)) if n == end.sequence + 1 && after == end.sum => {
                end = Mark {
                    sequence: n,
                    sum,
                    ..end
                };
                known.insert(n, sum);
                lines.push(piece.range.clone());
            }
            _ => break,
        }
        passed += 1;
    }
    let rest = &after[passed..];
    let cut = rest.first().map(|piece| Cut {
        at: piece.range.start,
        stop: if rest.len() == 1 && !piece.ended {
            Stop::Torn
        } else {
            Stop::Damaged
        },
        lines: rest.iter().filter(|piece| piece.sound.is_some()).count(),
    });
    Continuation::Follows {
        lines,
        end,
        cut,
        holes: before.iter().filter(|piece| piece.sound.is_none()).count()
            + usize::from(scan.header.is_none()),
    }
}

impl Scan<'_> {
    /// One line, read as far as this program understands it. An error means a newer program wrote it.
    pub(crate) fn entry(&self, line: &Range<usize>) -> Result<JournalEntry, serde_json::Error> {
        json::read_leniently(&self.bytes[line.clone()]).map(LineIn::entry)
    }

    /// One line, read whole: an error also if its edit holds a field that this program doesn't know, which would
    /// be lost by making the edit.
    pub(crate) fn whole_entry(
        &self,
        line: &Range<usize>,
    ) -> Result<JournalEntry, serde_json::Error> {
        // Fields beside the edit may come with later versions, and say nothing of the project.
        let line: LineIn<&RawValue> = serde_json::from_slice(&self.bytes[line.clone()])?;
        match json::read(line.edit.get().as_bytes())? {
            (_, true) => Err(serde::de::Error::custom("a field of the edit isn't known")),
            (edit, false) => Ok(LineIn {
                n: line.n,
                at: line.at,
                by: line.by,
                edit,
            }
            .entry()),
        }
    }

    /// The mark after a sound line.
    pub(crate) fn mark_after(&self, line: &Range<usize>, before: Mark) -> Mark {
        Mark {
            sequence: before.sequence + 1,
            sum: check(&self.bytes[line.clone()]).unwrap_or(before.sum),
            ..before
        }
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

    /// Every change that can be read, in order.
    pub(crate) fn entries(&self) -> Vec<JournalEntry> {
        self.lines()
            .filter_map(|line| self.entry(&line).ok())
            .collect()
    }

    /// The sound lines, with what makes them a chain.
    pub(crate) fn sound(&self) -> impl Iterator<Item = Sound> + '_ {
        self.pieces.iter().filter_map(Sound::of)
    }

    /// The sound lines, by their bytes.
    pub(crate) fn lines(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        let sound = self.pieces.iter().filter(|piece| piece.sound.is_some());
        sound.map(|piece| piece.range.clone())
    }

    /// Every place it passes through, from its start, by number.
    pub(crate) fn marks(&self) -> Vec<Mark> {
        let Some(start) = self.start else {
            return Vec::new();
        };
        let after = self.pieces.iter().filter_map(|piece| piece.sound);
        let mut marks: Vec<Mark> = std::iter::once(start)
            .chain(after.map(|(sequence, _, sum)| Mark {
                sequence,
                sum,
                ..start
            }))
            .collect();
        marks.sort_by_key(|mark| mark.sequence);
        marks
    }

    /// When the change of this number was made, if it can be read.
    pub(crate) fn time_of(&self, sequence: u64) -> Option<DateTime<Utc>> {
        let is_it = |piece: &&JournalLine| piece.sound.is_some_and(|(n, ..)| n == sequence);
        let piece = self.pieces.iter().find(is_it)?;
        Some(self.entry(&piece.range).ok()?.at)
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

    /// The project the journal starts from; nothing if that can't be read any more.
    pub(crate) fn base(&self) -> Option<Project> {
        let line = self.header.clone()?;
        let header: Header<ProjectParts> = json::read_leniently(&self.bytes[line]).ok()?;
        Some(header.base.map(Project::from_parts).unwrap_or_default())
    }

    /// The text of a line, as it is written.
    pub(crate) fn text(&self, line: &Range<usize>) -> Vec<u8> {
        [&self.bytes[line.clone()], b"\n"].concat()
    }
}
