//! The command line: what works without a window, for scripts.

mod design;
mod evaluate;
mod export;
mod germination;
mod import;
mod kinship;
mod own_score;
mod plan;
mod plants;
mod sheet;
mod tables;
mod terminal;
mod trial;
mod voice;

use chrono::{Local, NaiveDate};
use clap::{Parser, Subcommand};
use domain::agenda::{Item, agenda};
use domain::date::shift;
use domain::findings::{findings, of_photos};
use domain::genetics::model::Variances;
use serde_json::json;
use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};
use store::{Existing, Store};
use terminal::{print, tell};
use voice::{Voice, told};

/// What every command that reads a project does about damage.
const DAMAGE: &str = "Of a damaged project every command says so on standard error and exits with 2: where records or changes \
are missing, set aside or can't be read, and where the file isn't as it was written though every piece of it can be read. With \
records missing from the file, most do nothing else, and plan doesn't where records can't be read either; otherwise they do what \
was asked. Codes too long for a line are cut and end in …, in the JSON of agenda with code_is_cut beside them. A last line of the journal that was cut off while it was being written is told and is no damage.";

/// Plans, reminds and records for small hop breeding programs. Without a command it opens the window.
#[derive(Debug, Parser)]
#[command(
    name = "binewright",
    version,
    args_conflicts_with_subcommands = true,
    after_help = DAMAGE
)]
struct Arguments {
    /// The project to open in the window.
    file: Option<PathBuf>,
    /// Open a fresh copy of the sample season.
    #[arg(long, conflicts_with = "file")]
    sample: bool,
    #[command(subcommand)]
    script: Option<Script>,
}

