//! The journal: every change, in order, as it happens.
//!
//! It lies beside the project (`season.binewright-journal`), one JSON text a line, and only ever grows: it
//! brings back what a killed program had not yet saved, it is the audit trail, and with the project it began
//! from in its first line, any moment can be had back from it.
//!
//! ```json
//! {"format":{…},"start":{"id":"0190…","sequence":0,"sum":"00000000"},"head":"9c0d1e2f","base":{…},"sum":"5e6f7a8b"}
//! {"n":1,"after":"00000000","at":"2026-03-01T09:30:00.123Z","by":"Ida","edit":{…},"sum":"1a2b3c4d"}
//! ```
//!
//! `sum` is the CRC-32 (as in gzip, RFC 1952) of the line up to it. `after` repeats the sum of the line
//! before, so that the lines form a chain: a journal continues a project file only if the chain passes
//! through the very [`Mark`] the file names. Journals of two copies that went apart can't be mistaken for each other.
//! `head` is the sum of the first line up to it, apart from the base: where the base is damaged, the changes still follow.
//! Where even that is damaged they follow if one of them is the file's. The chain is followed whatever stands between its
//! lines: ends of lines turned by other programs, blank lines, lines that run together, and lines or a whole journal that
//! stand there twice do no harm.

mod beside;
mod continuation;
mod lines;
mod memory;
mod reading;
mod tape;
mod writer;

pub(crate) use beside::KnownChanges;
pub(crate) use continuation::{Continuation, Cut, Harmless, Stop, continuation};
pub(crate) use memory::{Handed, Memory};
pub(crate) use reading::{Scan, Sound, edit_of, entry_of, newer_major, scan, sound_lines};
pub(crate) use tape::Begin;
pub(crate) use writer::Writer;

use chrono::{DateTime, SecondsFormat, Utc};
use domain::{Edit, Project};
use serde::{Deserialize, Serialize};
use std::fmt;
use uuid::Uuid;

/// The name of the format, in every journal's first line.
pub const JOURNAL_NAME: &str = "binewright journal";

/// The major number of the journals this program reads and writes.
pub const JOURNAL_MAJOR: u32 = 1;

/// A check sum, written as eight hexadecimal digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sum(pub u32);

impl Sum {
    /// The CRC-32 of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(crc32fast::hash(bytes))
    }

    /// The sum of the bytes that this one is of, and these after them.
    pub(crate) fn with(self, more: &[u8]) -> Self {
        let mut hasher = crc32fast::Hasher::new_with_initial(self.0);
        hasher.update(more);
        Self(hasher.finalize())
    }

    pub(crate) fn parse(text: &[u8]) -> Option<Self> {
        let text = std::str::from_utf8(text).ok()?;
        let plain = text.len() == 8 && text.bytes().all(|digit| digit.is_ascii_hexdigit());
        plain.then(|| u32::from_str_radix(text, 16).ok().map(Self))?
    }
}

impl fmt::Display for Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:08x}", self.0)
    }
}

impl Serialize for Sum {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Sum {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Sum".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "A check sum: CRC-32 (as in gzip, RFC 1952) as eight hexadecimal digits.",
            "type": "string",
            "pattern": "^[0-9a-fA-F]{8}$"
        })
    }
}

impl<'de> Deserialize<'de> for Sum {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(text.as_bytes())
            .ok_or_else(|| serde::de::Error::custom("a check sum has eight hexadecimal digits"))
    }
}

/// A place in a journal: after this many changes of the project with this identity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Mark {
    /// The identity of the project and its journal, for ever the same.
    pub id: Uuid,
    /// The number of the last change before this place.
    #[serde(deserialize_with = "believable")]
    pub sequence: u64,
    /// The sum of that change's line.
    pub sum: Sum,
}

/// The most changes that a number read from a file is believed to count: what JSON keeps exactly everywhere.
const MOST_CHANGES: u64 = 1 << 53;

