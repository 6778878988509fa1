//! Scoring sheets of a project: made and printed, and read back from photos into observations.
//!
//! A sheet is a record: what stands on its rows and over its columns is kept as it was printed, so that paper that
//! comes back weeks later is read by that, whatever has changed since.

use chrono::NaiveDate;
use domain::record::scale::Value;
use domain::recording;
use domain::{
    Edit, Genotype, Id, IdSource, Observation, Photo, Project, Scale, ScoringSheet, SheetColumn,
    SheetPaper, Trait,
};
use exchange::scoring_sheet::{Heading, SheetText};
use scoring_sheet::layout::MOST_LEVELS;
use scoring_sheet::read::{CellReading, Reading, find};
use scoring_sheet::{ACCEPTED, Column, Form, Found, Paper, Tag};
use std::collections::BTreeSet;

pub use scoring_sheet::read::Photo as Picture;

/// What a new sheet is to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// What it is called.
    pub name: String,
    /// The day it is printed.
    pub printed: NaiveDate,
    /// The paper.
    pub paper: SheetPaper,
    /// The traits, from left to right.
    pub traits: Vec<Id<Trait>>,
    /// The plants, in the order of rows.
    pub plants: Vec<Id<Genotype>>,
}

/// Makes a sheet, not yet in the project: hand it in as `Edit::add`, then print it.
///
/// # Errors
/// A sentence, where a trait can't be filled in by hand, or they don't fit the paper.
pub fn make(project: &Project, wanted: Wanted, ids: &mut IdSource) -> Result<ScoringSheet, String> {
    let mut seen = BTreeSet::new();
    let traits = wanted.traits.into_iter().filter(|each| seen.insert(*each));
    let columns = traits
        .map(|of_trait| {
            let found = project
                .traits()
                .get(of_trait)
                .ok_or("A trait is no longer in the project. Choose the traits again.")?;
            Ok(SheetColumn {
                of_trait,
                levels: levels(found)?,
            })
        })
        .collect::<Result<Vec<_>, String>>()?;
    let sheet = ScoringSheet {
        id: ids.next(),
        name: wanted.name,
        printed: wanted.printed,
        paper: wanted.paper,
        columns,
        plants: wanted.plants,
        remark: String::new(),
    };
    form(&sheet)?;
    Ok(sheet)
}

/// A name that no sheet of the project has yet: the day, and a number after the first.
pub fn free_name(project: &Project, day: NaiveDate) -> String {
    let taken = |name: &str| {
        let mut all = project.scoring_sheets().iter();
        all.any(|sheet| sheet.name.trim().eq_ignore_ascii_case(name))
    };
    let mut name = format!("Scores of {day}");
    let mut number = 2;
    while taken(&name) {
        name = format!("Scores of {day}, {number}");
        number += 1;
    }
    name
}

/// What the bubbles of a trait stand for; none where it is written by hand.
fn levels(of_trait: &Trait) -> Result<Vec<Value>, String> {
    Ok(match &of_trait.scale {
        Scale::Score { from, to, .. } => {
            let count = i64::from(*to) - i64::from(*from) + 1;
            if count > MOST_LEVELS as i64 {
                return Ok(Vec::new());
            }
            (*from..=*to)
                .map(|score| Value::Number(f64::from(score)))
                .collect()
        }
        Scale::Classes { classes } if classes.len() <= MOST_LEVELS => classes
            .iter()
            .map(|class| Value::Class {
                class: class.clone(),
            })
            .collect(),
        Scale::YesNo => vec![Value::YesNo(true), Value::YesNo(false)],
        Scale::Derived { .. } => {
            return Err(format!(
                "{} is worked out from other traits. Put those on the sheet instead.",
                of_trait.name
            ));
        }
        _ => Vec::new(),
    })
}

/// The form of a sheet.
///
/// # Errors
/// A sentence, where it doesn't fit the paper.
pub fn form(sheet: &ScoringSheet) -> Result<Form, String> {
    let columns = sheet
        .columns
        .iter()
        .map(|column| match column.levels.len() {
            0 => Column::Written,
            levels => Column::Levels(levels),
        })
        .collect();
    let paper = match sheet.paper {
        SheetPaper::A4 => Paper::A4,
        SheetPaper::Letter => Paper::Letter,
    };
    Form::new(paper, columns, sheet.plants.len()).map_err(|why| why.to_string())
}

