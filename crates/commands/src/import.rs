//! A table brought into a project, each row's fate told as CSV.

use crate::tables::{CommandResult, Sheet, read};
use crate::terminal::tell;
use crate::voice::Voice;
use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use domain::import::{DryRun, Fate, Mapping, Round, TableKind, dry_run};
use domain::{Basis, Edit, IdSource, Project};
use exchange::sheets::{self, DateOrder, Decimal, Table, Wishes, Workbook};
use paper::tables::TableSource;
use paper::workbook::{self, Incoming};
use std::collections::BTreeMap;
use std::io::Write;
use std::ops::ControlFlow;
use std::path::PathBuf;
use store::{Opened, Store};

/// What is to be brought in, and how it is read.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct Wanted {
    /// The project.
    file: PathBuf,
    /// CSV, TSV, XLSX or ODS. A workbook that was exported is recognised.
    table: PathBuf,
    /// What the table holds; found out by its columns if left out.
    #[arg(long = "as", value_name = "KIND")]
    kind: Option<Holds>,
    /// Say what would become of each row, and change nothing.
    #[arg(long)]
    dry_run: bool,
    /// The sheet of a workbook; the first that isn't hidden if left out.
    #[arg(long, value_name = "NAME")]
    sheet: Option<String>,
    /// Whether the day or the month comes first in dates such as 03/04/05.
    #[arg(long, value_name = "ORDER")]
    dates: Option<First>,
    /// The decimal mark, where 1,234 could be either.
    #[arg(long, value_name = "MARK")]
    decimal: Option<Mark>,
    /// The day of all rows that have none.
    #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
    date: Option<NaiveDate>,
    /// The site of all rows that have none.
    #[arg(long, value_name = "NAME", default_value = "")]
    site: String,
    /// The person of all rows that have none.
    #[arg(long, value_name = "NAME", default_value = "")]
    by: String,
    /// The isolate of all rows that have none.
    #[arg(long, value_name = "NAME", default_value = "")]
    isolate: String,
    /// The method of all rows that have none, such as HPLC.
    #[arg(long, value_name = "NAME", default_value = "")]
    method: String,
    /// Contents and yields of rows that say nothing are of dry matter.
    #[arg(long, conflicts_with = "moisture")]
    dry: bool,
    /// Contents and yields of rows that say nothing are as is, with so much moisture in per cent.
    #[arg(long, value_name = "PER CENT")]
    moisture: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Holds {
    Plants,
    Crosses,
    SeedLots,
    Counts,
    Samples,
    Observations,
}