/// A number of changes; none, where the one in the file can't be right, so that the next change has a number too.
fn believable<'de, D: serde::Deserializer<'de>>(number: D) -> Result<u64, D::Error> {
    let number = u64::deserialize(number)?;
    Ok(if number > MOST_CHANGES { 0 } else { number })
}

impl Mark {
    /// The beginning of a new project.
    pub(crate) fn new(id: Uuid) -> Self {
        Self {
            id,
            sequence: 0,
            sum: Sum::default(),
        }
    }
}

/// A change as it was recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalEntry {
    /// Its number, counted from 1 through the project's life.
    pub sequence: u64,
    /// When it was made.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: String,
    /// What it was.
    pub edit: Edit,
}

/// A change as a line of a journal, to be followed by its sum.
#[derive(Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct LineOut<'a> {
    /// Its number, counted from 1 through the project's life.
    n: u64,
    /// The sum of the line before.
    after: Sum,
    /// When it was made.
    #[cfg_attr(feature = "schema", schemars(with = "DateTime<Utc>"))]
    at: String,
    /// By whom.
    by: &'a str,
    /// What it was.
    edit: &'a Edit,
}

#[derive(Deserialize)]
struct LineIn<E = Edit> {
    n: u64,
    at: DateTime<Utc>,
    #[serde(default)]
    by: String,
    edit: E,
}

impl LineIn {
    fn entry(self) -> JournalEntry {
        JournalEntry {
            sequence: self.n,
            at: self.at,
            by: self.by,
            edit: self.edit,
        }
    }
}

/// The first line of a journal, to be followed by its sum.
#[derive(Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Header<P> {
    format: crate::document::Format,
    /// Where the journal starts.
    start: Mark,
    /// The sum of the line up to here; journals of the first formats have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    head: Option<Sum>,
    /// The project there; an empty one if it is left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    base: Option<P>,
}

/// The line of a change that follows `mark`, and the mark after it. An error if it can't be written as text.
pub(crate) fn line(
    mark: Mark,
    at: DateTime<Utc>,
    by: &str,
    edit: &Edit,
) -> Result<(Vec<u8>, Mark), serde_json::Error> {
    let out = LineOut {
        n: mark.sequence.saturating_add(1),
        after: mark.sum,
        at: at.to_rfc3339_opts(SecondsFormat::Millis, true),
        by,
        edit,
    };
    let mut text = serde_json::to_vec(&out)?;
    let sum = seal(&mut text);
    let mark = Mark {
        sequence: out.n,
        sum,
        ..mark
    };
    Ok((text, mark))
}

/// The first line of a journal that starts at `mark` with the project `base`.
fn header(mark: Mark, base: &Project) -> Result<Vec<u8>, serde_json::Error> {
    let header = Header::<&Project> {
        format: crate::document::Format {
            name: JOURNAL_NAME.into(),
            major: JOURNAL_MAJOR,
            minor: 1,
        },
        start: mark,
        head: None,
        base: None,
    };
    let mut text = serde_json::to_vec(&header)?;
    text.pop();
    let head = Sum::of(&text);
    text.extend_from_slice(format!(",\"head\":\"{head}\"").as_bytes());
    if *base != Project::default() {
        text.extend_from_slice(b",\"base\":");
        serde_json::to_writer(&mut text, base)?;
    }
    text.push(b'}');
    seal(&mut text);
    Ok(text)
}

/// Makes a line of a JSON object, with its sum as the last field.
fn seal(text: &mut Vec<u8>) -> Sum {
    text.pop();
    let sum = Sum::of(text);
    text.extend_from_slice(format!(",\"sum\":\"{sum}\"}}\n").as_bytes());
    sum
}

/// The sum of a line, if the line is whole and agrees with it. `line` is without its end.
fn check(line: &[u8]) -> Option<Sum> {
    const TAIL: usize = r#","sum":"00000000"}"#.len();
    let (text, tail) = line.split_at_checked(line.len().checked_sub(TAIL)?)?;
    let digits = tail.strip_prefix(br#","sum":""#)?.strip_suffix(br#""}"#)?;
    let sum = Sum::parse(digits)?;
    (Sum::of(text) == sum).then_some(sum)
}
