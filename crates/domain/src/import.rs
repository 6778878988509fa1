//! Tables brought into a project: what each column means, what would become of each row, and the one edit of it all.
//!
//! A [`Source`] hands over cells, a [`Mapping`] says what its columns mean ([`Mapping::guess`] looks at their names),
//! and [`dry_run`] tells each row's [`Fate`] without touching the project. What is to be done then is one
//! [`Edit::All`], so that an import is undone in one step. A row is taken whole or not at all.

mod columns;
mod counts;
mod crosses;
mod lots;
mod names;
mod observations;
mod plants;
mod purdy;
mod samples;
pub(crate) mod units;

pub use columns::{Mapping, Meaning, TableKind, shape};

use crate::record::Record;
use crate::{Basis, Edit, Id, IdSource, Project, Refusal};
use chrono::NaiveDate;
use names::Names;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::ops::ControlFlow;

/// A table whose cells can be asked for. Rows and columns are counted from 0.
pub trait Source {
    /// The number of columns.
    fn columns(&self) -> usize;

    /// The name of a column.
    fn name(&self, column: usize) -> &str;

    /// The unit its heading says; empty if it says none.
    fn unit(&self, column: usize) -> &str;

    /// The number of rows.
    fn rows(&self) -> usize;

    /// The line or row in the file, from 1.
    fn line(&self, row: usize) -> u64;

    /// What a cell says, as a text.
    fn text(&self, row: usize, column: usize) -> Cow<'_, str>;

    /// What a cell says as a number; nothing if it is empty.
    ///
    /// # Errors
    /// A sentence, if it is none.
    fn number(&self, row: usize, column: usize) -> Result<Option<f64>, String>;

    /// What a cell says as a day; nothing if it is empty.
    ///
    /// # Errors
    /// A sentence, if it is none, or could be two.
    fn date(&self, row: usize, column: usize) -> Result<Option<NaiveDate>, String>;
}

/// What holds for the whole table where no column says otherwise.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Round {
    /// The day.
    pub date: Option<NaiveDate>,
    /// Yard or trial.
    pub site: String,
    /// By whom.
    pub by: String,
    /// The isolate or race.
    pub isolate: String,
    /// How it was observed.
    pub method: String,
    /// What contents and yields are calculated on.
    pub basis: Basis,
}

/// What would become of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Fate {
    /// It brings a new record.
    New,
    /// It changes what is there: each change in words.
    Changes(Vec<String>),
    /// All it says is there already.
    Same,
    /// It can't be taken: what is wrong and what to do.
    Refused(String),
    /// It names something that isn't in the project.
    Unknown {
        /// What it names.
        code: String,
        /// What is there and reads almost the same.
        nearest: Option<String>,
    },
}

impl Fate {
    /// The word for it.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::New => "new",
            Self::Changes(_) => "changes",
            Self::Same => "same",
            Self::Refused(_) => "refused",
            Self::Unknown { .. } => "unknown",
        }
    }

    /// What there is to say about it, as a sentence; empty if the word says it all.
    pub fn words(&self) -> String {
        match self {
            Self::New | Self::Same => String::new(),
            Self::Changes(changes) => changes.join("; "),
            Self::Refused(why) => why.clone(),
            Self::Unknown {
                code,
                nearest: Some(nearest),
            } => format!("{code} isn't in the project. Do you mean {nearest}?"),
            Self::Unknown { code, .. } => {
                format!("{code} isn't in the project. Add it first, or correct the table.")
            }
        }
    }
}

/// What an import would do.
#[derive(Debug, Clone, PartialEq)]
pub struct DryRun {
    /// What the table holds.
    pub kind: TableKind,
    /// The line of each row and its fate, in the order of the table.
    pub rows: Vec<(u64, Fate)>,
    /// What it would do besides, each a sentence: parents added without a row of their own.
    pub notes: Vec<String>,
    /// The edit; nothing if nothing would change.
    pub edit: Option<Edit>,
}

impl DryRun {
    /// How many rows have each fate, by its word.
    pub fn counts(&self) -> BTreeMap<&'static str, usize> {
        let mut counts = BTreeMap::new();
        for (_, fate) in &self.rows {
            *counts.entry(fate.word()).or_default() += 1;
        }
        counts
    }
}

/// Said after every so many rows: the rows done and all rows. To break stops the import.
pub type Sink<'s> = dyn FnMut(usize, usize) -> ControlFlow<()> + 's;