impl From<Holds> for TableKind {
    fn from(holds: Holds) -> Self {
        match holds {
            Holds::Plants => Self::Plants,
            Holds::Crosses => Self::Crosses,
            Holds::SeedLots => Self::SeedLots,
            Holds::Counts => Self::Counts,
            Holds::Samples => Self::Samples,
            Holds::Observations => Self::Observations,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum First {
    Day,
    Month,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Mark {
    Point,
    Comma,
}

impl Wanted {
    fn round(&self) -> Round {
        Round {
            date: self.date,
            site: self.site.clone(),
            by: self.by.clone(),
            isolate: self.isolate.clone(),
            method: self.method.clone(),
            basis: match (self.dry, self.moisture) {
                (true, _) => Basis::Dry,
                (false, Some(moisture)) => Basis::AsIs { moisture },
                (false, None) => Basis::Unstated,
            },
        }
    }

    fn wishes(&self) -> Wishes {
        Wishes {
            header: None,
            dates: self.dates.map(|first| match first {
                First::Day => DateOrder::DayFirst,
                First::Month => DateOrder::MonthFirst,
            }),
            decimal: self.decimal.map(|mark| match mark {
                Mark::Point => Decimal::Point,
                Mark::Comma => Decimal::Comma,
            }),
        }
    }
}

/// Brings a table in. Exits with 0 if every row was taken or was there already, 1 if some were refused.
pub(super) fn run(
    wanted: &Wanted,
    milliseconds: u64,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> CommandResult<u8> {
    let bytes = read(&wanted.table)?;
    let path = wanted.table.display();
    let book = sheets::read(&bytes).map_err(|why| format!("{path}: {why}"))?;
    for note in &book.notes {
        tell(err, &format!("{path}: {note}"));
    }
    let opened = if wanted.dry_run {
        err.read(&wanted.file)?
    } else {
        err.change(&wanted.file, "", "Nothing was imported.")?
    };
    let mut ids = IdSource::new(milliseconds, std::process::id().into());
    let told = if workbook::is_project(&book) {
        of_workbook(&opened.project, &book).map_err(|why| format!("{path}: {why}"))?
    } else {
        of_table(wanted, &opened.project, &book, &mut ids, err)?
    };
    for note in &told.notes {
        tell(err, &format!("{path}: {note}"));
    }
    // First done, then told: a full disk or a kill leaves no row called new that isn't in the project.
    if let (Some(edit), false) = (&told.edit, wanted.dry_run) {
        record(opened, edit, err)?;
    }
    tell_fates(&told, out)?;
    let refused = told
        .rows
        .iter()
        .any(|(_, _, fate)| matches!(fate, Fate::Refused(_) | Fate::Unknown { .. }));
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, _, fate) in &told.rows {
        *counts.entry(fate.word()).or_default() += 1;
    }
    let counts: Vec<String> = counts
        .iter()
        .map(|(word, count)| format!("{count} {word}"))
        .collect();
    let ending = if wanted.dry_run {
        "; nothing was changed"
    } else {
        ""
    };
    let counts = if counts.is_empty() {
        "no rows".to_owned()
    } else {
        counts.join(", ")
    };
    tell(err, &format!("{path}: {}: {counts}{ending}.", told.holds));
    Ok(u8::from(refused))
}

/// What is told of a table or a workbook.
struct RowFates {
    holds: &'static str,
    /// The sheet, empty for a table; the line or row; its fate.
    rows: Vec<(String, u64, Fate)>,
    notes: Vec<String>,
    edit: Option<Edit>,
}

impl From<DryRun> for RowFates {
    fn from(run: DryRun) -> Self {
        let rows = run.rows.into_iter();
        Self {
            holds: run.kind.words(),
            rows: rows
                .map(|(line, fate)| (String::new(), line, fate))
                .collect(),
            notes: run.notes,
            edit: run.edit,
        }
    }
}

impl From<Incoming> for RowFates {
    fn from(read: Incoming) -> Self {
        let rows = read.rows.into_iter();
        Self {
            holds: "the whole project",
            rows: rows.map(|row| (row.sheet, row.line, row.fate)).collect(),
            notes: read.notes,
            edit: read.edit,
        }
    }
}

fn of_workbook(project: &Project, book: &Workbook) -> CommandResult<RowFates> {
    match workbook::incoming(project, book, || ControlFlow::Continue(())) {
        Some(read) => Ok(read?.into()),
        None => Err("the import was stopped.".into()),
    }
}

/// Makes the edit through the one door, hands it to the journal, and saves. Where the change is safe in the journal and only
/// the file can't be written, that is said.
fn record(opened: Opened, edit: &Edit, err: &mut Voice<'_>) -> CommandResult<()> {
    let mut project = opened.project;
    project
        .apply(edit.clone())
        .map_err(|refusal| refusal.to_string())?;
    let file = opened.file;
    let path = file.path().to_owned();
    let number = file.append(edit).map_err(|error| error.to_string())?;
    if let Err(error) = file.flush() {
        // Closing it tries once more.
        drop(file);
        let history = Store::new("").history(&path).unwrap_or_default();
        return if history.last().is_some_and(|last| last.sequence >= number) {
            tell(err, &format!("{}: {SAFE} {error}", path.display()));
            Ok(())
        } else {
            Err(format!("nothing was imported. {error}"))
        };
    }
    if let Err(error) = file.save(&project) {
        tell(err, &format!("{}: {SAFE} {error}", path.display()));
    }
    if let Some(trouble) = file.backup_trouble() {
        tell(
            err,
            &format!("{}: no backup could be made. {trouble}", path.display()),
        );
    }
    Ok(())
}

const SAFE: &str = "the rows are in the project, safe in its journal; the file itself could not be written, which the next save from the window does.";

fn of_table(
    wanted: &Wanted,
    project: &Project,
    book: &Workbook,
    ids: &mut IdSource,
    err: &mut Voice<'_>,
) -> CommandResult<RowFates> {
    let path = wanted.table.display();
    let sheet = match &wanted.sheet {
        None => book.first().map_err(|why| format!("{path}: {why}"))?,
        Some(name) => book
            .sheets
            .iter()
            .find(|sheet| sheet.name == *name)
            .ok_or_else(|| {
                let names: Vec<&str> = book
                    .sheets
                    .iter()
                    .map(|sheet| sheet.name.as_str())
                    .collect();
                format!(
                    "{path} has no sheet {name}; there are: {}.",
                    names.join(", ")
                )
            })?,
    };
    let table =
        Table::of(sheet.clone(), wanted.wishes()).map_err(|why| format!("{path}: {why}"))?;
    for doubt in &table.doubts {
        tell(err, &format!("{path}: {doubt}"));
    }
    let source = TableSource(&table);
    let mapping = match wanted.kind {
        Some(kind) => Mapping::guess_as(project, &source, kind.into()),
        None => Mapping::guess(project, &source),
    };
    if let Some(fault) = mapping.fault() {
        return Err(format!(
            "{path}, taken for {}: {fault}",
            mapping.kind.words()
        ));
    }
    for (column, meaning) in table.columns.iter().zip(&mapping.columns) {
        if *meaning == domain::import::Meaning::Ignored {
            tell(err, &format!("{path}, column {}: not used.", column.name));
        }
    }
    let run = dry_run(
        project,
        &source,
        &mapping,
        &wanted.round(),
        ids,
        &mut |_, _| ControlFlow::Continue(()),
    );
    run.map(RowFates::from)
        .ok_or_else(|| format!("{path}: the import was stopped."))
}

fn tell_fates(told: &RowFates, out: &mut dyn Write) -> CommandResult<()> {
    let whole = told.rows.iter().any(|(sheet, ..)| !sheet.is_empty());
    let mut table = Sheet::new(if whole {
        &["sheet", "line", "fate", "words"]
    } else {
        &["line", "fate", "words"]
    })?;
    for (sheet, line, fate) in &told.rows {
        // Of a whole project, thousands of rows are there already.
        if whole && *fate == Fate::Same {
            continue;
        }
        if whole {
            table.text(sheet)?;
        }
        table.number(*line as f64)?;
        table.text(fate.word())?;
        table.text(&fate.words())?;
        table.end_row()?;
    }
    table.deliver(None, &[], out)
}