/// A sheet as a PDF.
///
/// # Errors
/// A sentence, where it doesn't fit the paper or the PDF can't be made.
pub fn pdf(project: &Project, sheet: &ScoringSheet) -> Result<Vec<u8>, String> {
    let form = form(sheet)?;
    let text = SheetText {
        name: sheet.name.clone(),
        headings: sheet
            .columns
            .iter()
            .map(|column| heading(project, column))
            .collect(),
        rows: sheet
            .plants
            .iter()
            .map(|plant| project.code_of(*plant).to_owned())
            .collect(),
    };
    exchange::scoring_sheet::pdf(&form, &text, sheet.id.uuid().as_u128(), Some(sheet.printed))
        .map_err(|error| error.to_string())
}

fn heading(project: &Project, column: &SheetColumn) -> Heading {
    let of_trait = project.traits().get(column.of_trait);
    let name = of_trait.map_or("?", |each| each.name.as_str()).to_owned();
    let scale = of_trait.map(|each| &each.scale);
    let letters = |each: usize| char::from(b'a' + each as u8).to_string();
    let (note, levels) = match (column.levels.first(), scale) {
        (None, Some(scale)) => (scale.unit(), Vec::new()),
        (Some(Value::Number(_)), scale) => {
            let levels: Vec<String> = column.levels.iter().map(Value::to_string).collect();
            let words = column.levels.iter().filter_map(|level| {
                let Value::Number(score) = level else {
                    return None;
                };
                let word = scale?.word_for(*score as i32)?;
                Some(format!("{level} {word}"))
            });
            (words.collect::<Vec<_>>().join(", "), levels)
        }
        (Some(Value::YesNo(_)), _) => (
            "Y yes, N no".to_owned(),
            vec!["Y".to_owned(), "N".to_owned()],
        ),
        _ => (
            column
                .levels
                .iter()
                .enumerate()
                .map(|(each, level)| format!("{} {level}", letters(each)))
                .collect::<Vec<_>>()
                .join(", "),
            (0..column.levels.len()).map(letters).collect(),
        ),
    };
    Heading { name, note, levels }
}

/// A page that was read from a photo.
#[derive(Debug, Clone)]
pub struct ReadPage {
    /// The sheet.
    pub sheet: Id<ScoringSheet>,
    /// Which page of it, from 0.
    pub page: usize,
    /// Its answers, row by row.
    pub answers: Vec<Answer>,
    /// What was seen, with the page laid flat.
    pub reading: Reading,
}

/// What stands in a cell: of which plant, which trait, what, and how sure that is.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The plant.
    pub plant: Id<Genotype>,
    /// The trait.
    pub of_trait: Id<Trait>,
    /// The value that was read, or typed since; nothing where the cell is empty, or what stands there can't be told.
    pub value: Option<Value>,
    /// The cell.
    pub cell: CellReading,
    /// Whether a person has looked at it.
    pub seen: bool,
}

impl Answer {
    /// Whether a person is still to look at it.
    pub fn needs_a_look(&self) -> bool {
        !self.seen && self.cell.needs_a_look()
    }

    /// What was seen, in a few words.
    pub fn words(&self) -> String {
        match &self.cell.found {
            Found::Empty if self.cell.sure < ACCEPTED => "empty, or very faint".to_owned(),
            Found::Level(_) if self.cell.sure < ACCEPTED => "faint or not clean".to_owned(),
            Found::Empty | Found::Level(_) => String::new(),
            Found::Several(_) => "several filled in".to_owned(),
            Found::Unclear => "can't be told".to_owned(),
            Found::Written => "written by hand".to_owned(),
        }
    }
}

impl ReadPage {
    /// How many answers a person is still to look at.
    pub fn doubtful(&self) -> usize {
        self.answers
            .iter()
            .filter(|answer| answer.needs_a_look())
            .count()
    }
}

