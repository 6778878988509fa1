//! A line cut into fields.
//!
//! Quotes hold within a line only: a stray one must not swallow the lines after it, as it would in a table where
//! fields may run over lines.

use super::mapping::Separator;
use std::ops::Range;

/// The fields of a line, as places in it, without quotes and spaces about them. `fields` is emptied first.
pub(super) fn split(line: &str, separator: Separator, fields: &mut Vec<Range<usize>>) {
    fields.clear();
    let bytes = line.as_bytes();
    let separates = |byte: u8| match separator {
        Separator::Comma => byte == b',',
        Separator::Semicolon => byte == b';',
        Separator::Tab => byte == b'\t',
        Separator::Bar => byte == b'|',
        Separator::Spaces => matches!(byte, b' ' | b'\t'),
    };
    let (mut begin, mut quoted, mut fresh) = (0, false, true);
    for (at, byte) in bytes.iter().copied().enumerate() {
        if byte == b'"' && (quoted || fresh) {
            quoted = !quoted;
            fresh = false;
        } else if !quoted && separates(byte) {
            push(line, begin..at, separator, fields);
            begin = at + 1;
            fresh = true;
        } else if byte != b' ' {
            fresh = false;
        }
    }
    push(line, begin..line.len(), separator, fields);
}

fn push(line: &str, place: Range<usize>, separator: Separator, fields: &mut Vec<Range<usize>>) {
    let held = trimmed(line, place);
    let text = &line[held.clone()];
    let bare = text
        .strip_prefix('"')
        .and_then(|text| text.strip_suffix('"'))
        .map_or(held.clone(), |_| {
            trimmed(line, held.start + 1..held.end - 1)
        });
    if separator == Separator::Spaces && bare.is_empty() {
        return;
    }
    fields.push(bare);
}

fn trimmed(line: &str, place: Range<usize>) -> Range<usize> {
    let text = &line[place.clone()];
    let left = text.len() - text.trim_start().len();
    let start = place.start + left;
    start..start + text.trim().len()
}