/// A command for a script.
#[derive(Debug, Clone, PartialEq, Subcommand)]
pub enum Script {
    /// Print what is doubtful or missing in a project. Exits with 0 for nothing, 1 for findings, 2 if it can't be read or
    /// is damaged.
    Check {
        /// The project.
        file: PathBuf,
        /// The day to judge by, such as 2026-03-01; today if left out.
        #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
        today: Option<NaiveDate>,
    },
    /// Print what is to be done, by date. Exits with 2 if the project can't be read, or, after what there is, if it is
    /// damaged.
    Agenda {
        /// The project.
        file: PathBuf,
        /// The first day; today if left out.
        #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
        from: Option<NaiveDate>,
        /// The last day; 30 days after the first if left out.
        #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
        to: Option<NaiveDate>,
        /// The day it is taken to be; today if left out.
        #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
        today: Option<NaiveDate>,
        /// Print JSON.
        #[arg(long)]
        json: bool,
    },
    /// Print the plan of the season's crosses that the goals of a project would take, as CSV: crosses, seeds, dates. How
    /// far it is from the best there can be goes to standard error. Exits with 2 if there is no plan, or if records are
    /// missing from a damaged file.
    Plan {
        /// The project.
        file: PathBuf,
        /// The most seeds to sow in all; by the goals and the room if left out.
        #[arg(long, value_name = "N")]
        seeds: Option<u32>,
        /// Print JSON instead of CSV: the crosses, the chance of the goal, and what holds the plan back.
        #[arg(long, conflicts_with = "pdf")]
        json: bool,
        /// Write the printed plan to this file instead.
        #[arg(long, value_name = "OUT.pdf")]
        pdf: Option<PathBuf>,
        /// The day it is taken to be; today if left out.
        #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
        today: Option<NaiveDate>,
    },
    /// Say how good the program's own advice was: what it advised, what was done, what came, with the Brier score of its
    /// chances. Exits with 2 if the project can't be read.
    OwnScore {
        /// The project.
        file: PathBuf,
        /// Print JSON: the score with its parts, and each group of chances.
        #[arg(long)]
        json: bool,
        /// The day it is taken to be; today if left out.
        #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
        today: Option<NaiveDate>,
    },
    /// Say what is still to come of lots in warmth, and when to stop waiting, as CSV: lot, seeds, germinated,
    /// `still_to_come`, low, high (9 in 10 times it lies between them), `stop_day` (the day in warmth from which, 9 in 10
    /// times, at most one seedling is lost by stopping). Empty where nothing can be said yet.
    Germination {
        /// A project, or CSV with the columns lot, seeds, day (since warmth began), new, closed (yes once nobody waits),
        /// and if you like age (years from harvest to warmth).
        file: PathBuf,
        /// Take each lot as it stood after so many days in warmth, and forecast it by the others as they are now: how
        /// good would the advice have been.
        #[arg(long, value_name = "DAY")]
        as_of: Option<f64>,
        /// Of a project, leave out what was recorded after this day.
        #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
        today: Option<NaiveDate>,
        /// The file to write; standard output if left out.
        #[arg(long, value_name = "OUT.csv")]
        out: Option<PathBuf>,
    },
    /// Bring a table into a project: plants with parents, crosses, seed lots, counts, samples, observations, answers of a
    /// laboratory. Prints what becomes of each row, as CSV: line, fate (new, changes, same, refused, unknown), words. Exits
    /// with 1 if some rows could not be taken (the others are), with 2, and changes nothing, if the table can't be read.
    Import(Box<import::Wanted>),
    /// Write a project as a table, a workbook, passport data or a calendar. Exits with 2, and writes nothing, if it can't.
    Export(export::Wanted),
    /// Write the sample season as a project.
    Sample {
        /// Where; a file that is there already stays.
        path: PathBuf,
        /// The day its calendar is alive on; today if left out.
        #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
        today: Option<NaiveDate>,
    },
    /// Work out the inbreeding of every plant of a pedigree, or the kinship of pairs. Exits with 2, and writes nothing,
    /// if anything in a file is wrong.
    Kinship {
        /// CSV with the columns id, female, male and, if wanted, ploidy (2 if empty) and origin: cross (if empty),
        /// doubled or variant, with the source in the column female. Empty is unknown. Or a project.
        pedigree: PathBuf,
        /// CSV with the columns a and b: write a, b, coancestry of these pairs in place of id, inbreeding.
        #[arg(long, value_name = "PAIRS.csv")]
        pairs: Option<PathBuf>,
        /// The probability that two genes of a gamete of a tetraploid are copies of one gene, 0 to about 1/6.
        #[arg(
            long,
            value_name = "X",
            default_value_t = 0.0,
            allow_negative_numbers = true
        )]
        double_reduction: f64,
        /// The file to write; standard output if left out.
        #[arg(long, value_name = "OUT.csv")]
        out: Option<PathBuf>,
    },
    /// Lay out a trial: which entry stands on which plot, as CSV. How well it compares the entries, and the most any
    /// layout could, go to standard error. Exits with 2, and writes nothing, if it can't be laid out.
    ///
    /// Entries are numbered from 1, checks after them; plots are numbered along the first row, back along the second.
    /// The same options give the same layout.
    ///
    /// The efficiency is the mean variance of a difference between two entries that as many plots of each would give
    /// on even ground, as a share of what the layout gives once blocks, or rows and columns, are taken out. Where
    /// entries stand once, or only some of them twice, checks count among the entries, and blocks, rows and columns
    /// that leave nothing to compare count as random with the variance of a plot. What is taken out is said beside it: the
    /// rows and columns of each replicate where they leave degrees of freedom for the error, else those of the whole
    /// field, else those with the variance of a plot; the seed has no part in that. No layout exceeds the bound; many
    /// can't reach it.
    Design {
        /// Entries to be tested, checks not among them.
        #[arg(value_parser = count, long, value_name = "N", allow_negative_numbers = true)]
        entries: usize,
        /// How often each entry stands. 1.25 is partly replicated: the first quarter of the entries stand twice, the
        /// others once.
        #[arg(value_parser = amount, long, value_name = "R", allow_negative_numbers = true)]
        replicates: f64,
        /// Plots of a block at most, for incomplete blocks; each row of the layout is a block.
        #[arg(value_parser = count, long, value_name = "K", conflicts_with_all = ["rows", "columns"], allow_negative_numbers = true)]
        block_size: Option<usize>,
        /// Rows of the field, or of one replicate.
        #[arg(value_parser = count,
            long,
            value_name = "R",
            requires = "columns",
            allow_negative_numbers = true
        )]
        rows: Option<usize>,
        /// Columns of the field, or of one replicate.
        #[arg(value_parser = count,
            long,
            value_name = "C",
            requires = "rows",
            allow_negative_numbers = true
        )]
        columns: Option<usize>,
        /// Positions ROW:COLUMN of the field that stay empty, counted from 1 and separated by commas.
        #[arg(
            long,
            value_name = "ROW:COLUMN,…",
            value_delimiter = ',',
            requires = "rows"
        )]
        missing: Vec<String>,
        /// Checks besides: one of each in every replicate, or in every block where entries stand once.
        #[arg(value_parser = count,
            long,
            value_name = "N",
            default_value_t = 0,
            allow_negative_numbers = true
        )]
        checks: usize,
        /// What chance is drawn from; another number gives another layout.
        #[arg(value_parser = seed,
            long,
            value_name = "S",
            default_value_t = 1,
            allow_negative_numbers = true
        )]
        seed: u64,
        /// The file to write; standard output if left out.
        #[arg(long, value_name = "OUT.csv")]
        out: Option<PathBuf>,
    },
    /// Predict breeding values from a pedigree and records. Exits with 2, and writes nothing, if anything in a file is
    /// wrong or the records can't support the model.
    ///
    /// Without variances they are estimated by restricted maximum likelihood, and printed with their standard errors:
    /// on standard output, or on standard error if the table itself goes there.
    Evaluate {
        /// CSV as for kinship, or a project.
        pedigree: PathBuf,
        /// CSV with a column id and columns by name.
        records: PathBuf,
        /// The column to evaluate.
        #[arg(long = "trait", value_name = "NAME")]
        of_trait: String,
        /// Terms to correct for, separated by commas, such as year,site: columns, or columns joined by ':' such as year:plot.
        #[arg(long, value_name = "COL,COL", value_delimiter = ',')]
        fixed: Vec<String>,
        /// Random terms to leave out of the model where variances are estimated, such as permanent. Without additive the
        /// variances of the others are printed, and breeding values stay empty.
        #[arg(
            long,
            value_name = "TERM,TERM",
            value_delimiter = ',',
            conflicts_with = "additive"
        )]
        without: Vec<evaluate::Term>,
        /// The variance of breeding values, if known.
        #[arg(value_parser = amount,
            long,
            value_name = "V",
            requires = "residual",
            allow_negative_numbers = true
        )]
        additive: Option<f64>,
        /// The variance of single records about all else, if known.
        #[arg(value_parser = amount,
            long,
            value_name = "V",
            requires = "additive",
            allow_negative_numbers = true
        )]
        residual: Option<f64>,
        /// The variance of what stays with a plant without being inherited.
        #[arg(value_parser = amount,
            long,
            value_name = "V",
            requires = "additive",
            allow_negative_numbers = true
        )]
        permanent: Option<f64>,
        /// The variance of what cuttings keep and seed does not pass on.
        #[arg(value_parser = amount,
            long,
            value_name = "V",
            requires = "additive",
            allow_negative_numbers = true
        )]
        clonal: Option<f64>,
        /// The file to write; standard output if left out.
        #[arg(long, value_name = "OUT.csv")]
        out: Option<PathBuf>,
    },
    /// Print a scoring sheet: a row a plant, bubbles or a box for each trait, and a code by which it is read back.
    Sheet(Box<sheet::Printing>),
    /// Read photos or scans of filled-in scoring sheets. Prints CSV: photo, sheet, page, plant, trait, value, confidence
    /// (0 to 1), and what needs a look. Exits with 1 if some photos can't be read, with 2 if none can.
    ReadSheet(Box<sheet::Looking>),
    /// Compare the entries of a trial by a linear mixed model. Exits with 2, and writes nothing, if anything in a file is
    /// wrong or the records can't support the model.
    ///
    /// The variances of the random terms, the likelihood and the heritabilities go to standard output as CSV. Estimates
    /// of the entries go to the file named by --out: adjusted means where entries are fixed, predicted effects where
    /// they are random.
    ///
    /// Least differences, comparisons with checks and --exceed of fixed entries calculate with the variances being
    /// estimates (Kenward & Roger 1997) up to 2000 records and 1000 entries without --space; else, and for random
    /// entries, the errors are those of the variances as they are estimated, with degrees of freedom after
    /// Satterthwaite. Standard errors in OUT are always the latter.
    Trial(Box<trial::Wanted>),
}

