//! Scoring sheets: printed, and read back from photos.

use crate::tables::{self, CommandResult, Sheet};
use crate::terminal::tell;
use crate::voice::Voice;
use chrono::{NaiveDate, Utc};
use domain::{Edit, Genotype, Id, IdSource, Project, SheetPaper, Trait};
use paper::scoring_sheet::{Accepted, ReadPage, Round, Wanted, accept, free_name, make, pdf, read};
use std::fmt::Write as _;
use std::hash::{BuildHasher as _, RandomState};
use std::io::Write;
use std::path::{Path, PathBuf};
use store::photos::MOST_PHOTO_BYTES;
use store::{Opened, Store};

/// What `binewright sheet` is to print.
#[derive(Debug, Clone, PartialEq, clap::Args)]
pub struct Printing {
    /// The project. It keeps which plants stand on which row, so that the sheet can be read back.
    file: PathBuf,
    /// The traits, by their names, separated by commas, in the order of columns.
    #[arg(long, value_name = "NAME,…", value_delimiter = ',', required = true)]
    traits: Vec<String>,
    /// The plants, by their codes, separated by commas, in the order of rows; all living ones by their codes if left
    /// out.
    #[arg(long, value_name = "CODE,…", value_delimiter = ',')]
    plants: Vec<String>,
    /// What the sheet is called; by the day if left out.
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Print for paper of 8.5 × 11 inches; A4 otherwise.
    #[arg(long)]
    letter: bool,
    /// The day it is taken to be; today if left out.
    #[arg(long, value_name = "DATE", value_parser = crate::terminal::day)]
    today: Option<NaiveDate>,
    /// The file to write.
    #[arg(long, value_name = "OUT.pdf")]
    out: PathBuf,
}

/// What `binewright read-sheet` is to read.
#[derive(Debug, Clone, PartialEq, clap::Args)]
pub struct Looking {
    /// The project that printed the sheet.
    file: PathBuf,
    /// Photos or scans of its pages, JPEG or PNG.
    #[arg(required = true)]
    photos: Vec<PathBuf>,
    /// Record what needs no look: one undoable change for each page, with its photo.
    #[arg(long)]
    record: bool,
    /// The day of the scores; today if left out.
    #[arg(long, value_name = "DATE", requires = "record", value_parser = crate::terminal::day)]
    day: Option<NaiveDate>,
    /// Who scored.
    #[arg(long, value_name = "NAME", requires = "record", default_value = "")]
    by: String,
    /// Yard or trial.
    #[arg(long, value_name = "NAME", requires = "record", default_value = "")]
    site: String,
    /// The file to write; standard output if left out.
    #[arg(long, value_name = "OUT.csv")]
    out: Option<PathBuf>,
}

/// Makes a sheet, keeps its record, and prints it.
pub(super) fn print(wanted: &Printing, here: NaiveDate, err: &mut Voice<'_>) -> CommandResult<u8> {
    tables::may_write(Some(&wanted.out), &[&wanted.file])?;
    let mut opened = open(&wanted.file, "", err)?;
    let today = wanted.today.unwrap_or(here);
    let sheet = make(
        &opened.project,
        Wanted {
            name: match &wanted.name {
                Some(name) => name.clone(),
                None => free_name(&opened.project, today),
            },
            printed: today,
            paper: if wanted.letter {
                SheetPaper::Letter
            } else {
                SheetPaper::A4
            },
            traits: traits(&opened.project, &wanted.traits)?,
            plants: plants(&opened.project, &wanted.plants)?,
        },
        &mut new_ids(),
    )?;
    let bytes = pdf(&opened.project, &sheet)?;
    // First the record: paper that nobody can read back is worse than a record without paper.
    let told = format!(
        "{}: {}, {} traits, {} pages. Its record is kept in the project, so that it can be read back.",
        sheet.name,
        domain::RecordKind::Genotype.counted(sheet.plants.len()),
        sheet.columns.len(),
        paper::scoring_sheet::form(&sheet)?.pages(),
    );
    hand_in(&mut opened, &Edit::add(sheet))?;
    save(&opened)?;
    tables::write(&wanted.out, &bytes, &[&wanted.file])?;
    tell(err, &told);
    Ok(0)
}

