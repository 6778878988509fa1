//! Reads a file record by record, and quarantines what cannot be read.

use super::contents::{self, Contents};
use super::counts::{Counts, Stated};
use super::migrate::{STEPS, migrate};
use super::overlay::Overlay;
use super::{
    Document, FORMAT_MAJOR, FORMAT_MINOR, FORMAT_NAME, Format, Lost, Preserved, QuarantineReason,
    QuarantinedRecord, lines,
};
use crate::damage::Loss;
use crate::journal::Mark;
use crate::json;
use domain::{Project, ProjectParts, RecordKind};
use serde::de::{DeserializeOwned, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::value::RawValue;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::{self, Write as _};

/// A file taken apart into texts, none of which is known to be right.
#[derive(Default)]
pub(super) struct Loose {
    pub(super) format: Option<Box<RawValue>>,
    pub(super) journal: Option<Box<RawValue>>,
    pub(super) settings: Option<Box<RawValue>>,
    /// Tables with their records, known ones and unknown.
    pub(super) tables: BTreeMap<String, Vec<Box<RawValue>>>,
    /// Parts of the project that are no tables.
    pub(super) stray: Map<String, Value>,
    pub(super) quarantined: Vec<QuarantinedRecord>,
    pub(super) losses: Vec<Loss>,
    pub(super) counts: Option<Counts>,
    pub(super) contents: Option<Contents>,
    pub(super) other: Map<String, Value>,
    pub(super) notes: Vec<String>,
    pub(super) damaged: bool,
    /// What is wrong with a text that is no JSON, told where nothing tells what is missing because of it.
    pub(super) torn_note: Option<String>,
    /// Whether records may be missing that nothing but the file's own count can tell of.
    pub(super) torn: bool,
}

/// `agrees`: whether the text is the one its sum was made of; nothing if it has none.
pub(super) fn read(bytes: &[u8], agrees: Option<bool>) -> Result<Document, String> {
    let sound = match std::str::from_utf8(bytes) {
        Ok(text) => take_apart(text).ok(),
        Err(_) => read_as_latin(bytes),
    };
    let loose = match sound {
        Some(loose) => loose,
        None => lines::salvage(bytes)?,
    };
    let format: Option<Format> = loose.format.as_deref().and_then(parse);
    match format {
        Some(format) if format.name != FORMAT_NAME => Err(format!(
            "its format is '{}'",
            format.name.chars().take(60).collect::<String>()
        )),
        Some(format) if format.major < FORMAT_MAJOR => carry_forward(bytes, format.major),
        Some(format) => assemble(loose, format, agrees),
        // Nothing says what the damaged file is, but its records are ours.
        None if loose.damaged && !loose.tables.is_empty() => {
            assemble(loose, Format::current(), agrees)
        }
        None => Err(loose.format.map_or_else(
            || "it doesn't say what format it has".into(),
            |text| {
                let text: String = text.get().split_whitespace().collect();
                let text: String = text.chars().take(80).collect();
                format!("what it says of its format can't be read: {text}")
            },
        )),
    }
}

fn carry_forward(bytes: &[u8], major: u32) -> Result<Document, String> {
    let mut file: Value = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    migrate(&mut file, major, &STEPS)?;
    super::read(&serde_json::to_vec(&file).map_err(|error| error.to_string())?)
}

/// A text in which some bytes are no UTF-8, those read as Latin-1 (ISO 8859-1): an old editor writes so.
fn read_as_latin(bytes: &[u8]) -> Option<Loose> {
    let mut text = String::with_capacity(bytes.len() + 64);
    let mut turned = 0;
    for chunk in bytes.utf8_chunks() {
        text.push_str(chunk.valid());
        text.extend(chunk.invalid().iter().map(|byte| char::from(*byte)));
        turned += chunk.invalid().len();
    }
    let mut loose = take_apart(&text).ok()?;
    loose.damaged = true;
    loose.notes.push(match turned {
        1 => "1 byte of the file is no UTF-8 and was read as Latin-1.".into(),
        many => format!("{many} bytes of the file are no UTF-8 and were read as Latin-1."),
    });
    Some(loose)
}

/// The records of a table, each as its text.
struct Records(Vec<Box<RawValue>>);

impl<'de> Deserialize<'de> for Records {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(RecordsVisitor)
    }
}

struct RecordsVisitor;

impl<'de> Visitor<'de> for RecordsVisitor {
    type Value = Records;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of records")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut texts: A) -> Result<Records, A::Error> {
        let mut records: Vec<Box<RawValue>> = Vec::new();
        // Texts too short to be records may be as many as the file has bytes, and fill the memory.
        let mut short = 0;
        while let Some(text) = texts.next_element::<Box<RawValue>>()? {
            short += usize::from(text.get().len() < SHORTEST_RECORD);
            if short > MOST_SHORT {
                return Err(serde::de::Error::custom("these are no records"));
            }
            records.push(text);
        }
        Ok(Records(records))
    }
}

