//! Reading a journal, sound or damaged.

use super::{Header, JOURNAL_MAJOR, JOURNAL_NAME, JournalEntry, LineIn, Mark, Sum, check};
use crate::document::Format;
use crate::json;
use chrono::{DateTime, Utc};
use domain::{Edit, Project, ProjectParts};
use std::ops::Range;

/// A journal taken apart, nothing in it read yet but the first line's place and each line's number and sums.
#[derive(Debug)]
pub(crate) struct Scan<'a> {
    bytes: &'a [u8],
    /// Where the journal starts.
    pub(crate) start: Mark,
    header: Range<usize>,
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

/// Takes a journal apart. Nothing if its first line isn't whole.
pub(crate) fn scan(bytes: &[u8]) -> Option<Scan<'_>> {
    let first = 0..memchr(bytes)?;
    check(&bytes[first.clone()])?;
    let header: Header<serde::de::IgnoredAny> =
        serde_json::from_slice(&bytes[first.clone()]).ok()?;
    if header.format.name != JOURNAL_NAME || header.format.major != JOURNAL_MAJOR {
        return None;
    }
    let mut pieces = Vec::new();
    let mut from = first.end + 1;
    while from < bytes.len() {
        let end = memchr(&bytes[from..]).map(|length| from + length);
        let range = from..end.unwrap_or(bytes.len());
        let line = &bytes[range.clone()];
        let sound = match (end, check(line), numbers(line)) {
            (Some(_), Some(sum), Some((n, after))) => Some((n, after, sum)),
            _ => None,
        };
        from = end.map_or(bytes.len(), |end| end + 1);
        match pieces.last_mut() {
            // Damage is one piece however many lines it looks like.
            Some(JournalLine {
                range: before,
                sound: None,
                ..
            }) if sound.is_none() => before.end = range.end,
            _ => pieces.push(JournalLine {
                range,
                sound,
                ended: end.is_some(),
            }),
        }
    }
    Some(Scan {
        bytes,
        start: header.start,
        header: first,
        pieces,
    })
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
    if scan.start.id != mark.id {
        return Continuation::Foreign("It belongs to another project.");
    }
    let first = if scan.start == mark {
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
    for piece in after {
        match piece.sound {
            Some((n, after, sum)) if n == end.sequence + 1 && after == end.sum => {
                end = Mark {
                    sequence: n,
                    sum,
                    ..end
                };
                lines.push(piece.range.clone());
            }
            _ => break,
        }
    }
    let rest = &after[lines.len()..];
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
        holes: before.iter().filter(|piece| piece.sound.is_none()).count(),
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
        let mut unknown = None;
        let line: LineIn = json::read(&self.bytes[line.clone()], &mut |path| {
            let path = path.to_string();
            if path.starts_with("edit") {
                unknown = Some(path);
            }
        })?;
        match unknown {
            Some(path) => Err(serde::de::Error::custom(format!("{path} isn't known"))),
            None => Ok(line.entry()),
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
        let changes = sequence.checked_sub(self.start.sequence)? as usize;
        let Continuation::Follows { lines, .. } = continuation(self, self.start) else {
            return None;
        };
        let last = match changes.checked_sub(1) {
            Some(last) => lines.get(last)?,
            None => &self.header,
        };
        Some(last.end + 1)
    }

    /// Whether it is sound and its last change is the one before this mark.
    pub(crate) fn ends_at(&self, mark: Mark) -> bool {
        matches!(
            continuation(self, self.start),
            Continuation::Follows { end, cut: None, .. } if end == mark
        )
    }

    /// Every change that can be read, in order.
    pub(crate) fn entries(&self) -> Vec<JournalEntry> {
        self.lines()
            .filter_map(|line| self.entry(&line).ok())
            .collect()
    }

    /// The sound lines, by their bytes.
    pub(crate) fn lines(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        let sound = self.pieces.iter().filter(|piece| piece.sound.is_some());
        sound.map(|piece| piece.range.clone())
    }

    /// Every place it passes through, from its start, by number.
    pub(crate) fn marks(&self) -> Vec<Mark> {
        let after = self.pieces.iter().filter_map(|piece| piece.sound);
        let mut marks: Vec<Mark> = std::iter::once(self.start)
            .chain(after.map(|(sequence, _, sum)| Mark {
                sequence,
                sum,
                ..self.start
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
        let wanted = sequence.checked_sub(self.start.sequence)? as usize;
        let Continuation::Follows { lines, .. } = continuation(self, self.start) else {
            return None;
        };
        let mut project = self.base().ok()?;
        for line in lines.get(..wanted)? {
            project.apply(self.entry(line).ok()?.edit).ok()?;
        }
        Some(project)
    }

    /// The project the journal starts from.
    pub(crate) fn base(&self) -> Result<Project, serde_json::Error> {
        let header: Header<ProjectParts> = json::read_leniently(&self.bytes[self.header.clone()])?;
        Ok(header.base.map(Project::from_parts).unwrap_or_default())
    }
}
