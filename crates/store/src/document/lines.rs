//! What can be had from a file that isn't JSON any more, by the layout it was saved in.

use super::lenient::{Loose, parse};
use serde_json::value::RawValue;

/// The most lines that are looked at: ten times a project of a hundred thousand plants with scores.
const MOST_LINES: usize = 30_000_000;

/// Goes through the lines: a damaged spot costs the records it touches and no others.
pub(super) fn salvage(bytes: &[u8]) -> Result<Loose, String> {
    let mut loose = Loose {
        damaged: true,
        torn: true,
        ..Loose::default()
    };
    let mut section = String::new();
    let mut lost = 0_usize;
    let lines: Vec<&[u8]> = bytes
        .split(|byte| *byte == b'\n')
        .take(MOST_LINES)
        .collect();
    let mut at = 0;
    while at < lines.len() {
        let line = lines[at].strip_suffix(b"\r").unwrap_or(lines[at]);
        let (next, found) = match opening(line) {
            Some((2, key, b'{')) if key != "project" => take(&lines, at, 2),
            Some((4, "settings", b'{')) => take(&lines, at, 4),
            Some((2 | 4, key, b'[')) => {
                key.clone_into(&mut section);
                (at + 1, Ok(None))
            }
            _ if line == b"      {"
                || (["set_aside", "losses"].contains(&&*section) && line == b"    {") =>
            {
                take(&lines, at, line.len() - 1)
            }
            _ => (at + 1, Ok(None)),
        };
        match (found, opening(line).map(|(_, key, _)| key)) {
            (Ok(Some(text)), Some("format")) => loose.format = Some(text),
            (Ok(Some(text)), Some("journal")) => loose.journal = Some(text),
            (Ok(Some(text)), Some("settings")) => loose.settings = Some(text),
            (Ok(Some(text)), Some("counts")) => loose.counts = parse(&text),
            (Ok(Some(text)), Some("contents")) => loose.contents = parse(&text),
            (Ok(Some(text)), Some("set_aside")) => loose.requarantine(text),
            (Ok(Some(text)), Some(other)) => match parse(&text) {
                Some(value) => drop(loose.other.insert(other.to_owned(), value)),
                None => loose.requarantine(text),
            },
            (Ok(Some(text)), None) if section == "losses" => loose.losses.extend(parse(&text)),
            (Ok(Some(text)), None) if section == "set_aside" => loose.requarantine(text),
            (Ok(Some(text)), None) => loose.tables.entry(section.clone()).or_default().push(text),
            (Ok(None), _) => {}
            (Err(()), _) => lost += 1,
        }
        at = next;
    }
    if loose.format.is_none() && loose.tables.is_empty() {
        return Err("it is no JSON text".into());
    }
    loose.torn_note = Some(match lost {
        0 => {
            "The file is damaged: it is no sound JSON text, though each piece of it could be read."
                .into()
        }
        1 => "The file is damaged: a piece of it can't be read.".into(),
        lost => format!("The file is damaged: {lost} pieces of it can't be read."),
    });
    Ok(loose)
}

/// The indent, key and bracket of a line that opens a part, such as `    "genotypes": [`.
fn opening(line: &[u8]) -> Option<(usize, &str, u8)> {
    let line = std::str::from_utf8(line).ok()?;
    let inner = line.trim_start_matches(' ');
    let (key, rest) = inner.strip_prefix('"')?.split_once('"')?;
    let bracket = rest.strip_prefix(": ")?;
    matches!(bracket, "{" | "[").then(|| (line.len() - inner.len(), key, bracket.as_bytes()[0]))
}

/// The object that opens at line `from` and closes at the next line of its indent; after it, the line to go
/// on with. An error if it is damaged.
fn take(lines: &[&[u8]], from: usize, indent: usize) -> (usize, Result<Option<Box<RawValue>>, ()>) {
    let closes = |line: &[u8]| {
        line.get(indent) == Some(&b'}') && line[..indent].iter().all(|byte| *byte == b' ')
    };
    let begins = |line: &[u8]| {
        line.len() > indent && line[indent] == b'{' && line[..indent].iter().all(|b| *b == b' ')
    };
    let mut text = lines[from][lines[from].iter().position(|b| *b == b'{').unwrap_or(0)..].to_vec();
    for (at, line) in lines.iter().enumerate().skip(from + 1) {
        let next = opening(line).is_some_and(|(at, ..)| at <= indent);
        if next || begins(line) {
            return (at, Err(()));
        }
        text.push(b'\n');
        if closes(line) {
            text.push(b'}');
            let found = String::from_utf8(text)
                .ok()
                .and_then(|text| RawValue::from_string(text).ok());
            return (at + 1, found.map(Some).ok_or(()));
        }
        text.extend_from_slice(line);
    }
    // Cut off: go on with the next line, in case only the closing one was hit.
    (from + 1, Err(()))
}
