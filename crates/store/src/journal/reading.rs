//! Reading a journal, sound or damaged.

use super::lines::{JournalLine, Taking, joints, memchr, numbers, pieces_of, trimmed};
use super::{Header, JOURNAL_MAJOR, JOURNAL_NAME, JournalEntry, LineIn, Mark, Sum, check};
use crate::document::Format;
use crate::json;
use chrono::{DateTime, Utc};
use domain::{Edit, Project, ProjectParts};
use serde_json::value::RawValue;
use std::ops::Range;

/// A journal taken apart, nothing in it read yet but the first line's place and each line's number and sums.
#[derive(Debug)]
pub(crate) struct Scan<'a> {
    pub(super) bytes: &'a [u8],
    /// Where the journal starts; nothing if that can't be read any more.
    pub(crate) start: Option<Mark>,
    /// The first line, if it is whole, base and all.
    pub(super) header: Option<Range<usize>>,
    pub(super) pieces: Vec<JournalLine>,
    /// The first line, in whatever state.
    pub(super) first: Range<usize>,
}

/// Takes a journal apart. Nothing if neither its first line nor any change in it can be read.
pub(crate) fn scan(bytes: &[u8]) -> Option<Scan<'_>> {
    // An editor may have put a byte order mark there.
    let from = if bytes.starts_with(b"\xEF\xBB\xBF") {
        3
    } else {
        0
    };
    let mut taking = Taking::new(bytes);
    let mut first: Option<First> = None;
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
        taking.line(rest, end.is_some());
    }
    let Taking { pieces, again, .. } = taking;
    let mut first = first?;
    // A journal that stands there twice has its first line twice.
    if let Some(again) = again.filter(|_| first.header.is_none())
        && let Some(again) = read_first(bytes, again)
        && first.start.is_none_or(|start| Some(start) == again.start)
    {
        (first.start, first.header) = (again.start, again.header);
    }
    let change = pieces.iter().find(|piece| piece.sound.is_some());
    let ends = change.map_or(bytes.len(), |change| change.range.start);
    (first.start.is_some() || change.is_some()).then_some(Scan {
        bytes,
        start: first.start,
        header: first.header,
        first: 0..ends,
        pieces,
    })
}

/// A line that is whole and agrees with its sum.
#[derive(Debug, Clone)]
pub(crate) struct Sound {
    /// Its bytes, without its end.
    pub(crate) range: Range<usize>,
    pub(super) sequence: u64,
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
        self.sequence == mark.sequence.saturating_add(1) && self.after == mark.sum
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
    let pieces = pieces_of(bytes, from);
    let once = pieces.iter().filter(|piece| !piece.repeat);
    once.filter_map(Sound::of).collect()
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
            sequence: before.sequence.saturating_add(1),
            sum: check(&self.bytes[line.clone()]).unwrap_or(before.sum),
            ..before
        }
    }

    /// Every change that can be read, in order.
    pub(crate) fn entries(&self) -> Vec<JournalEntry> {
        self.lines()
            .filter_map(|line| self.entry(&line).ok())
            .collect()
    }

    /// The sound lines, with what makes them a chain.
    pub(crate) fn sound(&self) -> impl Iterator<Item = Sound> + '_ {
        let once = self.pieces.iter().filter(|piece| !piece.repeat);
        once.filter_map(Sound::of)
    }

    /// The number of each sound line, the sum of the line before, its own.
    pub(super) fn sound_sums(&self) -> impl Iterator<Item = (u64, Sum, Sum)> + '_ {
        let once = self.pieces.iter().filter(|piece| !piece.repeat);
        once.filter_map(|piece| piece.sound)
    }

    /// The sound lines, by their bytes.
    pub(crate) fn lines(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        self.sound().map(|line| line.range)
    }

    /// Every place it passes through, from its start, by number.
    pub(crate) fn marks(&self) -> Vec<Mark> {
        let Some(start) = self.start else {
            return Vec::new();
        };
        let mut marks: Vec<Mark> = std::iter::once(start)
            .chain(self.sound().map(|line| line.mark_after(start)))
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
