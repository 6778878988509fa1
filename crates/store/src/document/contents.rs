//! What a file says it holds, written last: how many records of each kind, and the sum of the text before.
//!
//! ```json
//!   "contents": {
//!     "records": { "genotypes": 120, "observations": 344 },
//!     "sum": "1a2b3c4d"
//!   }
//! ```
//!
//! `sum` is the CRC-32 (as in gzip, RFC 1952) of the file up to the key `"sum"`. A person's editor, or another program,
//! makes it untrue: that is told, and nothing is taken for lost because of it.

use crate::journal::Sum;
use domain::{Project, RecordKind};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The minor number of the format from which files end so.
pub(super) const SINCE_MINOR: u32 = 3;

/// What a file says it holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Contents {
    /// How many records of each kind, by the name of their table; kinds without any are left out.
    pub(crate) records: BTreeMap<String, u64>,
    /// The sum of the file up to this key.
    sum: Sum,
}

const KEY: &[u8] = b"\"sum\": \"";

/// Puts it at the end of a text that ends as a pretty JSON object does.
pub(super) fn add(text: &mut Vec<u8>, project: &Project) -> Result<(), String> {
    if !text.ends_with(b"\n}") {
        return Err("the text of the project doesn't end as it should".into());
    }
    text.truncate(text.len() - 2);
    let counts = RecordKind::ALL.iter().filter_map(|kind| {
        let count = project.count(*kind);
        (count > 0).then(|| format!("\n      \"{}\": {count}", kind.table()))
    });
    let mut end = String::from(",\n  \"contents\": {\n    \"records\": {");
    let counts = counts.collect::<Vec<_>>().join(",");
    if !counts.is_empty() {
        // Writing into a text can't fail.
        let _ = write!(end, "{counts}\n    ");
    }
    end.push_str("},\n    ");
    text.extend_from_slice(end.as_bytes());
    let sum = Sum::of(text);
    text.extend_from_slice(format!("\"sum\": \"{sum}\"\n  }}\n}}\n").as_bytes());
    Ok(())
}

/// Whether a text is the one its sum was made of; nothing if it doesn't end with one.
pub(super) fn agrees(bytes: &[u8]) -> Option<bool> {
    let from = bytes.len().saturating_sub(80);
    let tail = &bytes[from..];
    let at = tail
        .windows(KEY.len())
        .rposition(|window| window == KEY)
        .map(|at| from + at)?;
    let rest = &bytes[at + KEY.len()..];
    let sum = Sum::parse(rest.get(..8)?)?;
    let end: Vec<u8> = rest[8..]
        .iter()
        .copied()
        .filter(|byte| !byte.is_ascii_whitespace())
        .collect();
    if end != b"\"}}" {
        return None;
    }
    let text = &bytes[..at];
    // Ends of lines are turned by programs that carry files from one system to another.
    let turned = || {
        let plain: Vec<u8> = text.iter().copied().filter(|byte| *byte != b'\r').collect();
        plain.len() < text.len() && Sum::of(&plain) == sum
    };
    Some(Sum::of(text) == sum || turned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_changed_byte_before_the_sum_is_noticed_and_turned_line_ends_are_not() {
        let mut text = b"{\n  \"project\": {}\n}".to_vec();
        add(&mut text, &Project::default()).unwrap();
        assert_eq!(agrees(&text), Some(true));
        let turned = String::from_utf8(text.clone())
            .unwrap()
            .replace('\n', "\r\n");
        assert_eq!(agrees(turned.as_bytes()), Some(true));
        let sum = text.len() - 20;
        for at in 0..sum {
            let mut flipped = text.clone();
            flipped[at] ^= 4;
            assert_ne!(agrees(&flipped), Some(true), "at {at}");
        }
    }
}