/// What a row comes to before the rules are asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// What would become of it.
    pub fate: Fate,
    /// What is to be done for it; none if it isn't taken.
    pub edits: Vec<Edit>,
}

impl Planned {
    const fn of(fate: Fate) -> Self {
        Self {
            fate,
            edits: Vec::new(),
        }
    }

    /// A row that can't be taken, with the reason as a sentence.
    pub fn refused(why: impl Into<String>) -> Self {
        Self::of(Fate::Refused(why.into()))
    }
}

/// Why a row can't be taken.
enum Fault {
    Refused(String),
    Unknown(String),
}

impl From<String> for Fault {
    fn from(why: String) -> Self {
        Self::Refused(why)
    }
}

/// What the readers of all kinds share.
struct Reader<'a> {
    project: &'a Project,
    source: &'a dyn Source,
    mapping: &'a Mapping,
    round: &'a Round,
    ids: &'a mut IdSource,
    names: Names,
}

impl Reader<'_> {
    /// What the column of this meaning says; empty if there is none.
    fn text(&self, row: usize, meaning: &Meaning) -> Cow<'_, str> {
        match self.mapping.column(meaning) {
            Some(column) => self.source.text(row, column),
            None => "".into(),
        }
    }

    fn number(&self, row: usize, meaning: &Meaning) -> Result<Option<f64>, String> {
        self.mapping.column(meaning).map_or(Ok(None), |column| {
            let named = |fault| format!("{}: {fault}", self.source.name(column));
            self.source.number(row, column).map_err(named)
        })
    }

    /// A whole number that isn't negative.
    fn count(&self, row: usize, meaning: &Meaning) -> Result<Option<u32>, String> {
        match self.number(row, meaning)? {
            None => Ok(None),
            Some(number)
                if number.fract() == 0.0 && number >= 0.0 && number <= f64::from(u32::MAX) =>
            {
                Ok(Some(number as u32))
            }
            Some(number) => Err(format!(
                "{}: {number} is no count. Give a whole number.",
                self.mapping
                    .column(meaning)
                    .map_or("", |column| self.source.name(column))
            )),
        }
    }

    fn date(&self, row: usize, meaning: &Meaning) -> Result<Option<NaiveDate>, String> {
        self.mapping.column(meaning).map_or(Ok(None), |column| {
            let named = |fault| format!("{}: {fault}", self.source.name(column));
            self.source.date(row, column).map_err(named)
        })
    }

    /// What a column says, or else what holds for the whole table.
    fn text_or(&self, row: usize, meaning: &Meaning, else_: &str) -> String {
        match self.text(row, meaning) {
            text if text.is_empty() => else_.to_owned(),
            text => text.into_owned(),
        }
    }

    fn unknown(&mut self, code: String) -> Planned {
        let nearest = self.names.nearest(&code);
        Planned::of(Fate::Unknown { code, nearest })
    }

    fn planned(&mut self, made: Result<Planned, Fault>) -> Planned {
        match made {
            Ok(planned) => planned,
            Err(Fault::Refused(why)) => Planned::refused(why),
            Err(Fault::Unknown(code)) => self.unknown(code),
        }
    }
}

/// What would become of each row. Nothing if it was stopped.
pub fn dry_run(
    project: &Project,
    source: &dyn Source,
    mapping: &Mapping,
    round: &Round,
    ids: &mut IdSource,
    sink: &mut Sink<'_>,
) -> Option<DryRun> {
    let mut reader = Reader {
        names: Names::of(project),
        project,
        source,
        mapping,
        round,
        ids,
    };
    let mut notes = Vec::new();
    let mut first = Vec::new();
    let planned = match mapping.kind {
        TableKind::Plants => plants::read(&mut reader, &mut first, &mut notes, sink)?,
        TableKind::Crosses => each_row(&mut reader, sink, crosses::row)?,
        TableKind::SeedLots => each_row(&mut reader, sink, lots::row)?,
        TableKind::Counts => each_row(&mut reader, sink, counts::row)?,
        TableKind::Samples => each_row(&mut reader, sink, samples::row)?,
        TableKind::Observations => {
            let known = observations::Known::of(&reader);
            each_row(&mut reader, sink, |reader, row| {
                observations::row(reader, &known, row)
            })?
        }
    };
    let lines = (0..source.rows()).map(|row| source.line(row)).collect();
    Some(settle(
        project,
        mapping.kind,
        (first, planned),
        lines,
        notes,
    ))
}