/// A count on the command line.
fn count(text: &str) -> Result<usize, String> {
    let digits = !text.is_empty() && text.bytes().all(|sign| sign.is_ascii_digit());
    if !digits {
        return Err(format!(
            "'{text}' is no count. Give a whole number, such as 24"
        ));
    }
    text.parse()
        .map_err(|_too_large| format!("'{text}' is larger than any trial. Give a smaller number"))
}

/// What chance is drawn from.
fn seed(text: &str) -> Result<u64, String> {
    let digits = !text.is_empty() && text.bytes().all(|sign| sign.is_ascii_digit());
    text.parse().map_err(|_no_number| {
        if digits {
            format!("'{text}' is too large. Give a smaller whole number, such as 7")
        } else {
            format!("'{text}' is no seed. Give a whole number from 0 up, such as 7")
        }
    })
}

/// A number on the command line.
pub(crate) fn amount(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_no_number| {
        let point = text.replacen(',', ".", 1);
        if point.parse::<f64>().is_ok() {
            format!("'{text}' is no number here. Write {point}")
        } else {
            format!("'{text}' is no number. Give one, such as 1.5")
        }
    })
}

/// What the command line asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum Task {
    /// The window.
    Window(Start),
    /// A command for a script.
    Script(Script),
}

/// How the window starts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Start {
    /// On the welcome page.
    Welcome,
    /// On this project.
    File(PathBuf),
    /// On a fresh sample.
    Sample,
}

