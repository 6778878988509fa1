//! What stands in a project file, and how it is read.
//!
//! ```json
//! {
//!   "format": { "name": "binewright project", "major": 1, "minor": 0 },
//!   "journal": { "id": "0190…", "sequence": 12, "sum": "1a2b3c4d" },
//!   "counts": { "at": 12, "total": 1708, "records": { "genotypes": 120, … } },
//!   "project": { "settings": { … }, "stages": [ … ], … },
//!   "set_aside": [ … ],
//!   "contents": { "records": { "genotypes": 120, … }, "sum": "5e6f7a8b" }
//! }
//! ```
//!
//! `journal` names the last change the file contains (see [`crate::journal`]). Records stand in the order of
//! their identities, so that a comparison of two files shows what changed, and a file saved after loading is
//! the same to the byte. `counts` says how many records follow, so that a file whose end is cut off tells by itself what
//! went with it (`counts`). `contents` says last of all how many records there are and what the text before sums up to
//! (`contents`), so that a flipped bit or a lost part doesn't pass for what was saved.
//!
//! **Reading is lenient, record by record.** A sound file of this format goes straight into the types. If that
//! fails, or the file has records in quarantine, each record is read by itself; one that can't be read, or whose
//! identity is taken, goes to `set_aside` with the reason, its text unchanged, and is tried again at every
//! opening. Bytes that are no UTF-8 are read as Latin-1, where that makes a sound file of it. A file that isn't JSON any more (a bad sector, a cut end) is read by its lines, which works as
//! long as it has the layout it was saved in.
//!
//! **Versions.** A minor number grows when something is added: older programs keep what they don't know
//! (`overlay`) and write it back, whatever number the file has. A major number grows when something changes its meaning: older programs
//! open it for reading only, newer ones carry it forward by functions on the JSON values (`migrate`), chosen
//! over a set of old types because they are small, can't fall out of step with types that move on, and one
//! test with a file of that version holds each.

mod contents;
mod counts;
mod known;
mod lenient;
mod lines;
pub(crate) mod migrate;
mod overlay;

use crate::damage::Loss;
use crate::journal::Mark;
use crate::json;
use contents::Contents;
use counts::Counts;
use domain::{Project, RecordKind};
use known::Whole;
use overlay::Overlay;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::fmt;
use uuid::Uuid;

/// The name of the format, in every project file.
pub const FORMAT_NAME: &str = "binewright project";
/// The major number of the format this program writes.
pub const FORMAT_MAJOR: u32 = 1;
/// The minor number of the format this program writes.
pub const FORMAT_MINOR: u32 = 7;

/// The format of a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Format {
    pub(crate) name: String,
    pub(crate) major: u32,
    pub(crate) minor: u32,
}

impl Format {
    /// Whether a newer program of the same major number wrote it.
    pub(crate) fn is_newer(&self) -> bool {
        self.major == FORMAT_MAJOR && self.minor > FORMAT_MINOR
    }

    fn current() -> Self {
        Self {
            name: FORMAT_NAME.into(),
            major: FORMAT_MAJOR,
            minor: FORMAT_MINOR,
        }
    }
}

/// A record that can't be in the project, kept in the file as it was found.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "SetAside")
)]
pub struct QuarantinedRecord {
    /// The table it stood in.
    pub table: String,
    /// Its place in that table when it was found, from 0.
    pub index: usize,
    /// Why it was quarantined.
    pub why: QuarantineReason,
    /// Its text.
    pub record: Box<RawValue>,
}

/// Why a record was quarantined.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "Why")
)]
#[serde(rename_all = "snake_case")]
pub enum QuarantineReason {
    /// It can't be read; what is wrong with it.
    Unreadable(String),
    /// Another record has the same identity.
    Duplicate,
}

impl QuarantinedRecord {
    /// What it is, if its table is known.
    pub fn kind(&self) -> Option<RecordKind> {
        RecordKind::of_table(&self.table)
    }

