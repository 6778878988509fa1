//! A line cut into fields.
//!
//! Quotes hold within a line only: a stray one must not swallow the lines after it, as it would in a table where
//! fields may run over lines.

use super::mapping::Separator;
use memchr::{memchr, memchr_iter};
use std::ops::Range;

/// The first fields of a line, at most so many, as places in it, without quotes and spaces about them. `fields` is
/// emptied first.
pub(super) fn split(line: &str, separator: Separator, most: usize, fields: &mut Vec<Range<usize>>) {
    fields.clear();
    let bytes = line.as_bytes();
    match separator.byte() {
        Some(byte) if memchr(b'"', bytes).is_none() => {
            let mut begin = 0;
            for end in memchr_iter(byte, bytes).chain([line.len()]).take(most) {
                fields.push(trimmed(line, begin..end));
                begin = end + 1;
            }
        }
        _ => {
            split_at_quotes(line, separator, fields);
            fields.truncate(most);
        }
    }
}

/// The same, byte by byte: fields may be quoted, or separated by several spaces.
fn split_at_quotes(line: &str, separator: Separator, fields: &mut Vec<Range<usize>>) {
    let separates = |byte: u8| match separator.byte() {
        Some(separator) => byte == separator,
        None => matches!(byte, b' ' | b'\t'),
    };
    let (mut begin, mut quoted, mut fresh) = (0, false, true);
    for (at, byte) in line.bytes().enumerate() {
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
    // Most fields begin and end with a letter or a figure, which is quickly seen.
    let bare = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_graphic);
    if bare(text.as_bytes().first()) && bare(text.as_bytes().last()) {
        return place;
    }
    let left = text.len() - text.trim_start().len();
    let start = place.start + left;
    start..start + text.trim().len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_line_without_quotes_is_cut_as_any_other(line in "[a1 ;,\t|é\u{a0}.-]{0,30}", most in 0_usize..8) {
            for separator in Separator::ALL {
                let (mut quickly, mut plainly) = (Vec::new(), Vec::new());
                split(&line, separator, most, &mut quickly);
                split_at_quotes(&line, separator, &mut plainly);
                plainly.truncate(most);
                prop_assert_eq!(quickly, plainly, "{:?}", separator);
            }
        }
    }
}