/// No record is shorter than its identity.
const SHORTEST_RECORD: usize = r#"{"id":"01900000-0000-7000-8000-000000000000"}"#.len();
/// More texts that are no records than this are taken as one thing that can't be read.
const MOST_SHORT: usize = 10_000;

/// Takes a sound JSON text apart.
fn take_apart(text: &str) -> Result<Loose, serde_json::Error> {
    type Texts = BTreeMap<String, Box<RawValue>>;
    let mut top: Texts = serde_json::from_str(text)?;
    let mut loose = Loose {
        format: top.remove("format"),
        journal: top.remove("journal"),
        ..Loose::default()
    };
    let project = top.remove("project");
    if let Some(mut project) = project.as_deref().and_then(parse::<Texts>) {
        loose.settings = project.remove("settings");
        for (name, text) in project {
            if let Some(Records(records)) = parse(&text) {
                loose.tables.insert(name, records);
            } else if RecordKind::of_table(&name).is_some() {
                loose.damaged = true;
                loose.quarantined.push(QuarantinedRecord {
                    table: name,
                    index: 0,
                    why: QuarantineReason::Unreadable("this is no list of records".into()),
                    record: text,
                });
            } else {
                match parse(&text) {
                    Some(value) => drop(loose.stray.insert(name, value)),
                    None => loose.set_aside(name, text),
                }
            }
        }
    } else {
        loose.damaged = true;
        loose.torn = true;
        loose.notes.push("The file holds no project.".into());
    }
    if let Some(text) = top.remove("set_aside") {
        let entries: Option<Vec<Box<RawValue>>> = parse(&text);
        for entry in entries.unwrap_or_else(|| vec![text]) {
            loose.requarantine(entry);
        }
    }
    loose.counts = top.remove("counts").as_deref().and_then(parse);
    loose.contents = top.remove("contents").as_deref().and_then(parse);
    if let Some(text) = top.remove("losses") {
        loose.losses = parse(&text).unwrap_or_default();
    }
    for (name, text) in top {
        match parse(&text) {
            Some(value) => drop(loose.other.insert(name, value)),
            None => loose.set_aside(name, text),
        }
    }
    Ok(loose)
}

impl Loose {
    /// A part of the file that can't be read though its text is sound: it is nested too deeply, or holds a number that is
    /// none.
    fn set_aside(&mut self, table: String, record: Box<RawValue>) {
        self.damaged = true;
        self.quarantined.push(QuarantinedRecord {
            table,
            index: 0,
            why: QuarantineReason::Unreadable("it can't be read".into()),
            record,
        });
    }

    /// An entry that was already in quarantine. One that does not say what it was stays as it is: under
    /// another name it would be overwritten by what is quarantined now.
    pub(super) fn requarantine(&mut self, text: Box<RawValue>) {
        let record = parse(&text).unwrap_or_else(|| {
            self.damaged = true;
            QuarantinedRecord {
                table: "set_aside".into(),
                index: self.quarantined.len(),
                why: QuarantineReason::Unreadable("it doesn't say what it was".into()),
                record: text,
            }
        });
        self.quarantined.push(record);
    }
}