    /// Its identity, if that can be seen.
    pub fn id(&self) -> Option<Uuid> {
        self.visible()?.id().and_then(|id| id.parse().ok())
    }

    /// Its code or name, if one can be seen.
    pub fn code(&self) -> Option<String> {
        let seen = self.visible()?;
        seen.code().or_else(|| seen.name())
    }

    fn visible(&self) -> Option<Visible<'_>> {
        serde_json::from_str(self.record.get()).ok()
    }
}

/// What tells records apart, seen without building the rest, which may be anything.
#[derive(Deserialize)]
struct Visible<'a> {
    #[serde(borrow, default)]
    id: Option<&'a RawValue>,
    #[serde(borrow, default)]
    code: Option<&'a RawValue>,
    #[serde(borrow, default)]
    name: Option<&'a RawValue>,
}

impl Visible<'_> {
    fn id(&self) -> Option<String> {
        serde_json::from_str(self.id?.get()).ok()
    }

    fn code(&self) -> Option<String> {
        serde_json::from_str(self.code?.get()).ok()
    }

    fn name(&self) -> Option<String> {
        serde_json::from_str(self.name?.get()).ok()
    }
}

impl fmt::Display for QuarantinedRecord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let noun = match self.kind() {
            Some(kind) => kind.noun(),
            None => &self.table,
        };
        match self.code() {
            Some(code) => write!(f, "The {noun} {code}")?,
            None => write!(f, "The {noun} at place {}", self.index + 1)?,
        }
        match &self.why {
            QuarantineReason::Unreadable(what) => write!(f, " can't be read ({what}).")?,
            QuarantineReason::Duplicate => write!(f, " has the identity of another record.")?,
        }
        write!(f, " It is kept in the file.")
    }
}

/// What a project file holds.
#[derive(Debug, Clone)]
pub(crate) struct Document {
    pub(crate) format: Format,
    /// The last change it contains; nothing if that can't be read.
    pub(crate) mark: Option<Mark>,
    pub(crate) project: Project,
    pub(crate) preserved: Preserved,
    /// What was lost, if something was.
    pub(crate) lost: Option<Lost>,
    /// Whether something else than this program wrote the text, or changed it since.
    pub(crate) changed_outside: bool,
    /// What is wrong with a text that is no JSON, to be told where nothing tells what is missing because of it.
    pub(crate) torn_note: Option<String>,
    /// What was lost or found on the way that is no record, as sentences.
    pub(crate) notes: Vec<String>,
    /// Whether the file was damaged, so that the original must be kept before it is written over.
    pub(crate) damaged: bool,
}

/// Records that a damaged file doesn't give any more.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Lost {
    /// How many, by the file's own count; empty if that is lost too.
    pub(crate) by_kind: BTreeMap<RecordKind, usize>,
}

/// What a file holds beside the project and must hold again when saved.
#[derive(Debug, Clone)]
pub(crate) struct Preserved {
    /// This program's minor number, or that of the newer one that wrote the file.
    pub(crate) minor: u32,
    pub(crate) quarantined: Vec<QuarantinedRecord>,
    pub(crate) overlay: Overlay,
    pub(crate) losses: Vec<Loss>,
    pub(crate) other: Map<String, Value>,
}

impl Default for Preserved {
    fn default() -> Self {
        Self {
            minor: FORMAT_MINOR,
            quarantined: Vec::new(),
            overlay: Overlay::default(),
            losses: Vec::new(),
            other: Map::new(),
        }
    }
}

/// The file's top level. `P` is the project: plain records when read, the project itself when written.
#[derive(Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Sheet<P> {
    /// What the file is.
    format: Format,
    /// The last change it contains.
    journal: Mark,
    /// How many records follow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    counts: Option<Counts>,
    /// Every record.
    project: P,
    /// Records that can't be in the project.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    set_aside: Vec<QuarantinedRecord>,
    /// Records that went missing from a damaged file, and were gone on without.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    losses: Vec<Loss>,
    /// What the file holds; the last there is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    contents: Option<Contents>,
    #[serde(flatten)]
    other: Map<String, Value>,
}