/// Every row by itself.
fn each_row<'a>(
    reader: &mut Reader<'a>,
    sink: &mut Sink<'_>,
    mut row_of: impl FnMut(&mut Reader<'a>, usize) -> Result<Planned, Fault>,
) -> Option<Vec<Planned>> {
    let rows = reader.source.rows();
    let mut planned = Vec::with_capacity(rows);
    for row in 0..rows {
        if row % 500 == 0 && sink(row, rows).is_break() {
            return None;
        }
        let made = row_of(reader, row);
        planned.push(reader.planned(made));
    }
    Some(planned)
}

/// So often the rules may refuse before the table as a whole is taken to be wrong.
const MOST_REFUSALS: usize = 200;

fn settle(
    project: &Project,
    kind: TableKind,
    (first, mut planned): (Vec<Edit>, Vec<Planned>),
    lines: Vec<u64>,
    notes: Vec<String>,
) -> DryRun {
    let label = |rows| format!("import {rows} rows of {}", kind.words());
    let edit = settle_rows(project, &first, &mut planned, label);
    DryRun {
        kind,
        rows: lines
            .into_iter()
            .zip(planned.into_iter().map(|each| each.fate))
            .collect(),
        notes: if edit.is_some() { notes } else { Vec::new() },
        edit,
    }
}

/// Asks the rules about all rows together, as they will be asked; a row that breaks one is refused, and the others are
/// asked again without it. `first` is made before all rows, and `label` names the edit of so many rows. Returns the one
/// edit of all that are taken; nothing if none is.
pub fn settle_rows(
    project: &Project,
    first: &[Edit],
    planned: &mut [Planned],
    label: impl Fn(usize) -> String,
) -> Option<Edit> {
    // Which row made which record: a refusal names a record.
    let mut made_by = HashMap::new();
    for (row, each) in planned.iter().enumerate() {
        for id in each.edits.iter().flat_map(Edit::touches) {
            made_by.entry(id).or_insert(row);
        }
    }
    for tried in 0..=MOST_REFUSALS {
        let mut edits: Vec<Edit> = planned
            .iter()
            .flat_map(|each| &each.edits)
            .cloned()
            .collect();
        if edits.is_empty() {
            return None;
        }
        edits.splice(0..0, first.iter().cloned());
        let rows = planned.iter().filter(|each| !each.edits.is_empty()).count();
        let whole = Edit::all(label(rows), edits);
        let Err(refusal) = project.clone().apply(whole.clone()) else {
            return Some(whole);
        };
        let of_row = refusal.about.and_then(|about| made_by.get(&about)).copied();
        let can_go_on = |row: &usize| tried < MOST_REFUSALS && !planned[*row].edits.is_empty();
        if let Some(row) = of_row.filter(can_go_on) {
            planned[row] = Planned::refused(sentence(&refusal));
            continue;
        }
        // It is about no row in particular: then none is taken.
        for each in planned.iter_mut().filter(|each| !each.edits.is_empty()) {
            *each = Planned::refused(sentence(&refusal));
        }
        break;
    }
    None
}

fn sentence(refusal: &Refusal) -> String {
    format!("{} {}", refusal.what, refusal.remedy)
}

/// The fields that turn a record into what a row says, each as an edit and in words; nothing if it says the same.
fn changed<R: Record>(project: &Project, from: &R, to: &R) -> Planned
where
    crate::Change<R>: Into<Edit>,
{
    let mut words = Vec::new();
    let mut edits = Vec::new();
    for field in from.changed_fields(to) {
        words.push(format!(
            "{} {} was {}",
            R::field_name(&field),
            R::value_words(&field, project),
            R::value_words(&from.read(&field), project)
        ));
        edits.push(Edit::set(from.id(), field));
    }
    if edits.is_empty() {
        Planned::of(Fate::Same)
    } else {
        Planned {
            fate: Fate::Changes(words),
            edits,
        }
    }
}

/// A record that is new.
fn added<R: Record>(record: R) -> Planned
where
    crate::Change<R>: Into<Edit>,
{
    Planned {
        fate: Fate::New,
        edits: vec![Edit::add(record)],
    }
}

/// The record of one kind with this code.
fn coded<R: Record>(project: &Project, code: &str) -> Option<Id<R>> {
    project.find_code(code).find_map(crate::AnyId::typed)
}