/// Puts together what can be read.
fn assemble(loose: Loose, format: Format, agrees: Option<bool>) -> Result<Document, String> {
    let mut gather = Gather {
        damaged: loose.damaged,
        notes: loose.notes,
        ..Gather::default()
    };
    let mark: Option<Mark> = loose.journal.as_deref().and_then(parse);
    if mark.is_none() {
        gather.damaged = true;
        gather
            .notes
            .push("The file doesn't say which changes it contains.".into());
    }
    let settings = gather.settings(loose.settings.as_deref());
    let written_whole = |kind: &RecordKind| loose.tables.contains_key(kind.table());
    let stated = Stated::by(loose.counts, loose.contents, mark, agrees == Some(true));
    // A table that is gone whole is nobody's way to take records away.
    let torn = loose.torn || stated.kinds().any(|kind| !written_whole(&kind));
    // For the overlay: what this program doesn't know, tables it has no kind for and fields.
    let mut seen = loose.stray;
    let newer = format.is_newer();
    for (table, records) in loose.tables {
        let known = RecordKind::of_table(&table).is_some();
        if !(known || loose.damaged) {
            let mut values: Vec<Value> = Vec::new();
            for (index, record) in records.iter().enumerate() {
                match parse(record) {
                    Some(value) => values.push(value),
                    None => gather.set_aside(&table, index, record.clone()),
                }
            }
            seen.insert(table.clone(), Value::Array(values));
        }
        if known || loose.damaged {
            for (index, record) in records.into_iter().enumerate() {
                gather.record(table.clone(), index, record, true);
            }
        }
    }
    for record in loose.quarantined {
        gather.retry(record);
    }
    if gather.misplaced > 0 {
        gather.damaged = true;
        let count = gather.misplaced;
        gather.notes.push(format!(
            "{count} records were listed under another kind and were put back in their place."
        ));
    }
    let mut text = format!("{{\"settings\":{settings}");
    for (table, records) in &gather.tables {
        let records = records.join(",");
        // Writing into a text can't fail.
        let _ = write!(text, ",\"{table}\":[{records}]");
    }
    text.push('}');
    // Each record was read by itself before, so that all together can be.
    let parts = json::read_leniently(text.as_bytes()).map_err(|error| plain(&error))?;
    let project = Project::from_parts(parts);
    // Of known tables, only records that were accepted: a quarantined record must not be merged into another one.
    for (table, records) in &gather.tables {
        let values = records
            .iter()
            .filter_map(|text| serde_json::from_str(text).ok());
        seen.insert(table.clone(), Value::Array(values.collect()));
    }
    if let Ok(settings) = serde_json::from_str(&settings) {
        seen.insert("settings".into(), settings);
    }
    let overlay = Overlay::between(&seen, &project).map_err(|error| plain(&error))?;
    // Without a count a sound text has lost nothing that anybody knows of.
    let lost = (torn || !stated.is_silent())
        .then(|| lost(&project, &gather.aside, &stated))
        .flatten();
    Ok(Document {
        changed_outside: !(torn && lost.is_some())
            && agrees != Some(true)
            && format.minor >= contents::SINCE_MINOR,
        lost,
        preserved: Preserved {
            losses: loose.losses,
            minor: if newer { format.minor } else { FORMAT_MINOR },
            quarantined: gather.quarantined,
            overlay,
            other: loose.other,
        },
        format,
        mark,
        project,
        notes: gather.notes,
        torn_note: loose.torn_note,
        damaged: gather.damaged,
    })
}

/// What a torn file lacks by its own count; nothing if by that it is all there.
fn lost(project: &Project, aside: &BTreeMap<RecordKind, isize>, stated: &Stated) -> Option<Lost> {
    if stated.is_silent() {
        return Some(Lost::default());
    }
    let by_kind: BTreeMap<RecordKind, usize> = RecordKind::ALL
        .iter()
        .filter_map(|kind| {
            let aside = aside.get(kind).copied().unwrap_or_default();
            let there = project.count(*kind).saturating_add_signed(aside);
            let missing = stated.of_kind(*kind, there).saturating_sub(there);
            (missing > 0).then_some((*kind, missing))
        })
        .collect();
    (!by_kind.is_empty()).then_some(Lost { by_kind })
}

#[derive(Default)]
struct Gather {
    tables: BTreeMap<String, Vec<String>>,
    taken: BTreeSet<(String, String)>,
    quarantined: Vec<QuarantinedRecord>,
    /// How many that can't be read were set aside just now, less those set aside before that are in the project now: what
    /// the file's count has beside the project.
    aside: BTreeMap<RecordKind, isize>,
    notes: Vec<String>,
    misplaced: usize,
    damaged: bool,
}

/// The identity of a record, seen without reading the rest of it.
#[derive(Deserialize)]
struct Identity {
    id: String,
}

impl Gather {
    /// A record of a kind that only a newer program knows, which can't even be kept as a value.
    fn set_aside(&mut self, table: &str, index: usize, record: Box<RawValue>) {
        self.damaged = true;
        self.quarantined.push(QuarantinedRecord {
            table: table.to_owned(),
            index,
            why: QuarantineReason::Unreadable("it is nested too deeply".into()),
            record,
        });
    }

    fn record(&mut self, table: String, index: usize, record: Box<RawValue>, fresh: bool) -> bool {
        let is_deep = depth(record.get()) > DEEPEST;
        let mut read = if is_deep {
            Err(serde::de::Error::custom(format!(
                "a value in it is nested more than {DEEPEST} levels deep"
            )))
        } else {
            reads_as(&record, &table)
        };
        let mut table = table;
        // The line that opened its table may be lost, and it seems to stand in the one before.
        if fresh
            && !is_deep
            && read.is_err()
            && let Some(own) = only_table(&record)
        {
            own.clone_into(&mut table);
            read = Ok(());
            self.misplaced += 1;
        }
        let why = if let Err(error) = read {
            QuarantineReason::Unreadable(plain(&error))
        } else {
            let id = parse::<Identity>(&record).map_or_else(String::new, |known| known.id);
            if self.taken.insert((table.clone(), id.to_lowercase())) {
                let records = self.tables.entry(table).or_default();
                records.push(record.get().to_owned());
                return true;
            }
            QuarantineReason::Duplicate
        };
        self.damaged |= fresh;
        if fresh
            && why != QuarantineReason::Duplicate
            && let Some(kind) = RecordKind::of_table(&table)
        {
            *self.aside.entry(kind).or_default() += 1;
        }
        self.quarantined.push(QuarantinedRecord {
            table,
            index,
            why,
            record,
        });
        false
    }