/// Reads the command line.
pub fn parse(arguments: impl IntoIterator<Item = OsString>) -> Result<Task, clap::Error> {
    let Arguments {
        file,
        sample,
        script,
    } = Arguments::try_parse_from(arguments)?;
    Ok(match (script, file) {
        (Some(script), _) => Task::Script(script),
        (None, Some(file)) => Task::Window(Start::File(file)),
        (None, None) if sample => Task::Window(Start::Sample),
        (None, None) => Task::Window(Start::Welcome),
    })
}

/// The day it is here.
pub fn today() -> NaiveDate {
    Local::now().date_naive()
}

/// Runs a command for a script; returns its exit code.
pub fn run(script: Script, here: NaiveDate, out: &mut dyn Write, err: &mut dyn Write) -> u8 {
    let mut pipe = terminal::Pipe::new(out);
    let mut voice = Voice::new(err);
    let done = ran(script, here, &mut pipe, &mut voice).and_then(|code| {
        let flushed = pipe.flush();
        flushed.map_err(|error| format!("the output can't be written: {error}."))?;
        Ok(code)
    });
    match done {
        // Whoever reads only the code hears of it too.
        Ok(_) if voice.is_damaged => 2,
        // Whoever read it had enough.
        Ok(_) if pipe.is_closed => 0,
        Ok(code) => code,
        Err(sentence) => {
            tell(&mut voice, &format!("binewright: {sentence}"));
            2
        }
    }
}

