//! A project as tables, a workbook, passport data or a calendar.

use crate::import::Holds;
use crate::tables::{CommandResult, may_write, write};
use crate::voice::Voice;
use chrono::{NaiveDate, NaiveDateTime};
use clap::{Args, ValueEnum};
use domain::date::shift;
use exchange::sheets::xlsx;
use paper::{agenda, passport, tables, workbook};
use std::io::Write;
use std::path::PathBuf;

/// What is to be written.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct Wanted {
    /// The project.
    file: PathBuf,
    /// csv: one table, which import reads back; xlsx: the whole project, one sheet for each kind of record, which import
    /// reads back; mcpd: passport data of living plants by FAO/Bioversity MCPD V2.1, as CSV; ics: what is to be done in the next
    /// year, as iCalendar.
    #[arg(long = "as", value_name = "FORM")]
    form: Form,
    /// Which table to write, for csv.
    #[arg(long, value_name = "KIND", default_value = "observations")]
    table: Holds,
    /// The code of the institute in FAO's list (WIEWS), for mcpd.
    #[arg(long, value_name = "CODE", required_if_eq("form", "mcpd"))]
    institute: Option<String>,
    /// The day to count from, for ics; today if left out.
    #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
    today: Option<NaiveDate>,
    /// The file to write.
    #[arg(long, value_name = "PATH")]
    out: PathBuf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    Csv,
    Xlsx,
    Mcpd,
    Ics,
}

pub(super) fn run(
    wanted: &Wanted,
    (here, now): (NaiveDate, NaiveDateTime),
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> CommandResult<u8> {
    let inputs = [wanted.file.as_path()];
    may_write(Some(&wanted.out), &inputs)?;
    let project = err.read(&wanted.file)?.project;
    let (bytes, what) = match wanted.form {
        Form::Csv => {
            let table = tables::table(&project, wanted.table.into());
            (
                table.csv().into_bytes(),
                format!("{} rows", table.rows.len()),
            )
        }
        Form::Xlsx => (
            xlsx(&workbook::sheets(&project)?)?,
            format!("{} records", project.record_count()),
        ),
        Form::Mcpd => {
            let institute = wanted.institute.as_deref().unwrap_or_default();
            let table = passport::table(&project, institute)?;
            (
                table.csv().into_bytes(),
                format!("{} plants", table.rows.len()),
            )
        }
        Form::Ics => {
            let today = wanted.today.unwrap_or(here);
            let days = (shift(today, -60), shift(today, 365));
            let text = agenda::calendar(&project, days, today, now);
            let entries = text.matches("BEGIN:VTODO").count();
            (text.into_bytes(), format!("{entries} entries"))
        }
    };
    write(&wanted.out, &bytes, &inputs)?;
    crate::terminal::print(out, &format!("{what}: {}", wanted.out.display()))?;
    Ok(0)
}