    /// A record already in quarantine: this version of the program may be able to read it.
    fn retry(&mut self, record: QuarantinedRecord) {
        if record.why == QuarantineReason::Duplicate || record.kind().is_none() {
            self.quarantined.push(record);
            return;
        }
        let noun = record.kind().map_or("record", RecordKind::noun);
        let (kind, name) = (record.kind(), record.code().unwrap_or_default());
        if self.record(record.table, record.index, record.record, false) {
            if let Some(kind) = kind {
                *self.aside.entry(kind).or_default() -= 1;
            }
            self.notes.push(format!(
                "The {noun} {name} that was set aside can be read again."
            ));
        }
    }

    /// The settings that can be read, as text; each of the others is quarantined.
    fn settings(&mut self, text: Option<&RawValue>) -> String {
        let reads = |text: &str| reads_as_project(&format!("{{\"settings\":{text}}}"));
        let Some(text) = text else {
            return "{}".into();
        };
        let whole = match reads(text.get()) {
            Ok(()) => return text.get().to_owned(),
            Err(error) => plain(&error),
        };
        let fields: Map<String, Value> = parse(text).unwrap_or_default();
        let mut good = Map::new();
        for (name, value) in fields {
            let one = Value::Object([(name.clone(), value.clone())].into_iter().collect());
            if reads(&one.to_string()).is_ok() {
                good.insert(name, value);
            }
        }
        self.damaged = true;
        self.quarantined.push(QuarantinedRecord {
            table: "settings".into(),
            index: 0,
            why: QuarantineReason::Unreadable(whole),
            record: text.to_owned(),
        });
        Value::Object(good).to_string()
    }
}

/// How deep values of a record may be nested: well within what readers of JSON go along with.
const DEEPEST: usize = 100;

/// How deep the values of a sound JSON text are nested.
fn depth(text: &str) -> usize {
    let (mut depth, mut deepest, mut in_text, mut escaped) = (0_usize, 0, false, false);
    for byte in text.bytes() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_text => escaped = true,
            b'"' => in_text = !in_text,
            b'[' | b'{' if !in_text => {
                depth += 1;
                deepest = deepest.max(depth);
            }
            b']' | b'}' if !in_text => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    deepest
}

/// The one table whose records this could be, if there is only one.
fn only_table(record: &RawValue) -> Option<&'static str> {
    let mut fitting = RecordKind::ALL
        .iter()
        .map(|kind| kind.table())
        .filter(|table| reads_as(record, table).is_ok());
    fitting.next().filter(|_| fitting.next().is_none())
}

/// Whether a text can be read as a record of this table.
pub(super) fn reads_as(record: &RawValue, table: &str) -> Result<(), serde_json::Error> {
    let alone = format!("{{\"{table}\":[{}]}}", record.get());
    reads_as_project(&alone)
}

fn reads_as_project(text: &str) -> Result<(), serde_json::Error> {
    json::read_leniently::<ProjectParts>(text.as_bytes()).map(|_| ())
}

pub(super) fn parse<T: DeserializeOwned>(text: &RawValue) -> Option<T> {
    serde_json::from_str(text.get()).ok()
}

/// What the reader says, without the place in the record's own text.
fn plain(error: &serde_json::Error) -> String {
    let text = error.to_string();
    match text.rfind(" at line ") {
        Some(end) => text[..end].to_owned(),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The repair of a lost opening line rests on this.
    #[test]
    fn a_record_of_the_first_format_reads_as_its_own_kind_and_no_other() {
        let file: serde_json::Value = serde_json::from_str(include_str!(
            "../../../../tests/data/project-1.0.binewright"
        ))
        .unwrap();
        for kind in RecordKind::ALL {
            // Kinds that came later have no table in it.
            let records = file["project"][kind.table()].as_array();
            for record in records.into_iter().flatten() {
                let text = serde_json::value::to_raw_value(record).unwrap();
                for other in RecordKind::ALL {
                    assert_eq!(
                        reads_as(&text, other.table()).is_ok(),
                        kind == other,
                        "a {} as a {}: {text}",
                        kind.noun(),
                        other.noun()
                    );
                }
            }
        }
    }
}