#[expect(clippy::too_many_lines, reason = "one arm a command")]
fn ran(
    script: Script,
    here: NaiveDate,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> Result<u8, String> {
    match script {
        Script::Check { file, today } => check(&file, today.unwrap_or(here), out, err),
        Script::Agenda {
            file,
            from,
            to,
            today,
            json,
        } => {
            let today = today.unwrap_or(here);
            let from = from.unwrap_or(today);
            print_agenda(
                &file,
                from,
                to.unwrap_or_else(|| shift(from, 30)),
                today,
                json,
                (out, err),
            )
        }
        Script::Plan {
            file,
            seeds,
            json,
            pdf,
            today,
        } => plan::run(
            &file,
            seeds,
            json,
            pdf.as_ref(),
            today.unwrap_or(here),
            out,
            err,
        ),
        Script::OwnScore { file, json, today } => {
            own_score::run(&file, json, today.unwrap_or(here), out, err)
        }
        Script::Germination {
            file,
            as_of,
            today,
            out: to,
        } => germination::run(&file, as_of, today, to.as_deref(), out, err),
        Script::Import(wanted) => {
            let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
            let milliseconds = since.map_or(0, |since| since.as_millis() as u64);
            import::run(&wanted, milliseconds, out, err)
        }
        Script::Export(wanted) => {
            let now = chrono::Utc::now().naive_utc();
            export::run(&wanted, (here, now), out, err)
        }
        Script::Sample { path, today } => write_sample(&path, today.unwrap_or(here), out),
        Script::Kinship {
            pedigree,
            pairs,
            double_reduction,
            out: to,
        } => kinship::run(
            &pedigree,
            pairs.as_deref(),
            double_reduction,
            to.as_deref(),
            out,
            err,
        ),
        Script::Design {
            entries,
            replicates,
            block_size,
            rows,
            columns,
            missing,
            checks,
            seed,
            out: to,
        } => {
            let wanted = design::Wanted {
                entries,
                replicates,
                block_size,
                grid: rows.zip(columns),
                missing: &missing,
                checks,
                seed,
                to: to.as_deref(),
            };
            design::run(&wanted, out, err)
        }
        Script::Sheet(wanted) => sheet::print(&wanted, here, err),
        Script::ReadSheet(wanted) => sheet::look(&wanted, here, out, err),
        Script::Trial(wanted) => trial::run(&wanted, out, err),
        Script::Evaluate {
            pedigree,
            records,
            of_trait,
            fixed,
            without,
            additive,
            residual,
            permanent,
            clonal,
            out: to,
        } => {
            let variances = additive
                .zip(residual)
                .map(|(additive, residual)| Variances {
                    additive,
                    clonal,
                    permanent,
                    residual,
                });
            let wanted = evaluate::Wanted {
                pedigree: &pedigree,
                records: &records,
                of_trait: &of_trait,
                fixed: &fixed,
                without: &without,
                variances,
                to: to.as_deref(),
            };
            evaluate::run(&wanted, out, err)
        }
    }
}

fn check(
    file: &Path,
    today: NaiveDate,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> Result<u8, String> {
    let opened = err.look(file)?;
    let report = &opened.report;
    let mut lines: Vec<String> = told(report)
        .into_iter()
        .map(|sentence| format!("fault: {sentence}"))
        .collect();
    let photos = Store::new("").look_at_photos(file, &opened.project, true, |_| true);
    let mut found = findings(&opened.project, today);
    found.extend(of_photos(&opened.project, &photos.unwrap_or_default()));
    lines.extend(found.into_iter().map(|finding| {
        format!(
            "{}: {} {}",
            finding.weight.word(),
            finding.what,
            finding.remedy
        )
    }));
    for line in &lines {
        print(out, line)?;
    }
    if let Some(copies) = report.copies_words() {
        print(out, &format!("note: {copies}"))?;
    }
    Ok(u8::from(!lines.is_empty()))
}

fn print_agenda(
    file: &Path,
    from: NaiveDate,
    to: NaiveDate,
    today: NaiveDate,
    as_json: bool,
    (out, err): (&mut dyn Write, &mut Voice<'_>),
) -> Result<u8, String> {
    if to < from {
        return Err(format!("--to {to} lies before --from {from}."));
    }
    let opened = err.look(file)?;
    err.say(file, &opened.report);
    let project = &opened.project;
    let items = agenda(project, from..=to, today);
    if as_json {
        let items: Vec<_> = items
            .iter()
            .map(|item| item_json(item, project.code(item.about)))
            .collect();
        let text = serde_json::to_string_pretty(&items).map_err(|error| error.to_string())?;
        writeln!(out, "{text}")
            .map_err(|error| format!("the output can't be written: {error}."))?;
    } else {
        for Item {
            date,
            state,
            title,
            detail,
            ..
        } in &items
        {
            print(
                out,
                format!("{date}  {:<6}  {title}  {detail}", state.word()).trim_end(),
            )?;
        }
    }
    Ok(0)
}

fn item_json(item: &Item, code: Option<&str>) -> serde_json::Value {
    let (code, is_cut) = code.map_or((None, false), |code| {
        let (code, is_cut) = terminal::bearable(code);
        (Some(code), is_cut)
    });
    let mut value = json!({
        "date": item.date,
        "latest": item.latest,
        "state": item.state.word(),
        "title": terminal::bearable(&item.title).0,
        "detail": terminal::bearable(&item.detail).0,
        "kind": item.about.kind.noun(),
        "id": item.about.uuid,
        "code": code,
    });
    if is_cut {
        value["code_is_cut"] = true.into();
    }
    value
}

fn write_sample(path: &Path, today: NaiveDate, out: &mut dyn Write) -> Result<u8, String> {
    let project = sample::sample_project(today).map_err(|refusal| {
        format!("No sample can be dated to {today}, choose a day nearer to now. {refusal}")
    })?;
    let file = Store::new("")
        .create(path, &project, Existing::Keep)
        .map_err(|error| error.to_string())?;
    print(
        out,
        &format!(
            "{} records, dated to {today}: {}",
            project.record_count(),
            file.path().display()
        ),
    )?;
    Ok(0)
}