/// Whether a text is a project file as this program wrote it, to the last byte.
pub(crate) fn is_whole(bytes: &[u8]) -> bool {
    contents::agrees(bytes) == Some(true)
}

/// The last change a file contains, as it says near its beginning, nothing else of it read.
pub(crate) fn mark_of(bytes: &[u8]) -> Option<Mark> {
    const KEY: &[u8] = b"\"journal\":";
    const NEAR: usize = 4096;
    let near = &bytes[..bytes.len().min(NEAR)];
    let at = memchr::memmem::find(near, KEY)? + KEY.len();
    let mut values = serde_json::Deserializer::from_slice(&near[at..]).into_iter();
    values.next()?.ok()
}

/// Whether there is nothing in a file at all: it is empty, or has only zeros and blanks.
pub(crate) fn is_blank(bytes: &[u8]) -> bool {
    let nothing = |byte: &u8| *byte == 0 || byte.is_ascii_whitespace();
    bytes.iter().all(nothing)
}

/// What a file in which there is nothing stands for: a project that has lost everything.
pub(crate) fn blank(mark: Option<Mark>) -> Document {
    Document {
        format: Format::current(),
        mark,
        project: Project::default(),
        preserved: Preserved::default(),
        lost: Some(Lost::default()),
        changed_outside: false,
        torn_note: None,
        notes: vec!["There is nothing in the file.".into()],
        damaged: true,
    }
}

/// Reads a project file. The error says in a few words why it is none.
pub(crate) fn read(bytes: &[u8]) -> Result<Document, String> {
    // An editor may have put a byte order mark there.
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let (known, agrees) = known::read(bytes);
    if let Some(sheet) = known
        && sheet.format.name == FORMAT_NAME
        && sheet.format.major == FORMAT_MAJOR
        && !sheet.format.is_newer()
        && sheet.set_aside.is_empty()
        && (agrees == Some(true) || sheet.format.minor < contents::SINCE_MINOR)
    {
        let Whole(parts) = sheet.project;
        let count = parts.record_count();
        let project = Project::from_parts(parts);
        if project.record_count() == count {
            return Ok(Document {
                format: sheet.format,
                mark: Some(sheet.journal),
                project,
                preserved: Preserved {
                    losses: sheet.losses,
                    other: sheet.other,
                    ..Preserved::default()
                },
                lost: None,
                changed_outside: false,
                notes: Vec::new(),
                torn_note: None,
                damaged: false,
            });
        }
    }
    lenient::read(bytes, agrees)
}

/// The text of a project file.
///
/// An error, in a few words, if it can't be made: then nothing may be written in its place.
pub(crate) fn write(
    project: &Project,
    mark: &Mark,
    preserved: &Preserved,
) -> Result<Vec<u8>, String> {
    let format = Format {
        // A newer file stays one: it still holds what only that version knows.
        minor: preserved.minor,
        ..Format::current()
    };
    let text = if preserved.overlay.is_empty() {
        write_sheet(format, mark, Counts::of(project, mark), project, preserved)
    } else {
        json::value(project).and_then(|mut value| {
            preserved.overlay.lay_on(&mut value);
            write_sheet(format, mark, Counts::of(project, mark), &value, preserved)
        })
    };
    let mut text = text.map_err(|error| error.to_string())?;
    contents::add(&mut text, project)?;
    Ok(text)
}

fn write_sheet<P: Serialize>(
    format: Format,
    mark: &Mark,
    counts: Counts,
    project: &P,
    preserved: &Preserved,
) -> Result<Vec<u8>, serde_json::Error> {
    let sheet = Sheet {
        format,
        journal: *mark,
        counts: Some(counts),
        project,
        set_aside: preserved.quarantined.clone(),
        losses: preserved.losses.clone(),
        contents: None,
        other: preserved.other.clone(),
    };
    serde_json::to_vec_pretty(&sheet)
}