/// Reads a photo of a page of a sheet of this project.
///
/// # Errors
/// A sentence: what is wrong with the photo, or that the sheet isn't one of this project.
pub fn read(project: &Project, photo: &[u8]) -> Result<ReadPage, String> {
    let picture = Picture::decode(photo).map_err(|refusal| refusal.to_string())?;
    let found = find(&picture).map_err(|refusal| refusal.to_string())?;
    let tag = found.tag();
    let sheet = sheet_of(project, &tag)?;
    let form = form(sheet)?;
    let page = usize::from(tag.page);
    let reading = found.read(&form).map_err(|refusal| refusal.to_string())?;
    let rows = form.rows_on(page);
    let answers = reading
        .cells
        .iter()
        .filter_map(|cell| {
            let column = sheet.columns.get(cell.column)?;
            let value = match cell.found {
                Found::Level(level) => column.levels.get(level).cloned(),
                _ => None,
            };
            Some(Answer {
                plant: *sheet.plants.get(rows.start + cell.row)?,
                of_trait: column.of_trait,
                value,
                cell: cell.clone(),
                seen: false,
            })
        })
        .collect();
    Ok(ReadPage {
        sheet: sheet.id,
        page,
        answers,
        reading,
    })
}

fn sheet_of<'a>(project: &'a Project, tag: &Tag) -> Result<&'a ScoringSheet, String> {
    let mut all = project.scoring_sheets().iter();
    all.find(|sheet| sheet.id.uuid().as_u128() == tag.sheet)
        .ok_or_else(|| {
            "The sheet is none of this project, or its record was removed. Open the project that printed it."
                .to_owned()
        })
}

/// What holds for all answers of a round.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// The day that it was scored.
    pub date: NaiveDate,
    /// By whom.
    pub by: String,
    /// Yard or trial.
    pub site: String,
}

/// What accepting pages comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Accepted {
    /// The one edit: the observations, and the photo of each page.
    pub edit: Edit,
    /// Observations in it.
    pub observations: usize,
    /// Answers left out because the project has the same value of that plant, trait and day.
    pub known: usize,
    /// Answers left out because nobody has looked at them.
    pub left_out: usize,
}

/// The one edit that records what was read from a page, and the photo, kept at `path` beside the project. Answers that
/// need a look and had none are left out.
///
/// # Errors
/// A sentence, where this photo was recorded before.
pub fn accept(
    project: &Project,
    page: &ReadPage,
    path: &str,
    round: &Round,
    ids: &mut IdSource,
) -> Result<Accepted, String> {
    let mut before = project.photos_of(page.sheet);
    if before.any(|photo| photo.path == path) {
        return Err(
            "This photo was recorded before. What it gave stands with its plants; correct it there."
                .to_owned(),
        );
    }
    let (mut edits, mut known, mut left_out) = (Vec::new(), 0, 0);
    for answer in &page.answers {
        if answer.needs_a_look() {
            left_out += 1;
            continue;
        }
        let Some(value) = &answer.value else {
            continue;
        };
        let same = project.observations_of(answer.plant).any(|each| {
            each.of_trait == answer.of_trait && each.date == round.date && each.value == *value
        });
        if same {
            known += 1;
            continue;
        }
        edits.push(Edit::add(Observation {
            by: round.by.clone(),
            site: round.site.clone(),
            ..Observation::new(
                ids.next(),
                answer.plant,
                answer.of_trait,
                round.date,
                value.clone(),
            )
        }));
    }
    let observations = edits.len();
    edits.push(Edit::add(Photo {
        id: ids.next(),
        about: page.sheet.into(),
        path: path.to_owned(),
        date: Some(round.date),
        caption: format!("Page {}", page.page + 1),
    }));
    let name = project
        .scoring_sheets()
        .get(page.sheet)
        .map_or("a scoring sheet", |sheet| sheet.name.as_str());
    let noun = if observations == 1 { "score" } else { "scores" };
    Ok(Accepted {
        edit: Edit::All {
            label: format!(
                "record {observations} {noun} from page {} of {name}",
                page.page + 1
            ),
            edits,
        },
        observations,
        known,
        left_out,
    })
}

/// What a person typed for a cell, as a value of its trait; nothing for nothing.
///
/// # Errors
/// A sentence, where it is no value of that trait.
pub fn typed_value(of_trait: &Trait, typed: &str) -> Result<Option<Value>, String> {
    recording::read(&of_trait.scale, &of_trait.name, typed, |date| {
        date.parse()
            .map_err(|_unreadable| format!("{} is a date, such as 2027-06-01.", of_trait.name))
    })
}