/// Reads photos; returns 1 where some could not be read, the others being read all the same.
pub(super) fn look(
    wanted: &Looking,
    here: NaiveDate,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> CommandResult<u8> {
    let inputs: Vec<&Path> = std::iter::once(&wanted.file)
        .chain(&wanted.photos)
        .map(PathBuf::as_path)
        .collect();
    tables::may_write(wanted.out.as_deref(), &inputs)?;
    let mut opened = if wanted.record {
        open(&wanted.file, &wanted.by, err)?
    } else {
        err.read(&wanted.file)?
    };
    let round = Round {
        date: wanted.day.unwrap_or(here),
        by: wanted.by.clone(),
        site: wanted.site.clone(),
    };
    let mut table = Sheet::new(&[
        "photo",
        "sheet",
        "page",
        "plant",
        "trait",
        "value",
        "confidence",
        "look",
    ])?;
    let mut failed = 0;
    let mut ids = new_ids();
    for photo in &wanted.photos {
        let page = bytes_of(photo).and_then(|bytes| read(&opened.project, &bytes));
        let page = match page {
            Ok(page) => page,
            Err(sentence) => {
                tell(err, &format!("{}: {sentence}", photo.display()));
                failed += 1;
                continue;
            }
        };
        rows(&opened.project, photo, &page, &mut table)?;
        if wanted.record {
            match record(&mut opened, photo, &page, &round, &mut ids) {
                Ok(accepted) => tell(err, &told(photo, &accepted)),
                Err(sentence) => {
                    tell(err, &format!("{}: {sentence}", photo.display()));
                    failed += 1;
                }
            }
        }
    }
    if wanted.record {
        save(&opened)?;
    }
    if failed == wanted.photos.len() {
        return Err(match failed {
            1 => "the photo gave nothing; nothing was recorded.".to_owned(),
            count => format!("none of the {count} photos gave anything; nothing was recorded."),
        });
    }
    table.deliver(wanted.out.as_deref(), &inputs, out)?;
    Ok(u8::from(failed > 0))
}

fn told(photo: &Path, accepted: &Accepted) -> String {
    let mut told = format!("{}: {} recorded", photo.display(), accepted.observations);
    // Writing into a text can't fail.
    if accepted.known > 0 {
        let _ = write!(told, ", {} known already", accepted.known);
    }
    if accepted.left_out > 0 {
        let _ = write!(
            told,
            ", {} left out because they need a look: read the photo in the window, or type them in",
            accepted.left_out
        );
    }
    told.push('.');
    told
}

fn rows(project: &Project, photo: &Path, page: &ReadPage, table: &mut Sheet) -> CommandResult<()> {
    let sheet = project
        .scoring_sheets()
        .get(page.sheet)
        .map_or("", |sheet| sheet.name.as_str());
    for answer in &page.answers {
        table.text(&photo.display().to_string())?;
        table.text(sheet)?;
        table.number((page.page + 1) as f64)?;
        table.text(project.code_of(answer.plant))?;
        let of_trait = project.traits().get(answer.of_trait);
        table.text(of_trait.map_or("", |each| each.name.as_str()))?;
        match &answer.value {
            Some(domain::Value::Number(number)) => table.number(*number)?,
            Some(value) => table.text(&value.to_string())?,
            None => table.text("")?,
        }
        table.number((answer.cell.sure * 1000.0).floor() / 1000.0)?;
        table.text(&if answer.needs_a_look() {
            answer.words()
        } else {
            String::new()
        })?;
        table.end_row()?;
    }
    Ok(())
}

fn record(
    opened: &mut Opened,
    photo: &Path,
    page: &ReadPage,
    round: &Round,
    ids: &mut IdSource,
) -> CommandResult<Accepted> {
    let path = Store::new("")
        .keep_photo(opened.file.path(), photo)
        .map_err(|error| error.to_string())?;
    let accepted = accept(&opened.project, page, &path, round, ids)?;
    hand_in(opened, &accepted.edit)?;
    Ok(accepted)
}

/// Opens a project to change it, signed by `who` or by the machine's name.
fn open(file: &Path, who: &str, err: &mut Voice<'_>) -> CommandResult<Opened> {
    let machine = store::machine_name();
    let who = if who.is_empty() { &machine } else { who };
    err.change(file, who, "Nothing was changed.")
}

fn hand_in(opened: &mut Opened, edit: &Edit) -> CommandResult<()> {
    opened
        .project
        .apply(edit.clone())
        .map_err(|refusal| refusal.to_string())?;
    opened
        .file
        .append(edit)
        .map_err(|error| error.to_string())?;
    Ok(())
}

fn save(opened: &Opened) -> CommandResult<()> {
    opened
        .file
        .save(&opened.project)
        .map_err(|error| error.to_string())
}

fn bytes_of(photo: &Path) -> CommandResult<Vec<u8>> {
    let facts = std::fs::metadata(photo).map_err(|error| format!("it can't be read: {error}."))?;
    if facts.len() > MOST_PHOTO_BYTES {
        return Err(format!(
            "it has more than {} megabytes, which is no photo of a page.",
            MOST_PHOTO_BYTES >> 20
        ));
    }
    tables::read(photo)
}

fn traits(project: &Project, names: &[String]) -> CommandResult<Vec<Id<Trait>>> {
    names
        .iter()
        .map(|name| {
            let wanted = name.trim().to_lowercase();
            let mut all = project.traits().iter();
            all.find(|each| each.name.to_lowercase() == wanted)
                .map(|each| each.id)
                .ok_or_else(|| {
                    let known: Vec<&str> = project
                        .traits()
                        .iter()
                        .map(|each| each.name.as_str())
                        .collect();
                    format!(
                        "there is no trait '{}'. The project has: {}.",
                        name.trim(),
                        known.join(", ")
                    )
                })
        })
        .collect()
}

fn plants(project: &Project, codes: &[String]) -> CommandResult<Vec<Id<Genotype>>> {
    if codes.is_empty() {
        let mut living: Vec<&Genotype> = project
            .genotypes()
            .iter()
            .filter(|plant| plant.end.is_none())
            .collect();
        living.sort_by(|a, b| a.code.cmp(&b.code));
        return Ok(living.iter().map(|plant| plant.id).collect());
    }
    codes
        .iter()
        .map(|code| {
            project
                .find_code(code.trim())
                .find_map(domain::AnyId::typed::<Genotype>)
                .ok_or_else(|| format!("there is no plant '{}'.", code.trim()))
        })
        .collect()
}

fn new_ids() -> IdSource {
    let millis = Utc::now().timestamp_millis().max(0) as u64;
    IdSource::new(millis, RandomState::new().hash_one(millis))
}
